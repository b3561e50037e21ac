package speech

import "math"

// GainForRoom is the factor for [SayOptions].Gain that keeps the voice above
// the noise of the room. noise is the room's level in dB relative to full scale
// as the microphone has it (0 loudest, about -60 in a quiet room); volume is the
// person's own setting, 1 normal. Below -50 dB nothing is added; above it every
// dB of noise adds half a dB of voice, as people themselves raise theirs (about
// 0.5 dB a dB, the Lombard effect; from memory), to at most 12 dB.
func GainForRoom(noise, volume float64) float64 {
	if volume <= 0 {
		volume = 1
	}
	if math.IsNaN(noise) {
		return volume
	}
	lift := math.Max(0, math.Min(12, (noise+50)/2))
	return volume * math.Pow(10, lift/20)
}

// amplify multiplies s by gain in place. Above 0.8 the samples are bent towards
// 1, which they never pass: hard clipping would turn consonants into clicks.
func amplify(s []float32, gain float64) {
	if gain == 0 || gain == 1 {
		return
	}
	const knee = 0.8
	for i, x := range s {
		y := float64(x) * gain
		if a := math.Abs(y); a > knee {
			y = math.Copysign(knee+(1-knee)*math.Tanh((a-knee)/(1-knee)), y)
		}
		s[i] = float32(y)
	}
}
