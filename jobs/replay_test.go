package jobs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/intent"
)

// said is one thing that happened to a bench, kept to play it to another.
type said struct {
	at     time.Time
	in     intent.Intent // nil: time passed
	again  bool          // the program was ended and started
	reply  Reply
	events []Event
	told   []Reply
}

// stateText is a state without what is about the journal, for comparing.
func stateText(t require.TestingT, s *State) string {
	c := *s
	c.Seq, c.Struck = 0, nil
	raw, err := json.Marshal(&c)
	require.NoError(t, err)
	return string(raw)
}

func wholeState(t require.TestingT, s *State) string {
	raw, err := json.Marshal(s)
	require.NoError(t, err)
	return string(raw)
}

// hasty takes the waiting for the disk out of a test that proves other things.
func hasty(t require.TestingT, b *Bench) {
	_, err := b.journal.db.Exec("PRAGMA synchronous=OFF")
	require.NoError(t, err)
}

// sound checks what must hold of any state, by the numbers alone.
func sound(t *rapid.T, s *State) {
	for _, g := range s.Groups {
		for what, n := range map[string]int{"removed": g.Removed, "refitted": g.Refitted, "renewed": g.Renewed, "discarded": g.Discarded, "out": g.out(),
			"loose": g.Loose, "back": g.Back, "snug": g.Snug, "torqued": g.Torqued, "by feel": g.ByFeel, "unsure": g.Unsure} {
			if n < 0 {
				t.Fatalf("%s: %d %s", g.Name, n, what)
			}
		}
		if g.Removed != g.Refitted+g.Renewed+g.Discarded+g.out() {
			t.Fatalf("%s: %d came off, %d+%d+%d+%d are accounted for", g.Name, g.Removed, g.Refitted, g.Renewed, g.Discarded, g.out())
		}
		if g.Count > 0 && g.out()+g.Discarded+g.touched() > g.Count {
			t.Fatalf("%s: more than its %d", g.Name, g.Count)
		}
	}
	for _, p := range s.Parts {
		if p.Have < 0 || p.Fitted < 0 || p.New < 0 || p.New > p.Fitted {
			t.Fatalf("part %s: have %d, fitted %d, new %d", p.Name, p.Have, p.Fitted, p.New)
		}
	}
	open := 0
	for _, st := range s.Steps {
		if st.State == "open" {
			open++
		}
	}
	if open > 1 || open == 1 && s.open() == nil {
		t.Fatalf("%d steps are open", open)
	}
	if r := s.Run; r != nil && r.Pass < len(r.Passes) {
		seen := map[int]bool{}
		for _, b := range r.Done {
			if seen[b] {
				t.Fatalf("bolt %d is counted twice", b)
			}
			seen[b] = true
		}
	}
}

// Whatever is said in whatever order: the ledger adds up after every event, a
// strike brings back the exact state, closing and opening changes nothing, the
// journal folds to the state it was written with, the same words give the same
// replies and events once more, and an export becomes the identical job.
func TestWhateverIsSaidCanBeStruckReplayedAndMoved(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		path := filepath.Join(dir, fmt.Sprintf("%d.putback", n))
		o := Options{Sheet: DemoSheet(), SheetFile: "boat-engine.yaml", Now: start, NoCopy: true}
		b, err := Open(path, o)
		require.NoError(t, err)
		hasty(t, b)
		defer func() { b.Close(); os.Remove(path) }()
		now := start
		var log []said
		type mark struct {
			before string
			auto   int64 // automatic events up to then
		}
		var marks []mark
		autos := int64(0)
		mix := saidMix(t)

		for range rapid.IntRange(1, 40).Draw(t, "length") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{1, 5, 5, 19, 21, 400, 4000, 90000}).Draw(t, "seconds")) * time.Second)
			what := rapid.IntRange(0, 19).Draw(t, "what")
			switch {
			case what == 0:
				told, err := b.Tick(now)
				require.NoError(t, err)
				log = append(log, said{at: now, told: told})
				if evs, _ := b.History(b.state.Seq, 0); len(told) > 0 && len(evs) > 0 && evs[0].Auto {
					autos++
				}
				continue
			case what == 1:
				before := wholeState(t, b.state)
				require.NoError(t, b.Close())
				b, err = Open(path, Options{NoCopy: true})
				require.NoError(t, err)
				hasty(t, b)
				require.Equal(t, before, wholeState(t, b.state), "opened again")
				log = append(log, said{again: true, reply: b.last})
				continue
			}
			var in intent.Intent
			switch {
			case what <= 3:
				in = intent.Strike{}
			case b.Pending() != nil && what <= 15:
				in = saidAnswer(t, b.Pending())
			case len(b.fixes) > 0 && what == 5:
				in = saidCorrection(t)
			default:
				in = saidIntent(t, mix)
			}
			before := stateText(t, b.state)
			seq := b.state.Seq
			out, err := b.Do(now, in, Heard{Text: fmt.Sprintf("%T", in), Confidence: 0.9})
			if err != nil {
				t.Fatalf("%#v: %v", in, err)
			}
			log = append(log, said{at: now, in: in, reply: out.Reply, events: out.Events})
			sound(t, b.state)
			switch {
			case len(out.Events) == 0:
				require.Equal(t, seq, b.state.Seq)
				require.Equal(t, before, stateText(t, b.state), "%T changed the state without an event", in)
			case out.Events[0].Kind == KindStrike:
				require.NotEmpty(t, marks, "a strike took back what nobody did")
				m := marks[len(marks)-1]
				marks = marks[:len(marks)-1]
				if m.auto == autos {
					require.Equal(t, m.before, stateText(t, b.state), "a strike restores the exact state")
				}
			case out.Events[0].Auto: // quiet and listen: a strike passes over them
				autos++
			default:
				marks = append(marks, mark{before, autos})
			}
		}

		// The journal folds to the very state.
		events, err := b.History(0, 0)
		require.NoError(t, err)
		f := newFolding()
		for i, e := range events {
			require.Equal(t, int64(i+1), e.Seq)
			require.NoError(t, f.event(e))
		}
		require.Equal(t, wholeState(t, b.state), wholeState(t, f.st), "the journal folds to another state")
		st, _, err := b.journal.restore(0)
		require.NoError(t, err)
		require.Equal(t, wholeState(t, b.state), wholeState(t, st))

		// The same words once more.
		c, err := OpenMemory(o)
		require.NoError(t, err)
		defer c.Close()
		for i, s := range log {
			switch {
			case s.again:
				c.question, c.fixes, c.last = nil, nil, s.reply
			case s.in == nil:
				told, err := c.Tick(s.at)
				require.NoError(t, err)
				require.Equal(t, s.told, told)
			default:
				out, err := c.Do(s.at, s.in, Heard{Text: fmt.Sprintf("%T", s.in), Confidence: 0.9})
				require.NoError(t, err)
				require.Equal(t, s.reply, out.Reply, "reply %d to %#v", i, s.in)
				require.Equal(t, s.events, out.Events, "events of %#v", s.in)
			}
		}
		require.Equal(t, wholeState(t, b.state), wholeState(t, c.state), "the same words gave another state")

		// Out and in again.
		var out bytes.Buffer
		require.NoError(t, Export(b, &out))
		moved := path + ".moved"
		count, err := Import("export", bytes.NewReader(out.Bytes()), moved)
		require.NoError(t, err)
		defer os.Remove(moved)
		require.Equal(t, len(events), count)
		m, err := Open(moved, Options{ReadOnly: true})
		require.NoError(t, err)
		defer m.Close()
		require.Equal(t, wholeState(t, b.state), wholeState(t, m.state))
		var again bytes.Buffer
		require.NoError(t, Export(m, &again))
		require.Equal(t, out.String(), again.String())
	})
}
