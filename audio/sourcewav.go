package audio

import (
	"context"
	"io"
	"time"
)

// Recording is a [Source] over samples in memory, at audio speed or as fast as
// they are asked for. Make one with [NewRecording].
type Recording struct {
	sound Samples
	fast  bool
	at    int
	start time.Time
}

// NewRecording plays sound as a source. With fast, Next never waits; else each
// frame comes when a microphone would have given it.
func NewRecording(sound Samples, fast bool) *Recording {
	return &Recording{sound: sound, fast: fast}
}

// Next gives the next frame, io.EOF behind the last. The last may be short.
func (r *Recording) Next(ctx context.Context) (Frame, error) {
	if err := ctx.Err(); err != nil {
		return Frame{}, err
	}
	if r.at >= len(r.sound) {
		return Frame{}, io.EOF
	}
	end := min(r.at+FrameSize, len(r.sound))
	f := Frame{At: r.sound[:r.at].Duration(), Samples: r.sound[r.at:end]}
	if !r.fast {
		if r.start.IsZero() {
			r.start = time.Now()
		}
		select {
		case <-ctx.Done():
			return Frame{}, ctx.Err()
		case <-time.After(time.Until(r.start.Add(f.End()))):
		}
	}
	r.at = end
	return f, nil
}

// Close ends the source.
func (r *Recording) Close() error {
	r.at = len(r.sound)
	return nil
}
