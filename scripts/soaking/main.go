// Command soaking plays hours of sound that nobody addressed to the program,
// with addressed commands among it, through `putback listen --wav --fast`, and
// tells what acted, what was answered, and by what cause. scripts/soak calls it
// with the recordings in place.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"time"

	"putback/audio"
)

func main() {
	var o options
	flag.StringVar(&o.program, "program", "", "the putback binary")
	flag.StringVar(&o.data, "data", "", "folder of the recordings (talk, noise)")
	flag.StringVar(&o.stock, "stock", "", "folder of the downloaded recordings (radio, music)")
	flag.Float64Var(&o.hours, "hours", 1, "hours of sound in each mode")
	flag.StringVar(&o.modes, "modes", "call,open", "ways to address the program: call, open")
	flag.DurationVar(&o.stretch, "stretch", 5*time.Minute, "sound of one run of the program, with a job of its own; at least a minute")
	flag.DurationVar(&o.every, "every", time.Minute, "an addressed command about so often")
	flag.Uint64Var(&o.seed, "seed", 1, "which mix")
	flag.IntVar(&o.turns, "turns", 0, "do not recognise: lay so many commands on each background and tell how many are cut out rightly")
	flag.StringVar(&o.model, "model", "tiny.en", "what hears, as in `putback listen --model`")
	flag.StringVar(&o.failures, "failures", "", "append a line for each failure to this file")
	flag.StringVar(&o.keep, "keep", "", "write the sound of each failure into this folder")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, o); err != nil {
		fmt.Fprintln(os.Stderr, "soak:", err)
		os.Exit(1)
	}
}

type options struct {
	program, data, stock, modes, model, failures, keep string
	hours                                              float64
	stretch, every                                     time.Duration
	seed                                               uint64
	turns                                              int
}

func run(ctx context.Context, o options) error {
	if o.program == "" || o.hours <= 0 || o.stretch < time.Minute || o.every < time.Second {
		return errors.New("call scripts/soak; -hours is above 0, -stretch at least a minute and -every a second")
	}
	scratch, err := os.MkdirTemp("", "putback-soak-")
	if err != nil {
		return fmt.Errorf("making a folder for the sound: %w", err)
	}
	defer os.RemoveAll(scratch)
	have, err := openStock(o.data, o.stock)
	if err != nil {
		return err
	}
	said, err := speakCommands(ctx)
	if err != nil {
		return err
	}
	fmt.Printf("soak: %s\nsoak: %d addressed commands in %d recordings of %d voices, seed %d, heard by %s\n", have, len(commands), len(said.clips), len(said.voices()), o.seed, o.model)
	if o.turns > 0 {
		return cutOut(o, have, said)
	}
	runs := int(math.Ceil(o.hours * float64(time.Hour) / float64(o.stretch)))
	modes := strings.Split(o.modes, ",")
	all := make(map[string]*tally)
	for _, mode := range modes {
		if mode != "call" && mode != "open" {
			return fmt.Errorf("-modes knows call and open, not %q", mode)
		}
		all[mode] = newTally(mode)
	}
	for n := range runs {
		// By turns, so that a run that is stopped has told something of each.
		for _, mode := range modes {
			mix := makeMix(have, said, mode, o.stretch, o.every, rand.New(rand.NewPCG(o.seed, uint64(n)+1)))
			wav := filepath.Join(scratch, fmt.Sprintf("%s-%02d.wav", mode, n))
			if err := audio.WriteWAV(wav, mix.sound); err != nil {
				return err
			}
			begun := time.Now()
			turns, err := listen(ctx, o.program, o.model, scratch, wav, mode)
			if ctx.Err() != nil {
				break // stopped by the person: what was measured is still told
			}
			if err != nil {
				return err
			}
			one := newTally(mode)
			one.length, one.took = mix.sound.Duration(), time.Since(begun)
			one.count(mix, turns, said)
			for _, q := range one.asked {
				done, err := q.answered(ctx, o, scratch, mode, mix, said)
				if ctx.Err() != nil {
					break
				}
				if err != nil {
					return err
				}
				if done {
					one.agreed++
				}
			}
			fmt.Printf("soak: %s, stretch %d of %d: %s\n", mode, n+1, runs, one.line())
			if err := one.keepFailures(o, n, mix.sound); err != nil {
				return err
			}
			all[mode].add(one)
			if err := os.Remove(wav); err != nil {
				return fmt.Errorf("removing the sound: %w", err)
			}
		}
	}
	for _, mode := range modes {
		if all[mode].length > 0 {
			all[mode].print(os.Stdout)
		}
	}
	return nil
}
