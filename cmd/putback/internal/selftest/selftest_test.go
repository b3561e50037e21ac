package selftest

import (
	"bytes"
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/speech"
)

// fakeVoice gives one clip for any text.
type fakeVoice struct{ err error }

func (v fakeVoice) Stream(_ context.Context, _ string, _ speech.SayOptions, out func(speech.Clip) error) error {
	if v.err != nil {
		return v.err
	}
	return out(speech.Clip{Samples: audio.Silence(time.Second), Rate: audio.Rate})
}

// fakeRoom is a loudspeaker, and the microphone that hears it.
type fakeRoom struct {
	bed   audio.Samples
	loss  float64 // factor; 0: deaf to the loudspeaker
	queue audio.Samples
	at    int
	fail  error
}

func (r *fakeRoom) Next(context.Context) (audio.Frame, error) {
	if r.fail != nil {
		return audio.Frame{}, r.fail
	}
	f := audio.Frame{At: time.Duration(r.at) * time.Second / audio.Rate, Samples: make(audio.Samples, audio.FrameSize)}
	for i := range f.Samples {
		if len(r.bed) > 0 {
			f.Samples[i] = r.bed[(r.at+i)%len(r.bed)]
		}
	}
	n := min(len(r.queue), audio.FrameSize)
	for i, v := range r.queue[:n] {
		f.Samples[i] += v * float32(r.loss)
	}
	r.queue = r.queue[n:]
	r.at += audio.FrameSize
	return f, nil
}

func (r *fakeRoom) Play(_ context.Context, s audio.Samples) error {
	r.queue = append(audio.Silence(100*time.Millisecond), s...)
	return nil
}
func (r *fakeRoom) Close() error { return nil }

func hiss(level float64) audio.Samples {
	random := rand.New(rand.NewPCG(1, 2))
	s := make(audio.Samples, audio.Rate)
	for i := range s {
		s[i] = float32(level * random.NormFloat64())
	}
	return s
}

// good is a computer on which everything works.
func good(room *fakeRoom) Options {
	list := func() ([]audio.Device, error) { return []audio.Device{{Name: "Bench mic", Default: true}}, nil }
	return Options{
		Settings: config.Default(), Microphones: list, Loudspeakers: list, Listen: 500 * time.Millisecond,
		OpenMicrophone:  func() (audio.Source, error) { return room, nil },
		OpenLoudspeaker: func() (Player, error) { return room, nil },
		VAD:             audio.NewEnergy(),
		Say:             func(_ context.Context, text string) (audio.Samples, error) { return audio.Silence(time.Second), nil },
		OpenEar: func() (func(context.Context, audio.Samples) (string, error), error) {
			n := -1
			said := append([]string{commands[0]}, commands...)
			return func(context.Context, audio.Samples) (string, error) {
				n++
				return "Tool box" + said[n], nil
			}, nil
		},
		OpenVoice: func() (Voice, string, error) { return fakeVoice{}, "a voice", nil },
	}
}

func line(t *testing.T, r Report, part string) Line {
	t.Helper()
	for _, l := range r {
		if l.Part == part {
			return l
		}
	}
	require.Fail(t, "no line", "%s in %v", part, r)
	return Line{}
}

func TestAllIsWell(t *testing.T) {
	var out bytes.Buffer
	o := good(&fakeRoom{bed: hiss(0.0005), loss: 0.1})
	o.Print = Printer(&out)
	r := Run(context.Background(), o)
	require.Zero(t, r.Failed())
	for _, l := range r {
		require.Empty(t, l.Change, "%+v", l)
	}
	require.Contains(t, line(t, r, "noise").Found, "quiet room")
	require.Contains(t, line(t, r, "own voice").Found, "20 dB weaker")
	require.Contains(t, line(t, r, "reaction").Found, "4 of 4 heard right")
	for _, part := range []string{"microphone", "loudspeaker", "level", "noise", "own voice", "voice", "model", "reaction"} {
		require.Contains(t, out.String(), part)
	}
}

func TestEachTroubleIsNamedWithWhatToChange(t *testing.T) {
	deaf := func(o *Options) { o.OpenMicrophone = func() (audio.Source, error) { return &fakeRoom{}, nil } }
	for name, c := range map[string]struct {
		room   *fakeRoom
		set    func(*Options)
		part   string
		found  string
		change string
		bad    bool
	}{
		"no microphone": {set: func(o *Options) {
			o.Microphones = func() ([]audio.Device, error) { return nil, nil }
		}, part: "microphone", found: "none", change: "--wav", bad: true},
		"no sound system": {set: func(o *Options) {
			o.Microphones = func() ([]audio.Device, error) { return nil, errors.New("no server") }
		}, part: "microphone", found: "no server", change: "plug", bad: true},
		"another microphone": {set: func(o *Options) { o.Settings.Microphone = "headset" }, part: "microphone",
			found: `"headset" is not there`, change: `"Bench mic"`, bad: true},
		"no loudspeaker": {set: func(o *Options) {
			o.Loudspeakers = func() ([]audio.Device, error) { return nil, nil }
		}, part: "loudspeaker", found: "none", change: "printed only"},
		"muted":            {set: deaf, part: "level", found: "no sound at all", change: "unmute"},
		"gain too high":    {room: &fakeRoom{bed: clip(hiss(2))}, part: "level", found: "cut off", change: "gain down"},
		"loud room":        {room: &fakeRoom{bed: hiss(0.1)}, part: "noise", found: "loud room", change: "half a metre"},
		"rumble":           {room: &fakeRoom{bed: hum(30, 0.05)}, part: "noise", found: "below 80 Hz", change: "high pass: 80"},
		"broken in use":    {room: &fakeRoom{fail: errors.New("cable out")}, part: "level", found: "cable out", bad: true},
		"a headset":        {room: &fakeRoom{bed: hiss(0.0005)}, part: "own voice", found: "does not hear", change: "half duplex: no"},
		"hears its voice":  {room: &fakeRoom{bed: hiss(0.0005), loss: 0.3}, set: func(o *Options) { o.Settings.HalfDuplex = "no" }, part: "own voice", found: "10 dB weaker", change: "half duplex: auto"},
		"a loud own voice": {room: &fakeRoom{bed: hiss(0.0005), loss: 0.9}, set: func(o *Options) { o.Settings.Echo = "leave" }, part: "own voice", found: "1 dB weaker", change: "echo: subtract"},
		"no voice": {set: func(o *Options) {
			o.OpenVoice = func() (Voice, string, error) { return nil, "", errors.New("no files") }
		}, part: "voice", found: "no files", change: "models fetch", bad: true},
		"no model": {set: func(o *Options) {
			o.OpenEar = func() (func(context.Context, audio.Samples) (string, error), error) {
				return nil, errors.New("no file")
			}
		}, part: "model", found: "no file", change: "models fetch", bad: true},
		"a voice that fails": {set: func(o *Options) {
			o.OpenVoice = func() (Voice, string, error) { return fakeVoice{errors.New("out of memory")}, "a voice", nil }
		}, part: "reaction", found: "out of memory", bad: true},
		"hears wrongly": {set: func(o *Options) {
			o.OpenEar = func() (func(context.Context, audio.Samples) (string, error), error) {
				return func(context.Context, audio.Samples) (string, error) { return "toolbox, stop", nil }, nil
			}
		}, part: "reaction", found: "0 of 4", change: "models verify"},
	} {
		t.Run(name, func(t *testing.T) {
			room := c.room
			if room == nil {
				room = &fakeRoom{bed: hiss(0.0005), loss: 0.1}
			}
			o := good(room)
			if c.set != nil {
				c.set(&o)
			}
			r := Run(context.Background(), o)
			l := line(t, r, c.part)
			require.Contains(t, l.Found, c.found)
			require.Contains(t, strings.Join(l.Change, "\n"), c.change)
			require.Equal(t, c.bad, l.Bad)
			require.Equal(t, c.bad, r.Failed() > 0, "%+v", r)
		})
	}
}

func TestASlowComputerIsToldWhatToDo(t *testing.T) {
	slow := []time.Duration{2 * time.Second, 3 * time.Second, 2500 * time.Millisecond}
	l := judgeReaction(slow, 2400*time.Millisecond, 100*time.Millisecond, 250*time.Millisecond, 3, "base", 1)
	require.Contains(t, l.Found, "2.71 s after the last word, 3.21 s at worst of 3")
	require.Len(t, l.Change, 3)
	quick := []time.Duration{50 * time.Millisecond}
	l = judgeReaction(quick, 0, 0, 250*time.Millisecond, 1, "tiny.en", 0)
	require.Contains(t, l.Found, "0.33 s after", "the pause is waited for anyway")
	require.Empty(t, l.Change)
}

func TestADetectorThatFiresOnTheNoiseIsTold(t *testing.T) {
	l := judgeNoise(roomSound{sound: hiss(0.01), frames: 100, speech: 30}, false)
	require.Contains(t, l.Found, "30 % of it sounds like speech")
	require.Contains(t, strings.Join(l.Change, " "), "voice threshold")
}

// clip cuts off what is above full scale.
func clip(s audio.Samples) audio.Samples {
	for i, v := range s {
		s[i] = max(-1, min(1, v))
	}
	return s
}

func hum(hertz, level float64) audio.Samples {
	s := make(audio.Samples, audio.Rate)
	for i := range s {
		s[i] = float32(level * math.Sin(2*math.Pi*hertz*float64(i)/audio.Rate))
	}
	return s
}
