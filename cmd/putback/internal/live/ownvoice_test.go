package live

import (
	"context"
	"io"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// room is microphone and loudspeaker in one room on the audio clock: what is
// played comes back later, weaker and with the walls.
type room struct {
	walls func(audio.Samples) // filters the next frame in place
	late  audio.Samples       // what has left the loudspeaker and not reached the walls

	at      time.Duration
	queue   audio.Samples // waits for the loudspeaker
	given   audio.Samples // the frame it was given
	until   time.Duration
	person  audio.Samples // what is said, from now on
	said    string        // the command under way
	quiet   time.Duration // since when nothing is said or played
	next    func(*room) bool
	begins  func()          // called when the reply begins to sound; may be nil
	silence []time.Duration // when Stop was called
}

// echoLate is how much later the room hears the loudspeaker than it is given:
// what a sound server's buffers take.
const echoLate = 180 * time.Millisecond

func newRoom(next func(*room) bool) *room {
	r := &room{next: next, late: make(audio.Samples, audio.Count(echoLate)), given: make(audio.Samples, audio.FrameSize)}
	r.walls = audiotest.Walls(10, audiotest.Response(300*time.Millisecond))
	return r
}

// Next gives the next frame of the microphone.
func (r *room) Next(context.Context) (audio.Frame, error) {
	if r.at-r.quiet > 1500*time.Millisecond || r.at == 0 {
		r.quiet = r.at
		if !r.next(r) {
			return audio.Frame{}, io.EOF
		}
	}
	if begins := r.begins; begins != nil && len(r.queue) > 0 {
		r.begins = nil
		begins()
	}
	clear(r.given)
	r.queue = r.queue[copy(r.given, r.queue):]
	r.late = append(r.late, r.given...)
	heard := append(audio.Samples(nil), r.late[:audio.FrameSize]...)
	r.late = r.late[audio.FrameSize:]
	r.walls(heard)
	n := min(len(r.person), len(heard))
	for i, v := range r.person[:n] {
		heard[i] += v
	}
	for i := range heard {
		heard[i] += 0.0005 * float32(i*7919%101-50) / 50 // hiss
	}
	r.person = r.person[n:]
	f := audio.Frame{At: r.at, Samples: heard}
	r.at = f.End()
	switch {
	case r.Playing():
		r.quiet = r.at
	case len(r.person) > 0:
		r.quiet = r.at
	}
	return f, nil
}

func (r *room) Close() error { return nil }

func (r *room) Play(_ context.Context, c speech.Clip) error {
	r.queue = append(r.queue, audio.Resample(c.Samples, c.Rate, audio.Rate)...)
	r.until = r.at + r.queue.Duration() + 150*time.Millisecond
	return nil
}

func (r *room) Stop() {
	r.queue, r.until = nil, r.at
	r.silence = append(r.silence, r.at)
}
func (r *room) Playing() bool           { return r.at < r.until }
func (r *room) FirstSound() time.Time   { return time.Time{} }
func (r *room) frame(int) audio.Samples { return r.given }

// knowing hears commands as they were said, and everything else with the recogniser.
type knowing struct {
	room    *room
	grammar *intent.Automaton
	real    Ear
	looks   int
}

func (e *knowing) Hear(ctx context.Context, sound audio.Samples, hint Hint) (Hearing, error) {
	if hint.Only != nil || e.room.said == "" {
		e.looks++
		return e.real.Hear(ctx, sound, hint)
	}
	readings := e.grammar.Parse(e.room.said)
	if len(readings) == 0 || e.room.person.Peak() > 0.05 { // not said to its end yet
		return Hearing{}, nil
	}
	in, err := intent.FromReading(readings[0])
	return Hearing{Text: e.room.said, Intent: in, Called: readings[0].Addressed, Complete: true, Accepted: true, Confidence: 0.9}, err
}

// talkInRoom gives the loop a whole job in the room; next is called when all has
// been silent for a while.
func talkInRoom(t *testing.T, next func(*room) bool, report func(*room, Exchange)) (r *room, looks int) {
	t.Helper()
	audiotest.Model(t, "ggml-tiny.en", ".bin")
	bench, err := jobs.OpenMemory(jobs.Options{Now: sessionStart, Sheet: jobs.DemoSheet(), CallWord: "toolbox"})
	require.NoError(t, err)
	t.Cleanup(func() { bench.Close() })
	words := bench.Vocabulary()
	words.CallWord = "toolbox"
	grammar, err := intent.Shop(words)
	require.NoError(t, err)
	path, err := models.Path("tiny.en")
	require.NoError(t, err)
	recogniser, err := speech.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, recogniser.Close()) })
	library, model := audiotest.Model(t, "libonnxruntime", ""), audiotest.Model(t, "silero", ".onnx")
	vad, err := audio.NewSilero(library, model)
	require.NoError(t, err)
	t.Cleanup(func() { vad.Close() })
	r = newRoom(next)
	ear := &knowing{room: r, grammar: grammar, real: &GrammarEar{
		Recogniser: recogniser, Grammar: func() (*intent.Automaton, error) { return grammar, nil },
		Understand: func(r intent.Reading) (intent.Intent, error) { return intent.FromReading(r) },
	}}
	require.NoError(t, Run(t.Context(), Options{
		Source: r, VAD: vad, Ear: ear, Bench: bench, Voice: openCharacter(t, speech.Companion), Speaker: r,
		Settings: Settings{HalfDuplex: true}, Fast: true, Start: sessionStart, Resembles: speech.Resembles,
		Given: r.frame, Report: func(x Exchange) { report(r, x) },
	}))
	return r, ear.looks
}

func openCharacter(t *testing.T, who speech.Character) *speech.Voice {
	t.Helper()
	dir, err := models.Path("hibari")
	if err != nil {
		t.Skipf("needs a voice: %v", err)
	}
	library, err := models.Path("onnxruntime")
	require.NoError(t, err)
	voice, err := speech.OpenVoice(speech.VoiceOptions{Dir: dir, Library: library, Character: who})
	require.NoError(t, err)
	t.Cleanup(func() { voice.Close() })
	return voice
}

// loudly is a sentence of the mechanic's at the level of a person two metres away.
func loudly(t *testing.T, voice *speech.Voice, text string) audio.Samples {
	t.Helper()
	clip, err := voice.Say(t.Context(), text, speech.SayOptions{})
	require.NoError(t, err)
	s := audio.Resample(clip.Samples, clip.Rate, audio.Rate)
	gain := float32(0.06 / s.RMS())
	for i := range s {
		s[i] *= gain
	}
	return s
}

// jobLines are commands with answers, some of which say "stop" or name tools.
var jobLines = []string{
	"toolbox, what's next", "toolbox, done", "toolbox, took four tens off the front cover", "toolbox, how many are out",
	"toolbox, they're in cup two", "toolbox, what's left", "toolbox, torque for the front cover long", "toolbox, took two thirteens off the front cover",
	"toolbox, strike that", "toolbox, sixty six inch pounds in newton metres", "toolbox, ten newton metres in foot pounds",
	"toolbox, note the lower hose is cracked", "toolbox, where was i", "toolbox, set a timer for ten minutes", "toolbox, say again",
	"toolbox, refitted two tens on the front cover", "toolbox, torque for the pump bolts", "toolbox, the raw water pump is on the top shelf",
	"toolbox, what size wrench for an m eight", "toolbox, what's left on the front cover", "toolbox, slower",
}

// TestTheOwnVoiceIsNeverActedOn: all answers of a job, twice over, in a room
// that gives them back, and nobody speaks meanwhile.
func TestTheOwnVoiceIsNeverActedOn(t *testing.T) {
	mechanic := openCharacter(t, speech.Mechanic)
	n, replies := 0, 0
	acted := map[Outcome]int{}
	r, looks := talkInRoom(t, func(r *room) bool {
		if n == 2*len(jobLines) {
			return false
		}
		r.said = jobLines[n%len(jobLines)]
		r.person = loudly(t, mechanic, r.said)
		n++
		return true
	}, func(r *room, x Exchange) {
		acted[x.Outcome]++
		if x.Outcome == Answered {
			if r.said == "" {
				t.Errorf("answered %q, which nobody said", x.Hearing.Text)
			}
			if x.Reply.Text != "" {
				replies++
			}
			r.said = ""
		}
	})
	t.Logf("%d answers spoken in %v of sound, %d looks at sound among them, outcomes %v", replies, r.at.Round(time.Second), looks, acted)
	require.GreaterOrEqual(t, replies, 40)
	require.Empty(t, r.silence, "nothing stopped it")
	for _, outcome := range []Outcome{Stopped, Called, Missed} {
		require.Zero(t, acted[outcome], outcome)
	}
}

// TestAWordStopsTheAnswer: "stop" and the call word at different moments of
// different answers.
func TestAWordStopsTheAnswer(t *testing.T) {
	mechanic := openCharacter(t, speech.Mechanic)
	words := []string{"stop.", "toolbox."}
	n := 0
	begun, ended := time.Duration(-1), time.Duration(-1) // of the word
	var after []float64
	var missed []string
	settle := func() {
		if n > 0 && ended >= 0 {
			missed = append(missed, jobLines[(n-1)%len(jobLines)]+" / "+words[n%2])
		}
		ended = -1
	}
	r, _ := talkInRoom(t, func(r *room) bool {
		settle()
		if n == len(jobLines) {
			return false
		}
		r.said = jobLines[n]
		r.person = loudly(t, mechanic, r.said)
		n++
		return true
	}, func(r *room, x Exchange) {
		switch x.Outcome {
		case Answered:
			r.said = ""
			if x.Reply.Text == "" {
				return
			}
			r.begins = func() {
				word := loudly(t, mechanic, words[n%2])
				wait := audio.Silence(time.Duration(600+100*(n%5)) * time.Millisecond)
				if r.queue.Duration() < wait.Duration()+word.Duration()+800*time.Millisecond {
					return // too short an answer
				}
				r.person = append(wait, word...)
				begun = r.at + wait.Duration()
				ended = begun + word.Duration()
			}
		case Stopped, Called:
			if ended < 0 {
				return // "yes?" and the like
			}
			require.Greater(t, r.at, begun, "before the word was said")
			after = append(after, (r.at - ended).Seconds())
			ended = -1
		}
	})
	_ = r
	t.Logf("stopped %d, %.2f s after the end of the word at most; missed %q", len(after), maxOf(after), missed)
	t.Log(after)
	require.Greater(t, len(after), 8)
	require.Less(t, len(missed), 1+len(after)/10)
}

func maxOf(list []float64) float64 {
	m := math.Inf(-1)
	for _, v := range list {
		m = math.Max(m, v)
	}
	return m
}
