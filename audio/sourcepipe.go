package audio

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// Pipe is a [Source] from a stream of raw samples: signed 16-bit little endian,
// mono, at [Rate], such as a recorder writes to standard output. Make one with
// [NewPipe].
type Pipe struct {
	r      io.Reader
	frames chan pipeFrame
	done   chan struct{}
	once   sync.Once
	at     int
}

type pipeFrame struct {
	s   Samples
	err error
}

// NewPipe reads from r in the background until it ends. When r is an
// io.Closer, Close closes it.
func NewPipe(r io.Reader) *Pipe {
	p := &Pipe{r: r, frames: make(chan pipeFrame, micRing/FrameSize), done: make(chan struct{})}
	go p.read()
	return p
}

func (p *Pipe) read() {
	defer close(p.frames)
	buf := make([]byte, FrameSize*2)
	for {
		n, err := io.ReadFull(p.r, buf)
		s := make(Samples, n/2)
		for i := range s {
			s[i] = float32(int16(binary.LittleEndian.Uint16(buf[2*i:]))) / (1 << 15)
		}
		if len(s) > 0 {
			select {
			case p.frames <- pipeFrame{s: s}:
			case <-p.done:
				return
			}
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return
		}
		if err != nil {
			select {
			case p.frames <- pipeFrame{err: fmt.Errorf("read sound from the pipe: %w", err)}:
			case <-p.done:
			}
			return
		}
	}
}

// Next gives the next frame, io.EOF behind the last.
func (p *Pipe) Next(ctx context.Context) (Frame, error) {
	select {
	case <-ctx.Done():
		return Frame{}, ctx.Err()
	case f, ok := <-p.frames:
		if !ok {
			return Frame{}, io.EOF
		}
		if f.err != nil {
			return Frame{}, f.err
		}
		at := time.Duration(p.at) * time.Second / Rate
		p.at += len(f.s)
		return Frame{At: at, Samples: f.s}, nil
	}
}

// Close closes the stream.
func (p *Pipe) Close() error {
	p.once.Do(func() { close(p.done) })
	if c, ok := p.r.(io.Closer); ok {
		return c.Close()
	}
	return nil
}
