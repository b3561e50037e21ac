package main

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"putback/audio"
)

// The sets.
const (
	ordersSet = "orders" // people ordering drinks, barista/
	shopSet   = "shop"   // our own commands, spoken by synthetic voices
	torqueSet = "torque" // torques told, spoken by synthetic voices
	talkSet   = "talk"   // speech that is not meant for us, talk/
)

// clip is one recording of a set.
type clip struct {
	set, name string // name is unique in the set
	file      string
	slots     map[string]string // wanted, of an order
	want      string            // wanted, of a shop command: the line of describe
}

// orderClips are the recorded orders with their labels.
func orderClips(data string) ([]clip, error) {
	raw, err := os.ReadFile(filepath.Join(data, "barista", "labels.json"))
	if err != nil {
		return nil, fmt.Errorf("reading the labels of the orders: %w", err)
	}
	var labels map[string]struct{ Slots map[string]string }
	if err := json.Unmarshal(raw, &labels); err != nil {
		return nil, fmt.Errorf("reading the labels of the orders: %w", err)
	}
	var list []clip
	for _, n := range slices.Sorted(maps.Keys(labels)) {
		list = append(list, clip{set: ordersSet, name: n, file: filepath.Join(data, "barista", n), slots: labels[n].Slots})
	}
	return list, nil
}

// talkClips are the recordings of people reading aloud.
func talkClips(data string) ([]clip, error) {
	files, err := filepath.Glob(filepath.Join(data, "talk", "*.wav"))
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("there are no recordings in %s", filepath.Join(data, "talk"))
	}
	var list []clip
	for _, f := range files {
		list = append(list, clip{set: talkSet, name: filepath.Base(f), file: f})
	}
	return list, nil
}

// pick takes the clips of one half ("odd" or "even" by place in the set, "" for
// both) and of those every n-th. Tuning on one half and reporting the other
// keeps the two apart.
func pick(clips []clip, half string, every int) ([]clip, error) {
	if half != "" && half != "odd" && half != "even" {
		return nil, fmt.Errorf("-half is %q; odd or even is wanted", half)
	}
	var out []clip
	for i, c := range clips {
		if half == "" || (i%2 == 1) == (half == "odd") {
			out = append(out, c)
		}
	}
	kept := out[:0]
	for i := 0; i < len(out); i += max(1, every) {
		kept = append(kept, out[i])
	}
	return kept, nil
}

// cleanly is the condition of no noise.
const cleanly = "clean"

// conditions reads a list like "clean,24,6".
func conditions(list string) ([]string, error) {
	var out []string
	for _, at := range strings.Split(list, ",") {
		at = strings.TrimSpace(at)
		if at != cleanly {
			db, err := strconv.ParseFloat(at, 64)
			if err != nil {
				return nil, fmt.Errorf("the condition %q: %q or decibels are wanted", at, cleanly)
			}
			at = strconv.FormatFloat(db, 'g', -1, 64) + " dB"
		}
		out = append(out, at)
	}
	return out, nil
}

// mix writes the clip as it is heard under a condition into a folder and gives
// the file and its length in seconds. Every row hears this same file. The
// stretch of noise depends on the seed and the clip alone, so that pieces of a
// run fit together.
func mix(c clip, at string, walls, noise audio.Samples, seed uint64, folder string) (string, float64, error) {
	sound, err := audio.ReadWAV(c.file)
	if err != nil {
		return "", 0, err
	}
	sound = reverberate(sound, walls)
	if db, ok := strings.CutSuffix(at, " dB"); ok {
		snr, err := strconv.ParseFloat(db, 64)
		if err != nil {
			return "", 0, err
		}
		h := fnv.New64()
		h.Write([]byte(c.name))
		if sound, err = audio.NewMixer(noise, seed^h.Sum64()).Mix(sound, snr); err != nil {
			return "", 0, fmt.Errorf("mixing noise under %s: %w", c.name, err)
		}
	}
	file := filepath.Join(folder, "clip.wav")
	if err := audio.WriteWAV(file, sound); err != nil {
		return "", 0, err
	}
	return file, float64(len(sound)) / audio.Rate, nil
}
