package main

import (
	"math"
	"math/rand/v2"
	"time"

	"putback/audio"
)

// shopNoise is made noise for the demo: a compressor's hum with its harmonics,
// air, and now and then a knock of metal. Recordings of real shops are used by
// the tests and benches; this one needs no file.
func shopNoise(d time.Duration) audio.Samples {
	const hum = 49 // hertz, a slow induction motor
	random := rand.New(rand.NewPCG(7, 11))
	noise := make(audio.Samples, audio.Count(d))
	var brown, knock, ring float64
	for i := range noise {
		t := float64(i) / audio.Rate
		brown = 0.995*brown + 0.05*random.NormFloat64()
		var tone float64
		for h := 1; h <= 6; h++ {
			tone += math.Sin(2*math.Pi*hum*float64(h)*t) / float64(h*h)
		}
		if random.IntN(audio.Rate*3) == 0 { // about every third second
			knock, ring = 0.5, 1800+1400*random.Float64()
		}
		knock *= 0.9992
		noise[i] = float32(0.10*brown + 0.06*tone + 0.01*random.NormFloat64() + knock*math.Sin(2*math.Pi*ring*t))
	}
	return noise
}
