package speech

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// flite is the stand-in voice: the flite program of most distributions, run as
// a process for each clause.
type flite struct {
	program string
	voice   string
}

// fliteRate is the samples a second of flite's voices slt and rms.
const fliteRate = 16000

func openFlite(o VoiceOptions) (*flite, error) {
	program, err := exec.LookPath("flite")
	if err != nil {
		return nil, errors.New("the flite program is not installed; run `putback models fetch` for the voice, or install flite with the system's package manager")
	}
	voice := map[Character]string{Companion: "slt", Mechanic: "rms", Stranger: "awb"}[o.Character]
	return &flite{program, voice}, nil
}

func (f *flite) name() string { return "flite (" + f.voice + ")" }
func (f *flite) rate() int    { return fliteRate }
func (f *flite) close() error { return nil }

func (f *flite) say(ctx context.Context, words string, speed, pitch float64) ([]float32, error) {
	dir, err := os.MkdirTemp("", "putback-flite-")
	if err != nil {
		return nil, fmt.Errorf("make room for flite's sound: %w", err)
	}
	defer os.RemoveAll(dir)
	wav := filepath.Join(dir, "clause.wav")
	args := []string{"-voice", f.voice,
		"--setf", "duration_stretch=" + strconv.FormatFloat(1/speed, 'f', 3, 64)}
	if pitch != 0 {
		// flite shifts by a factor on the fundamental frequency.
		args = append(args, "--setf", "f0_shift="+strconv.FormatFloat(semitones(pitch), 'f', 4, 64))
	}
	// The text goes in by a file: as an argument, a leading dash or a text
	// without a space would be taken for an option or a file's name.
	txt := filepath.Join(dir, "clause.txt")
	if err := os.WriteFile(txt, []byte(words+"\n"), 0o600); err != nil {
		return nil, fmt.Errorf("write flite's text: %w", err)
	}
	args = append(args, "-f", txt, "-o", wav)
	cmd := exec.CommandContext(ctx, f.program, args...)
	if out, err := cmd.CombinedOutput(); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("run flite: %w: %s", err, strings.TrimSpace(string(out)))
	}
	data, err := os.ReadFile(wav)
	if err != nil {
		return nil, fmt.Errorf("read flite's sound: %w", err)
	}
	return pcm16(data, fliteRate)
}

// pcm16 reads the one kind of WAV that flite writes: 16-bit mono.
func pcm16(data []byte, rate int) ([]float32, error) {
	if len(data) < 12 || string(data[:4]) != "RIFF" || string(data[8:12]) != "WAVE" {
		return nil, errors.New("flite wrote something that is not a WAV file")
	}
	for at := 12; at+8 <= len(data); {
		id, size := string(data[at:at+4]), int(binary.LittleEndian.Uint32(data[at+4:]))
		body := data[at+8 : min(len(data), at+8+size)]
		switch id {
		case "fmt ":
			if len(body) < 16 || binary.LittleEndian.Uint16(body[2:]) != 1 || binary.LittleEndian.Uint16(body[14:]) != 16 {
				return nil, errors.New("flite wrote a WAV that is not 16-bit mono")
			}
			if got := int(binary.LittleEndian.Uint32(body[4:])); got != rate {
				return nil, fmt.Errorf("flite wrote %d samples a second, not %d", got, rate)
			}
		case "data":
			out := make([]float32, len(body)/2)
			for i := range out {
				out[i] = float32(int16(binary.LittleEndian.Uint16(body[2*i:]))) / 32768
			}
			return out, nil
		}
		at += 8 + size + size%2
	}
	return nil, errors.New("flite wrote a WAV without sound")
}
