package audio

import (
	"context"
	"fmt"
	"math"
	"sync"
	"time"
	"unsafe"

	"github.com/hajimehoshi/oto/v2"
)

// otoContext is the one context that oto allows in a process.
var otoContext struct {
	sync.Mutex
	ctx  *oto.Context
	rate int
	err  error
}

// OtoLoudspeaker plays on the system's default device, by oto. It cannot
// choose a device and does not notice that it went away; [Loudspeaker] does
// both. It serves where malgo's backends fail. Safe for concurrent use.
type OtoLoudspeaker struct {
	queue  *playQueue
	player oto.Player
	buffer time.Duration
}

// OpenOto opens the system's default device for sound of the given rate, 0 for
// [Rate], with a buffer of the given length, 0 for 40 ms. Only the first call
// in a process sets them; [OtoLoudspeaker.Rate] says what holds.
func OpenOto(rate int, buffer time.Duration) (*OtoLoudspeaker, error) {
	if rate == 0 {
		rate = Rate
	}
	if buffer == 0 {
		buffer = 40 * time.Millisecond
	}
	otoContext.Lock()
	defer otoContext.Unlock()
	if otoContext.ctx == nil && otoContext.err == nil {
		ctx, ready, err := oto.NewContextWithOptions(&oto.NewContextOptions{
			SampleRate: rate, ChannelCount: 1, Format: oto.FormatFloat32LE, BufferSize: buffer,
		})
		if err == nil {
			<-ready
			err = ctx.Err()
		}
		otoContext.ctx, otoContext.rate, otoContext.err = ctx, rate, err
	}
	if otoContext.err != nil {
		return nil, fmt.Errorf("open the loudspeaker by oto: %w", otoContext.err)
	}
	l := &OtoLoudspeaker{queue: newPlayQueue(otoContext.rate), buffer: buffer}
	l.player = otoContext.ctx.NewPlayer(otoReader{l.queue})
	// oto reads half a second ahead otherwise, and that is the delay of every reply.
	l.player.(oto.BufferSizeSetter).SetBufferSize(4 * max(1, int(buffer.Seconds()*float64(otoContext.rate)/2)))
	l.player.Play()
	return l, nil
}

// otoReader gives the queue as bytes, silence when nothing waits.
type otoReader struct{ queue *playQueue }

// Read fills p with little-endian floats; it never fails.
func (r otoReader) Read(p []byte) (int, error) {
	n := len(p) / 4
	if n == 0 {
		return 0, nil
	}
	r.queue.fill(unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(p))), n))
	return n * 4, nil
}

// Play queues s; see [Loudspeaker.Play].
func (l *OtoLoudspeaker) Play(ctx context.Context, s []float32) error { return l.queue.play(ctx, s) }

// Rate is the sample rate of what Play takes.
func (l *OtoLoudspeaker) Rate() int { return l.queue.rate }

// Stop drops what waits and fades out.
func (l *OtoLoudspeaker) Stop() { l.queue.stop() }

// Playing reports whether sound waits or may still be in the air.
func (l *OtoLoudspeaker) Playing() bool {
	return l.queue.playing(100*time.Millisecond + 2*l.buffer)
}

// SetGain sets the factor on everything played from now on.
func (l *OtoLoudspeaker) SetGain(g float64) { l.queue.gain.Store(math.Float32bits(float32(g))) }

// FirstSound is as in [Loudspeaker.FirstSound].
func (l *OtoLoudspeaker) FirstSound() time.Time { return l.queue.firstSound() }

// Given follows what the device is given; see [Loudspeaker.Given].
func (l *OtoLoudspeaker) Given() *Given { return newGiven(l.queue) }

// Close stops the player; oto's context stays for the process.
func (l *OtoLoudspeaker) Close() error {
	l.queue.close()
	return l.player.Close()
}
