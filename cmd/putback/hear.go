package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/intent"
	"putback/models"
	"putback/speech"
)

func hearCommand() *cobra.Command {
	var grammarFile, model string
	var asJSON bool
	c := &cobra.Command{
		Use:     "hear --grammar FILE.jsgf WAV...",
		Short:   "recognise recordings held to any JSGF grammar",
		Example: "  putback hear --grammar drinks.jsgf --jsonl order1.wav order2.wav",
		Args:    atLeast(1),
		RunE: func(c *cobra.Command, files []string) (err error) {
			if grammarFile == "" {
				return errUsage{errors.New("hear: name the grammar with --grammar FILE.jsgf")}
			}
			grammar, err := intent.LoadGrammar(grammarFile)
			if err != nil {
				return err
			}
			language, err := grammar.Compile()
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
	c.Flags().StringVar(&model, "model", "", "a ggml model file of your own, or tiny.en or base (default: tiny.en)")
	c.Flags().BoolVar(&asJSON, "jsonl", true, "print one JSON object a line; --jsonl=false prints plain lines")
	_ = c.MarkFlagFilename("grammar", "jsgf")
	return c
}

// The names of the program's own weights, see package models.
const (
	tinyEn = "tiny.en"
	base   = "base"
)

// openRecognizer opens the weights named by --model or the config: "" and
// "tiny.en" and "base" are the program's own, anything else is a file.
func openRecognizer(model string, options ...speech.Option) (*speech.Recognizer, error) {
	path := model
	switch model {
	case "":
		model = tinyEn
		fallthrough
	case tinyEn, base:
		var err error
		if path, err = models.Path(model); err != nil {
			return nil, err
		}
	}
	return speech.Open(path, options...)
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
