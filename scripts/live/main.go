// Command live measures `putback listen` over virtual sound devices, see
// scripts/bench-live.
//
// The commands are spoken by the demo mechanic's voice; nobody listens, the
// loudspeaker is recorded. Times are taken from the two recordings and not
// from what the program says about itself.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/audio/audiotest"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// bench is what the sections share.
type bench struct {
	program  string
	commands int
	listen   time.Duration
	hours    float64
	replies  int
	alone    int
	tries    int
	keep     string
	snr      float64
	data     string // the folder of the recordings
	noise    audio.Samples
	talk     audio.Samples
	voice    *speech.Voice
	shop     *intent.Automaton
	detail   *json.Encoder

	clips map[string]audio.Samples
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "bench-live: "+err.Error())
		os.Exit(1)
	}
}

// sections in the order they are run.
var sections = []struct {
	name string
	run  func(*bench) error
}{
	{"quiet", func(b *bench) error { return b.reaction("quiet", nil, false) }},
	{"noise", func(b *bench) error { return b.reaction(fmt.Sprintf("noise, %g dB", b.snr), b.noise, false) }},
	{"busy", func(b *bench) error { return b.reaction("one core busy", nil, true) }},
	{"listening", (*bench).listening},
	{"echo", (*bench).echo},
	{"interrupt", (*bench).interrupt},
	{"lapse", (*bench).lapse},
}

func run() error {
	var b bench
	var only, noise, detail string
	flag.StringVar(&b.program, "program", "", "the program to measure")
	flag.StringVar(&only, "only", "", "the sections, separated by commas")
	flag.StringVar(&noise, "noise", "", "the noise, a WAV file (default: the engine of the recordings)")
	flag.StringVar(&detail, "detail", "", "a file for one JSON line a command")
	flag.IntVar(&b.commands, "commands", 60, "commands for each condition")
	flag.Float64Var(&b.snr, "snr", 12, "how many decibels the speech is above the noise")
	flag.DurationVar(&b.listen, "listen", 60*time.Second, "how long it listens to silence, noise and talk")
	flag.IntVar(&b.replies, "replies", 24, "replies for each way of dealing with its own voice")
	flag.IntVar(&b.alone, "alone", 40, "replies it speaks while nobody else does")
	flag.IntVar(&b.tries, "tries", 24, "replies that a word is to stop")
	flag.StringVar(&b.keep, "keep", "", "a folder for the recordings of its own voice")
	flag.Float64Var(&b.hours, "hours", 2, "hours of the time-lapse")
	flag.Parse()
	if b.program == "" || flag.NArg() > 0 {
		return errors.New("run it by scripts/bench-live, which builds the program")
	}
	if err := b.open(noise); err != nil {
		return err
	}
	defer b.voice.Close()
	if detail != "" {
		f, err := os.Create(detail)
		if err != nil {
			return err
		}
		defer f.Close()
		b.detail = json.NewEncoder(f)
	}
	load, _ := os.ReadFile("/proc/loadavg")
	fmt.Printf("load of the computer before: %s", load)
	for _, s := range sections {
		if only != "" && !slices.Contains(strings.Split(only, ","), s.name) {
			continue
		}
		if err := s.run(&b); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
	}
	load, _ = os.ReadFile("/proc/loadavg")
	fmt.Printf("load of the computer after: %s", load)
	return nil
}

// open gets the voice, the grammar and the sounds.
func (b *bench) open(noise string) error {
	b.data = os.Getenv("PUTBACK_TESTDATA")
	b.clips = map[string]audio.Samples{}
	folder, err := models.Path("hibari")
	library, err2 := models.Path("onnxruntime")
	if err = errors.Join(err, err2); err != nil {
		return fmt.Errorf("%w; run `putback models fetch`", err)
	}
	if b.voice, err = speech.OpenVoice(speech.VoiceOptions{Dir: folder, Library: library, Character: speech.Mechanic}); err != nil {
		return err
	}
	job, err := jobs.OpenMemory(jobs.Options{Now: time.Now(), Sheet: jobs.DemoSheet(), CallWord: "toolbox"})
	if err != nil {
		return err
	}
	defer job.Close()
	words := job.Vocabulary()
	words.CallWord = "toolbox"
	if b.shop, err = intent.Shop(words); err != nil {
		return err
	}
	if noise == "" {
		noise = filepath.Join(b.data, "noise", "engine_idle.wav")
	}
	if b.noise, err = audio.ReadWAV(noise); err != nil {
		return fmt.Errorf("%w; give a noise with -noise FILE.wav", err)
	}
	b.noise = atLevel(b.noise, speechLevel*math.Pow(10, -b.snr/20))
	talks, err := filepath.Glob(filepath.Join(b.data, "talk", "*.wav"))
	if err != nil {
		return err
	}
	for _, t := range talks {
		s, err := audio.ReadWAV(t)
		if err != nil {
			return err
		}
		b.talk = append(append(b.talk, atLevel(s, speechLevel)...), audio.Silence(700*time.Millisecond)...)
	}
	return nil
}

// say is a sentence of the mechanic's, made once.
func (b *bench) say(line string) (audio.Samples, error) {
	if c, ok := b.clips[line]; ok {
		return c, nil
	}
	clip, err := b.voice.Say(context.Background(), line, speech.SayOptions{})
	if err != nil {
		return nil, err
	}
	s := audio.Resample(clip.Samples, clip.Rate, audio.Rate)
	s = atLevel(s, speechLevel)
	b.clips[line] = s
	return s, nil
}

// speechLevel is the root mean square of the loudest frame of what is spoken:
// 22 dB below full scale, what a person two metres from a microphone gives.
// Common practice, no source.
const speechLevel = 0.08

// atLevel scales s so that its loudest frame of 2048 samples has this root mean
// square; frames as in the mixing rule of package audio.
func atLevel(s audio.Samples, level float64) audio.Samples {
	var loudest float64
	for at := 0; at+2048 <= len(s); at += 2048 {
		loudest = max(loudest, s[at:at+2048].RMS())
	}
	out := make(audio.Samples, len(s))
	if loudest == 0 {
		return out
	}
	for i, v := range s {
		out[i] = float32(float64(v) * level / loudest)
	}
	return out
}

// endOfSpeech is the number of samples up to the last that can be heard: 40 dB
// below the clip's peak.
func endOfSpeech(s audio.Samples) int {
	floor := float32(s.Peak() / 100)
	for i := len(s); i > 0; i-- {
		if s[i-1] > floor || s[i-1] < -floor {
			return i
		}
	}
	return 0
}

// startOfSpeech is the first sample that can be heard, by the same measure.
func startOfSpeech(s audio.Samples) int {
	floor := float32(s.Peak() / 100)
	for i, v := range s {
		if v > floor || v < -floor {
			return i
		}
	}
	return 0
}

// start starts a room and the program in it.
func (b *bench) start(h *host, args ...string) (*audiotest.Room, *audiotest.Program) {
	room := audiotest.Start(h)
	job := filepath.Join(h.TempDir(), "bench.putback")
	return room, room.Run(b.program, append([]string{"--config", room.Settings(), "--job", job, "--sheet", demoSheet}, args...)...)
}

// demoSheet lies in the source, where scripts/bench-live goes first.
const demoSheet = "jobs/demo/boat-engine.yaml"

// busyCore keeps one core busy, at plain priority, until the function it gives
// is called.
func busyCore() (stop func(), err error) {
	args := []string{"sh", "-c", "while :; do :; done"}
	if _, err := exec.LookPath("chrt"); err == nil {
		// The bench may run with a raised priority; the load must not.
		args = append([]string{"chrt", "-o", "0", "nice", "-n", "0"}, args...)
	}
	cmd := exec.Command(args[0], args[1:]...)
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	return func() { _ = cmd.Process.Kill(); _ = cmd.Wait() }, nil
}
