// Command hearing measures the recogniser on the recordings beside the project:
// how many barista orders are heard with every slot right, how many are refused
// and how many would be acted on wrongly, clean and in noise; and how much talk
// that is not meant for us would be acted on. scripts/bench-hearing calls it.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/models"
	"putback/speech"
)

func main() {
	data := flag.String("data", filepath.Join("..", "shared", "data"), "folder of the recordings")
	model := flag.String("model", "tiny.en", "name of the model")
	noise := flag.String("noise", "kitchen", "noise of the data set to mix in")
	seed := flag.Uint64("seed", 1, "which stretches of the noise are taken")
	every := flag.Int("every", 1, "take every n-th recording")
	only := flag.String("only", "", "measure only the rows whose name has this in it")
	detail := flag.String("detail", "", "write one JSON line an utterance to this file")
	flag.Parse()
	if err := run(*data, *model, *noise, *seed, *every, *only, *detail); err != nil {
		fmt.Fprintln(os.Stderr, "hearing:", err)
		os.Exit(1)
	}
}

// line is one utterance as it was heard.
type line struct {
	File, Set, Want, Got, Text, Free string
	Verdict                          string
	LogProb, Score, FreeLogProb      float64
	Posterior, Confidence            float64
	Seconds, Took                    float64
	Right                            bool
}

func run(data, model, noiseName string, seed uint64, every int, only, detail string) error {
	path, err := models.Path(model)
	if err != nil {
		return err
	}
	ear, err := speech.Open(path)
	if err != nil {
		return err
	}
	defer ear.Close()
	grammar, err := intent.LoadGrammar(filepath.Join(data, "barista", "barista.jsgf"))
	if err != nil {
		return err
	}
	barista, err := grammar.Compile()
	if err != nil {
		return err
	}
	shop, err := intent.Shop(intent.Vocabulary{
		Groups: []string{"front cover short", "front cover long", "tensioner bolt", "pump bolts"},
		Parts:  []string{"shaft seal", "impeller"}, Steps: []string{"drain", "cover off", "pump on", "seal in"},
		Places: []string{"cup four", "top shelf"}, Fluids: []string{"engine oil", "coolant"},
		Words: []string{"sea strainer", "stern gland"}, CallWord: "toolbox",
	})
	if err != nil {
		return err
	}
	noise, err := audio.ReadWAV(filepath.Join(data, "noise", noiseName+".wav"))
	if err != nil {
		return err
	}
	raw, err := os.ReadFile(filepath.Join(data, "barista", "labels.json"))
	if err != nil {
		return fmt.Errorf("reading the labels of the orders: %w", err)
	}
	var labels map[string]struct{ Slots map[string]string }
	if err := json.Unmarshal(raw, &labels); err != nil {
		return fmt.Errorf("reading the labels of the orders: %w", err)
	}
	out := json.NewEncoder(os.Stderr)
	if detail != "" {
		f, err := os.Create(detail)
		if err != nil {
			return err
		}
		defer f.Close()
		out = json.NewEncoder(f)
	} else {
		out = nil
	}
	var orders []string
	for _, n := range slices.Sorted(maps.Keys(labels)) {
		orders = append(orders, filepath.Join(data, "barista", n))
	}
	talk, err := filepath.Glob(filepath.Join(data, "talk", "*.wav"))
	if err != nil {
		return err
	}
	hear := func(file, set string, lang *intent.Automaton, snr float64, clean bool) (line, error) {
		sound, err := audio.ReadWAV(file)
		if err != nil {
			return line{}, err
		}
		if !clean {
			h := fnv.New64()
			h.Write([]byte(filepath.Base(file)))
			if sound, err = audio.NewMixer(noise, seed^h.Sum64()).Mix(sound, snr); err != nil {
				return line{}, err
			}
		}
		res, err := ear.Hear(context.Background(), sound, lang)
		if err != nil {
			return line{}, fmt.Errorf("hearing %s: %w", file, err)
		}
		best, _ := res.Best()
		l := line{File: filepath.Base(file), Set: set, Text: best.Text, Free: res.FreeText, Verdict: res.Verdict.String(),
			LogProb: best.LogProb, Score: best.Score, FreeLogProb: res.FreeLogProb, Posterior: best.Posterior, Confidence: res.Confidence,
			Seconds: float64(len(sound)) / audio.Rate, Took: res.Took.Seconds()}
		if r := lang.Parse(best.Text); len(r) > 0 {
			if w, ok := labels[l.File]; ok {
				l.Right = maps.Equal(r[0].Map(), w.Slots)
			}
		}
		if out != nil {
			err = out.Encode(l)
		}
		return l, err
	}
	fmt.Printf("%s, %s noise, seed %d\n%-24s %6s %6s %6s %7s %6s %6s\n", model, noiseName, seed, "", "clips", "right", "acted", "wrong", "p50", "p95")
	row := func(set string, files []string, lang *intent.Automaton, snr float64, clean bool) error {
		if !strings.Contains(set, only) {
			return nil
		}
		var n, right, acted, wrong int
		var took []float64
		for i := 0; i < len(files); i += every {
			l, err := hear(files[i], set, lang, snr, clean)
			if err != nil {
				return err
			}
			n++
			took = append(took, l.Took)
			if l.Right {
				right++
			}
			if l.Verdict == speech.Act.String() {
				acted++
				if !l.Right {
					wrong++
				}
			}
		}
		if n == 0 {
			return nil
		}
		sort.Float64s(took)
		_, err := fmt.Printf("%-24s %6d %5.1f%% %5.1f%% %6.2f%% %5.2fs %5.2fs\n", set, n, percent(right, n), percent(acted, n), percent(wrong, n),
			took[n/2], took[min(n-1, n*95/100)])
		return err
	}
	start := time.Now()
	if err := row("orders, clean", orders, barista, 0, true); err != nil {
		return err
	}
	for _, snr := range []float64{24, 18, 12, 6} {
		if err := row(fmt.Sprintf("orders, %.0f dB", snr), orders, barista, snr, false); err != nil {
			return err
		}
	}
	for _, l := range []struct {
		name string
		lang *intent.Automaton
	}{{"barista", barista}, {"shop", shop}} {
		if err := row("talk, "+l.name, talk, l.lang, 0, true); err != nil {
			return err
		}
		if err := row("talk, "+l.name+", 12 dB", talk, l.lang, 12, false); err != nil {
			return err
		}
	}
	fmt.Printf("in %s; right: every slot and none more; wrong: acted on and not right\n", time.Since(start).Round(time.Second))
	return nil
}

func percent(n, of int) float64 { return 100 * float64(n) / float64(of) }
