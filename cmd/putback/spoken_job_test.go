package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/jobs"
	"putback/speech"
)

// TestTheWholeJobIsUnderstoodSpoken speaks the lines of the whole boat-engine
// job in the demo mechanic's voice over shop noise, each held to the grammar of
// that moment of the job, and compares what is heard with what was meant. Every
// twelfth line is spoken, or all with PUTBACK_SPEAK=1; the figures are in the
// log. The voice is a machine's: what a person gets is not measured here.
func TestTheWholeJobIsUnderstoodSpoken(t *testing.T) {
	recognizer, err := openRecognizer("")
	if err != nil {
		t.Skip("needs the hearing model: " + err.Error())
	}
	defer recognizer.Close()
	voice, _, err := openVoice(config.Config{Speed: 1}, speech.Mechanic)
	if err != nil {
		t.Skip("needs a voice: " + err.Error())
	}
	defer voice.Close()
	every := 12
	if os.Getenv("PUTBACK_SPEAK") != "" {
		every = 1
	}
	script, err := txtar.ParseFile(filepath.Join("testdata", "script", "boat.txt"))
	require.NoError(t, err)
	bench, err := jobs.OpenMemory(jobs.Options{Sheet: jobs.DemoSheet(), Now: time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)})
	require.NoError(t, err)
	defer bench.Close()
	talk := newConversation(bench, "")
	mixer := audio.NewMixer(shopNoise(10*time.Second), 1)
	now := time.Date(2026, 5, 2, 9, 0, 0, 0, time.UTC)
	var lines, spoken, right, wrong, asked, ignored int
	var took time.Duration
	for _, day := range script.Files {
		for line := range strings.Lines(string(day.Data)) {
			if wait, ok := strings.CutPrefix(strings.TrimSpace(line), "@ "); ok {
				d, err := time.ParseDuration(wait)
				require.NoError(t, err, line)
				now = now.Add(d)
				continue
			}
			text, ok := strings.CutPrefix(strings.TrimSpace(line), "> ")
			if !ok {
				continue
			}
			lines++
			now = now.Add(10 * time.Second)
			grammar, err := talk.grammar()
			require.NoError(t, err)
			said := "toolbox, " + text
			if meant, _, ok := grammar.Meaning(said); lines%every == 0 && ok {
				clip, err := voice.Say(t.Context(), said, speech.SayOptions{})
				require.NoError(t, err)
				sound, err := mixer.Mix(append(append(audio.Silence(300*time.Millisecond), audio.Resample(clip.Samples, clip.Rate, audio.Rate)...), audio.Silence(300*time.Millisecond)...), 15)
				require.NoError(t, err)
				heard, err := recognizer.Hear(t.Context(), sound, grammar)
				require.NoError(t, err)
				best, _ := heard.Best()
				same := best.Meaning == meant
				spoken++
				took += heard.Took
				switch {
				case heard.Verdict == speech.Act && same:
					right++
				case heard.Verdict == speech.Act:
					wrong++
					t.Logf("wrong: %q heard as %q (%.2f)", said, best.Text, heard.Confidence)
				case heard.Verdict == speech.Ask:
					asked++
				default:
					ignored++
				}
			}
			_, err = talk.words(now, text)
			require.NoError(t, err, text)
		}
	}
	t.Logf("%d of %d lines spoken at 15 dB: %d acted on rightly, %d wrongly, %d asked about, %d ignored; %.2f s of recognition each",
		spoken, lines, right, wrong, asked, ignored, took.Seconds()/float64(max(spoken, 1)))
	require.Positive(t, spoken)
	require.Greater(t, right, spoken/2, "more than half of what is said must be acted on")
}
