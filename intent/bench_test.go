package intent

import "testing"

var benchSentences = []string{
	"took six tens off the front cover, two long at the bottom",
	"where was I",
	"what's left on the front cover",
	"set torque for the pump bolts to 25 newton metres plus 90",
	"note that the dowel is loose",
	"impeller clearance is point one five millimetres",
}

func shopForBench(b *testing.B) *Automaton {
	b.Helper()
	a, err := Shop(demoVocabulary)
	if err != nil {
		b.Fatal(err)
	}
	return a
}

// BenchmarkParse reads one long sentence again and again.
func BenchmarkParse(b *testing.B) {
	a := shopForBench(b)
	a.Parse(benchSentences[0])
	for b.Loop() {
		a.Parse(benchSentences[0])
	}
}

// BenchmarkFirstParse reads one sentence with a grammar just compiled.
func BenchmarkFirstParse(b *testing.B) {
	for range b.N {
		b.StopTimer()
		a := shopForBench(b)
		b.StartTimer()
		a.Parse(benchSentences[0])
	}
}

// BenchmarkFirstWalk does what a recogniser does with a grammar just compiled:
// at every byte of six sentences it tries all bytes.
func BenchmarkFirstWalk(b *testing.B) {
	for range b.N {
		b.StopTimer()
		a := shopForBench(b)
		b.StartTimer()
		walkAll(a)
	}
}

// BenchmarkWalk does the same once the states are known.
func BenchmarkWalk(b *testing.B) {
	a := shopForBench(b)
	walkAll(a)
	for b.Loop() {
		walkAll(a)
	}
}

func walkAll(a *Automaton) {
	for _, s := range benchSentences {
		at := a.Start()
		for i := range len(s) {
			for c := 0; c < 256; c++ {
				a.Step(at, byte(c))
			}
			at = a.Step(at, s[i])
		}
	}
}

// BenchmarkShop compiles the grammar with the names of a job.
func BenchmarkShop(b *testing.B) {
	for b.Loop() {
		if _, err := Shop(demoVocabulary); err != nil {
			b.Fatal(err)
		}
	}
}
