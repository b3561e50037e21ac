package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

func testBench(t *testing.T) *bench {
	g, err := parseOrders(drinks)
	require.NoError(t, err)
	langs, err := loadLanguages("no-such-folder")
	require.NoError(t, err)
	return &bench{orders: g, spotter: newSpotter(g), langs: langs, results: newResults()}
}

// Each case is judged by hand after the rule of shared/data/README.md: every
// slot right and no slot extra.
func TestAClipCountsOnlyWithEverySlotRightAndNoneExtra(t *testing.T) {
	b := testBench(t)
	c := clip{set: ordersSet, name: "a", slots: map[string]string{"size": "small", "drink": "coffee"}}
	for _, each := range []struct {
		text    string
		right   bool
		verdict string
	}{
		{"get me a small coffee", true, "act"},
		{"get me a small iced coffee", false, "act"},
		{"get me a coffee", false, "act"},                      // one is missing
		{"get me a small coffee with some milk", false, "act"}, // one is extra
		{"get me a twelve-ounce coffee", false, "act"},         // one is wrong
		{"the weather is fine", false, "ignore"},               // nothing to act on
		{"", false, "ignore"},
	} {
		o := b.understand(row{name: "peer", spots: true}, c, answer{Text: each.text})
		require.Equal(t, each.right, o.Right, each.text)
		require.Equal(t, each.verdict, o.Verdict, each.text)
	}
}

func TestAShopCommandIsRightOnlyWhenItMeansWhatWasSaid(t *testing.T) {
	b := testBench(t)
	c := clip{set: shopSet, name: "v/x", want: `SetSpec Name="pump bolts" Torque=15 N·m`}
	act := func(text, verdict string) outcome {
		return b.understand(row{name: "Putback"}, c, answer{Text: text, Verdict: verdict})
	}
	require.True(t, act("set torque for the pump bolts to 15 newton metres", "act").Right)
	require.True(t, act("Set torque for the pump bolts to fifteen Nm.", "ask").Right)
	require.False(t, act("set torque for the pump bolts to fifty newton metres", "act").Right)
	require.False(t, act("set torque for the pump bolts to fifteen foot-pounds", "act").Right)
	require.False(t, act("what's next", "act").Right)
	require.False(t, act("", "ignore").Right)
}

func TestEveryClipIsCountedOnceAsActedAskedOrIgnored(t *testing.T) {
	list := []outcome{
		{Verdict: "act", Right: true, Took: 0.3, Want: "X Torque=15 N·m", Got: "X Torque=15 N·m"},
		{Verdict: "act", Right: false, Took: 0.1, Want: "X Torque=15 N·m", Got: "X Torque=50 N·m"},
		{Verdict: "act", Right: false, Took: 0.2, Want: "Next", Got: "Done", Called: true},
		{Verdict: "ask", Right: true, Took: 0.4, Want: "X Torque=60 N·m", Got: "X Torque=60 N·m"},
		{Verdict: "ask", Right: false, Took: 0.5, Want: "X Torque=60 N·m", Got: "X Torque=16 N·m"},
		{Verdict: "ignore", Took: 0.6},
	}
	got := score(list)
	require.Equal(t, tally{Clips: 6, Right: 2, Acted: 3, Asked: 2, Ignored: 1, RightActed: 1, Wrong: 2, Called: 1,
		Torque: 4, WrongTorque: 1, Took: []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6}}, got)
	require.Equal(t, got.Clips, got.RightActed+got.Wrong+got.rejected())
	require.Equal(t, 0.3, got.quantile(0.5))
	require.Equal(t, 0.6, got.quantile(0.95))
}

func TestATorqueThatNobodySaidIsAWrongTorque(t *testing.T) {
	got := score([]outcome{{Verdict: "act", Want: "Next", Got: "X Torque=50 N·m"}, {Verdict: "act", Right: true, Want: "Next", Got: "Next"}})
	require.Equal(t, 1, got.WrongTorque)
	require.Equal(t, 1, got.Torque)
}

func TestPiecesOfARunMakeOneTable(t *testing.T) {
	folder := t.TempDir()
	write := func(name string, list ...outcome) string {
		var b bytes.Buffer
		for _, o := range list {
			require.NoError(t, json.NewEncoder(&b).Encode(o))
		}
		file := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(file, b.Bytes(), 0o644))
		return file
	}
	on := func(row, at, file string, right bool, took float64) outcome {
		return outcome{Row: row, Set: ordersSet, At: at, File: file, Right: right, Verdict: "act", Took: took}
	}
	first := write("first", on("A", "clean", "1", true, 1), on("A", "clean", "2", true, 2), on("B", "clean", "1", true, 1), outcome{Row: "A", PeakMB: 100})
	second := write("second", on("A", "6 dB", "1", false, 3), on("A", "clean", "2", false, 2), outcome{Row: "A", PeakMB: 140}, outcome{Row: "C", Why: "not installed: no network"})
	var out bytes.Buffer
	require.NoError(t, retell([]string{second, first}, &out))
	cells := strings.Join(strings.Fields(out.String()), " ")
	require.Contains(t, cells, "| A | 2 | 100.0 % | 0.0 % | 0.0 % / 0.0 % | 0.0 % / 100.0 % | 2.00 s | 3.00 s | 140 MB |")
	require.Contains(t, out.String(), "| C   | not installed: no network |")
	require.Less(t, strings.Index(cells, "| clean |"), strings.Index(cells, "| 6 dB |"), "less noise comes first, whatever was run first")
	require.ErrorContains(t, retell([]string{write("broken", outcome{}) + "x"}, &out), "brokenx")
}

func TestTheHalvesShareNothingAndMakeTheWhole(t *testing.T) {
	var all []clip
	for _, n := range []string{"a", "b", "c", "d", "e"} {
		all = append(all, clip{name: n})
	}
	odd, err := pick(all, "odd", 1)
	require.NoError(t, err)
	require.Equal(t, []clip{{name: "b"}, {name: "d"}}, odd)
	even, err := pick(all, "even", 1)
	require.NoError(t, err)
	require.Equal(t, []clip{{name: "a"}, {name: "c"}, {name: "e"}}, even)
	second, err := pick(all, "even", 2)
	require.NoError(t, err)
	require.Equal(t, []clip{{name: "a"}, {name: "e"}}, second)
	_, err = pick(all, "left", 1)
	require.ErrorContains(t, err, "odd or even")
	require.Len(t, all, 5)
	require.Equal(t, "a", all[0].name)
}

func TestConditionsAreCleanOrDecibels(t *testing.T) {
	got, err := conditions("clean, 24,6")
	require.NoError(t, err)
	require.Equal(t, []string{"clean", "24 dB", "6 dB"}, got)
	_, err = conditions("clean,loud")
	require.ErrorContains(t, err, "loud")
}

// The rule itself is tested where the mixer is, in package audio.
func TestEveryRowHearsTheSameMixAgainAndAgain(t *testing.T) {
	folder := t.TempDir()
	tone := func(step float32, n int) audio.Samples {
		s := make(audio.Samples, n)
		for i := range s {
			s[i] = 0.3 * (float32(i)*step - float32(int(float32(i)*step)) - 0.5)
		}
		return s
	}
	require.NoError(t, audio.WriteWAV(filepath.Join(folder, "a.wav"), tone(0.013, 8000)))
	c := clip{set: ordersSet, name: "a.wav", file: filepath.Join(folder, "a.wav")}
	noise := tone(0.0071, 50000)
	hear := func(at string, seed uint64) []byte {
		file, seconds, err := mix(c, at, nil, noise, seed, folder)
		require.NoError(t, err)
		require.Equal(t, 0.5, seconds)
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		return b
	}
	require.Equal(t, hear("6 dB", 1), hear("6 dB", 1))
	require.NotEqual(t, hear("6 dB", 1), hear("6 dB", 2))
	require.NotEqual(t, hear("6 dB", 1), hear("12 dB", 1))
	original, err := os.ReadFile(c.file)
	require.NoError(t, err)
	require.Equal(t, original, hear("clean", 1))
}

func TestNoisesAreFoundByTheBeginningOfTheirName(t *testing.T) {
	data := t.TempDir()
	for _, f := range []string{"noise/engine_idle.wav", "talk/1.wav", "talk/2.wav"} {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(data, f)), 0o755))
		require.NoError(t, audio.WriteWAV(filepath.Join(data, f), audio.Samples{0.1, -0.2, 0.3, -0.1}))
	}
	s, err := loadNoise(data, "engine")
	require.NoError(t, err)
	require.Len(t, s, 4)
	s, err = loadNoise(data, "babble")
	require.NoError(t, err)
	require.Len(t, s, 4)
	require.NotZero(t, s.Peak())
	_, err = loadNoise(data, "rain")
	require.ErrorContains(t, err, "engine_idle")
}

func TestAPeerThatCannotStartSaysWhy(t *testing.T) {
	_, err := startEar([]string{"sh", "-c", "echo no such model >&2; exit 1"})
	require.ErrorContains(t, err, "no such model")
	_, err = startEar([]string{"sh", "-c", "echo hello; sleep 0"})
	require.ErrorContains(t, err, "hello")
	e, err := startEar([]string{"sh", "-c", `echo '{"ready":true}'; read x; echo '{"text":"a"}'; read x; echo '{"error":"broken file"}'`})
	require.NoError(t, err)
	defer e.close()
	a, took, err := e.ask("orders", "x.wav")
	require.NoError(t, err)
	require.Equal(t, "a", a.Text)
	require.Positive(t, took)
	_, _, err = e.ask("orders", "y.wav")
	require.ErrorContains(t, err, "broken file")
}
