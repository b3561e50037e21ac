package audio

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
)

// WriteWAV writes s to path as 16-bit mono WAV at [Rate]. The file appears
// whole or not at all: it is written beside its place and renamed.
func WriteWAV(path string, s Samples) (err error) {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".putback-*.wav")
	if err != nil {
		return fmt.Errorf("write WAV %s: %w", path, err)
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
			err = fmt.Errorf("write WAV %s: %w", path, err)
		}
	}()
	if err = EncodeWAV(tmp, s); err != nil {
		return err
	}
	if err = tmp.Chmod(0o644); err != nil {
		return err
	}
	if err = tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}

// EncodeWAV writes s to w as 16-bit mono WAV at [Rate]. Samples beyond full
// scale are clipped. A WAV file holds at most 4 GB; longer sound is an error.
func EncodeWAV(w io.Writer, s Samples) error {
	if len(s) > (math.MaxUint32-44)/2 {
		return fmt.Errorf("%d samples do not fit in a WAV file", len(s))
	}
	bw := bufio.NewWriterSize(w, 64<<10)
	size := uint32(len(s) * 2)
	head := make([]byte, 0, 44)
	head = append(head, "RIFF"...)
	head = binary.LittleEndian.AppendUint32(head, 36+size)
	head = append(head, "WAVEfmt "...)
	head = binary.LittleEndian.AppendUint32(head, 16)
	head = binary.LittleEndian.AppendUint16(head, wavPCM)
	head = binary.LittleEndian.AppendUint16(head, 1)
	head = binary.LittleEndian.AppendUint32(head, Rate)
	head = binary.LittleEndian.AppendUint32(head, Rate*2)
	head = binary.LittleEndian.AppendUint16(head, 2)
	head = binary.LittleEndian.AppendUint16(head, 16)
	head = append(head, "data"...)
	head = binary.LittleEndian.AppendUint32(head, size)
	if _, err := bw.Write(head); err != nil {
		return err
	}
	var b [2]byte
	for _, v := range s {
		binary.LittleEndian.PutUint16(b[:], uint16(toInt16(v)))
		if _, err := bw.Write(b[:]); err != nil {
			return err
		}
	}
	return bw.Flush()
}

// toInt16 rounds and clips one sample.
func toInt16(v float32) int16 {
	x := math.Round(float64(v) * (1 << 15))
	return int16(max(math.MinInt16, min(math.MaxInt16, x)))
}
