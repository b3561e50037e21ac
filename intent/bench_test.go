package intent

import "testing"

func BenchmarkParse(b *testing.B) {
	a, err := Shop(demoVocabulary)
	if err != nil {
		b.Fatal(err)
	}
	text := "took six tens off the front cover, two long at the bottom"
	a.Parse(text)
	b.ResetTimer()
	for b.Loop() {
		a.Parse(text)
	}
}

func BenchmarkShop(b *testing.B) {
	for b.Loop() {
		if _, err := Shop(demoVocabulary); err != nil {
			b.Fatal(err)
		}
	}
}
