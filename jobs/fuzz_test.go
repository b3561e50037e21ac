package jobs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

// walk asks a job for everything once, so that whatever came into it is looked
// at from all sides; only panics and broken ledgers matter here.
func walk(t *testing.T, b *Bench) {
	now := start.Add(48 * time.Hour)
	v := b.View(now)
	_ = WriteStatus(io.Discard, v)
	for _, table := range Tables() {
		require.NoError(t, b.CSV(io.Discard, table, now))
	}
	_ = b.Vocabulary()
	var names []string
	for _, g := range v.Groups[:min(len(v.Groups), 3)] {
		names = append(names, g.Name)
	}
	list := []intent.Intent{intent.WhereWasI{}, intent.AskLeft{}, intent.Resume{}, intent.Next{}, intent.Done{}, intent.Yes{}, intent.Done{Pass: true}, intent.BackOne{},
		intent.Stage{To: "refit"}, intent.Next{}, intent.Done{}, intent.Yes{}, intent.StartCheck{}, intent.HandOver{}, intent.AskPart{}, intent.AskDoubts{}, intent.AskTimers{}, intent.AskWhy{},
		intent.Settle{}, intent.AskFaults{}, intent.AskLast{}, intent.TimerOff{}}
	for _, n := range names {
		list = append(list, intent.AskTorque{Name: n}, intent.AskSize{Name: n}, intent.Removed{Where: n}, intent.Yes{}, intent.Refitted{Where: n}, intent.Yes{},
			intent.Tighten{Name: n}, intent.Yes{}, intent.Done{}, intent.Done{Pass: true}, intent.BackOne{})
	}
	for _, l := range v.Limits[:min(len(v.Limits), 2)] {
		list = append(list, intent.Measure{Name: l.Name, Value: measure.Quantity{Amount: 1, Unit: measure.Millimetre}}, intent.AskLimit{Name: l.Name})
	}
	for _, f := range v.Fluids[:min(len(v.Fluids), 2)] {
		list = append(list, intent.Filled{Fluid: f.Name, Amount: &measure.Quantity{Amount: 1, Unit: measure.Litre}}, intent.AskFluid{Name: f.Name})
	}
	list = append(list, intent.Strike{}, intent.Strike{})
	for _, in := range list {
		now = now.Add(time.Second)
		_, err := b.Do(now, in, Heard{"x", 1})
		require.NoError(t, err, "%#v", in)
	}
	_, err := b.Tick(now.Add(time.Hour))
	require.NoError(t, err)
	b.View(now)
}

// FuzzSheet: whatever the text, reading a sheet neither panics nor leaves the
// person without a place and a way out, and what it takes is a job that works.
func FuzzSheet(f *testing.F) {
	f.Add(DemoSheetText())
	for _, p := range schemaPlaces {
		f.Add([]byte(strings.Replace(p.text, "%s", "name", 1)))
	}
	f.Add([]byte("job: x\nfasteners:\n  a: &a {count: 3, order: [1, 3, 2], at: [[0,0],[1,1],[2,2]], stages: [1 N·m, loosen, 90°]}\n  b: *a\nsteps: {strip: [{name: s, fasteners: a}], refit: [{name: r, after: s, undoes: s}]}\nlimits: {l: {min: 1 mm, max: 2 mm}}\nfluids: {f: {fill: 3 L}}\nsealants: {g: {close within: 10 min, cure: 24 h}}\n"))
	f.Add([]byte("a: &a [*a]\n"))
	f.Add([]byte("job: x\n---\njob: y\n"))
	f.Add([]byte(strings.Repeat("[", 200)))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 1<<16 {
			t.Skip("longer inputs only slow the search down; their bounds have a test of their own")
		}
		s, problems := ParseSheet("x.yaml", raw)
		lines := bytes.Count(raw, []byte("\n")) + 2
		errs := 0
		for _, p := range problems {
			if p.Severity == SeverityError {
				errs++
			}
			require.NotEmpty(t, p.Message)
			require.NotEmpty(t, p.Fix, p.Message)
			require.True(t, p.Line >= 0 && p.Line <= lines, "%v", p)
		}
		require.Equal(t, s == nil, errs > 0, "%v", problems)
		if s == nil {
			return
		}
		b, err := OpenMemory(Options{Sheet: s, Now: start})
		require.NoError(t, err)
		defer b.Close()
		walk(t, b)
	})
}

// FuzzImport: an export somebody wrote or bent is refused with the line, or
// becomes a job that adds up and exports again to what can be imported.
func FuzzImport(f *testing.F) {
	path := filepath.Join(f.TempDir(), "seed.putback")
	workedJob(f, path)
	b, err := Open(path, Options{ReadOnly: true})
	require.NoError(f, err)
	var seed bytes.Buffer
	require.NoError(f, Export(b, &seed))
	require.NoError(f, b.Close())
	f.Add(seed.Bytes())
	head := `{"putback":"job","layout":1}` + "\n"
	line := func(seq int, kind, data string) string {
		return fmt.Sprintf(`{"seq":%d,"turn":%d,"at":"2026-03-02T09:00:00Z","kind":%q,"data":%s}`+"\n", seq, seq, kind, data)
	}
	f.Add([]byte(head))
	f.Add([]byte(head + line(1, KindGroup, `{"name":"lid bolts"}`) + line(2, KindRemoved, `{"group":"lid bolts","n":4}`) + line(3, KindStrike, `{"turn":2}`)))
	f.Add([]byte(head + line(1, KindSheet, `{"sheet":{"job":"x","fasteners":[{"name":"a","count":2,"torque":{"amount":5,"unit":"N·m"}}],"limits":[{"name":"l","max":{"amount":1,"unit":"mm"}}]}}`) +
		line(2, KindRun, `{"group":"a","passes":[{"torque":{"amount":5,"unit":"N·m"},"bolts":[7]},{}],"order":[2,1]}`) + line(3, KindRunBolt, `{"bolt":0}`)))
	f.Add([]byte(head + line(1, KindTimer, `{"name":"t","due":-5,"warn":99}`) + line(2, KindDoubt, `{"text":"d"}`) + line(3, KindSettled, `{"doubt":1}`) + line(4, KindInsert, `{"name":"s","phase":"strip"}`) + line(5, KindStep, `{"step":"s","state":"open"}`)))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) > 1<<16 {
			t.Skip("longer inputs only slow the search down")
		}
		b, err := OpenMemory(Options{})
		require.NoError(t, err)
		defer b.Close()
		if err := b.take(bytes.NewReader(raw)); err != nil {
			return
		}
		for _, g := range b.state.Groups {
			require.NoError(t, g.check())
		}
		var out bytes.Buffer
		require.NoError(t, Export(b, &out))
		c, err := OpenMemory(Options{})
		require.NoError(t, err)
		defer c.Close()
		require.NoError(t, c.take(bytes.NewReader(out.Bytes())))
		require.Equal(t, wholeState(t, b.state), wholeState(t, c.state))
		walk(t, b)
	})
}

// Sheets made to hurt: each is refused or read without eating memory or time.
// The bounds are of the amount of work, which the allocations show; no clock.
func TestASheetMadeToHurtIsRefused(t *testing.T) {
	bomb := "job: x\nwords: &a [x,x,x,x,x,x,x,x,x,x]\n"
	for c := 'b'; c <= 'i'; c++ {
		bomb += fmt.Sprintf("%c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c,", c-1), 10), ","))
	}
	bomb += "places: *i\n"
	var refs, ring, many strings.Builder
	refs.WriteString("job: x\nparts:\n")
	ring.WriteString("job: x\nsteps: {strip: [")
	many.WriteString("job: x\nparts:\n")
	for i := range 4000 {
		fmt.Fprintf(&refs, "  part number %d of the lot:\n", i)
		fmt.Fprintf(&ring, "{name: s%d, after: s%d},", i, (i+1)%4000)
	}
	refs.WriteString("steps: {strip: [")
	for i := range 4000 {
		fmt.Fprintf(&refs, "{name: s%d, parts: [pert nummer %d uf a lot]},", i, i)
	}
	refs.WriteString("]}\n")
	ring.WriteString("]}\n")
	for i := range 200_000 {
		fmt.Fprintf(&many, "  p%d:\n", i)
	}
	var names, uses strings.Builder
	for i := range 1000 {
		fmt.Fprintf(&names, "part %d, ", i)
	}
	for i := range 5000 {
		fmt.Fprintf(&uses, "{name: s%d, parts: *a},", i)
	}
	for name, text := range map[string]string{
		"a long list used again":      "job: x\nwords: &a [" + names.String() + "]\nsteps: {strip: [" + uses.String() + "]}\n",
		"aliases that multiply":       bomb,
		"an alias of itself":          "job: x\nfasteners: &a {b: *a, c: *a}\n",
		"ten thousand nested lists":   "job: x\nplaces: " + strings.Repeat("[", 10_000),
		"nested maps":                 "job: x\nplaces: " + strings.Repeat("{a: ", 9_000),
		"deep by indenting":           deepByIndent(1000),
		"names that lead nowhere":     refs.String(),
		"a ring of 4 000 steps":       ring.String(),
		"200 000 parts":               many.String(),
		"four million equal brackets": "job: " + strings.Repeat("[", maxSheet-10),
		"a word of three million":     "job: " + strings.Repeat("x", 3<<20),
		"a million empty keys":        "job: x\n" + strings.Repeat("? \n", 1_000_000),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after = allocated(), uint64(0)
			s, problems := ParseSheet("x.yaml", []byte(text))
			after = allocated()
			require.Nil(t, s)
			require.NotEmpty(t, problems)
			require.LessOrEqual(t, len(problems), maxProblems)
			t.Logf("%d bytes, %d problems, %d MB allocated altogether; first: %s", len(text), len(problems), (after-before)>>20, short(problems[0].Message))
			require.Less(t, after-before, uint64(1)<<30)
		})
	}
}

func deepByIndent(n int) string {
	var b strings.Builder
	b.WriteString("job: x\n")
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "places:\n")
	}
	return b.String()
}

// A sheet of a gigabyte is refused by its size; no more than the bound is read.
func TestAGigabyteIsNoSheet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "big.yaml")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(1<<30)) // a hole in the disk: no gigabyte is written
	require.NoError(t, f.Close())
	before := allocated()
	s, problems := LoadSheet(path)
	require.Nil(t, s)
	require.Len(t, problems, 1)
	require.Contains(t, problems[0].Message, "larger than 4 MB")
	require.Less(t, allocated()-before, uint64(64)<<20)
}

// An import is read line by line: its size does not matter, its longest line does.
func TestAnImportIsBoundedByItsLinesNotItsLength(t *testing.T) {
	dir := t.TempDir()
	_, err := Import("long line", io.MultiReader(strings.NewReader(`{"putback":"job","layout":1}`+"\n"), endless{}), filepath.Join(dir, "a.putback"))
	require.ErrorContains(t, err, "line 2")
	require.ErrorContains(t, err, "too long")
	deep := `{"putback":"job","layout":1}` + "\n" + `{"seq":1,"turn":1,"at":"2026-03-02T09:00:00Z","kind":"note","data":` + strings.Repeat("[", 1_000_000) + "\n"
	_, err = Import("deep", strings.NewReader(deep), filepath.Join(dir, "b.putback"))
	require.ErrorContains(t, err, "line 2")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left, "a refused import leaves no file")
}

// endless is a line that never ends.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'x'
	}
	return len(p), nil
}

// A long chain of steps written in the wrong order is a good sheet; finding its
// order must not take a square of a square.
func TestALongChainOfStepsIsPutInOrder(t *testing.T) {
	var b strings.Builder
	b.WriteString("job: x\nsteps: {refit: [")
	for i := range maxEntries {
		fmt.Fprintf(&b, "{name: s%d, after: s%d},", i, min(i+1, maxEntries-1))
	}
	text := strings.Replace(b.String()+"]}\n", fmt.Sprintf("s%d, after: s%d}", maxEntries-1, maxEntries-1), fmt.Sprintf("s%d}", maxEntries-1), 1)
	s, problems := ParseSheet("x.yaml", []byte(text))
	require.NotNil(t, s, problems)
	job, err := OpenMemory(Options{Sheet: s, Now: start})
	require.NoError(t, err)
	defer job.Close()
	order, err := job.state.order("refit")
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf("s%d", maxEntries-1), job.state.Steps[order[0]].Name)
}

// The JSON of a quantity must not bring a unit into the job that nothing knows.
func TestAUnitNobodyKnowsIsRefused(t *testing.T) {
	var q measure.Quantity
	err := json.Unmarshal([]byte(`{"amount":5,"unit":"parsec·hogshead"}`), &q)
	if err == nil {
		require.NotPanics(t, func() { _ = q.String(); _ = q.SI(); _ = q.Unit.Dimension() })
	}
}
