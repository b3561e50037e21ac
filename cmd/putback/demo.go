package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/cmd/putback/internal/live"
	"putback/jobs"
	"putback/speech"
)

// demoLines is what the demo mechanic says, one sentence a line; "# " opens a
// remark, "noise" stands for nothing but shop noise.
//
//go:embed demo.txt
var demoLines string

func demoCommand() *cobra.Command {
	var dir, model string
	var snr float64
	c := &cobra.Command{
		Use:   "demo",
		Short: "the demo session: the boat-engine job, spoken, with shop noise, needs no microphone",
		Long: `The program's own voice speaks the demo mechanic's lines, lower and slower than
the companion's, with shop noise under them, into the same pipeline that
"putback listen --wav" uses. The dialogue is printed, the replies are written
as WAV files, and the job's state is shown at the end. The job, its machine and
its figures are invented.`,
		Example: "  putback demo --dir demo/",
		Args:    exactly(0),
		RunE: func(c *cobra.Command, _ []string) error {
			if dir == "" {
				made, err := os.MkdirTemp("", "putback-demo-")
				if err != nil {
					return fmt.Errorf("making a folder for the demo: %w", err)
				}
				dir = made
			} else if err := os.MkdirAll(dir, 0o755); err != nil {
				return fmt.Errorf("making the folder for the demo: %w", err)
			}
			return runDemo(c, dir, model, snr)
		},
	}
	c.Flags().StringVar(&dir, "dir", "", "the folder for the session's sound, the replies and the job (default: a new one)")
	c.Flags().StringVar(&model, "model", "", "tiny.en, base, tiny.en+base (base hears what tiny.en is unsure of), or a ggml file of your own")
	c.Flags().Float64Var(&snr, "noise", 15, "how many decibels the speech is above the noise")
	return c
}

func runDemo(c *cobra.Command, dir, model string, snr float64) (err error) {
	out, tell := c.OutOrStdout(), lineTeller(c.ErrOrStderr())
	set := (&listenFlags{model: model})
	loaded, err := set.load()
	if err != nil {
		return err
	}
	loaded.Board = ""
	fmt.Fprintln(out, "demo: making the mechanic's lines and the shop noise")
	sound, err := demoSound(c.Context(), dir, snr)
	if err != nil {
		return err
	}
	wav := filepath.Join(dir, "session.wav")
	if err := audio.WriteWAV(wav, sound); err != nil {
		return err
	}
	fmt.Fprintf(out, "demo: %s, %.0f s; the same again with\n      putback listen --wav %s --fast\n\n", wav, sound.Duration().Seconds(), wav)

	job := filepath.Join(dir, "demo.putback")
	if err := os.Remove(job); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("removing the job of an earlier demo: %w", err)
	}
	bench, err := jobs.Open(job, jobs.Options{Sheet: jobs.DemoSheet(), SheetFile: "boat-engine.yaml (demo)", Now: time.Now(), CallWord: loaded.CallWord})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, bench.Close()) }()
	s := session{
		set: loaded, talk: newConversation(bench, loaded.CallWord), source: audio.NewRecording(sound, true),
		out: out, tell: tell, fast: true,
	}
	closeVoice, err := s.openVoice(true, filepath.Join(dir, "replies"))
	if err != nil {
		return err
	}
	defer closeVoice()
	var turns, answered int
	var heard time.Duration
	s.answered = func(x live.Exchange, _ audio.Samples) {
		if x.Hearing.Text == "" {
			return
		}
		turns++
		heard += x.Heard
		if x.Outcome == live.Answered {
			answered++
		}
	}
	if err := s.run(c.Context(), ""); err != nil {
		return err
	}
	fmt.Fprintf(out, "\ndemo: %d sentences said, %d turns heard, %d answered; %.2f s of recognition each\n\n",
		len(demoSentences()), turns, answered, heard.Seconds()/float64(max(turns, 1)))
	if err := jobs.WriteStatus(out, bench.View(time.Now())); err != nil {
		return err
	}
	fmt.Fprintf(out, "\ndemo: the job is %s; the replies are in %s\n", job, filepath.Join(dir, "replies"))
	return nil
}

// demoSentences are the lines of demo.txt without remarks.
func demoSentences() []string {
	var lines []string
	for line := range strings.Lines(demoLines) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			lines = append(lines, line)
		}
	}
	return lines
}

// demoSound speaks the demo mechanic's lines, with pauses for the answers and
// shop noise under all of it.
func demoSound(ctx context.Context, dir string, snr float64) (audio.Samples, error) {
	set, err := (&listenFlags{}).load()
	if err != nil {
		return nil, err
	}
	voice, _, err := openVoice(set, speech.Mechanic)
	if err != nil {
		return nil, err
	}
	defer voice.Close()
	sound := audio.Silence(time.Second)
	for _, line := range demoSentences() {
		clip, err := voice.Say(ctx, line, speech.SayOptions{})
		if err != nil {
			return nil, fmt.Errorf("speaking %q: %w", line, err)
		}
		sound = append(sound, audio.Resample(clip.Samples, clip.Rate, audio.Rate)...)
		sound = append(sound, audio.Silence(2200*time.Millisecond)...)
	}
	mixer := audio.NewMixer(shopNoise(30*time.Second), 1)
	return mixer.Mix(sound, snr)
}
