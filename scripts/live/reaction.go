package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/audio/audiotest"
)

// lines are the commands, in an order that makes sense at the bench. Each is
// whole in the grammar of the demo job.
var lines = []string{
	"toolbox, what's next?",
	"toolbox, done.",
	"toolbox, took four tens off the front cover.",
	"toolbox, how many are out?",
	"toolbox, they're in cup two.",
	"toolbox, what's left?",
	"toolbox, torque for the front cover long.",
	"toolbox, took two thirteens off the front cover.",
	"toolbox, strike that.",
	"toolbox, sixty six inch pounds in newton metres.",
	"toolbox, ten newton metres in foot pounds.",
	"toolbox, note the lower hose is cracked.",
	"toolbox, where was I?",
	"toolbox, set a timer for ten minutes.",
	"toolbox, say again.",
	"toolbox, refitted two tens on the front cover.",
	"toolbox, torque for the pump bolts.",
	"toolbox, the raw water pump is on the top shelf.",
	"toolbox, what size wrench for an M eight?",
	"toolbox, what's left on the front cover?",
}

// said is one command and what came of it.
type said struct {
	Line     string         `json:"line"`
	Outcome  string         `json:"outcome"`
	Right    bool           `json:"right"`
	Turn     audiotest.Turn `json:"turn"`
	Reaction float64        `json:"reactionSeconds"` // 0: not spoken to an end, or not found
	Early    bool           `json:"early"`           // it spoke before the person had finished

	at, length, end int // in what the mouth sent
	mic, speaker    int // lengths of the recordings when it was said
}

// reaction speaks the commands and measures from their last sample to the first
// of the answer.
func (b *bench) reaction(name string, noise audio.Samples, busy bool) error {
	return hosted(func(h *host) error {
		if busy {
			stop, err := busyCore()
			if err != nil {
				return err
			}
			h.Cleanup(stop)
		}
		room, program := b.start(h)
		mic, speaker := room.RecordMicrophone(), room.Record()
		mouth, err := openMouth(room, noise)
		if err != nil {
			return err
		}
		time.Sleep(2 * time.Second) // the noise of the room is learnt
		var all []said
		began := time.Now()
		for i := range b.commands {
			s, err := b.command(lines[i%len(lines)], mouth, program, mic, speaker)
			if err != nil {
				return err
			}
			all = append(all, s)
		}
		took := time.Since(began)
		memory, err := program.Memory()
		if err != nil {
			return err
		}
		time.Sleep(time.Second)
		program.Stop()
		if err := mouth.close(); err != nil {
			return err
		}
		heard := mic.Stop()
		speaker.Stop()
		for i := range all {
			all[i].measure(mouth, heard, mic, speaker)
			if b.detail != nil {
				if err := b.detail.Encode(struct {
					Condition string `json:"condition"`
					said
				}{name, all[i]}); err != nil {
					return err
				}
			}
		}
		report(name, all, took, memory, program)
		return nil
	})
}

// command says a line and waits until its answer has sounded.
func (b *bench) command(line string, m *mouth, p *audiotest.Program, mic, speaker *audiotest.Recorder) (said, error) {
	clip, err := b.say(line)
	if err != nil {
		return said{}, err
	}
	s := said{Line: line, length: len(clip), end: endOfSpeech(clip), mic: mic.Length(), speaker: speaker.Length()}
	turns := len(p.Turns())
	s.at = m.say(clip)
	turn, ok := p.WaitTurn(turns, clip.Duration()+8*time.Second, func(t audiotest.Turn) bool {
		return t.Outcome != "not addressed" && t.Outcome != "own voice"
	})
	if ok && turn.Outcome == "called" {
		// It took the call word for all; the rest may still be heard.
		again := len(p.Turns())
		if rest, more := p.WaitTurn(again, clip.Duration()+2*time.Second, func(t audiotest.Turn) bool { return t.Outcome == "answered" }); more {
			turn = rest
			turn.Heard = "(called) " + turn.Heard
		}
	}
	s.Turn, s.Outcome = turn, turn.Outcome
	if !ok {
		s.Outcome = "no answer"
		if t := p.Turns(); len(t) > turns {
			s.Turn, s.Outcome = t[len(t)-1], t[len(t)-1].Outcome
		}
	}
	s.Right = b.right(line, s.Turn)
	if turn.Reply != "" {
		b.untilHeard(speaker, s.speaker)
	}
	b.untilSilent(speaker)
	return s, nil
}

// untilHeard waits for a sound behind sample n; the line that reports a turn
// comes a little before its first sound.
func (b *bench) untilHeard(speaker *audiotest.Recorder, n int) {
	for end := time.Now().Add(3 * time.Second); time.Now().Before(end) && speaker.FirstSound(n, 0.01) < 0; {
		time.Sleep(20 * time.Millisecond)
	}
}

// untilSilent waits for the end of the answer and a little longer, as people do.
func (b *bench) untilSilent(speaker *audiotest.Recorder) {
	const gap = 600 * time.Millisecond
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if from := speaker.Length() - audio.Count(gap); from >= 0 && speaker.FirstSound(from, 0.001) < 0 {
			return
		}
	}
}

// right reports whether the program understood the line as the grammar reads its text.
func (b *bench) right(line string, t audiotest.Turn) bool {
	want := b.shop.Parse(line)
	if len(want) == 0 {
		return false
	}
	have := map[string]int{}
	for name, v := range t.Slots {
		switch v := v.(type) {
		case string:
			have[name+"="+v]++
		case []any:
			for _, e := range v {
				have[fmt.Sprintf("%s=%v", name, e)]++
			}
		}
	}
	for _, s := range want[0].Slots {
		have[s.Name+"="+s.Value]--
	}
	for _, n := range have {
		if n != 0 {
			return false
		}
	}
	return t.Intent == want[0].Rule
}

// measure finds the end of the line in the recording of the microphone and the
// first sound of the answer in that of the loudspeaker.
func (s *said) measure(m *mouth, heard audio.Samples, mic, speaker *audiotest.Recorder) {
	from := s.at + max(0, s.end-8000)
	piece := m.piece(from, s.at+s.end)
	window := heard[min(s.mic, len(heard)):min(len(heard), s.mic+s.length+3*audio.Rate)]
	at, fit := locate(window, piece)
	if fit < 0.5 {
		return
	}
	end := mic.TimeOf(s.mic + at + len(piece))
	first := speaker.FirstSound(s.speaker, 0.01)
	if first < 0 || end.IsZero() {
		return
	}
	gap := speaker.TimeOf(first).Sub(end)
	switch {
	case gap < 0:
		s.Early = true
	case gap < 10*time.Second:
		s.Reaction = gap.Seconds()
	}
}

func report(name string, all []said, took time.Duration, memory int64, p *audiotest.Program) {
	var reaction, recognise, text, sound []float64
	answered, right, early := 0, 0, 0
	var missed []string
	for _, s := range all {
		if s.Early {
			early++
		}
		if s.Right {
			right++
		}
		if s.Outcome == "answered" {
			answered++
			recognise = append(recognise, s.Turn.Recognise)
			text = append(text, s.Turn.Text)
			if s.Turn.FirstSound > 0 {
				sound = append(sound, s.Turn.FirstSound)
			}
			if s.Reaction > 0 {
				reaction = append(reaction, s.Reaction)
			}
		}
		if !s.Right {
			heard, _ := json.Marshal(s.Turn.Heard)
			missed = append(missed, fmt.Sprintf("%q: %s, %s", s.Line, s.Outcome, heard))
		}
	}
	n := float64(len(all))
	fmt.Printf("\n%s: %d commands in %.0f s; answered %.0f %%, understood rightly %.0f %%, spoke before the person had finished %d\n",
		name, len(all), took.Seconds(), 100*float64(answered)/n, 100*float64(right)/n, early)
	line := func(what string, list []float64) {
		fmt.Printf("  %-58s p50 %.2f s, p95 %.2f s (of %d)\n", what, quantile(list, 0.5), quantile(list, 0.95), len(list))
	}
	line("last sample of speech to first sound of the answer", reaction)
	line("  by the program itself: to the reply's text", text)
	line("  by the program itself: to the first sample at the device", sound)
	line("  recognition alone", recognise)
	fmt.Printf("  memory at the end %.0f MB\n", float64(memory)/1e6)
	if told := p.Told(); len(told) > 2 {
		fmt.Printf("  it told: %s\n", strings.Join(told[1:], " / "))
	}
	slices.Sort(missed)
	for _, m := range slices.Compact(missed) {
		fmt.Println("  not right: " + m)
	}
}

// quantile is the q-quantile of list by nearest rank, 0 for none.
func quantile(list []float64, q float64) float64 {
	if len(list) == 0 {
		return 0
	}
	s := slices.Clone(list)
	slices.Sort(s)
	return s[min(len(s)-1, int(q*float64(len(s))))]
}
