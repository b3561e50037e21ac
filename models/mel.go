package models

import "math"

// Whisper's filter bank: 80 triangular filters on Slaney's mel scale over the
// 201 bins of a 400-point transform of 16 kHz sound, each scaled to unit area.
const (
	melBands      = 80
	melBins       = 201
	melTransform  = 400
	melSampleRate = 16000
)

// melFilters computes the filter bank, one row of 201 weights per band.
//
// Formula: M. Slaney, Auditory Toolbox, Interval Research technical report
// 1998-010 (linear below 1 kHz, 200/3 Hz a mel, then 27 mels per factor of
// 6.4), with area normalisation, in the order of operations and the rounding
// to 32 bit of librosa.filters.mel, from which OpenAI's stored filters come:
// the result is theirs bit for bit.
func melFilters() [melBands][melBins]float32 {
	edges := make([]float64, melBands+2)
	top := hertzToMel(melSampleRate / 2)
	step := top / float64(len(edges)-1)
	for i := range edges {
		edges[i] = melToHertz(float64(i) * step)
	}
	edges[len(edges)-1] = melToHertz(top)
	var bank [melBands][melBins]float32
	for band := range bank {
		low, mid, high := edges[band], edges[band+1], edges[band+2]
		area := 2 / (high - low)
		for bin := range bank[band] {
			hz := float64(bin) * melSampleRate / melTransform
			rise := (hz - low) / (mid - low)
			fall := (high - hz) / (high - mid)
			weight := float32(math.Max(0, math.Min(rise, fall)))
			bank[band][bin] = float32(float64(weight) * area)
		}
	}
	return bank
}

const (
	melLinear   = 200.0 / 3 // hertz per mel below the break
	melBreakHz  = 1000.0
	melBreak    = melBreakHz / melLinear
	melLogRatio = 27.0 // mels per factor of 6.4 above the break
)

func hertzToMel(hz float64) float64 {
	if hz < melBreakHz {
		return hz / melLinear
	}
	return melBreak + math.Log(hz/melBreakHz)/(math.Log(6.4)/melLogRatio)
}

func melToHertz(mel float64) float64 {
	if mel < melBreak {
		return mel * melLinear
	}
	return melBreakHz * math.Exp(math.Log(6.4)/melLogRatio*(mel-melBreak))
}
