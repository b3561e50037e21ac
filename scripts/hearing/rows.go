package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"putback/intent"
	"putback/models"
	"putback/speech"
)

// row is one line of the table.
type row struct {
	name    string
	sets    []string
	command func(*bench) ([]string, error) // the process that hears; the error is printed in its row
	spots   bool                           // free text, slots are spotted in it
	more    bool                           // only when asked for with -more
}

var tableRows = []row{
	{name: "Putback tiny.en", sets: []string{ordersSet, shopSet, torqueSet, talkSet}, command: putback("tiny.en")},
	{name: "Putback base", sets: []string{ordersSet, shopSet, torqueSet, talkSet}, command: putback("base")},
	{name: "Putback both", sets: []string{ordersSet, shopSet, torqueSet, talkSet}, command: putback("tiny.en+base")},
	{name: "whisper.cpp free text", sets: []string{ordersSet}, command: whisperPeer("tiny.en-f16", "shipped", false), spots: true},
	{name: "whisper.cpp GBNF", sets: []string{ordersSet}, command: whisperPeer("tiny.en-f16", "shipped", true)},
	{name: "pocketsphinx JSGF", sets: []string{ordersSet}, command: sphinxPeer},
	{name: "whisper.cpp free text, quick", sets: []string{ordersSet}, command: whisperPeer("tiny.en-f16", "quick", false), spots: true, more: true},
	{name: "whisper.cpp GBNF, quick", sets: []string{ordersSet}, command: whisperPeer("tiny.en-f16", "quick", true), more: true},
	{name: "whisper.cpp base free text", sets: []string{ordersSet}, command: whisperPeer("base-f16", "shipped", false), spots: true, more: true},
	{name: "whisper.cpp base GBNF", sets: []string{ordersSet}, command: whisperPeer("base-f16", "shipped", true), more: true},
}

func putback(model string) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		self, err := os.Executable()
		if err != nil {
			return nil, err
		}
		for name := range strings.SplitSeq(model, "+") {
			if _, err := weights(name); err != nil {
				return nil, err
			}
		}
		return []string{self, "-serve", model, "-data", b.data}, nil
	}
}

func whisperPeer(model, setting string, held bool) func(*bench) ([]string, error) {
	return func(b *bench) ([]string, error) {
		program, err := install("whisper")
		if err != nil {
			return nil, err
		}
		path, err := weights(model)
		if err != nil {
			return nil, err
		}
		command := []string{program[0], path, strconv.Itoa(min(runtime.NumCPU(), 4)), setting}
		if held {
			file := filepath.Join(b.folder, "orders.gbnf")
			if err := os.WriteFile(file, []byte(b.orders.gbnf()), 0o644); err != nil {
				return nil, err
			}
			command = append(command, file)
		}
		return command, nil
	}
}

// weights is where a model lies; what is not there yet is fetched.
func weights(model string) (string, error) {
	if path, err := models.Path(model); err == nil {
		return path, nil
	}
	if err := models.Fetch(context.Background(), func(line string) { fmt.Fprintln(os.Stderr, line) }, model); err != nil {
		return "", err
	}
	return models.Path(model)
}

func sphinxPeer(b *bench) ([]string, error) {
	python, err := install("sphinx")
	if err != nil {
		return nil, err
	}
	return []string{python[0], filepath.Join("scripts", "hearing", "peers", "sphinx.py"), filepath.Join(b.data, "barista", "barista.jsgf")}, nil
}

// install makes a peer or voice ready and gives the lines it prints.
func install(name string) ([]string, error) {
	out, err := exec.Command(filepath.Join("scripts", "hearing", "peers", "install"), name).Output()
	if err != nil {
		why := err.Error()
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			lines := strings.Split(strings.TrimSpace(string(exit.Stderr)), "\n")
			why = lines[len(lines)-1]
		}
		return nil, fmt.Errorf("not installed: %s", why)
	}
	lines := strings.Fields(string(out))
	if len(lines) == 0 {
		return nil, errors.New("not installed: its installer does not say where it is")
	}
	return lines, nil
}

// understand turns an answer into an outcome: what it means, whether that is
// right, and whether a program would act on it.
func (b *bench) understand(r row, c clip, a answer) outcome {
	o := outcome{Row: r.name, Set: c.set, File: c.name, Text: strings.TrimSpace(a.Text), Verdict: a.Verdict,
		Free: a.Free, LogProb: a.LogProb, Score: a.Score, FreeLogProb: a.FreeLogProb, Posterior: a.Posterior, Confidence: a.Confidence, Second: a.Second}
	var slots map[string]string
	understood := false
	switch {
	case r.spots:
		slots = b.spotter.spot(o.Text)
		understood = slots != nil
	default:
		if readings := b.langs[c.set].Parse(o.Text); len(readings) > 0 {
			understood = true
			slots, o.Called = readings[0].Map(), readings[0].Addressed
			if c.set != ordersSet {
				in, err := intent.FromReading(readings[0])
				if err != nil {
					understood = false
				} else {
					o.Got = describe(in)
				}
			}
		}
	}
	if c.set == ordersSet {
		o.Want, o.Got = slotLine(c.slots), slotLine(slots)
		o.Right = understood && maps.Equal(slots, c.slots)
	} else if c.set == shopSet || c.set == torqueSet {
		o.Want, _, _ = strings.Cut(c.want, orElse)
		o.Right = understood && meant(o.Got, c.want)
	}
	if o.Verdict == "" {
		// A peer has no verdict: a program acts on what it understands.
		o.Verdict = speech.Ignore.String()
		if understood {
			o.Verdict = speech.Act.String()
		}
	}
	return o
}

// slotLine writes slots in one line, sorted.
func slotLine(slots map[string]string) string {
	var parts []string
	for _, n := range slices.Sorted(maps.Keys(slots)) {
		parts = append(parts, fmt.Sprintf("%s=%q", n, slots[n]))
	}
	return strings.Join(parts, " ")
}
