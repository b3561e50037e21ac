package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"time"

	"putback/audio"
	"putback/audio/audiotest"
	"putback/models"
	"putback/speech"
)

// replies are what the program says of the demo job.
var replies = []string{
	"Four tens off the front cover. Eight still to come.",
	"Front cover long: twenty five newton metres, plus or minus three. Eighteen foot pounds.",
	"Next: take off the front cover. Keep two in until it is held.",
	"Sixty six inch pounds are seven point four six newton metres.",
	"Out so far: four short ones off the front cover, two long ones, and the tensioner bolt.",
	"Noted: the lower hose is cracked.",
	"You were taking off the front cover. Four of twelve short ones are out.",
	"An M eight takes a thirteen millimetre wrench.",
	"Grey silicone: close within ten minutes, oil after two hours, cured after a day.",
	"That is more than an M six of class eight point eight bears. Ten newton metres are usual. Do you want it kept?",
	"Timer set for ten minutes.",
	"Left on the front cover: eight short ones and two long ones.",
}

// echo measures by how much the canceller takes the program's own voice down,
// in this process and over the devices: echo return loss enhancement, the power
// heard over the power left, reply by reply.
func (b *bench) echo() error {
	fmt.Println()
	for _, way := range []struct {
		name string
		loop func(*audiotest.Room)
	}{
		{"no walls", func(r *audiotest.Room) { r.Echo(echoDelay, echoLoss) }},
		{"walls of 0.3 s", func(r *audiotest.Room) { r.Walls(echoLoss, audiotest.Response(300*time.Millisecond)) }},
	} {
		err := hosted(func(h *host) error {
			room := audiotest.Start(h)
			way.loop(room)
			return b.reduction(way.name, audiotest.Microphone, audiotest.Loudspeaker)
		})
		if err != nil {
			return fmt.Errorf("%s: %w", way.name, err)
		}
	}
	return nil
}

// reduction plays the replies and prints what is left of them.
func (b *bench) reduction(name, microphone, loudspeaker string) error {
	folder, err := models.Path("hibari")
	library, err2 := models.Path("onnxruntime")
	if err = errors.Join(err, err2); err != nil {
		return err
	}
	voice, err := speech.OpenVoice(speech.VoiceOptions{Dir: folder, Library: library})
	if err != nil {
		return err
	}
	defer voice.Close()
	speaker, err := audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: loudspeaker, Rate: voice.Rate()})
	if err != nil {
		return err
	}
	defer speaker.Close()
	mic, err := audio.OpenMicrophone(audio.MicrophoneConfig{Device: microphone})
	if err != nil {
		return err
	}
	defer mic.Close()
	given := speaker.Given()

	ctx, cancel := context.WithCancel(context.Background())
	var mu sync.Mutex
	var heard, told, left audio.Samples
	var over sync.WaitGroup
	over.Go(func() {
		echo := audio.NewEcho()
		for {
			f, err := mic.Next(ctx)
			if err != nil {
				return
			}
			g := given.Frame(f.Lost)
			mu.Lock()
			heard = append(heard, f.Samples...)
			told = append(told, g...)
			echo.Cancel(f.Samples, g)
			left = append(left, f.Samples...)
			mu.Unlock()
		}
	})
	length := func() int {
		mu.Lock()
		defer mu.Unlock()
		return len(heard)
	}
	time.Sleep(time.Second)
	var from, to []int
	for i := range b.replies {
		clip, err := voice.Say(ctx, replies[i%len(replies)], speech.SayOptions{})
		if err != nil {
			cancel()
			return err
		}
		from = append(from, length())
		if err := speaker.Play(ctx, clip.Samples); err != nil {
			cancel()
			return err
		}
		time.Sleep(clip.Duration() + 800*time.Millisecond)
		to = append(to, length())
		time.Sleep(time.Second)
	}
	cancel()
	over.Wait()
	var down []float64
	for i := range from {
		down = append(down, 20*math.Log10(heard[from[i]:to[i]].RMS()/left[from[i]:to[i]].RMS()))
	}
	fmt.Printf("%s: own voice down by %.1f dB median, %.1f worst of %d replies: %.0f\n", name, quantile(down, 0.5), quantile(down, 0), len(down), down)
	if b.keep != "" {
		if err := os.MkdirAll(b.keep, 0o755); err != nil {
			return err
		}
		for file, s := range map[string]audio.Samples{"heard": heard, "given": told, "left": left} {
			if err := audio.WriteWAV(filepath.Join(b.keep, name+" "+file+".wav"), s); err != nil {
				return err
			}
		}
	}
	return nil
}
