package main

import (
	"math"
	"sync"
	"time"

	"putback/audio"
	"putback/audio/audiotest"
)

// mouth speaks into the virtual microphone over a bed of noise that never
// stops, paced by the clock.
type mouth struct {
	stream *audiotest.Speaking
	noise  audio.Samples // nil: silence
	done   chan struct{}
	over   sync.WaitGroup

	mu    sync.Mutex
	sent  audio.Samples // everything so far
	queue audio.Samples
	err   error
}

// lead is how far the mouth is ahead of what the microphone hears.
const lead = 200 * time.Millisecond

func openMouth(room *audiotest.Room, noise audio.Samples) (*mouth, error) {
	stream, err := room.OpenMouth()
	if err != nil {
		return nil, err
	}
	m := &mouth{stream: stream, noise: noise, done: make(chan struct{})}
	m.over.Go(m.run)
	return m, nil
}

func (m *mouth) run() {
	start := time.Now()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-m.done:
			return
		case <-tick.C:
		}
		m.mu.Lock()
		n := audio.Count(time.Since(start)+lead) - len(m.sent)
		if n <= 0 {
			m.mu.Unlock()
			continue
		}
		block := make(audio.Samples, n)
		if len(m.noise) > 0 {
			for i := range block {
				block[i] = m.noise[(len(m.sent)+i)%len(m.noise)]
			}
		}
		k := min(len(m.queue), n)
		for i, v := range m.queue[:k] {
			block[i] += v
		}
		m.queue = m.queue[k:]
		m.sent = append(m.sent, block...)
		m.mu.Unlock()
		if err := m.stream.Write(block); err != nil {
			m.mu.Lock()
			m.err = err
			m.mu.Unlock()
			return
		}
	}
}

// say speaks clip at once and gives where in everything sent it begins.
func (m *mouth) say(clip audio.Samples) int {
	m.mu.Lock()
	defer m.mu.Unlock()
	at := len(m.sent) + len(m.queue)
	m.queue = append(m.queue, clip...)
	return at
}

// piece is a stretch of what was sent.
func (m *mouth) piece(from, to int) audio.Samples {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append(audio.Samples(nil), m.sent[max(0, from):min(to, len(m.sent))]...)
}

func (m *mouth) close() error {
	close(m.done)
	m.over.Wait()
	_ = m.stream.Close()
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.err
}

// locate finds piece in rec and gives where it begins and how well it fits, 0
// to 1 (correlation).
func locate(rec, piece audio.Samples) (at int, fit float64) {
	const stride = 7
	var own float64
	for k := 0; k < len(piece); k += stride {
		own += float64(piece[k]) * float64(piece[k])
	}
	at = -1
	for i := 0; i+len(piece) <= len(rec); i++ {
		var dot, energy float64
		for k := 0; k < len(piece); k += stride {
			v := float64(rec[i+k])
			dot += v * float64(piece[k])
			energy += v * v
		}
		if energy > 0 {
			if c := dot / math.Sqrt(energy*own); c > fit {
				at, fit = i, c
			}
		}
	}
	return at, fit
}
