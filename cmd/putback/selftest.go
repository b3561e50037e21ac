package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/jobs"
	"putback/speech"
)

func selftestCommand() *cobra.Command {
	var settings bool
	c := &cobra.Command{
		Use:     "selftest",
		Short:   "microphone, loudspeaker, model, voice, measured reaction time",
		Example: "  putback selftest\n  putback selftest --settings > config.yaml",
		Args:    exactly(0),
		RunE: func(c *cobra.Command, _ []string) error {
			if settings {
				_, err := fmt.Fprint(c.OutOrStdout(), config.Example)
				return err
			}
			return runSelftest(c)
		},
	}
	c.Flags().BoolVar(&settings, "settings", false, "print a whole settings file with its defaults")
	return c
}

// runSelftest looks at each part in turn, says what it found and what to
// change, and fails when listening could not work.
func runSelftest(c *cobra.Command) error {
	out := c.OutOrStdout()
	set, err := config.Load(config.Path())
	if err != nil {
		return err
	}
	bad := 0
	say := func(part string, err error, good string) {
		if err != nil {
			bad++
			fmt.Fprintf(out, "%-12s %v\n", part, err)
			return
		}
		fmt.Fprintf(out, "%-12s %s\n", part, good)
	}
	mics, err := audio.Microphones()
	if err == nil && len(mics) == 0 {
		err = errors.New("none found: plug one in, or play a recording with listen --wav FILE")
	}
	say("microphone", err, fmt.Sprint(deviceNames(mics)))
	outs, err := audio.Loudspeakers()
	if err == nil && len(outs) == 0 {
		err = errors.New("none found: the replies are printed only")
	}
	say("loudspeaker", err, fmt.Sprint(deviceNames(outs)))
	if _, line := openVAD(); line != "" {
		fmt.Fprintf(out, "%-12s %s\n", "detector", line)
	} else {
		fmt.Fprintf(out, "%-12s voice activity net loaded\n", "detector")
	}

	voice, line, err := openVoice(set, speech.Companion)
	if line == "" && err == nil {
		line = voice.Name()
	}
	say("voice", err, line)
	recognizer, rerr := openRecognizer(set.Model)
	say("model", rerr, set.Model)
	if err == nil && rerr == nil {
		defer voice.Close()
		defer recognizer.Close()
		rerr = measureReaction(c, voice, recognizer)
	}
	if bad > 0 || rerr != nil {
		return errors.Join(rerr, fmt.Errorf("%d parts are not ready; each line above says what to do", bad))
	}
	return nil
}

func deviceNames(list []audio.Device) []string {
	var names []string
	for _, d := range list {
		names = append(names, d.Name)
	}
	return names
}

// measureReaction lets the mechanic's voice say a command and times the
// recognition and the first sound of the answer on this computer.
func measureReaction(c *cobra.Command, voice *speech.Voice, recognizer *speech.Recognizer) error {
	set := config.Default()
	speaker, _, err := openVoice(set, speech.Mechanic)
	if err != nil {
		return err
	}
	defer speaker.Close()
	clip, err := speaker.Say(c.Context(), "toolbox, how many are out?", speech.SayOptions{})
	if err != nil {
		return err
	}
	bench, err := jobs.OpenMemory(jobs.Options{Now: time.Now()})
	if err != nil {
		return err
	}
	defer bench.Close()
	grammar, err := newConversation(bench, set.CallWord).grammar()
	if err != nil {
		return err
	}
	sound := audio.Resample(clip.Samples, clip.Rate, audio.Rate)
	if _, err := recognizer.Hear(c.Context(), sound, grammar); err != nil { // warm
		return err
	}
	start := time.Now()
	result, err := recognizer.Hear(c.Context(), sound, grammar)
	if err != nil {
		return err
	}
	heard := time.Since(start)
	start = time.Now()
	stop := errors.New("first sound")
	err = voice.Stream(c.Context(), "Four out in one group.", speech.SayOptions{}, func(speech.Clip) error { return stop })
	if err != nil && !errors.Is(err, stop) {
		return err
	}
	first := time.Since(start)
	best, _ := result.Best()
	fmt.Fprintf(c.OutOrStdout(), "%-12s heard %q in %.2f s, first sound of an answer after %.2f s more; with a pause of %.2f s that is %.2f s\n",
		"reaction", best.Text, heard.Seconds(), first.Seconds(), set.Settle.Seconds(), (set.Settle + heard + first).Seconds())
	if heard > time.Second {
		fmt.Fprintln(c.OutOrStdout(), "             slow: close other programs, or set threads to the number of free cores")
	}
	return nil
}
