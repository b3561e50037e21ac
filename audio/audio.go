// Package audio moves sound between files, devices and the recogniser, and
// says where speech begins and ends.
//
// Here live the samples everybody else works on (16 kHz, mono), their sources
// (WAV, pipe, microphone) and sinks (WAV, loudspeaker), voice activity, the cut
// of a stream into utterances, the level meter and the mixing of noise for
// tests. Words, meaning and the record are not its business.
//
// Reading a file in any common WAV form:
//
//	samples, err := audio.ReadWAV("talk.wav")
//
// Cutting a stream into utterances:
//
//	seg := audio.NewSegmenter(vad, audio.SegmenterConfig{})
//	for {
//		frame, err := source.Next(ctx)
//		if err != nil { break } // io.EOF at the end of a file
//		cut, err := seg.Push(frame)
//		if cut.Kind == audio.Ended { use(cut.Samples) }
//	}
package audio

import (
	"context"
	"math"
	"time"
)

// Rate is the sample rate of everything in this package after it was read, in
// samples per second; what whisper and the voice detector take.
const Rate = 16000

// FrameSize is the number of samples of one frame: 512 samples, 32 ms, what
// the voice detector takes at [Rate].
const FrameSize = 512

// FrameTime is the length of one frame.
const FrameTime = time.Second * FrameSize / Rate

// Samples is mono sound at [Rate], nominally from -1 to 1.
type Samples []float32

// Duration is how long the sound is.
func (s Samples) Duration() time.Duration {
	return time.Duration(len(s)) * time.Second / Rate
}

// RMS is the root mean square of the samples, 0 for none.
func (s Samples) RMS() float64 {
	if len(s) == 0 {
		return 0
	}
	var sum float64
	for _, v := range s {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(s)))
}

// Peak is the largest absolute sample, 0 for none.
func (s Samples) Peak() float64 {
	var peak float64
	for _, v := range s {
		peak = max(peak, math.Abs(float64(v)))
	}
	return peak
}

// Silence is d of silence.
func Silence(d time.Duration) Samples { return make(Samples, Count(d)) }

// Count is the number of samples in d, rounded down.
func Count(d time.Duration) int { return int(d * Rate / time.Second) }

// Frame is the next stretch of a stream.
type Frame struct {
	// At is where the frame begins, counted from the first sample of the
	// stream: the audio clock. Lost samples are counted in.
	At time.Duration
	// Samples has [FrameSize] samples; the last frame of a file may have
	// fewer. It belongs to the receiver until the next call of Next.
	Samples Samples
	// Lost is the number of samples that went missing directly before this
	// frame because nobody took them in time.
	Lost int
}

// End is where the frame ends on the audio clock.
func (f Frame) End() time.Duration { return f.At + f.Samples.Duration() }

// Source is a stream of frames: a microphone, a WAV file, a pipe.
type Source interface {
	// Next gives the next frame. It waits until there is one, returns io.EOF
	// after the last and ctx's error when ctx ends first.
	Next(ctx context.Context) (Frame, error)
	// Close releases the device or file. Next fails afterwards.
	Close() error
}
