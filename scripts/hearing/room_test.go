package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
)

// The plain sum of the definition of a convolution is the reference.
func TestARoomIsAConvolutionAtTheSoundsOwnLevel(t *testing.T) {
	sound, response := make(audio.Samples, 300), make(audio.Samples, 90)
	for i := range sound {
		sound[i] = float32(math.Sin(float64(i*i) / 50))
	}
	for i := range response {
		response[i] = float32(math.Exp(-float64(i)/20) * math.Cos(float64(7*i)))
	}
	want := make(audio.Samples, len(sound))
	for i := range want {
		for k := 0; k <= min(i, len(response)-1); k++ {
			want[i] += response[k] * sound[i-k]
		}
	}
	gain := float32(sound.RMS() / want.RMS())
	got := reverberate(sound, response)
	require.Len(t, got, len(sound))
	for i := range want {
		require.InDelta(t, want[i]*gain, got[i], 1e-4, "sample %d", i)
	}
	require.Equal(t, sound, reverberate(sound, nil))
}
