package speech

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Clip is a stretch of mono sound.
type Clip struct {
	Samples []float32 // between -1 and 1
	Rate    int       // samples a second
}

// Duration is how long the clip sounds.
func (c Clip) Duration() time.Duration {
	if c.Rate == 0 {
		return 0
	}
	return time.Duration(len(c.Samples)) * time.Second / time.Duration(c.Rate)
}

// Character is who speaks.
type Character string

// The characters. They share one set of files and differ in pitch, length of
// the vocal tract and pace, so that a listener, and a recogniser, can tell them
// apart.
const (
	Companion Character = "companion" // the program itself; also ""
	Mechanic  Character = "mechanic"  // the person in the demo session
	Stranger  Character = "stranger"  // a third, for talk not meant for the program
)

// VoiceOptions says which voice to open and how it speaks.
type VoiceOptions struct {
	// Dir is the folder with the voice's files, the names in [VoiceFiles].
	// Empty: the fallback program is used.
	Dir string
	// Library is the ONNX runtime's shared library, version 1.24 or newer.
	Library string
	// Character is who speaks; "" is [Companion].
	Character Character
	// Speed is the pace: 1 as the voice was made, 0.5 half as fast, 2 twice.
	// 0 is 1.
	Speed float64
	// Pitch moves the voice by this many semitones, -12 to 12.
	Pitch float64
	// CacheBytes bounds the memory of the phrase cache. 0 is 16 MiB, negative
	// is no cache.
	CacheBytes int
	// NoFallback makes [OpenVoice] fail when the voice's files cannot be used,
	// where it would otherwise take the flite program.
	NoFallback bool
}

// SayOptions says how one text is spoken.
type SayOptions struct {
	// Slow speaks at three quarters of the pace, with a pause after each clause.
	Slow bool
	// Digits follows every number by its digits: "thirteen: one three".
	Digits bool
	// ReadBack follows only the numbers that are easily misheard (13 and 30, 15
	// and 50 …) by their digits.
	ReadBack bool
	// Spelled says that the text is already in words, see [Spell].
	Spelled bool
	// Gain multiplies the samples, see [GainForRoom]. 0 is 1. What would clip
	// is bent, not cut.
	Gain float64
}

// synthesiser turns words into sound: the neural voice, or a program run as a
// process. One at a time calls it.
type synthesiser interface {
	// say renders words at a pace and a shift of pitch in semitones. Cancelling
	// ctx makes it return early with the context's error.
	say(ctx context.Context, words string, speed, pitch float64) ([]float32, error)
	// rate is the samples a second of everything say returns.
	rate() int
	// name is for people: "hibari", "flite (slt)".
	name() string
	close() error
}

// Voice speaks. It is safe for concurrent use; texts are rendered one after
// another.
type Voice struct {
	opts VoiceOptions

	mu     sync.Mutex // held while rendering
	engine synthesiser
	closed bool

	phrases *phraseCache
	recent  recentTexts
	why     error
}

// ErrVoiceClosed is returned by a [Voice] after [Voice.Close].
var ErrVoiceClosed = errors.New("the voice is closed")

// OpenVoice opens the voice of o. Without usable files in o.Dir it takes the
// flite program when that is installed, see [Voice.Why]; without either it
// fails and says how to get one.
func OpenVoice(o VoiceOptions) (*Voice, error) {
	if o.Speed == 0 {
		o.Speed = 1
	}
	if o.Speed < 0.5 || o.Speed > 2 {
		return nil, fmt.Errorf("open the voice: speed %g is not between 0.5 and 2", o.Speed)
	}
	if o.Pitch < -12 || o.Pitch > 12 {
		return nil, fmt.Errorf("open the voice: pitch %g is not between -12 and 12 semitones", o.Pitch)
	}
	switch o.Character {
	case "":
		o.Character = Companion
	case Companion, Mechanic, Stranger:
	default:
		return nil, fmt.Errorf("open the voice: no character %q; there are %s, %s and %s", o.Character, Companion, Mechanic, Stranger)
	}
	if o.CacheBytes == 0 {
		o.CacheBytes = 16 << 20
	}
	v := &Voice{opts: o, phrases: newPhraseCache(o.CacheBytes)}
	engine, err := openHibari(o)
	if err == nil {
		v.engine = engine
		return v, nil
	}
	if o.NoFallback {
		return nil, fmt.Errorf("open the voice: %w", err)
	}
	v.why = err
	fallback, ferr := openFlite(o)
	if ferr != nil {
		return nil, fmt.Errorf("open the voice: %w; and its stand-in: %w", err, ferr)
	}
	v.engine = fallback
	return v, nil
}

// Name is the voice in use, for people: "hibari (companion)", "flite (slt)".
func (v *Voice) Name() string { return v.engine.name() }

// Why says why the stand-in speaks instead of the voice that was asked for;
// nil when it does not.
func (v *Voice) Why() error { return v.why }

// Rate is the samples a second of every clip of this voice.
func (v *Voice) Rate() int { return v.engine.rate() }

// Say renders the whole text. The clip is the caller's own.
func (v *Voice) Say(ctx context.Context, text string, o SayOptions) (Clip, error) {
	whole := Clip{Rate: v.Rate()}
	err := v.Stream(ctx, text, o, func(c Clip) error {
		whole.Samples = append(whole.Samples, c.Samples...)
		return nil
	})
	return whole, err
}

// Stream renders the text clause by clause and hands each to out as soon as it
// is ready: the first clause is kept short, so that the first sound comes
// early. An error of out ends it and is returned, and so does the end of ctx:
// that is how speech is interrupted between two clauses. The clips are the
// receiver's own.
func (v *Voice) Stream(ctx context.Context, text string, o SayOptions, out func(Clip) error) error {
	words := text
	if !o.Spelled {
		words = Spell(text, SpellOptions{Digits: o.Digits, ReadBack: o.ReadBack})
	}
	v.recent.add(text, time.Now())
	speed := v.opts.Speed
	if o.Slow {
		speed *= 0.75
	}
	speed = max(0.5, min(2, speed))
	for i, c := range clauses(words, o.Slow) {
		if err := ctx.Err(); err != nil {
			return err
		}
		samples, err := v.render(ctx, c.words, speed)
		if err != nil {
			return fmt.Errorf("speak %q: %w", c.words, err)
		}
		samples = joinable(samples, v.Rate(), i == 0, c.pause)
		amplify(samples, o.Gain)
		if err := out(Clip{Samples: samples, Rate: v.Rate()}); err != nil {
			return err
		}
	}
	return nil
}

// Warm renders phrases ahead of need, so that they come from the cache. It
// returns at the first error or when ctx ends.
func (v *Voice) Warm(ctx context.Context, phrases []string) error {
	for _, p := range phrases {
		for _, c := range clauses(Spell(p, SpellOptions{}), false) {
			if err := ctx.Err(); err != nil {
				return err
			}
			if _, err := v.render(ctx, c.words, v.opts.Speed); err != nil {
				return fmt.Errorf("prepare %q: %w", c.words, err)
			}
		}
	}
	return nil
}

// render gives one clause's sound, the caller's own copy.
func (v *Voice) render(ctx context.Context, words string, speed float64) ([]float32, error) {
	key := phraseKey{words, speed}
	if s, ok := v.phrases.get(key); ok {
		return append([]float32(nil), s...), nil
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.closed {
		return nil, ErrVoiceClosed
	}
	s, err := v.engine.say(ctx, words, speed, v.opts.Pitch)
	if err != nil {
		return nil, err
	}
	v.phrases.put(key, append([]float32(nil), s...))
	return s, nil
}

// Recent gives the texts whose rendering began within the last d, newest first,
// as they were given to Say and Stream. A transcript that resembles one of them
// is the program hearing itself, see [Resembles].
func (v *Voice) Recent(d time.Duration) []string { return v.recent.since(time.Now().Add(-d)) }

// Close frees the voice. Rendering after it fails with [ErrVoiceClosed].
func (v *Voice) Close() error {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.closed {
		return nil
	}
	v.closed = true
	return v.engine.close()
}
