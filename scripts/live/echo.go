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

// walls are those of the test room: faded by 60 dB after 0.3 s, a small workshop.
func walls(r *audiotest.Room) { r.Walls(echoLoss, audiotest.Response(300*time.Millisecond)) }

// bare is a room without walls.
func bare(r *audiotest.Room) { r.Echo(echoDelay, echoLoss) }

// echo measures by how much the program's own voice is taken down, in this
// process and over the devices: echo return loss enhancement, the power heard
// over the power left, reply by reply.
func (b *bench) echo() error {
	fmt.Println()
	for _, way := range []struct {
		name   string
		loop   func(*audiotest.Room)
		server bool // the sound server's canceller instead of ours
	}{
		{"no walls", bare, false},
		{"walls of 0.3 s", walls, false},
		{"no walls, the sound server's canceller", bare, true},
		{"walls of 0.3 s, the sound server's canceller", walls, true},
	} {
		err := hosted(func(h *host) error {
			room := audiotest.Start(h)
			way.loop(room)
			if way.server {
				if err := room.CancelEcho(); err != nil {
					fmt.Printf("%s: not here (%v)\n", way.name, err)
					return nil
				}
			}
			return b.reduction(room, way.name, way.server)
		})
		if err != nil {
			return fmt.Errorf("%s: %w", way.name, err)
		}
	}
	return nil
}

// reduction plays the replies and prints what is left of them.
func (b *bench) reduction(room *audiotest.Room, name string, server bool) error {
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
	microphone, loudspeaker := audiotest.Microphone, audiotest.Loudspeaker
	if server {
		microphone, loudspeaker = audiotest.CancelledMicrophone, audiotest.CancelledLoudspeaker
	}
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
	defer cancel()
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
			if !server {
				echo.Cancel(f.Samples, g)
			}
			left = append(left, f.Samples...)
			mu.Unlock()
		}
	})
	length := func() int {
		mu.Lock()
		defer mu.Unlock()
		return len(heard)
	}
	raw := room.RecordMicrophone()
	time.Sleep(time.Second)
	type stretch struct{ from, to, rawFrom, rawTo int }
	var all []stretch
	for i := range b.replies {
		clip, err := voice.Say(ctx, replies[i%len(replies)], speech.SayOptions{})
		if err != nil {
			return err
		}
		s := stretch{from: length(), rawFrom: raw.Length()}
		if err := speaker.Play(ctx, clip.Samples); err != nil {
			return err
		}
		time.Sleep(clip.Duration() + 800*time.Millisecond)
		s.to, s.rawTo = length(), raw.Length()
		all = append(all, s)
		time.Sleep(time.Second)
	}
	cancel()
	over.Wait()
	unchanged := raw.Stop()
	var down []float64
	for _, s := range all {
		before := heard[s.from:s.to]
		if server {
			before = unchanged[s.rawFrom:s.rawTo]
		}
		down = append(down, 20*math.Log10(before.RMS()/math.Max(1e-6, left[s.from:s.to].RMS())))
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
