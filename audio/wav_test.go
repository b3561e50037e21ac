package audio_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// wavFile builds a WAV file by the RIFF definition, independent of the reader.
func wavFile(tag uint16, channels, rate, bits int, extensible bool, data []byte) []byte {
	var b bytes.Buffer
	w := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) }
	size := 16
	if extensible {
		size = 40
	}
	b.WriteString("RIFF")
	w(uint32(4 + 8 + size + 8 + len(data)))
	b.WriteString("WAVEfmt ")
	w(uint32(size))
	if extensible {
		w(uint16(0xFFFE))
	} else {
		w(tag)
	}
	w(uint16(channels))
	w(uint32(rate))
	w(uint32(rate * channels * bits / 8))
	w(uint16(channels * bits / 8))
	w(uint16(bits))
	if extensible {
		w(uint16(22))
		w(uint16(bits))
		w(uint32(0))
		w(tag)
		b.Write([]byte{0, 0, 0, 0, 16, 0, 128, 0, 0, 170, 0, 56, 155, 113})
	}
	b.WriteString("data")
	w(uint32(len(data)))
	b.Write(data)
	return b.Bytes()
}

func TestEverySampleFormatGivesTheSameSamples(t *testing.T) {
	want := []float64{0, 0.5, -0.5, 0.25, -1}
	pack := func(bits int, float bool) []byte {
		var b []byte
		for _, v := range want {
			switch {
			case float && bits == 32:
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
			case float:
				b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
			case bits == 8:
				b = append(b, byte(int(v*128)+128))
			case bits == 16:
				b = binary.LittleEndian.AppendUint16(b, uint16(int16(v*32768)))
			case bits == 24:
				x := uint32(int32(v * (1 << 23)))
				b = append(b, byte(x), byte(x>>8), byte(x>>16))
			case bits == 32:
				b = binary.LittleEndian.AppendUint32(b, uint32(int32(v*(1<<31))))
			}
		}
		return b
	}
	for _, c := range []struct {
		tag  uint16
		bits int
	}{{1, 8}, {1, 16}, {1, 24}, {1, 32}, {3, 32}, {3, 64}} {
		for _, ext := range []bool{false, true} {
			got, err := audio.DecodeWAV(bytes.NewReader(wavFile(c.tag, 1, audio.Rate, c.bits, ext, pack(c.bits, c.tag == 3))))
			require.NoError(t, err)
			require.Len(t, got, len(want))
			for i := range want {
				require.InDelta(t, want[i], got[i], 1e-6, "format %d bits %d extensible %v sample %d", c.tag, c.bits, ext, i)
			}
		}
	}
}

func TestChannelsAreAveraged(t *testing.T) {
	var b []byte
	for range 10 {
		b = binary.LittleEndian.AppendUint16(b, uint16(16384))
		b = binary.LittleEndian.AppendUint16(b, 0)
	}
	got, err := audio.DecodeWAV(bytes.NewReader(wavFile(1, 2, audio.Rate, 16, false, b)))
	require.NoError(t, err)
	require.Len(t, got, 10)
	require.InDelta(t, 0.25, got[3], 1e-6)
}

func TestAHeaderThatClaimsFourGigabytesDoesNotAllocateThem(t *testing.T) {
	file := wavFile(1, 1, audio.Rate, 16, false, make([]byte, 3200))
	for _, claim := range []uint32{0xFFFFFFFF, 0xFFFFFFFE, 0} {
		binary.LittleEndian.PutUint32(file[40:], claim)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		got, err := audio.DecodeWAV(bytes.NewReader(file))
		runtime.ReadMemStats(&after)
		require.NoError(t, err)
		require.Len(t, got, 1600)
		require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(8<<20))
	}
	// The same for an unknown chunk and for the format chunk.
	file = append([]byte("RIFF\xff\xff\xff\xffWAVEjunk\xf0\xff\xff\xff"), make([]byte, 100)...)
	_, err := audio.DecodeWAV(bytes.NewReader(file))
	require.ErrorIs(t, err, audio.ErrWAVEmpty)
	file = append([]byte("RIFF\xff\xff\xff\xffWAVEfmt \xf0\xff\xff\xff"), make([]byte, 100)...)
	_, err = audio.DecodeWAV(bytes.NewReader(file))
	require.ErrorIs(t, err, audio.ErrWAVFormat)
}

func TestATruncatedFileGivesWhatIsThere(t *testing.T) {
	file := wavFile(1, 1, audio.Rate, 16, false, make([]byte, 3200))
	got, err := audio.DecodeWAV(bytes.NewReader(file[:len(file)-1601]))
	require.NoError(t, err)
	require.Len(t, got, 799) // the half sample at the end is left out
}

func TestBrokenFilesAreNamed(t *testing.T) {
	for name, c := range map[string]struct {
		file []byte
		want error
	}{
		"empty":            {nil, audio.ErrNotWAV},
		"text":             {[]byte("hello, this is not sound at all"), audio.ErrNotWAV},
		"no data chunk":    {wavFile(1, 1, audio.Rate, 16, false, nil)[:36], audio.ErrWAVEmpty},
		"no samples":       {wavFile(1, 1, audio.Rate, 16, false, nil), audio.ErrWAVEmpty},
		"ADPCM":            {wavFile(2, 1, audio.Rate, 4, false, make([]byte, 64)), audio.ErrWAVFormat},
		"12 bits":          {wavFile(1, 1, audio.Rate, 12, false, make([]byte, 64)), audio.ErrWAVFormat},
		"no channels":      {wavFile(1, 0, audio.Rate, 16, false, make([]byte, 64)), audio.ErrWAVFormat},
		"rate zero":        {wavFile(1, 1, 0, 16, false, make([]byte, 64)), audio.ErrWAVFormat},
		"65535 channels":   {wavFile(1, 65535, audio.Rate, 16, false, make([]byte, 64)), audio.ErrWAVFormat},
		"data before form": {append([]byte("RIFF\x00\x00\x00\x00WAVEdata\x04\x00\x00\x00"), 1, 2, 3, 4), audio.ErrWAVFormat},
	} {
		_, err := audio.DecodeWAV(bytes.NewReader(c.file))
		require.ErrorIs(t, err, c.want, name)
	}
	_, err := audio.ReadWAV(filepath.Join(t.TempDir(), "gone.wav"))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, "gone.wav")
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	s := sine(440, 0.7, 0.5)
	path := filepath.Join(t.TempDir(), "a.wav")
	require.NoError(t, audio.WriteWAV(path, s))
	got, err := audio.ReadWAV(path)
	require.NoError(t, err)
	require.Len(t, got, len(s))
	for i := range s {
		require.InDelta(t, s[i], got[i], 1.0/32768)
	}
	// Beyond full scale is clipped, never wrapped round.
	var b bytes.Buffer
	require.NoError(t, audio.EncodeWAV(&b, audio.Samples{2, -2}))
	got, err = audio.DecodeWAV(&b)
	require.NoError(t, err)
	require.Greater(t, got[0], float32(0.99))
	require.Less(t, got[1], float32(-0.99))
	require.Error(t, audio.WriteWAV(filepath.Join(t.TempDir(), "no", "such.wav"), s))
}

// TestSoxReadsOurFilesAndWeReadItsFiles takes sox as the outside reference.
func TestSoxReadsOurFilesAndWeReadItsFiles(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		t.Skip("needs the sox program as a reference: apt-get install sox")
	}
	dir := t.TempDir()
	ours := filepath.Join(dir, "ours.wav")
	s := sine(700, 0.5, 1)
	require.NoError(t, audio.WriteWAV(ours, s))
	for _, rate := range []int{8000, 11025, 22050, 44100, 48000, 96000} {
		theirs := filepath.Join(dir, strconv.Itoa(rate)+".wav")
		out, err := exec.Command(sox, ours, "-b", "24", "-c", "2", "-r", strconv.Itoa(rate), theirs).CombinedOutput()
		require.NoError(t, err, string(out))
		got, err := audio.ReadWAV(theirs)
		require.NoError(t, err)
		require.InDelta(t, len(s), len(got), 3)
		var worst float64
		for i := 1000; i < len(s)-1000; i++ {
			worst = max(worst, math.Abs(float64(s[i]-got[i])))
		}
		require.Less(t, worst, 0.002, "%d Hz", rate)
	}
}

func TestALongRecordingOfAnotherRateIsConvertedWithoutASeam(t *testing.T) {
	const rate, seconds = 8000, 51
	data := make([]byte, 0, 2*rate*seconds)
	want := make([]float32, rate*seconds)
	for i := range want {
		v := int16(12000 * math.Sin(2*math.Pi*440*float64(i)/rate))
		data = binary.LittleEndian.AppendUint16(data, uint16(v))
		want[i] = float32(v) / (1 << 15)
	}
	got, err := audio.DecodeWAV(bytes.NewReader(wavFile(1, 1, rate, 16, false, data)))
	require.NoError(t, err)
	whole := audio.Resample(want, rate, audio.Rate)
	require.Len(t, got, len(whole))
	for i := range got {
		require.InDelta(t, whole[i], got[i], 1e-4, "sample %d", i)
	}
}

// TestARecordingOfAHighRateStaysSmallInMemory decodes a minute at 384 kHz, 92 MB
// at that rate as samples, that exists nowhere but in the reader.
func TestARecordingOfAHighRateStaysSmallInMemory(t *testing.T) {
	const rate, seconds = 384000, 60
	head := wavFile(1, 1, rate, 8, false, nil)
	binary.LittleEndian.PutUint32(head[len(head)-4:], 0xFFFFFFF0) // claims 4 GB
	sound := &countedSilence{left: rate * seconds}
	s, err := audio.DecodeWAV(io.MultiReader(bytes.NewReader(head), sound))
	require.NoError(t, err)
	require.Len(t, s, seconds*audio.Rate)
	require.Less(t, sound.most-sound.least, uint64(64<<20), "growth of the heap while it was read")
}

// countedSilence is silence of 8 bits that looks at the heap as it is read.
type countedSilence struct {
	left, next  int
	least, most uint64
}

func (c *countedSilence) Read(b []byte) (int, error) {
	if c.left == 0 {
		return 0, io.EOF
	}
	if c.left <= c.next || c.next == 0 { // every five seconds of sound
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		if c.least == 0 {
			c.least = m.HeapInuse
		}
		c.most = max(c.most, m.HeapInuse)
		c.next = c.left - 1920000
	}
	n := min(len(b), c.left)
	for i := range n {
		b[i] = 128
	}
	c.left -= n
	return n, nil
}

func FuzzDecodeWAV(f *testing.F) {
	f.Add(wavFile(1, 1, audio.Rate, 16, false, make([]byte, 640)))
	f.Add(wavFile(3, 2, 44100, 32, true, make([]byte, 640)))
	f.Add([]byte("RIFF\xff\xff\xff\xffWAVEdata"))
	claims := wavFile(1, 1, audio.Rate, 16, false, make([]byte, 8))
	binary.LittleEndian.PutUint32(claims[40:], 0xFFFFFFF0) // 4 GB, and 8 bytes come
	f.Add(claims)
	f.Add(wavFile(0xFFFE, 64, 384000, 64, true, make([]byte, 1024)))
	f.Add(wavFile(1, 3, 11025, 24, false, make([]byte, 10))) // one sample and a part
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := audio.DecodeWAV(bytes.NewReader(b))
		if err == nil && len(s) == 0 {
			t.Fatal("neither sound nor an error")
		}
		// A sample needs at least a byte, and the rate rises at most sixteenfold.
		if len(s) > 17*len(b)+16 {
			t.Fatalf("%d samples out of %d bytes", len(s), len(b))
		}
		for _, v := range s {
			if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
				t.Fatal("a sample that is not finite")
			}
		}
	})
}

func TestDecodeWAVPassesReadErrorsOn(t *testing.T) {
	file := wavFile(1, 1, audio.Rate, 16, false, make([]byte, 3200))
	_, err := audio.DecodeWAV(io.MultiReader(bytes.NewReader(file[:1000]), brokenReader{}))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, os.ErrDeadlineExceeded }

func sine(hertz, peak, seconds float64) audio.Samples {
	s := make(audio.Samples, int(seconds*audio.Rate))
	for i := range s {
		s[i] = float32(peak * math.Sin(2*math.Pi*hertz*float64(i)/audio.Rate))
	}
	return s
}
