package board

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/jobs"
)

// spoken is text that tries to become markup, in every place where the page puts text.
const spoken = `"><script>boom()</script><img src=x onerror=boom()>'` + "`" + `{{.Job}}</style></title><svg onload=boom()>`

// spokenView is a view whose every text is s.
func spokenView(s string) jobs.View {
	step := jobs.StepView{Name: s, Do: s, Phase: s, State: s, Caution: s, Waits: []string{s}, Groups: []string{s}, Parts: []string{s}, Reason: s, Inserted: true}
	return jobs.View{
		Job: s, Machine: s, Stage: s, Step: &step, Next: &step, Steps: []jobs.StepView{step}, LastSeq: 1,
		Groups: []jobs.GroupView{{Name: s, Kind: s, Size: s, Thread: s, Class: s, Place: s, Stow: s, Count: 3, Removed: 3, Out: 3, Torque: s, TorqueNm: 5, GuideLow: 4, GuideHigh: 6, DoneAt: s, Source: s, Renew: s, Excuse: s, Order: []int{1, 3, 2}, OrderFrom: s, Tips: []string{s}, Flags: []string{s}}},
		Timers: []jobs.TimerView{{Name: s, Due: noon, Source: s, State: s}},
		Doubts: []jobs.DoubtView{{Text: s, Step: s, Open: true}, {Text: s, Ended: s}},
		Parts:  []jobs.PartView{{Name: s, Where: s, Renew: s}}, Fluids: []jobs.FluidView{{Name: s, Fill: s, Drained: s, Filled: s}},
		Limits: []jobs.LimitView{{Name: s, Limit: s, Value: s, Verdict: s, Source: s}}, Suspects: []jobs.SuspectView{{Name: s, State: s, For: []string{s}, Against: []string{s}, Reason: s}},
		Notes: []jobs.NoteView{{Kind: s, Text: s}}, Recent: []jobs.EntryView{{Seq: 1, Kind: s, Heard: s, Words: s}},
		Question: &jobs.Reply{Text: s, Choices: []string{s}},
	}
}

func pageText(t testing.TB, s *Server) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, templates.ExecuteTemplate(&b, "page", s.pageData()))
	return b.String()
}

func TestSpokenTextNeverBecomesMarkup(t *testing.T) {
	v := spokenView(spoken)
	run := v
	run.Question, run.Run = nil, &jobs.RunView{Group: spoken, Target: spoken, Tool: spoken, Order: []int{1, 3, 2}, Current: 1, Passes: 2, Pass: 1}
	step := v
	step.Question = nil
	h := []jobs.Event{{Seq: 1, Turn: 1, At: noon, Kind: jobs.KindSpec, Heard: spoken, Data: mustJSON(map[string]string{"group": spoken, "text": spoken})}, {Seq: 2, Turn: 2, Kind: spoken, Heard: spoken, Data: mustJSON(map[string]string{"text": spoken})}}
	for _, v := range []jobs.View{v, run, step} {
		st := newStage(v)
		st.Publish(Live{Mode: spoken, Heard: spoken, Understood: spoken, Reply: spoken})
		texts := []string{pageText(t, st.Server), reportText(t, v, h)}
		require.NoError(t, st.draw())
		for _, p := range st.parts {
			texts = append(texts, p.html)
		}
		for _, html := range texts {
			require.Contains(t, html, "boom", "the text is not there at all")
			require.False(t, strings.Contains(html, "<script>boom"))
			require.False(t, strings.Contains(html, "<img"))
			require.False(t, strings.Contains(html, "<svg onload"))
			require.Empty(t, regexp.MustCompile(`<[^>"]*("[^"]*"[^>"]*)*\son[a-z]+\s*=`).FindString(html), "an event handler made of spoken text")
			require.NotContains(t, html, "ZgotmplZ", "the template gave up on a context")
		}
	}
}

func mustJSON(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return b
}

// Contrast by WCAG 2.2, definitions "relative luminance" and "contrast ratio", from memory:
// success criterion 1.4.3 asks 4.5 of text, 3 of large text, 1.4.11 asks 3 of graphics that carry meaning.
func luminance(t testing.TB, hex string) float64 {
	t.Helper()
	require.Regexp(t, `^#[0-9a-f]{6}$`, hex)
	var c [3]float64
	for i := range c {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		v := float64(n) / 255
		if v <= 0.04045 {
			c[i] = v / 12.92
		} else {
			c[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
}

func contrast(t testing.TB, a, b string) float64 {
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestContrastFormula(t *testing.T) {
	// Known values of the formula: black on white 21, grey 767676 on white 4.54 (the usual example of a grey that just passes), from memory.
	require.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9)
	require.InDelta(t, 4.54, contrast(t, "#767676", "#ffffff"), 0.005)
}

// colours reads the custom properties of each theme out of a style sheet.
func colours(t testing.TB, file string) []map[string]string {
	t.Helper()
	css, err := pageFiles.ReadFile("page/" + file)
	require.NoError(t, err)
	var themes []map[string]string
	for _, block := range regexp.MustCompile(`:root[^{]*\{([^}]*--[^}]*)\}`).FindAllStringSubmatch(string(css), -1) {
		theme := map[string]string{}
		for _, p := range regexp.MustCompile(`--([a-z-]+):\s*(#[0-9a-f]{6});`).FindAllStringSubmatch(block[1], -1) {
			theme[p[1]] = p[2]
		}
		if len(theme) > 0 {
			themes = append(themes, theme)
		}
	}
	return themes
}

func TestEveryColourPairIsReadable(t *testing.T) {
	themes := colours(t, "page.css")
	require.Len(t, themes, 3, "daylight, dark by the device, dark by the button")
	require.Equal(t, themes[1], themes[2], "the two ways into the dark theme differ")
	themes = append(themes, colours(t, "report.css")...)
	require.Len(t, themes, 4)
	pairs := []struct {
		front, back string
		least       float64
	}{
		// What is read from afar asks more than the standard: 7, its enhanced level.
		{"ink", "board", 7}, {"ink", "ground", 7}, {"ink", "part", 7},
		{"soft", "board", 7}, {"soft", "ground", 4.5},
		{"now", "board", 4.5}, {"now", "ground", 4.5}, {"on-now", "now", 4.5},
		{"back", "board", 4.5}, {"back", "ground", 4.5}, {"on-back", "back", 4.5},
		{"alarm", "board", 4.5}, {"alarm", "ground", 4.5}, {"on-alarm", "alarm", 4.5},
		{"line", "board", 3}, {"line", "ground", 3}, {"line", "part", 3},
		{"back", "part", 3}, {"now", "part", 3},
	}
	for i, theme := range themes {
		for _, p := range pairs {
			front, back := theme[p.front], theme[p.back]
			if i == 3 && (front == "" || back == "") {
				continue // the report has fewer colours
			}
			require.NotEmpty(t, front, p.front)
			require.NotEmpty(t, back, p.back)
			require.GreaterOrEqual(t, contrast(t, front, back), p.least, "theme %d: %s %s on %s %s", i, p.front, front, p.back, back)
		}
	}
}

// Every rule of the style sheets takes its colours from the measured ones.
func TestNoColourIsWrittenBesideTheMeasuredOnes(t *testing.T) {
	for _, file := range []string{"page.css", "drawings.css", "report.css"} {
		css, err := pageFiles.ReadFile("page/" + file)
		require.NoError(t, err)
		rest := regexp.MustCompile(`--[a-z-]+:\s*#[0-9a-f]{6};`).ReplaceAllString(string(css), "")
		rest = strings.ReplaceAll(rest, "::backdrop { background: rgb(0 0 0 / .6); }", "")
		require.Empty(t, regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b|rgb\(|hsl\(|:\s*(white|black|red|green|grey|gray)\b`).FindAllString(rest, -1), file)
	}
}

func TestTheCrowdedPageStaysSmall(t *testing.T) {
	st := newStage(crowded(2000))
	html := pageText(t, st.Server)
	require.Less(t, len(html), 400<<10)
	require.True(t, strings.Contains(html, "1970 more"), "the steps left out are counted")
	require.True(t, strings.Contains(html, "2001 more groups"), "the groups left out are counted")
}

func TestAnEmptyJobHasAPageAndAReport(t *testing.T) {
	st := newStage(jobs.View{})
	html := pageText(t, st.Server)
	require.Contains(t, html, "Ready")
	require.Contains(t, html, "Nothing written down yet")
	require.Contains(t, reportText(t, jobs.View{}, nil), "Nothing was recorded.")
}

func TestBoltsStandWhereTheSheetPutsThem(t *testing.T) {
	// Four bolts, y upward in the sheet: number 1 bottom left, 2 bottom right, 3 top right, 4 top left.
	l := drawLayout(4, [][2]float64{{0, 0}, {100, 0}, {100, 50}, {0, 50}}, []int{1, 3, 2, 4}, boltRun{done: map[int]bool{1: true}, current: 3})
	require.Len(t, l.Bolts, 4)
	b := l.Bolts
	require.Equal(t, b[0].X, b[3].X)
	require.Less(t, b[0].X, b[1].X)
	require.Greater(t, b[0].Y, b[3].Y, "down on the machine is down on the screen")
	require.InDelta(t, 2, float64(b[1].X-b[0].X)/float64(b[0].Y-b[3].Y), 0.01, "both axes to one scale")
	require.Equal(t, []boltMark{markDone, markNext, markCurrent, markWaiting}, []boltMark{b[0].Mark, b[1].Mark, b[2].Mark, b[3].Mark})
	require.Equal(t, []int{1, 3, 2, 4}, []int{b[0].Turn, b[1].Turn, b[2].Turn, b[3].Turn})
	require.Equal(t, "4 bolts, 1 done in this pass, now number 3, then number 2", l.Words)
	require.Empty(t, l.Caption)
}

func TestWithoutPositionsTheDrawingSaysSo(t *testing.T) {
	require.Contains(t, drawLayout(12, nil, nil, boltRun{}).Caption, "ring")
	require.Contains(t, drawLayout(30, nil, nil, boltRun{}).Caption, "two rows")
	// Fewer positions than bolts would place a bolt wrongly: none is used.
	require.Contains(t, drawLayout(4, [][2]float64{{0, 0}}, []int{1, 3, 2, 4}, boltRun{}).Caption, "ring")
	require.Nil(t, drawLayout(0, nil, nil, boltRun{}))
	require.Nil(t, drawLayout(layoutMost+1, nil, nil, boltRun{}))
}

func TestAnyLayoutIsDrawnInsideItsFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, layoutMost).Draw(t, "n")
		coordinate := rapid.OneOf(rapid.Float64Range(-500, 500), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), 1e300, -7}))
		positions := make([][2]float64, rapid.IntRange(0, n).Draw(t, "known"))
		for i := range positions {
			positions[i] = [2]float64{coordinate.Draw(t, "x"), coordinate.Draw(t, "y")}
		}
		order := rapid.SliceOfN(rapid.IntRange(-2, n+2), 0, n).Draw(t, "order")
		l := drawLayout(n, positions, order, boltRun{done: map[int]bool{1: true}, current: rapid.IntRange(-1, n+2).Draw(t, "current")})
		if l == nil {
			t.Fatal("nothing was drawn")
		}
		for _, b := range l.Bolts {
			if !(b.X > 0 && b.X < l.Width && b.Y > 0 && b.Y < l.Height && b.R > 0) {
				t.Fatalf("bolt %d at %v, %v radius %v outside %v × %v", b.Number, b.X, b.Y, b.R, l.Width, l.Height)
			}
		}
	})
}

func TestTheLedgerShowsEveryFastenerOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		part := func(name string) int { return rapid.IntRange(0, 40).Draw(t, name) }
		g := jobs.GroupView{Out: part("out"), Refitted: part("refitted"), Renewed: part("renewed"), Discarded: part("discarded")}
		g.Removed = g.Out + g.Refitted + g.Renewed + g.Discarded
		in := g.Refitted + g.Renewed
		g.Torqued = rapid.IntRange(0, in).Draw(t, "torqued")
		g.ByFeel = rapid.IntRange(0, in-g.Torqued).Draw(t, "felt")
		g.Count = g.Removed + part("untouched")
		g.Loose = rapid.IntRange(0, g.Count-g.Removed).Draw(t, "loose")
		total := 0
		for _, c := range tally(g) {
			total += c.n
		}
		if total != g.Count {
			t.Fatalf("%d fasteners, %d drawn", g.Count, total)
		}
		l := drawLedger(g)
		switch {
		case g.Count == 0:
			if l != nil {
				t.Fatal("an empty group was drawn")
			}
		case g.Count <= slotsMost:
			if len(l.Slots) != g.Count {
				t.Fatalf("%d slots for %d fasteners", len(l.Slots), g.Count)
			}
		default:
			end := l.Bar[len(l.Bar)-1]
			if math.Abs(float64(end.X+end.W-l.Width)) > 1e-6 {
				t.Fatalf("the bar ends at %v of %v", end.X+end.W, l.Width)
			}
		}
	})
}

func TestTheGaugeMarksTheWantedTorqueAgainstTheGuideRange(t *testing.T) {
	g := drawGauge(10, 8.2, 11.3)
	require.Greater(t, g.Mark, g.BandX)
	require.Less(t, g.Mark, g.BandX+g.BandW)
	require.Empty(t, g.Outside)
	require.Equal(t, "above the guide range", drawGauge(94.9, 8.2, 11.3).Outside)
	require.Equal(t, "below the guide range", drawGauge(2.8, 48.4, 53.9).Outside)
	for _, bad := range [][3]float64{{0, 1, 2}, {1, 0, 2}, {1, 2, 0}, {1, 3, 2}, {math.NaN(), 1, 2}, {math.Inf(1), 1, 2}, {-1, 1, 2}} {
		require.Nil(t, drawGauge(bad[0], bad[1], bad[2]), "%v", bad)
	}
	v := frontCover()
	require.Nil(t, gaugeOf(v.Groups[4]), "a torque with an added turn is not the whole tightening")
}

func TestCountdown(t *testing.T) {
	for d, want := range map[time.Duration]string{
		6*time.Minute + 12*time.Second: "6:12", 59 * time.Second: "0:59", 300 * time.Millisecond: "0:01", 0: "0:00",
		-90 * time.Second: "+1:30", 24 * time.Hour: "24 h 00", 72 * time.Hour: "3 days",
	} {
		require.Equal(t, want, countdown(d))
	}
}

func TestLongTextIsCutBetweenCharacters(t *testing.T) {
	long := strings.Repeat("µ", 3*longestWords)
	require.Equal(t, longestWords, len([]rune(cut(long))))
	require.NotContains(t, cut(long), "\uFFFD")
	require.Equal(t, "short", cut("short"))
}

// The drawings are XML as they stand, so that they can be kept as files of their own.
func TestDrawingsAreWellFormed(t *testing.T) {
	for name, data := range map[string]any{
		"layout": drawLayout(12, nil, []int{1, 7, 4, 10}, boltRun{done: map[int]bool{1: true}, current: 7}),
		"ledger": drawLedger(frontCover().Groups[0]), "gauge": drawGauge(10, 8.2, 11.3),
	} {
		var b bytes.Buffer
		require.NoError(t, templates.ExecuteTemplate(&b, name, data))
		dec := xml.NewDecoder(&b)
		for {
			_, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, name)
		}
	}
}

// The licence of the type face goes where the type face goes.
func TestTheTypeFaceCarriesItsLicence(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("page", "OFL.txt"))
	require.NoError(t, err)
	require.Contains(t, string(b), "SIL OPEN FONT LICENSE Version 1.1")
}
