package audio

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
)

// Errors of the WAV reader, to be compared with errors.Is.
var (
	// ErrNotWAV is returned when the data does not begin like a WAV file.
	ErrNotWAV = errors.New("not a WAV file (RIFF/WAVE header missing)")
	// ErrWAVFormat is returned for a sample format that is not PCM of 8, 16, 24
	// or 32 bits or float of 32 or 64 bits, and for headers that contradict themselves.
	ErrWAVFormat = errors.New("unsupported or broken WAV format")
	// ErrWAVEmpty is returned when there is no whole sample in the file.
	ErrWAVEmpty = errors.New("no sound in the WAV file")
	// ErrWAVLong is returned for files longer than [MaxWAV] seconds.
	ErrWAVLong = errors.New("WAV file too long")
)

// MaxWAV is the longest file that [DecodeWAV] reads, in seconds.
const MaxWAV = 3 * 3600

// The format tags of the WAVE format chunk (Multimedia Programming Interface
// and Data Specifications 1.0, IBM and Microsoft, 1991; extensible: the tag is
// the first two bytes of the sub-format GUID).
const (
	wavPCM        = 0x0001
	wavFloat      = 0x0003
	wavExtensible = 0xFFFE
)

// wavFormat is the format chunk.
type wavFormat struct {
	tag      uint16
	channels int
	rate     int
	align    int // bytes of one sample of all channels
	bits     int // bits of the container of one sample
}

// ReadWAV reads a WAV file as [DecodeWAV] does; errors name the file.
func ReadWAV(path string) (Samples, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read WAV: %w", err)
	}
	defer f.Close()
	s, err := DecodeWAV(f)
	if err != nil {
		return nil, fmt.Errorf("read WAV %s: %w", path, err)
	}
	return s, nil
}

// DecodeWAV reads RIFF/WAVE sound: PCM of 8 (unsigned), 16, 24 or 32 bits,
// float of 32 or 64 bits, plain or extensible header, any number of channels up
// to 64, any rate from 1 to 384 kHz. Channels are averaged, the rate is
// converted to [Rate].
//
// What the header claims is never trusted: memory grows with the bytes that
// really come. A file cut off in its data, or written to a pipe with the sizes
// left open (0 or 0xFFFFFFFF), gives the whole samples that are there, without
// an error; so does a recording whose writer was killed. Float samples that are
// not finite become 0.
func DecodeWAV(r io.Reader) (Samples, error) {
	br := bufio.NewReaderSize(r, 64<<10)
	var head [12]byte
	if _, err := io.ReadFull(br, head[:]); err != nil {
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil, ErrNotWAV
		}
		return nil, err
	}
	if id := string(head[:4]); (id != "RIFF" && id != "RF64") || string(head[8:]) != "WAVE" {
		return nil, ErrNotWAV
	}
	var format *wavFormat
	for {
		var ch [8]byte
		if _, err := io.ReadFull(br, ch[:]); err != nil {
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				return nil, fmt.Errorf("%w: the file ends before its data chunk", ErrWAVEmpty)
			}
			return nil, err
		}
		size := int64(binary.LittleEndian.Uint32(ch[4:]))
		switch string(ch[:4]) {
		case "fmt ":
			f, err := readFormat(br, size)
			if err != nil {
				return nil, err
			}
			format = &f
		case "data":
			if format == nil {
				return nil, fmt.Errorf("%w: data chunk before the format chunk", ErrWAVFormat)
			}
			if size == 0 || size == 0xFFFFFFFF {
				size = math.MaxInt64 // left open by a streaming writer: to the end
			}
			return readData(io.LimitReader(br, size), *format)
		default:
			if _, err := io.CopyN(io.Discard, br, size+size&1); err != nil {
				return nil, fmt.Errorf("%w: the file ends inside its %q chunk", ErrWAVEmpty, ch[:4])
			}
		}
	}
}

// readFormat reads a format chunk of the given size and checks it.
func readFormat(r io.Reader, size int64) (wavFormat, error) {
	if size < 16 || size > 4096 {
		return wavFormat{}, fmt.Errorf("%w: format chunk of %d bytes", ErrWAVFormat, size)
	}
	b := make([]byte, size+size&1)
	if _, err := io.ReadFull(r, b); err != nil {
		return wavFormat{}, fmt.Errorf("%w: the file ends inside its format chunk", ErrWAVFormat)
	}
	f := wavFormat{
		tag:      binary.LittleEndian.Uint16(b),
		channels: int(binary.LittleEndian.Uint16(b[2:])),
		rate:     int(binary.LittleEndian.Uint32(b[4:])),
		align:    int(binary.LittleEndian.Uint16(b[12:])),
		bits:     int(binary.LittleEndian.Uint16(b[14:])),
	}
	if f.tag == wavExtensible {
		if size < 40 {
			return wavFormat{}, fmt.Errorf("%w: extensible header of %d bytes, want 40", ErrWAVFormat, size)
		}
		f.tag = binary.LittleEndian.Uint16(b[24:])
	}
	switch {
	case f.channels < 1 || f.channels > 64:
		return wavFormat{}, fmt.Errorf("%w: %d channels, want 1 to 64", ErrWAVFormat, f.channels)
	case f.rate < 1000 || f.rate > 384000:
		return wavFormat{}, fmt.Errorf("%w: %d samples per second, want 1000 to 384000", ErrWAVFormat, f.rate)
	case f.tag == wavPCM && f.bits != 8 && f.bits != 16 && f.bits != 24 && f.bits != 32,
		f.tag == wavFloat && f.bits != 32 && f.bits != 64,
		f.tag != wavPCM && f.tag != wavFloat:
		return wavFormat{}, fmt.Errorf("%w: format tag %#04x with %d bits; convert it to 16-bit PCM", ErrWAVFormat, f.tag, f.bits)
	case f.align != f.channels*f.bits/8:
		return wavFormat{}, fmt.Errorf("%w: %d bytes per sample for %d channels of %d bits", ErrWAVFormat, f.align, f.channels, f.bits)
	}
	return f, nil
}

// readData reads samples to the end of r, mixes the channels and converts the rate.
func readData(r io.Reader, f wavFormat) (Samples, error) {
	limit := f.rate * MaxWAV
	width := f.bits / 8
	to := converter{rate: f.rate}
	count := 0
	buf := make([]byte, f.align*4096)
	mono := make([]float32, 0, 4096)
	for {
		n, err := io.ReadFull(r, buf)
		mono = mono[:0]
		for i := 0; i+f.align <= n; i += f.align {
			var sum float64
			for c := range f.channels {
				sum += sample(buf[i+c*width:], f)
			}
			mono = append(mono, float32(sum/float64(f.channels)))
		}
		if count += len(mono); count > limit {
			return nil, fmt.Errorf("%w: more than %d hours; cut it", ErrWAVLong, MaxWAV/3600)
		}
		to.push(mono)
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("read samples: %w", err)
		}
	}
	if count == 0 {
		return nil, ErrWAVEmpty
	}
	return to.finish(), nil
}

// converter converts the rate of a long recording stretch by stretch, so that one
// of a high rate never lies in memory at that rate. Whole seconds of either
// rate hold a whole number of samples, so the blocks join without a seam; the
// second on each side is more than the filter of [Resample] reaches.
type converter struct {
	rate int
	held []float32
	lead int // seconds at the start of held that were given out already
	out  Samples
}

const (
	convertBlock = 20 // seconds
	convertEdge  = 1
)

func (c *converter) push(mono []float32) {
	if c.rate == Rate {
		c.out = append(c.out, mono...)
		return
	}
	c.held = append(c.held, mono...)
	for whole := (c.lead + convertBlock + convertEdge) * c.rate; len(c.held) >= whole; {
		made := Resample(c.held[:whole], c.rate, Rate)
		c.out = append(c.out, made[c.lead*Rate:(c.lead+convertBlock)*Rate]...)
		c.held = append(c.held[:0], c.held[(c.lead+convertBlock-convertEdge)*c.rate:]...)
		c.lead = convertEdge
		whole = (c.lead + convertBlock + convertEdge) * c.rate
	}
}

func (c *converter) finish() Samples {
	if c.rate == Rate {
		return c.out
	}
	return append(c.out, Resample(c.held, c.rate, Rate)[c.lead*Rate:]...)
}

// sample decodes the sample at the start of b to -1..1.
func sample(b []byte, f wavFormat) float64 {
	var v float64
	switch {
	case f.tag == wavFloat && f.bits == 32:
		v = float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))
	case f.tag == wavFloat:
		v = math.Float64frombits(binary.LittleEndian.Uint64(b))
	case f.bits == 8:
		v = (float64(b[0]) - 128) / 128
	case f.bits == 16:
		v = float64(int16(binary.LittleEndian.Uint16(b))) / (1 << 15)
	case f.bits == 24:
		v = float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)>>8) / (1 << 23)
	default:
		v = float64(int32(binary.LittleEndian.Uint32(b))) / (1 << 31)
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	// A float file may exceed full scale, but not by so much that later sums overflow.
	return max(-1e6, min(1e6, v))
}
