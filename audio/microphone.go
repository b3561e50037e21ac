package audio

import (
	"context"
	"fmt"
	"io"
	"sync/atomic"
	"time"
	"unsafe"

	"github.com/gen2brain/malgo"
)

// micRing is how much sound waits for a busy program before any is lost: 16 s,
// longer than the longest recognition on a loaded computer.
const micRing = 16 * Rate

// micBacklog is how much sound the sound server keeps for a program that gets no
// turn on the processor.
const micBacklog = 2 * time.Second

// deviceSilent is after how long without a callback the device counts as gone. A
// hung sound server gives no other sign.
const deviceSilent = 3 * time.Second

// reopenEvery is the time between two tries to get a lost device back.
const reopenEvery = time.Second

// MicrophoneConfig chooses and watches a microphone.
type MicrophoneConfig struct {
	// Device is the name or a part of it; empty is the system's default.
	Device string
	// Period is the device's period. Default one frame: a shorter one wakes the
	// computer more often and hands over nothing sooner.
	Period time.Duration
	// Tell is called with a line for the user when the device goes away, comes
	// back or sound is lost. It is called from Next. May be nil.
	Tell func(line string)
}

// MicrophoneStats counts what happened since the microphone was opened.
type MicrophoneStats struct {
	Samples  uint64 // taken in from the device
	Overruns uint64 // times the ring was full
	Lost     uint64 // samples lost for it
	Late     uint64 // callbacks that came more than 100 ms late
	Missing  uint64 // samples the device or the sound server never gave, by the clock
	Reopened uint64 // times the device went and came back
}

// Microphone is a [Source] from a capture device. The callback only copies
// into a ring; when the device goes away, Next waits for it to come back.
type Microphone struct {
	cfg MicrophoneConfig

	ctx *malgo.AllocatedContext
	dev *malgo.Device

	ring    *ring
	ready   chan struct{}
	stopped atomic.Bool
	closed  atomic.Bool

	// Written by the callback only, read by anybody.
	samples, overruns, lost, late atomic.Uint64
	first, latest                 atomic.Int64 // ns since base of the first and last callback of this opening
	opened                        atomic.Uint64

	base     time.Time
	frame    [FrameSize]float32
	at       uint64 // samples given out and lost: the audio clock
	lostSeen uint64
	missing  uint64
	reopened uint64
}

// OpenMicrophone opens a capture device and starts it. The system converts to
// 16 kHz mono. [ErrNoDevice] when there is none of that name.
func OpenMicrophone(cfg MicrophoneConfig) (*Microphone, error) {
	if cfg.Period == 0 {
		cfg.Period = FrameTime
	}
	if cfg.Tell == nil {
		cfg.Tell = func(string) {}
	}
	m := &Microphone{cfg: cfg, ring: newRing(micRing), ready: make(chan struct{}, 1), base: time.Now()}
	if err := m.open(); err != nil {
		return nil, fmt.Errorf("open the microphone: %w", err)
	}
	return m, nil
}

func (m *Microphone) open() error {
	ctx, err := openContext()
	if err != nil {
		return err
	}
	d, err := findDevice(ctx, malgo.Capture, m.cfg.Device)
	if err != nil {
		closeContext(ctx)
		return err
	}
	cfg := malgo.DefaultDeviceConfig(malgo.Capture)
	cfg.SampleRate = Rate
	cfg.PeriodSizeInMilliseconds = uint32(m.cfg.Period.Milliseconds())
	// The sound server drops what nobody fetched from this many periods. With
	// the usual three, a thread that gets no turn for 60 ms loses sound; the
	// larger buffer costs no latency, for a period is handed over when it is full.
	cfg.Periods = uint32(max(3, micBacklog/m.cfg.Period))
	cfg.Capture.Format = malgo.FormatF32
	cfg.Capture.Channels = 1
	cfg.Resampling.Linear.LpfOrder = 8
	if d != nil {
		id := d.id.Pointer()
		defer freeC(id)
		cfg.Capture.DeviceID = id
	}
	m.first.Store(0)
	m.stopped.Store(false)
	dev, err := malgo.InitDevice(ctx.Context, cfg, malgo.DeviceCallbacks{
		Data: func(_, in []byte, _ uint32) { m.capture(in, time.Since(m.base)) },
		Stop: func() {
			m.stopped.Store(true)
			m.wake()
		},
	})
	if err != nil {
		closeContext(ctx)
		return err
	}
	m.opened.Store(m.samples.Load())
	m.latest.Store(int64(time.Since(m.base)))
	if err := dev.Start(); err != nil {
		dev.Uninit()
		closeContext(ctx)
		return err
	}
	m.ctx, m.dev = ctx, dev
	return nil
}

// capture is the device's callback: no allocation, no lock, no waiting.
func (m *Microphone) capture(in []byte, now time.Duration) {
	n := len(in) / 4
	if n == 0 {
		return
	}
	// The device gives native floats, aligned by miniaudio.
	s := unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(in))), n)
	if m.first.Load() == 0 {
		m.first.Store(int64(now))
	} else if gap := now - time.Duration(m.latest.Load()); gap > Samples(s).Duration()+100*time.Millisecond {
		m.late.Add(1)
	}
	m.latest.Store(int64(now))
	m.samples.Add(uint64(n))
	if k := m.ring.write(s); k < n {
		m.overruns.Add(1)
		m.lost.Add(uint64(n - k))
	}
	m.wake()
}

func (m *Microphone) wake() {
	select {
	case m.ready <- struct{}{}:
	default:
	}
}

// Next gives the next frame. While the device is away it waits; the time it
// was away counts as lost samples, so that the audio clock keeps up with the
// clock on the wall.
func (m *Microphone) Next(ctx context.Context) (Frame, error) {
	watch := time.NewTimer(deviceSilent)
	defer watch.Stop()
	for m.ring.len() < FrameSize {
		if m.closed.Load() {
			return Frame{}, io.EOF
		}
		select {
		case <-ctx.Done():
			return Frame{}, ctx.Err()
		case <-m.ready:
			if !m.stopped.Load() {
				continue
			}
		case <-watch.C:
			if quiet := time.Since(m.base) - time.Duration(m.latest.Load()); quiet < deviceSilent && !m.stopped.Load() {
				watch.Reset(deviceSilent - quiet)
				continue
			}
		}
		if m.closed.Load() {
			return Frame{}, io.EOF
		}
		if err := m.reopen(ctx); err != nil {
			return Frame{}, err
		}
		watch.Reset(deviceSilent)
	}
	m.ring.read(m.frame[:])
	f := Frame{Samples: m.frame[:]}
	if lost := m.lost.Load(); lost > m.lostSeen {
		f.Lost = int(lost - m.lostSeen)
		m.lostSeen = lost
		m.cfg.Tell(fmt.Sprintf("The computer was too busy: %.1f s of sound from the microphone were lost.", float64(f.Lost)/Rate))
	}
	m.at += uint64(f.Lost)
	f.At = time.Duration(m.at) * time.Second / Rate
	m.at += FrameSize
	m.countMissing()
	return f, nil
}

// countMissing compares what came with the clock. A sound server that drops
// sound tells nobody; a deficit beyond what buffers explain is the only sign.
func (m *Microphone) countMissing() {
	first := time.Duration(m.first.Load())
	if first == 0 {
		return
	}
	got := m.samples.Load() - m.opened.Load()
	elapsed := uint64(Count(time.Duration(m.latest.Load()) - first))
	// A quarter of a second covers the buffers, a part in a thousand the drift of the card's clock.
	if slack := uint64(Rate/4) + elapsed/1000; elapsed > got+slack+m.missing {
		m.missing = elapsed - got - slack
	}
}

// reopen closes the device and tries until it is back.
func (m *Microphone) reopen(ctx context.Context) error {
	name := m.cfg.Device
	if name == "" {
		name = "the default microphone"
	}
	m.cfg.Tell(fmt.Sprintf("Lost %s. Waiting for it to come back.", name))
	gone := time.Since(m.base) - time.Duration(m.latest.Load())
	start := time.Now()
	m.release()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(reopenEvery):
		}
		if m.closed.Load() {
			return io.EOF
		}
		// Whatever a sound system answers while it starts is worth another try.
		if m.open() == nil {
			break
		}
	}
	m.reopened++
	m.lost.Add(uint64(Count(gone + time.Since(start))))
	m.lostSeen = m.lost.Load()
	m.at += uint64(Count(gone + time.Since(start)))
	m.cfg.Tell(fmt.Sprintf("%s is back, listening.", name))
	return nil
}

func (m *Microphone) release() {
	if m.dev != nil {
		closeDevice(m.dev, m.ctx)
		m.dev, m.ctx = nil, nil
	}
}

// Stats gives the counts so far. Call it from the goroutine that calls Next.
func (m *Microphone) Stats() MicrophoneStats {
	return MicrophoneStats{
		Samples: m.samples.Load(), Overruns: m.overruns.Load(), Lost: m.lost.Load(),
		Late: m.late.Load(), Missing: m.missing, Reopened: m.reopened,
	}
}

// Close stops the device. Call it when Next is not running.
func (m *Microphone) Close() error {
	m.closed.Store(true)
	m.wake()
	m.release()
	return nil
}
