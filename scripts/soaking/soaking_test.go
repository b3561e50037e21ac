package main

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
)

// hum is a stretch of sound that stands for a recording.
func hum(name string, d time.Duration) clip {
	s := audio.Silence(d)
	for i := range s {
		s[i] = float32(0.3 * math.Sin(2*math.Pi*300*float64(i)/audio.Rate))
	}
	return clip{name, s}
}

func sample(t *testing.T) (*stock, *spoken) {
	t.Helper()
	one := func(name string) []clip { return []clip{hum(name, 3*time.Second)} }
	said := &spoken{}
	for _, called := range []bool{false, true} {
		said.clips = append(said.clips, command{"what's left", "a voice", called, hum("", 2*time.Second).sound})
	}
	bench, err := jobs.OpenMemory(jobs.Options{Sheet: jobs.DemoSheet(), SheetFile: "boat-engine.yaml", Now: time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)})
	require.NoError(t, err)
	defer bench.Close()
	names := bench.Vocabulary()
	names.CallWord = "toolbox"
	said.grammar, err = intent.Shop(names)
	require.NoError(t, err)
	return &stock{one("read"), one("prompt"), one("verse"), one("chatter"), one("tune"), one("saw")}, said
}

func TestTheSameSeedGivesTheSameSoundAndEveryPieceItsPlace(t *testing.T) {
	have, said := sample(t)
	made := func(seed uint64) *mix {
		return makeMix(have, said, "call", 3*time.Minute, time.Minute, rand.New(rand.NewPCG(seed, 1)))
	}
	m := made(1)
	require.Equal(t, m, made(1))
	require.NotEqual(t, m.sound, made(2).sound)
	require.Equal(t, 3*time.Minute, m.sound.Duration())
	kinds := map[string]int{}
	end := time.Duration(0)
	for _, p := range m.pieces {
		kinds[p.kind]++
		require.GreaterOrEqual(t, p.start, end, "pieces do not overlap")
		require.Equal(t, p.name, m.at(p.start).name)
		end = p.end
		if p.kind == kindCommand {
			require.True(t, p.said.called, "in call mode every command has the call word")
		}
	}
	require.GreaterOrEqual(t, kinds[kindCommand], 2)
	require.Positive(t, kinds[kindTalk])
}

func TestABedIsLoweredToTheWantedDistance(t *testing.T) {
	bed, over := hum("", 6*time.Second).sound, leveled(hum("", 2*time.Second).sound, -12)
	from := audio.Count(2 * time.Second)
	duck(bed, from, over, 15)
	got := 10 * math.Log10(loudest(over)/loudest(bed[from:from+len(over)]))
	require.InDelta(t, 15, got, 0.2)
	quiet := hum("", 6*time.Second).sound
	for i := range quiet {
		quiet[i] *= 0.001
	}
	before := append(audio.Samples(nil), quiet...)
	duck(quiet, from, over, 15)
	require.Equal(t, before, quiet, "a bed that is quieter stays as it is")
}

func TestWhatActsIsCountedByWhatWasSaid(t *testing.T) {
	_, said := sample(t)
	wanted := &said.clips[1]
	m := &mix{pieces: []piece{
		{kind: kindTalk, name: "read", start: 0, end: 10 * time.Second},
		{kind: kindCommand, name: wanted.text, start: 20 * time.Second, end: 22 * time.Second, said: wanted, snr: 12},
		{kind: kindRadio, name: "prompt", start: 30 * time.Second, end: 40 * time.Second},
		{kind: kindCommand, name: wanted.text, start: 60 * time.Second, end: 62 * time.Second, said: wanted, snr: 12},
		{kind: kindCommand, name: wanted.text, start: 80 * time.Second, end: 82 * time.Second, said: wanted, snr: 24},
		{kind: kindCommand, name: wanted.text, start: 100 * time.Second, end: 102 * time.Second, said: wanted, snr: 24},
		{kind: kindCommand, name: wanted.text, start: 120 * time.Second, end: 122 * time.Second, said: wanted, snr: 24},
		{kind: kindCommand, name: wanted.text, start: 140 * time.Second, end: 142 * time.Second, said: wanted, snr: 24},
	}}
	changed := []jobs.Event{{Kind: jobs.KindNote}, {Kind: jobs.KindTimerSaid, Auto: true}}
	one := newTally("call")
	one.count(m, []heard{
		{At: 1, Outcome: outcomeIgnored, Heard: "so then"},
		{At: 5, Outcome: outcomeAnswered, Heard: "note so then", Events: changed, Reply: "Noted."},
		{At: 20.1, Outcome: outcomeAnswered, Heard: "toolbox, what's left", Reply: "Nothing."},
		{At: 33, Outcome: outcomeMissed, Reply: "Say again?"},
		{At: 36, Outcome: outcomeCalled},
		{At: 60, Outcome: outcomeAnswered, Heard: "toolbox what's next", Reply: "Drain."},
		{At: 88.8, Until: 101.5, Outcome: outcomeAnswered, Heard: "toolbox, what's left", Reply: "Nothing."},
		{At: 79.9, Outcome: outcomeMissed, Heard: "toolbox", Reply: "Say again?"},
		{At: 120, Outcome: outcomeAnswered, Heard: "toolbox 14", Reply: "14 or 40?"},
		{At: 140, Outcome: outcomeAnswered, Heard: "toolbox 40", Reply: "Say again?"},
	}, said)
	require.Equal(t, 1, one.changes, "what the program notes by itself is no change by words")
	require.Equal(t, 1, one.answers)
	require.Equal(t, 1, one.sayAgain)
	require.Equal(t, 1, one.tones)
	require.Equal(t, 6, one.commands)
	require.Equal(t, 2, one.acted, "one with the talk before it")
	require.Equal(t, 1, one.wrong)
	require.Equal(t, map[string]int{
		"a change on talk": 1, "say again on radio": 1, "a call heard on radio, in the window after an answer": 1,
		"a command acted on wrongly": 1, "a command asked back": 2, "a command asked about by what it would be, for a yes": 1,
	}, one.causes)
	require.Equal(t, 2, one.bySNR["12 dB of"])
	require.Equal(t, 1, one.bySNR["12 dB acted"])
}

func TestAQuestionIsAnsweredByTheChoiceThatTheCommandHas(t *testing.T) {
	for _, c := range []struct{ reply, command, want string }{
		{"14 or 40?", "forty newton metres in foot pounds", "forty"},
		{"70 or 17?", "is seventy foot pounds too much for an M six", "seventy"},
		{"66 or 16?", "sixty six inch pounds in newton metres", "sixty six"},
		{"Took, or a tip?", "took two tens off the front cover", "took"},
		{"Flagged: notch, right?", "flag not sure the housing sits flush", "yes"},
		{"14 or 15?", "forty newton metres in foot pounds", ""},
		{"Say again?", "what's left", ""},
	} {
		require.Equal(t, c.want, answerTo(c.reply, c.command), c.reply)
		if c.want != "" {
			require.Contains(t, answersTo(), c.want)
		}
	}
}

func TestACommandWasDoneAfterAQuestionWhenTheReplyIsItsOwn(t *testing.T) {
	_, said := sample(t)
	q := question{&piece{said: &command{text: "how many are out"}}, "yes"}
	took := heard{At: 3, Until: 5, Outcome: outcomeAnswered, Heard: "toolbox, took four thirteens off the front cover"}
	asked := heard{At: 15, Until: 17, Outcome: outcomeMissed, Heard: "how many are out", Reply: "Out, right?"}
	yes := heard{At: 18, Until: 19, Outcome: outcomeAnswered, Heard: "yes", Reply: "Nothing is out."}
	for _, c := range []struct {
		turns []heard
		want  bool
	}{
		{[]heard{asked, yes}, true},
		{[]heard{asked}, false},
		{[]heard{took, asked, yes}, false}, // four are out
	} {
		done, err := q.wasDone(c.turns, 15*time.Second, said)
		require.NoError(t, err)
		require.Equal(t, c.want, done)
	}
}
