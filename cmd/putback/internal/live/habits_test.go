package live

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/speech"
)

// keptVoice remembers how each text was to be spoken.
type keptVoice struct {
	fakeVoice
	texts []string
	how   []speech.SayOptions
}

func (v *keptVoice) Stream(ctx context.Context, text string, o speech.SayOptions, out func(speech.Clip) error) error {
	v.texts, v.how = append(v.texts, text), append(v.how, o)
	return v.fakeVoice.Stream(ctx, text, o, out)
}

func TestSlowerAndSayAgainGiveTheNumbersDigitByDigit(t *testing.T) {
	voice := &keptVoice{fakeVoice: fakeVoice{time.Second}}
	run(t, "~500 toolbox next ~2500 toolbox again ~2500 toolbox slower ~2500", func(o *Options, s *session) {
		o.Voice, o.Speaker = voice, s.speaker
	})
	require.Len(t, voice.how, 3)
	require.Equal(t, []bool{false, true, true}, []bool{voice.how[0].Digits, voice.how[1].Digits, voice.how[2].Digits})
	require.Equal(t, []bool{false, false, true}, []bool{voice.how[0].Slow, voice.how[1].Slow, voice.how[2].Slow})
}

func TestEachToneCanBeSwitched(t *testing.T) {
	const reply = time.Second
	heard, missed, alert := audio.ToneHeard.Sound().Duration(), audio.ToneMissed.Sound().Duration(), audio.ToneAttention.Sound().Duration()
	for name, c := range map[string]struct {
		script string
		off    Settings
		on     Settings
		silent time.Duration // what is played with the tone off
		tone   time.Duration
	}{
		"heard":     {"~500 toolbox ~2500", Settings{}, Settings{ToneHeard: true}, 0, heard},
		"missed":    {"~500 toolbox four ~3000", Settings{}, Settings{ToneMissed: true}, reply, missed},
		"attention": {"~4000", Settings{}, Settings{ToneAlert: true}, reply, alert},
	} {
		for _, on := range []bool{false, true} {
			s := run(t, c.script, func(o *Options, s *session) {
				o.Settings = c.off
				if on {
					o.Settings = c.on
				}
				o.Voice, o.Speaker = fakeVoice{reply}, s.speaker
				if name == "attention" {
					s.bench.due = map[time.Duration]string{time.Second: "Close the joint now."}
				}
			})
			want := c.silent
			if on {
				want += c.tone
			}
			require.Equal(t, want, s.speaker.played, "%s %v", name, on)
		}
	}
}

func TestAJobThatWasLeftQuietStaysQuiet(t *testing.T) {
	s := run(t, "~500 toolbox next ~2000 toolbox listen ~2000 toolbox next ~2000", func(_ *Options, s *session) { s.bench.quiet = true })
	require.Equal(t, []string{"Listen", "Next"}, s.bench.done)
}

func TestTheKeyEndsTheQuiet(t *testing.T) {
	key := make(chan struct{}, 1)
	key <- struct{}{}
	s := runReal(t, "~200 next ~700", func(o *Options, s *session) { o.Address, o.Key, s.bench.quiet = ByKey, key, true })
	require.Equal(t, []string{"Listen", "Next"}, s.bench.done, "the job is told too")
	require.False(t, s.bench.quiet)
}

func TestAWarningIsNotKeptBackByARadio(t *testing.T) {
	// Talk that never ends for 1.5 s, with a breath of 0.8 s in it.
	text := "~500 hum hum hum hum ~800 hum hum hum hum hum hum hum hum hum hum hum hum ~3000"
	s := run(t, text, func(_ *Options, s *session) {
		s.bench.due = map[time.Duration]string{time.Second: "Close the joint now."}
	})
	for _, x := range s.all {
		if x.Outcome == Alert {
			at := x.At.Sub(sessionStart)
			require.Greater(t, at, 2600*time.Millisecond, "in the breath after 2.0 s")
			require.Less(t, at, 2900*time.Millisecond)
			return
		}
	}
	require.Fail(t, "no warning")
}

func TestAWarningDoesNotBreakIntoACommand(t *testing.T) {
	// The person has called and pauses to think.
	s := run(t, "~500 toolbox four ~1000 tens ~3000", func(_ *Options, s *session) {
		s.bench.due = map[time.Duration]string{time.Second: "Close the joint now."}
	})
	require.Equal(t, []Outcome{Answered, Alert}, s.outcomes())
}
