package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/models"
	"putback/speech"
)

// phraseBytes bounds the memory of phrases already spoken: a minute and a half of
// them. Making one anew costs a fortieth of its length.
const phraseBytes = 8 << 20

// openVoice opens the companion's voice, or another character in the same
// files. Without the files it falls back on an installed program; the second
// result tells that in one line.
func openVoice(set config.Config, who speech.Character) (*speech.Voice, string, error) {
	o := speech.VoiceOptions{Character: who, Speed: set.Speed, Pitch: set.Pitch, CacheBytes: phraseBytes}
	if set.Voice != "flite" {
		folder, err := models.Path("hibari")
		library, err2 := models.Path("onnxruntime")
		if err = errors.Join(err, err2); err == nil {
			o.Dir, o.Library = folder, library
		}
	}
	voice, err := speech.OpenVoice(o)
	if err != nil {
		return nil, "", err
	}
	if why := voice.Why(); why != nil && set.Voice != "flite" {
		return voice, fmt.Sprintf("speaking with %s, because %v", voice.Name(), why), nil
	}
	return voice, "", nil
}

// openVAD opens the voice activity net, or the simple detector, with a line
// that says so.
func openVAD() (audio.VAD, string) {
	library, err := models.Path("onnxruntime")
	model, err2 := models.Path("silero")
	if err = errors.Join(err, err2); err == nil {
		var vad *audio.Silero
		if vad, err = audio.NewSilero(library, model); err == nil {
			return vad, ""
		}
	}
	return audio.NewEnergy(), fmt.Sprintf("finding speech by its level alone, which noise can fool, because %v", err)
}

// player is a loudspeaker of package audio.
type player interface {
	Play(ctx context.Context, s []float32) error
	Stop()
	Playing() bool
	FirstSound() time.Time
	Given() *audio.Given
	Close() error
}

// loudspeaker plays clips of any rate on a device.
type loudspeaker struct {
	player
	rate int // of the device
}

// openLoudspeaker opens the device that the settings name.
func openLoudspeaker(set config.Config, rate int, tell func(string)) (*loudspeaker, error) {
	if set.Playback == "system" {
		out, err := audio.OpenOto(rate, 40*time.Millisecond)
		if err != nil {
			return nil, err
		}
		return &loudspeaker{player: out, rate: out.Rate()}, nil
	}
	out, err := audio.OpenLoudspeaker(audio.LoudspeakerConfig{Device: set.Loudspeaker, Rate: rate, Tell: tell})
	if err != nil {
		return nil, err
	}
	return &loudspeaker{player: out, rate: out.Rate()}, nil
}

// Play queues one clip.
func (l *loudspeaker) Play(ctx context.Context, c speech.Clip) error {
	return l.player.Play(ctx, audio.Resample(c.Samples, c.Rate, l.rate))
}

// replyFiles is a speaker that keeps each reply for a WAV file. It is silent,
// so it never plays.
type replyFiles struct {
	dir string

	mu    sync.Mutex
	reply audio.Samples
	first time.Time
	count int
}

// Play keeps one clip of the reply that is being spoken.
func (f *replyFiles) Play(_ context.Context, c speech.Clip) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.reply) == 0 {
		f.first = time.Now()
	}
	f.reply = append(f.reply, audio.Resample(c.Samples, c.Rate, audio.Rate)...)
	return nil
}

// Stop does nothing: what was said is kept whole.
func (f *replyFiles) Stop() {}

// Playing is false: nothing sounds.
func (f *replyFiles) Playing() bool { return false }

// FirstSound is when the first clip of the newest reply came.
func (f *replyFiles) FirstSound() time.Time {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.first
}

// take writes the reply spoken last and returns its sound and its file, "" for
// none.
func (f *replyFiles) take() (audio.Samples, string, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	sound := f.reply
	f.reply = nil
	if len(sound) == 0 || f.dir == "" {
		return sound, "", nil
	}
	if err := os.MkdirAll(f.dir, 0o755); err != nil {
		return nil, "", fmt.Errorf("making the folder for the replies: %w", err)
	}
	f.count++
	path := filepath.Join(f.dir, fmt.Sprintf("reply-%03d.wav", f.count))
	return sound, path, audio.WriteWAV(path, sound)
}
