package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// languages are what recognition is held to, by set.
type languages map[string]*intent.Automaton

// loadLanguages compiles the grammar of the orders and that of the shop with
// the names of the demo job, as the program itself has them.
func loadLanguages(data string) (languages, error) {
	l := languages{}
	file := filepath.Join(data, "barista", "barista.jsgf")
	if _, err := os.Stat(file); err == nil {
		grammar, err := intent.LoadGrammar(file)
		if err != nil {
			return nil, err
		}
		if l[ordersSet], err = grammar.Compile(); err != nil {
			return nil, err
		}
	}
	bench, err := jobs.OpenMemory(jobs.Options{Sheet: jobs.DemoSheet(), Now: time.Unix(0, 0), CallWord: "toolbox"})
	if err != nil {
		return nil, fmt.Errorf("opening the demo job: %w", err)
	}
	defer bench.Close()
	if l[shopSet], err = intent.Shop(bench.Vocabulary()); err != nil {
		return nil, err
	}
	l[talkSet], l[torqueSet] = l[shopSet], l[shopSet]
	return l, nil
}

// serve is Putback's row: the process that the bench starts of itself.
func serve(model, data string, in io.Reader, out io.Writer) error {
	paths, err := models.Paths(model)
	if err != nil {
		return err
	}
	speech.SaveMemory()
	var options []speech.Option
	for _, second := range paths[1:] {
		options = append(options, speech.SecondOpinion(second))
	}
	recognizer, err := speech.Open(paths[0], options...)
	if err != nil {
		return err
	}
	defer recognizer.Close()
	langs, err := loadLanguages(data)
	if err != nil {
		return err
	}
	say := json.NewEncoder(out)
	if err := say.Encode(answer{Ready: true}); err != nil {
		return err
	}
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		lang, file, _ := strings.Cut(lines.Text(), "\t")
		a, err := hear(recognizer, langs[lang], file)
		if err != nil {
			a = answer{Error: err.Error()}
		}
		if err := say.Encode(a); err != nil {
			return err
		}
	}
	return lines.Err()
}

func hear(recognizer *speech.Recognizer, lang *intent.Automaton, file string) (answer, error) {
	if lang == nil {
		return answer{}, fmt.Errorf("hearing %s: there is no language for it", file)
	}
	sound, err := audio.ReadWAV(file)
	if err != nil {
		return answer{}, err
	}
	res, err := recognizer.Hear(context.Background(), sound, lang)
	if err != nil {
		return answer{}, fmt.Errorf("hearing %s: %w", file, err)
	}
	a := answer{Verdict: res.Verdict.String(), Free: res.FreeText, FreeLogProb: finite(res.FreeLogProb), Confidence: finite(res.Confidence)}
	if best, ok := res.Best(); ok {
		a.Text, a.LogProb, a.Score, a.Posterior = best.Text, finite(best.LogProb), finite(best.Score), finite(best.Posterior)
	}
	if len(res.Hypotheses) > 1 {
		a.Second = res.Hypotheses[1].Text
	}
	return a, nil
}

// finite is x, or 0 for what JSON cannot say.
func finite(x float64) float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return 0
	}
	return x
}
