package audio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"sync"
	"sync/atomic"
	"time"
	"unsafe"

	"github.com/gen2brain/malgo"
)

// ErrSpeakerClosed is returned by Play after Close.
var ErrSpeakerClosed = errors.New("the loudspeaker is closed")

// playSeconds is how much sound waits for the device. Play waits when it is full.
const playSeconds = 32

// playQueue is what waits to be played, shared by the two loudspeakers. One
// goroutine fills it, one callback empties it; cut may come from anywhere.
type playQueue struct {
	rate int
	ring *ring
	mu   sync.Mutex // one Play at a time
	// cutTo is the write position up to which everything is to be dropped.
	cutTo atomic.Uint64
	gain  atomic.Uint32 // float32 bits
	last  atomic.Int64  // ns since base when sound was last handed to the device
	first atomic.Int64  // ns since base when sound was first handed out after a silence
	total atomic.Uint64
	beat  atomic.Int64 // ns since base of the last callback
	given *ring        // what was handed to the device, silence too; for [Given]
	heeds atomic.Bool  // somebody reads it
	base  time.Time
	done  chan struct{}
	once  sync.Once
}

func newPlayQueue(rate int) *playQueue {
	q := &playQueue{
		rate: rate, ring: newRing(playSeconds * rate), base: time.Now(), done: make(chan struct{}),
		given: newRing(givenSeconds * rate),
	}
	q.gain.Store(math.Float32bits(1))
	return q
}

// play queues s and waits while the ring is full.
func (q *playQueue) play(ctx context.Context, s []float32) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(s) > 0 {
		select {
		case <-q.done:
			return ErrSpeakerClosed
		default:
		}
		n := q.ring.write(s)
		s = s[n:]
		if len(s) == 0 {
			break
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-q.done:
			return ErrSpeakerClosed
		case <-time.After(50 * time.Millisecond):
		}
	}
	return nil
}

// fill is the device's callback: out is filled with what waits, then silence.
// No allocation, no lock, no waiting.
func (q *playQueue) fill(out []float32) {
	now := int64(time.Since(q.base))
	q.beat.Store(now)
	n := 0
	if cut := q.cutTo.Load(); cut > q.ring.r.Load() {
		// Fade what was next within 8 ms, so that it does not click, then jump
		// behind the cut.
		n = q.ring.read(out[:min(len(out), q.rate/125)])
		for i := range n {
			out[i] *= float32(n-i) / float32(n)
		}
		if r := q.ring.r.Load(); r < cut {
			q.ring.r.Store(cut)
		}
	} else {
		n = q.ring.read(out)
	}
	g := math.Float32frombits(q.gain.Load())
	for i := range n {
		out[i] = max(-1, min(1, out[i]*g))
	}
	clear(out[n:])
	if q.heeds.Load() {
		q.given.write(out)
	}
	if n > 0 {
		if now-q.last.Load() > int64(100*time.Millisecond) {
			q.first.Store(now)
		}
		q.last.Store(now)
		q.total.Add(uint64(n))
	}
}

// stop drops what waits.
func (q *playQueue) stop() { q.cutTo.Store(q.ring.w.Load()) }

// waiting reports whether sound is still to be handed to the device.
func (q *playQueue) waiting() bool {
	r := q.ring.r.Load()
	return q.ring.w.Load() > max(r, q.cutTo.Load())
}

// playing: something waits, or the last was handed over within the device's latency.
func (q *playQueue) playing(latency time.Duration) bool {
	if q.waiting() {
		return true
	}
	last := q.last.Load()
	return last != 0 && time.Since(q.base)-time.Duration(last) < latency
}

func (q *playQueue) close() { q.once.Do(func() { close(q.done) }) }

// LoudspeakerConfig chooses and watches a loudspeaker.
type LoudspeakerConfig struct {
	// Device is the name or a part of it; empty is the system's default.
	Device string
	// Rate is the sample rate of what is played, so that a voice need not be
	// converted; the system converts to its own. Default [Rate].
	Rate int
	// Period is the device's period, and all that waits in the sound server.
	// Default two frames, 64 ms: shorter ones start sooner, and break up when the
	// processor is busy, which a recognition beside it is enough for.
	Period time.Duration
	// Latency is how long after the last sample was handed over the room may
	// still hear it. Default 150 ms, measured over PulseAudio.
	Latency time.Duration
	// Tell is called with a line for the user when the device goes away or
	// comes back, from a goroutine of its own. May be nil.
	Tell func(line string)
}

// Loudspeaker plays on a device chosen by name, by malgo. The device runs all
// the time and plays silence between replies, so that a reply starts at once.
// It is safe for concurrent use.
type Loudspeaker struct {
	cfg   LoudspeakerConfig
	queue *playQueue

	mu   sync.Mutex // device and context
	ctx  *malgo.AllocatedContext
	dev  *malgo.Device
	lost chan struct{}
	gone sync.WaitGroup
}

// OpenLoudspeaker opens a playback device and starts it.
func OpenLoudspeaker(cfg LoudspeakerConfig) (*Loudspeaker, error) {
	if cfg.Rate == 0 {
		cfg.Rate = Rate
	}
	if cfg.Period == 0 {
		cfg.Period = 2 * FrameTime
	}
	if cfg.Latency == 0 {
		cfg.Latency = 150 * time.Millisecond
	}
	if cfg.Tell == nil {
		cfg.Tell = func(string) {}
	}
	l := &Loudspeaker{cfg: cfg, queue: newPlayQueue(cfg.Rate), lost: make(chan struct{}, 1)}
	if err := l.open(); err != nil {
		return nil, fmt.Errorf("open the loudspeaker: %w", err)
	}
	l.gone.Go(l.watch)
	return l, nil
}

func (l *Loudspeaker) open() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	ctx, err := openContext()
	if err != nil {
		return err
	}
	d, err := findDevice(ctx, malgo.Playback, l.cfg.Device)
	if err != nil {
		closeContext(ctx)
		return err
	}
	cfg := malgo.DefaultDeviceConfig(malgo.Playback)
	cfg.SampleRate = uint32(l.cfg.Rate)
	cfg.PeriodSizeInMilliseconds = uint32(l.cfg.Period.Milliseconds())
	cfg.Playback.Format = malgo.FormatF32
	cfg.Playback.Channels = 1
	cfg.Resampling.Linear.LpfOrder = 8
	if d != nil {
		id := d.id.Pointer()
		defer freeC(id)
		cfg.Playback.DeviceID = id
	}
	dev, err := malgo.InitDevice(ctx.Context, cfg, malgo.DeviceCallbacks{
		Data: func(out, _ []byte, _ uint32) {
			if len(out) >= 4 {
				l.queue.fill(unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(out))), len(out)/4))
			}
		},
		Stop: func() {
			select {
			case l.lost <- struct{}{}:
			default:
			}
		},
	})
	if err != nil {
		closeContext(ctx)
		return err
	}
	if err := dev.Start(); err != nil {
		dev.Uninit()
		closeContext(ctx)
		return err
	}
	l.queue.beat.Store(int64(time.Since(l.queue.base)))
	l.ctx, l.dev = ctx, dev
	return nil
}

// watch gets a lost device back.
func (l *Loudspeaker) watch() {
	name := l.cfg.Device
	if name == "" {
		name = "the default loudspeaker"
	}
	for {
		select {
		case <-l.queue.done:
			return
		case <-l.lost:
		case <-time.After(reopenEvery):
			// A sound server that died or hangs does not always say so.
			if time.Since(l.queue.base)-time.Duration(l.queue.beat.Load()) < deviceSilent {
				continue
			}
		}
		select {
		case <-l.queue.done:
			return
		default:
		}
		l.cfg.Tell(fmt.Sprintf("Lost %s. Replies are only shown until it is back.", name))
		l.release()
		for {
			l.queue.stop() // nobody wants minutes-old replies when it comes back
			select {
			case <-l.queue.done:
				return
			case <-time.After(reopenEvery):
			}
			if l.open() == nil {
				break
			}
		}
		select {
		case <-l.lost: // of the device that was released
		default:
		}
		l.cfg.Tell(fmt.Sprintf("%s is back.", name))
	}
}

func (l *Loudspeaker) release() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.dev != nil {
		closeDevice(l.dev, l.ctx)
		l.dev, l.ctx = nil, nil
	}
}

// Play queues s, mono at [Loudspeaker.Rate], behind what already waits and
// returns once it is queued; it waits only while more than half a minute is
// queued. [ErrSpeakerClosed] after Close.
func (l *Loudspeaker) Play(ctx context.Context, s []float32) error { return l.queue.play(ctx, s) }

// Rate is the sample rate of what Play takes.
func (l *Loudspeaker) Rate() int { return l.cfg.Rate }

// Stop drops what waits and fades out within 8 ms.
func (l *Loudspeaker) Stop() { l.queue.stop() }

// Playing reports whether sound waits or may still be in the air.
func (l *Loudspeaker) Playing() bool { return l.queue.playing(l.cfg.Latency) }

// Waiting is how much sound the device has not asked for yet.
func (l *Loudspeaker) Waiting() time.Duration {
	return time.Duration(l.queue.ring.len()) * time.Second / time.Duration(l.queue.rate)
}

// SetGain sets the factor on everything played from now on, 1 to begin with.
func (l *Loudspeaker) SetGain(g float64) { l.queue.gain.Store(math.Float32bits(float32(g))) }

// FirstSound is when the first sample after the last silence was handed to
// the device; the zero time when nothing was played.
func (l *Loudspeaker) FirstSound() time.Time { return l.queue.firstSound() }

func (q *playQueue) firstSound() time.Time {
	ns := q.first.Load()
	if ns == 0 {
		return time.Time{}
	}
	return q.base.Add(time.Duration(ns))
}

// Given follows what the device is given, for [Echo]. One reader at a time.
func (l *Loudspeaker) Given() *Given { return newGiven(l.queue) }

// Close stops the device.
func (l *Loudspeaker) Close() error {
	l.queue.close()
	l.gone.Wait()
	l.release()
	return nil
}

var _ io.Closer = (*Loudspeaker)(nil)
