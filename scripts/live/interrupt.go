package main

import (
	"fmt"
	"strings"
	"time"

	"putback/audio/audiotest"
)

// echoLoss is how much weaker the loudspeaker's sound comes back into the
// microphone, and later by echoDelay.
const (
	echoLoss  = 10 // dB
	echoDelay = 60 * time.Millisecond
)

// long are questions with an answer of some seconds.
var long = []string{
	"toolbox, where was I?",
	"toolbox, what size wrench for an M eight?",
	"toolbox, what's next?",
	"toolbox, torque for the front cover long.",
}

// interrupt measures what comes of the program's own voice in the microphone
// and how soon a word stops it, in a room with walls and in three ways of
// dealing with that voice; the one that is not the default in fewer tries.
func (b *bench) interrupt() error {
	fmt.Println()
	for _, way := range []struct {
		name     string
		settings []string
		server   bool // the sound server's canceller
		share    int  // one try in so many
	}{
		{"own voice subtracted", []string{"echo: subtract"}, false, 1},
		{"own voice left in", []string{"echo: leave"}, false, 4},
		{"the sound server's canceller", []string{"echo: leave"}, true, 4},
	} {
		err := hosted(func(h *host) error {
			room := audiotest.Start(h)
			walls(room)
			path := room.Settings(way.settings...)
			if way.server {
				if err := room.CancelEcho(); err != nil {
					fmt.Printf("%s: not here (%v)\n", way.name, err)
					return nil
				}
				path = room.CancelledSettings(way.settings...)
			}
			return b.talkOver(h, room, path, way.name, b.alone/way.share, b.tries/way.share)
		})
		if err != nil {
			return fmt.Errorf("%s: %w", way.name, err)
		}
	}
	return nil
}

// talkOver lets the program speak alone and then over a person.
func (b *bench) talkOver(h *host, room *audiotest.Room, settings, name string, alone, tries int) error {
	program := room.Run(b.program, "--config", settings, "--job", h.TempDir()+"/bench.putback", "--sheet", demoSheet)
	speaker, mic := room.Record(), room.RecordMicrophone()
	mouth, err := openMouth(room, nil)
	if err != nil {
		return err
	}
	time.Sleep(time.Second)
	if err := b.speaksAlone(name, alone, mouth, program, mic, speaker); err != nil {
		return err
	}
	if err := b.interrupted(name, tries, mouth, program, mic, speaker); err != nil {
		return err
	}
	program.Stop()
	for _, line := range program.Told() {
		if strings.Contains(line, "dB") {
			fmt.Printf("%s: %s\n", name, line)
		}
	}
	return mouth.close()
}

// speaksAlone has commands answered and nobody speaks until the answer is over:
// whatever is acted on, and whatever falls silent early, did so for its own voice.
func (b *bench) speaksAlone(name string, alone int, m *mouth, p *audiotest.Program, mic, speaker *audiotest.Recorder) error {
	replies, looked, acted := 0, 0, 0
	for i := range alone {
		line := lines[i%len(lines)]
		s, err := b.command(line, m, p, mic, speaker)
		if err != nil {
			return err
		}
		time.Sleep(2 * time.Second) // talk without meaning is dropped after a while
		if s.Turn.Reply != "" {
			replies++
		}
		for _, t := range p.Turns() {
			if !t.Came.After(s.Turn.Came) {
				continue
			}
			looked++
			if t.Outcome != "not addressed" && t.Outcome != "own voice" {
				acted++
				fmt.Printf("  after %q it acted: %s, heard %q\n", line, t.Outcome, t.Heard)
			}
		}
	}
	fmt.Printf("%s: over %d spoken replies it heard itself %d times, acted on that %d times\n", name, replies, looked, acted)
	return nil
}

// interrupted has a word said into answers and measures, in the recordings,
// from the end and from the beginning of the word to the last sound of the answer.
func (b *bench) interrupted(name string, tries int, m *mouth, p *audiotest.Program, mic, speaker *audiotest.Recorder) error {
	var end, begin, told []float64
	missed, unspoken, unlocated := 0, 0, 0
	for i := range tries {
		question, err := b.say(long[(i/2)%len(long)])
		if err != nil {
			return err
		}
		word, err := b.say([]string{"stop.", "toolbox."}[i%2])
		if err != nil {
			return err
		}
		first, last := startOfSpeech(word), endOfSpeech(word)
		at := speaker.Length()
		m.say(question)
		if !until(15*time.Second, func() bool { return speaker.FirstSound(at, 0.01) >= 0 }) {
			unspoken++
			continue
		}
		time.Sleep(time.Duration(300+150*(i%5)) * time.Millisecond)
		from, turns, spoken := mic.Length(), len(p.Turns()), speaker.Length()
		sent := m.say(word)
		time.Sleep(word.Duration() + 2500*time.Millisecond)
		stopped, ok := p.WaitTurn(turns, 0, func(t audiotest.Turn) bool { return t.Outcome == "stopped" || t.Outcome == "called" })
		where, fit := locate(mic.Since(from), m.piece(sent+first, sent+last))
		switch {
		case !ok:
			missed++
			for _, t := range p.Turns()[turns:] {
				fmt.Printf("  not stopped by %q: %s, heard %q, confidence %.2f\n", []string{"stop", "toolbox"}[i%2], t.Outcome, t.Heard, t.Confidence)
			}
		case fit < 0.3:
			unlocated++
		default:
			over := mic.TimeOf(from + where + last - first)
			silent := speaker.TimeOf(lastSound(speaker, spoken, stopped.Came.Add(350*time.Millisecond)))
			end = append(end, silent.Sub(over).Seconds())
			begin = append(begin, silent.Sub(mic.TimeOf(from+where)).Seconds())
			told = append(told, silent.Sub(stopped.Came).Seconds())
		}
		b.untilSilent(speaker)
		time.Sleep(500 * time.Millisecond)
	}
	fmt.Printf("%s: of %d answers spoken over, a word stopped %d; %d not stopped, %d not measured, %d never begun\n",
		name, tries-unspoken, len(end)+unlocated, missed, unlocated, unspoken)
	fmt.Printf("  from the end of the word to the last sound of the answer %.2f s p50, %.2f s p95 (from its beginning %.2f, %.2f; from the decision %.2f, %.2f)\n",
		quantile(end, 0.5), quantile(end, 0.95), quantile(begin, 0.5), quantile(begin, 0.95), quantile(told, 0.5), quantile(told, 0.95))
	return nil
}

// lastSound is the last sample from n on, and before a time, that can be heard.
func lastSound(rec *audiotest.Recorder, n int, before time.Time) int {
	s := rec.Since(n)
	for i := len(s); i > 0; i-- {
		if (s[i-1] > 0.01 || s[i-1] < -0.01) && rec.TimeOf(n+i-1).Before(before) {
			return n + i - 1
		}
	}
	return n
}

// until waits until is true, most at longest.
func until(most time.Duration, is func() bool) bool {
	for end := time.Now().Add(most); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if is() {
			return true
		}
	}
	return is()
}
