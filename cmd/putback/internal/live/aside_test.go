package live

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
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

func TestTalkWithoutTheCallWordIsHeardOnceAndNotAtEveryPause(t *testing.T) {
	talk := "~500 mumble hum mumble hum mumble hum ~100 hum mumble hum ~100 mumble ~100 hum ~900 toolbox next ~2000"
	s := run(t, talk, nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []string{"mumble hum mumble hum mumble hum", "toolbox next"}, s.ear.heard)
	// Where no call word is needed, a sentence may end at any pause.
	s = run(t, talk, func(o *Options, _ *session) { o.Address = Always })
	require.Greater(t, len(s.ear.heard), 2)
}
