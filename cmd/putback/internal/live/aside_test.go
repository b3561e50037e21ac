package live

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
)

// Found by scripts/soak: a command directly behind others' talk was heard as one
// sentence with it, and so not at all.
func TestACommandDirectlyBehindTalkIsHeardByItself(t *testing.T) {
	open := func(o *Options, _ *session) { o.Address = Always }
	for _, c := range []struct {
		says string
		set  func(*Options, *session)
		done []string
	}{
		{"~500 mumble hum mumble ~500 toolbox next ~2000", nil, []string{"Next"}},
		{"~500 mumble hum mumble ~500 four tens ~2000", open, []string{"Removed"}},
		{"~500 mumble hum mumble ~200 toolbox next ~2000", nil, nil}, // no pause, no louder: one voice
		// A sentence said with a pause in it is still one sentence.
		{"~500 toolbox four ~900 tens ~2000", nil, []string{"Removed"}},
		{"~500 four tens ~2000 make ~500 five ~2000", open, []string{"Removed", "Choice"}},
	} {
		s := run(t, c.says, c.set)
		require.Equal(t, c.done, s.bench.done, c.says)
	}
}

func TestWhatIsHeardTogetherBeginsWhereItsFirstWordDid(t *testing.T) {
	s := run(t, "~480 four tens ~2080 make ~480 five ~2000", func(o *Options, _ *session) { o.Address = Always })
	last := s.all[len(s.all)-1]
	require.Equal(t, "make five", last.Hearing.Text)
	require.Equal(t, 480*time.Millisecond+2*wordFrames*audio.FrameTime+2080*time.Millisecond, last.Start)
}

func TestTheJoinedSoundHasEverySampleOnce(t *testing.T) {
	sound := make(audio.Samples, 5*audio.Rate)
	for i := range sound {
		sound[i] = float32(i + 1)
	}
	second := audio.Rate
	a := aside{sound: sound[second : 3*second], from: time.Second}
	for name, c := range map[string]struct {
		from int
		want audio.Samples
	}{
		"the pre-roll reaches back": {2*second + second/2, sound[second : 4*second]},
		"they touch":                {3 * second, sound[second : 4*second]},
	} {
		require.Equal(t, c.want, a.joined(sound[c.from:4*second], 4*time.Second), name)
	}
	apart := a.joined(sound[3*second+100:4*second], 4*time.Second)
	require.Len(t, apart, 3*second)
	require.Zero(t, apart[2*second+50], "silence between them")
	require.Equal(t, sound[4*second-1], apart[3*second-1])
}

func TestTalkWithoutTheCallWordIsHeardOnceAndItsLastWordsByThemselves(t *testing.T) {
	talk := "~500 mumble hum mumble hum mumble hum ~100 hum mumble hum ~100 mumble ~100 hum ~900 toolbox next ~2000"
	s := run(t, talk, nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []string{"mumble hum mumble hum mumble hum", "hum mumble hum", "mumble", "hum", "toolbox next"}, s.ear.heard)
	// Where no call word is needed, a sentence may end at any pause.
	s = run(t, talk, func(o *Options, _ *session) { o.Address = Always })
	require.Contains(t, s.ear.heard, "mumble hum mumble hum mumble hum hum mumble hum")
}

// A radio that stops a fifth of a second before a command: the pause ends no talk.
func TestACommandThatRunsOnFromTalkIsFoundBehindTheLastPause(t *testing.T) {
	open := func(o *Options, _ *session) { o.Address = Always }
	const talk = "~500 mumble hum mumble hum mumble hum "
	for script, want := range map[string][]string{
		"~200 toolbox next ~2000":                               {"Next"},
		"~200 toolbox ~200 next ~2000":                          {"Next"},
		"~200 hum ~200 toolbox ~200 four tens ~2000":            {"Removed"},
		"~200 hum ~200 toolbox ~200 hum mumble ~200 next ~2000": nil, // said to nobody
		"~200 next ~2000":                                       nil,
		"~200 toolbox ~2000":                                    nil,
		"~200 toolbox hum ~200 mumble ~200 hum ~200 next ~2000": nil,
	} {
		require.Equal(t, want, run(t, talk+script, nil).bench.done, script)
	}
	s := run(t, talk+"~200 toolbox next ~2000", open)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Empty(t, run(t, talk+"~200 next ~2000", open).bench.done, "nobody called, and it is one word")
}

func TestEndlessTalkIsHeardNoMoreAsAWholeWhereNobodyCalls(t *testing.T) {
	long := "~500 " + strings.Repeat("mumble hum ", 12)
	s := run(t, long+"~100 hum ~100 mumble ~900 four tens ~2000", func(o *Options, _ *session) { o.Address = Always })
	require.Equal(t, []string{"Removed"}, s.bench.done)
	whole := 0
	for _, text := range s.ear.heard {
		if len(strings.Fields(text)) >= 24 {
			whole++
		}
	}
	require.Equal(t, 1, whole)
}

func TestFewWordsOfMuchSoundAreNotAllOfIt(t *testing.T) {
	h := Hearing{Text: "Just knocked one more", Confidence: 0.79}
	require.True(t, h.scattered(audio.Silence(6*time.Second)))
	require.False(t, h.scattered(audio.Silence(4*time.Second)))
	h.Called = true
	require.False(t, h.scattered(audio.Silence(6*time.Second)))
}

func TestWhatStandsAloneBehindTalk(t *testing.T) {
	left := Hearing{Text: "what's left", Intent: intent.AskLeft{}, Reading: intent.Reading{Rule: "askLeft"}, Accepted: true, Plain: true, Complete: true, Confidence: 0.9}
	with := func(change func(*Hearing)) *Hearing {
		h := left
		change(&h)
		return &h
	}
	open, call := Hint{}, Hint{CallNeeded: true}
	require.True(t, left.standsAlone(Hearing{}, open))
	require.False(t, left.standsAlone(Hearing{}, call))
	require.False(t, with(func(h *Hearing) { h.Confidence = 0.8 }).standsAlone(Hearing{}, open))
	require.False(t, with(func(h *Hearing) { h.Plain = false }).standsAlone(Hearing{}, open))
	require.False(t, left.standsAlone(Hearing{Unsure: true, Confidence: 0.6, Reading: intent.Reading{Rule: "askOut"}}, open), "something else was nearly heard")
	require.True(t, left.standsAlone(Hearing{Unsure: true, Confidence: 0.6, Reading: left.Reading}, open))
	struck := with(func(h *Hearing) { h.Text, h.Intent, h.Reading.Rule = "strike that", intent.Strike{}, "strike" })
	require.False(t, struck.standsAlone(Hearing{}, open), "two words that change something")
	struck.Called = true
	require.True(t, struck.standsAlone(Hearing{}, call))
	require.False(t, with(func(h *Hearing) { h.Called, h.Intent = true, intent.Call{} }).standsAlone(Hearing{}, call))
}
