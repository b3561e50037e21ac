// Command hearing measures the recogniser beside its peers on recordings: drink
// orders by many people, clean and in noise; our own shop commands spoken by
// synthetic voices; talk that is not meant for us. scripts/bench-hearing calls
// it and says how.
//
// Every clip is mixed once and heard by every row in turn, each row a process
// of its own, so that all figures come from the same sounds, the same machine
// and the same minutes.
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"putback/audio"
)

type options struct {
	data, sets, only, half, detail, tally   string
	noise, shopNoise, at, shopAt, talkAt    string
	serve                                   string
	seed                                    uint64
	every, shopEvery, talkEvery, voicesEach int
	more                                    bool
	room                                    float64
}

func main() {
	var o options
	flag.StringVar(&o.data, "data", filepath.Join("..", "shared", "data"), "folder of the recordings")
	flag.StringVar(&o.sets, "sets", "orders,shop,talk", "which sets to hear")
	flag.StringVar(&o.only, "only", "", "only the rows whose name has this in it; several with commas")
	flag.BoolVar(&o.more, "more", false, "the peers in other settings as well")
	flag.StringVar(&o.at, "at", "clean,24,18,12,6", "conditions of the orders: clean, or decibels of signal to noise")
	flag.StringVar(&o.shopAt, "shop-at", "clean,12", "conditions of the shop commands")
	flag.StringVar(&o.talkAt, "talk-at", "12", "conditions of the talk")
	flag.StringVar(&o.noise, "noise", "kitchen", "noise under the orders: a file of the data's noise folder (the beginning of its name will do), or babble")
	flag.StringVar(&o.shopNoise, "shop-noise", "engine", "noise under the shop commands and the talk")
	flag.Float64Var(&o.room, "room", 0, "hear everything 3 m away in a hard room that takes so many seconds to fall by 60 dB; 0 for close by")
	flag.Uint64Var(&o.seed, "seed", 1, "which stretches of the noise are taken")
	flag.IntVar(&o.every, "every", 3, "take every n-th order; 1 takes all and three times as long")
	flag.IntVar(&o.shopEvery, "shop-every", 1, "take every n-th shop command")
	flag.IntVar(&o.talkEvery, "talk-every", 1, "take every n-th talk")
	flag.IntVar(&o.voicesEach, "voices", 1, "by how many voices each shop command is spoken")
	flag.StringVar(&o.half, "half", "", "only the odd or the even clips of each set")
	flag.StringVar(&o.detail, "detail", "", "add one JSON line an utterance and row to this file")
	flag.StringVar(&o.tally, "tally", "", "hear nothing, print the tables of these detail files (commas between them)")
	flag.StringVar(&o.serve, "serve", "", "be the row of this model (the bench starts it itself)")
	flag.Parse()
	var err error
	switch {
	case o.serve != "":
		err = serve(o.serve, o.data, os.Stdin, os.Stdout)
	case o.tally != "":
		err = retell(strings.Split(o.tally, ","), os.Stdout)
	default:
		err = run(o)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "hearing:", err)
		os.Exit(1)
	}
}

// bench is one run.
type bench struct {
	options
	folder  string // for what is made on the way, removed at the end
	langs   languages
	orders  *orders
	spotter *spotter
	results *results
	log     io.Writer // nil for none
	stopped func() error
	// walls is the impulse response of the room, nil for none.
	walls audio.Samples
}

// part is one set with its conditions and its noise.
type part struct {
	set   string
	clips []clip
	ats   []string
	noise audio.Samples
}

func run(o options) (err error) {
	begun := time.Now()
	b := &bench{options: o, results: newResults()}
	if b.folder, err = os.MkdirTemp("", "hearing-"); err != nil {
		return err
	}
	defer os.RemoveAll(b.folder)
	// Stopped by hand or by a time limit, the run still cleans up and prints
	// the tables of what was heard so far.
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	b.stopped = ctx.Err
	if b.langs, err = loadLanguages(o.data); err != nil {
		return err
	}
	if o.detail != "" {
		f, err := os.OpenFile(o.detail, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, f.Close()) }()
		b.log = f
	}
	parts, err := b.parts()
	if err != nil {
		return err
	}
	if o.room > 0 {
		if b.walls, err = loadRoom(o.room); err != nil {
			return err
		}
	}
	if slices.ContainsFunc(parts, func(p part) bool { return p.set == ordersSet }) {
		source, err := os.ReadFile(filepath.Join(o.data, "barista", "barista.jsgf"))
		if err != nil {
			return fmt.Errorf("reading the grammar of the orders: %w", err)
		}
		if b.orders, err = parseOrders(string(source)); err != nil {
			return err
		}
		b.spotter = newSpotter(b.orders)
	}
	if err := b.hearAll(parts); err != nil {
		return err
	}
	b.results.printTables(os.Stdout, map[string]string{ordersSet: o.noise, shopSet: o.shopNoise, torqueSet: o.shopNoise, talkSet: o.shopNoise})
	fmt.Printf("\nHeard in %s, seed %d", time.Since(begun).Round(time.Second), o.seed)
	if o.room > 0 {
		fmt.Printf(", 3 m away in a room of %g s", o.room)
	}
	if o.half != "" {
		fmt.Printf(", the %s half", o.half)
	}
	fmt.Println(". Times are from handing over the sound to the answer, the rows taking turns on each clip.")
	return nil
}

// parts gathers what is to be heard.
func (b *bench) parts() ([]part, error) {
	var parts []part
	for _, set := range strings.Split(b.sets, ",") {
		p := part{set: strings.TrimSpace(set)}
		var err error
		at, noise, every := b.shopAt, b.shopNoise, b.shopEvery
		switch p.set {
		case ordersSet:
			at, noise, every = b.at, b.noise, b.every
			p.clips, err = orderClips(b.data)
		case shopSet:
			var commands []command
			if commands, err = shopCommands(); err == nil {
				p.clips, err = spokenClips(p.set, commands, b.voicesEach)
			}
		case torqueSet:
			p.clips, err = spokenClips(p.set, torqueCommands(), b.voicesEach)
		case talkSet:
			at, every = b.talkAt, b.talkEvery
			p.clips, err = talkClips(b.data)
		default:
			return nil, fmt.Errorf("-sets: there is no set %q; there are %s, %s, %s and %s", p.set, ordersSet, shopSet, torqueSet, talkSet)
		}
		if err != nil {
			return nil, err
		}
		if p.clips, err = pick(p.clips, b.half, every); err != nil {
			return nil, err
		}
		if p.ats, err = conditions(at); err != nil {
			return nil, err
		}
		if slices.ContainsFunc(p.ats, func(at string) bool { return at != cleanly }) {
			if p.noise, err = loadNoise(b.data, noise); err != nil {
				return nil, err
			}
		}
		parts = append(parts, p)
	}
	return parts, nil
}

// wanted reports whether a row is asked for.
func (b *bench) wanted(r row, parts []part) bool {
	if !slices.ContainsFunc(parts, func(p part) bool { return slices.Contains(r.sets, p.set) }) {
		return false
	}
	if b.only == "" {
		return b.more || !r.more
	}
	return slices.ContainsFunc(strings.Split(b.only, ","), func(s string) bool {
		s = strings.TrimSpace(s)
		return r.name == s || strings.Contains(r.name, s) && (b.more || !r.more)
	})
}

// hearAll starts every row and has each clip heard by all of them in turn.
func (b *bench) hearAll(parts []part) error {
	ears := map[string]*ear{}
	defer func() {
		for _, e := range ears {
			e.close()
		}
	}()
	for _, r := range tableRows {
		if !b.wanted(r, parts) {
			continue
		}
		fmt.Fprintf(os.Stderr, "hearing: starting %s …\n", r.name)
		command, err := r.command(b)
		if err == nil {
			ears[r.name], err = startEar(command)
		}
		if err != nil {
			delete(ears, r.name)
			if err := b.note(outcome{Row: r.name, Why: err.Error()}); err != nil {
				return err
			}
		}
	}
	if len(ears) == 0 && len(b.results.why) == 0 {
		return fmt.Errorf("no row has %q in its name", b.only)
	}
	for _, p := range parts {
		for _, at := range p.ats {
			fmt.Fprintf(os.Stderr, "hearing: %s, %s: %d clips …\n", p.set, at, len(p.clips))
			for _, c := range p.clips {
				if b.stopped() != nil {
					fmt.Fprintln(os.Stderr, "hearing: stopped; what follows is of the clips heard so far")
					return b.weigh(ears)
				}
				if err := b.hearOne(p, c, at, ears); err != nil {
					return err
				}
			}
		}
	}
	return b.weigh(ears)
}

// weigh notes how much memory each row's process took at most.
func (b *bench) weigh(ears map[string]*ear) error {
	for _, r := range tableRows {
		if e := ears[r.name]; e != nil {
			if err := b.note(outcome{Row: r.name, PeakMB: e.peak()}); err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *bench) hearOne(p part, c clip, at string, ears map[string]*ear) error {
	file, seconds, err := mix(c, at, b.walls, p.noise, b.seed, b.folder)
	if err != nil {
		return err
	}
	for _, r := range tableRows {
		e := ears[r.name]
		if e == nil || !slices.Contains(r.sets, c.set) {
			continue
		}
		a, took, err := e.ask(c.set, file)
		if err != nil {
			// A row that fails is out; the others go on.
			delete(ears, r.name)
			e.close()
			if err := b.note(outcome{Row: r.name, Why: "failed on " + c.name + ": " + err.Error()}); err != nil {
				return err
			}
			continue
		}
		o := b.understand(r, c, a)
		o.At, o.Seconds, o.Took = at, seconds, took.Seconds()
		if err := b.note(o); err != nil {
			return err
		}
	}
	return nil
}

// note keeps an outcome and writes it to the detail file.
func (b *bench) note(o outcome) error {
	b.results.add(o)
	if b.log == nil {
		return nil
	}
	return json.NewEncoder(b.log).Encode(o)
}

// retell prints the tables of detail files.
func retell(files []string, w io.Writer) error {
	r := newResults()
	for _, name := range files {
		f, err := os.Open(strings.TrimSpace(name))
		if err != nil {
			return err
		}
		lines := bufio.NewScanner(f)
		lines.Buffer(nil, 1<<20)
		for n := 1; lines.Scan(); n++ {
			var o outcome
			if err := json.Unmarshal(lines.Bytes(), &o); err != nil {
				return errors.Join(fmt.Errorf("%s:%d: %w", name, n, err), f.Close())
			}
			r.add(o)
		}
		if err := errors.Join(lines.Err(), f.Close()); err != nil {
			return err
		}
	}
	r.printTables(w, map[string]string{ordersSet: "the run's", shopSet: "the run's", torqueSet: "the run's", talkSet: "the run's"})
	return nil
}
