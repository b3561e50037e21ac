package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

func hearCommand() *cobra.Command {
	var grammarFile, model string
	var asJSON bool
	var own jobFlags
	c := &cobra.Command{
		Use:   "hear [--grammar FILE.jsgf | --sheet FILE | --job FILE] WAV...",
		Short: "recognise recordings held to any JSGF grammar",
		Long: `Recognises recordings held to a JSGF grammar, one line each. Without --grammar
they are held to what can be said at the bench, with the names of the sheet or
of the job, which is only read.`,
		Example: "  putback hear --grammar drinks.jsgf --jsonl order1.wav order2.wav\n  putback hear --sheet boat-engine.yaml command.wav",
		Args:    atLeast(1),
		RunE: func(c *cobra.Command, files []string) (err error) {
			language, err := hearLanguage(grammarFile, own, c.ErrOrStderr())
			if err != nil {
				return err
			}
			recognizer, err := openRecognizer(model)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, recognizer.Close()) }()
			var failed int
			for _, file := range files {
				line, err := hearFile(c.Context(), recognizer, language, file)
				if err != nil {
					if c.Context().Err() != nil {
						return c.Context().Err()
					}
					failed++
					fmt.Fprintln(c.ErrOrStderr(), "putback: "+err.Error())
					continue
				}
				if err := line.print(c.OutOrStdout(), asJSON); err != nil {
					return err
				}
			}
			if failed > 0 {
				return fmt.Errorf("%d of %d recordings could not be read", failed, len(files))
			}
			return nil
		},
	}
	c.Flags().StringVar(&grammarFile, "grammar", "", "the JSGF grammar")
	c.Flags().StringVar(&model, "model", "", "a ggml model file of your own, or tiny.en, base or tiny.en+base (base hears what tiny.en is unsure of; default: tiny.en)")
	c.Flags().BoolVar(&asJSON, "jsonl", true, "print one JSON object a line; --jsonl=false prints plain lines")
	_ = c.MarkFlagFilename("grammar", "jsgf")
	own.add(c)
	c.MarkFlagsMutuallyExclusive("grammar", "sheet", "job")
	return c
}

// hearLanguage is what recordings are held to: the file's grammar, or that of
// the bench with the names of a job or a sheet.
func hearLanguage(grammarFile string, own jobFlags, errOut io.Writer) (_ *intent.Automaton, err error) {
	if grammarFile != "" {
		grammar, err := intent.LoadGrammar(grammarFile)
		if err != nil {
			return nil, err
		}
		return grammar.Compile()
	}
	var bench *jobs.Bench
	if own.job != "" {
		bench, err = openExisting(own.job)
	} else {
		o := jobs.Options{Now: time.Now()}
		if o.Sheet, err = own.load(errOut); err == nil {
			bench, err = jobs.OpenMemory(o)
		}
	}
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, bench.Close()) }()
	return newConversation(bench, "").grammar()
}

// The names of the program's own weights, see package models.
const (
	tinyEn = "tiny.en"
	base   = "base"
	joint  = tinyEn + "+" + base // base hears what tiny.en is unsure of
)

// openRecognizer opens the weights named by --model or the config: "",
// "tiny.en", "base" and "tiny.en+base" are the program's own, anything else is a file.
func openRecognizer(model string, options ...speech.Option) (*speech.Recognizer, error) {
	paths := []string{model}
	switch model {
	case "":
		model = tinyEn
		fallthrough
	case tinyEn, base, joint:
		var err error
		if paths, err = models.Paths(model); err != nil {
			return nil, err
		}
	}
	if _, err := os.Stat(paths[0]); errors.Is(err, fs.ErrNotExist) && !strings.ContainsRune(paths[0], filepath.Separator) {
		return nil, fmt.Errorf("there is no hearing model %q; there are %s, %s and %s, or give the path of a file", model, tinyEn, base, joint)
	}
	for _, second := range paths[1:] {
		options = append(options, speech.SecondOpinion(second))
	}
	return speech.Open(paths[0], options...)
}

// heardLine is what `hear` prints of one recording.
type heardLine struct {
	File       string         `json:"file"`
	Text       string         `json:"text"`
	Intent     string         `json:"intent"`
	Slots      map[string]any `json:"slots"`
	Confidence float64        `json:"confidence"`
	Accepted   bool           `json:"accepted"`
	Seconds    float64        `json:"seconds"`
}

func (l heardLine) print(w io.Writer, asJSON bool) error {
	if asJSON {
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		return enc.Encode(l)
	}
	mark := "accepted"
	if !l.Accepted {
		mark = "not accepted"
	}
	_, err := fmt.Fprintf(w, "%s: %s (%s, %.2f, %.2f s)\n", filepath.Base(l.File), l.Text, mark, l.Confidence, l.Seconds)
	return err
}

func hearFile(ctx context.Context, r *speech.Recognizer, language *intent.Automaton, file string) (heardLine, error) {
	l := heardLine{File: file, Slots: map[string]any{}}
	sound, err := audio.ReadWAV(file)
	if err != nil {
		return l, err
	}
	start := time.Now()
	result, err := r.Hear(ctx, sound, language)
	if err != nil {
		return l, fmt.Errorf("recognising %s: %w", file, err)
	}
	l.Seconds = time.Since(start).Seconds()
	l.Confidence, l.Accepted = result.Confidence, result.Verdict == speech.Act
	if len(result.Hypotheses) == 0 {
		return l, nil
	}
	l.Text = result.Hypotheses[0].Text
	if readings := language.Parse(l.Text); len(readings) > 0 {
		l.Intent, l.Slots = readings[0].Rule, slotMap(readings[0])
	}
	return l, nil
}
