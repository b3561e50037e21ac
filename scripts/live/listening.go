package main

import (
	"fmt"
	"time"

	"putback/audio"
)

// listening measures the processor time and the false starts while nobody
// talks to it: silence, noise, talk.
func (b *bench) listening() error {
	return hosted(func(h *host) error {
		room, program := b.start(h)
		speaker := room.Record()
		fmt.Println()
		for _, bed := range []struct {
			name  string
			sound audio.Samples
		}{{"silence", nil}, {"noise", b.noise}, {"talk", b.talk}} {
			if bed.name == "talk" && len(bed.sound) == 0 {
				fmt.Println("talk: no recordings, left out")
				continue
			}
			mouth, err := openMouth(room, bed.sound)
			if err != nil {
				return err
			}
			time.Sleep(3 * time.Second)
			turns, at := len(program.Turns()), speaker.Length()
			before, err := program.Processor()
			if err != nil {
				return err
			}
			begun := time.Now()
			time.Sleep(b.listen)
			after, err := program.Processor()
			if err != nil {
				return err
			}
			took := time.Since(begun)
			if err := mouth.close(); err != nil {
				return err
			}
			acted, asked := 0, 0
			for _, t := range program.Turns()[turns:] {
				switch t.Outcome {
				case "not addressed", "own voice", "quiet":
				case "not understood":
					asked++
				default:
					acted++
					fmt.Printf("  false start: heard %q, %s\n", t.Heard, t.Outcome)
				}
			}
			sounded := "silent"
			if speaker.FirstSound(at, 0.01) >= 0 {
				sounded = "SPOKE"
			}
			fmt.Printf("listening to %s for %.0f s: %.1f %% of one core; %d stretches of speech looked at, acted %d, asked back %d, %s\n",
				bed.name, took.Seconds(), 100*(after-before).Seconds()/took.Seconds(), len(program.Turns())-turns, acted, asked, sounded)
		}
		memory, err := program.Memory()
		if err != nil {
			return err
		}
		fmt.Printf("memory after it %.0f MB\n", float64(memory)/1e6)
		return nil
	})
}
