package main

import (
	"bufio"
	"bytes"
	"fmt"
	"math/bits"
	"os/exec"
	"path/filepath"
	"strconv"

	"gonum.org/v1/gonum/dsp/fourier"

	"putback/audio"
)

// loadRoom simulates the way of the sound through a hard room that takes so many
// seconds to fall by 60 dB, speaker and microphone 3 m apart (peers/room.py).
func loadRoom(seconds float64) (audio.Samples, error) {
	python, err := install("room")
	if err != nil {
		return nil, fmt.Errorf("the simulated room: %w", err)
	}
	out, err := exec.Command(python[0], filepath.Join("scripts", "hearing", "peers", "room.py"), fmt.Sprint(seconds)).Output()
	if err != nil {
		return nil, fmt.Errorf("the simulated room: %w", err)
	}
	var response audio.Samples
	lines := bufio.NewScanner(bytes.NewReader(out))
	for lines.Scan() {
		x, err := strconv.ParseFloat(lines.Text(), 32)
		if err != nil {
			return nil, fmt.Errorf("the simulated room: its line %d: %w", len(response)+1, err)
		}
		response = append(response, float32(x))
	}
	if len(response) == 0 {
		return nil, fmt.Errorf("the simulated room: its impulse response is empty")
	}
	return response, lines.Err()
}

// reverberate is sound as it arrives through a room: convolved with the impulse
// response, cut to its own length and brought back to its own level.
func reverberate(sound, response audio.Samples) audio.Samples {
	if len(sound) == 0 || len(response) == 0 {
		return sound
	}
	n := 1 << bits.Len(uint(len(sound)+len(response)-2))
	transform := fourier.NewFFT(n)
	spectrum := func(s audio.Samples) []complex128 {
		padded := make([]float64, n)
		for i, x := range s {
			padded[i] = float64(x)
		}
		return transform.Coefficients(nil, padded)
	}
	product, filter := spectrum(sound), spectrum(response)
	for i := range product {
		product[i] *= filter[i]
	}
	wet := transform.Sequence(nil, product)
	out := make(audio.Samples, len(sound))
	for i := range out {
		out[i] = float32(wet[i])
	}
	level := out.RMS()
	if level == 0 {
		return out
	}
	gain := float32(sound.RMS() / level)
	for i := range out {
		out[i] *= gain
	}
	return out
}
