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
// and how soon a word stops it, in three ways of dealing with that voice.
func (b *bench) interrupt() error {
	fmt.Println()
	for _, way := range []struct {
		name     string
		settings []string
		server   bool // the sound server's canceller
	}{
		{"own voice left in", []string{"echo: leave"}, false},
		{"own voice subtracted", []string{"echo: subtract"}, false},
		{"the sound server's canceller", []string{"echo: leave"}, true},
	} {
		err := hosted(func(h *host) error { return b.interruptions(h, way.name, way.settings, way.server) })
		if err != nil {
			return fmt.Errorf("%s: %w", way.name, err)
		}
	}
	return nil
}

func (b *bench) interruptions(h *host, name string, settings []string, server bool) error {
	room := audiotest.Start(h)
	room.Echo(echoDelay, echoLoss)
	path := room.Settings(settings...)
	if server {
		if err := room.CancelEcho(); err != nil {
			fmt.Printf("%s: not here (%v)\n", name, err)
			return nil
		}
		path = room.CancelledSettings(settings...)
	}
	program := room.Run(b.program, "--config", path, "--job", h.TempDir()+"/bench.putback", "--sheet", demoSheet)
	speaker, mic := room.Record(), room.RecordMicrophone()
	mouth, err := openMouth(room, nil)
	if err != nil {
		return err
	}
	time.Sleep(time.Second)

	// It speaks and nobody else does.
	alone := min(12, max(4, b.commands/5))
	acted, looked := 0, 0
	for i := range alone {
		s, err := b.command(long[i%len(long)], mouth, program, mic, speaker)
		if err != nil {
			return err
		}
		time.Sleep(2 * time.Second) // talk without meaning is dropped after a while
		for _, t := range program.Turns() {
			if t.Came.After(s.Turn.Came) && t.Came.Before(time.Now()) {
				looked++
				if t.Outcome != "not addressed" && t.Outcome != "own voice" {
					acted++
				}
			}
		}
	}
	fmt.Printf("%s: in %d answers it heard itself %d times, acted on that %d times\n", name, alone, looked, acted)

	// A word stops it.
	var after []float64
	missed, unspoken := 0, 0
	tries := min(20, max(6, b.commands/3))
	for i := range tries {
		word := []string{"stop.", "toolbox."}[i%2]
		question, err := b.say(long[(i/2)%len(long)])
		if err != nil {
			return err
		}
		clip, err := b.say(word)
		if err != nil {
			return err
		}
		at := speaker.Length()
		mouth.say(question)
		if !until(15*time.Second, func() bool { return speaker.FirstSound(at, 0.01) >= 0 }) {
			unspoken++
			continue
		}
		time.Sleep(time.Duration(500+100*(i%3)) * time.Millisecond)
		from, turns := mic.Length(), len(program.Turns())
		sent := mouth.say(clip)
		time.Sleep(clip.Duration() + 2500*time.Millisecond)
		end, fit := locate(mic.Since(from), mouth.piece(sent, sent+endOfSpeech(clip)))
		stopped, ok := program.WaitTurn(turns, 0, func(t audiotest.Turn) bool { return t.Outcome == "stopped" || t.Outcome == "called" })
		if ok && fit > 0.3 {
			after = append(after, stopped.Came.Sub(mic.TimeOf(from+end+endOfSpeech(clip))).Seconds())
		} else {
			missed++
		}
		b.untilSilent(speaker)
		time.Sleep(500 * time.Millisecond)
	}
	fmt.Printf("%s: of %d answers %d were stopped by a word, told to fall silent %.2f s p50 and %.2f s p95 after its last sample; %d not stopped, %d never begun\n",
		name, tries, len(after), quantile(after, 0.5), quantile(after, 0.95), missed, unspoken)
	program.Stop()
	for _, line := range program.Told() {
		if strings.Contains(line, "dB") {
			fmt.Printf("%s: %s\n", name, line)
		}
	}
	return mouth.close()
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
