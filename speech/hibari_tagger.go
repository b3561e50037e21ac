package speech

import (
	"fmt"
	"strings"
	"unicode"
)

// tagger gives each word its part of speech (Penn Treebank tags), because some
// words sound by it: "the record", "to record". A word with one usual tag has
// it from a table; the rest are weighed by an averaged perceptron. Port of
// hibari-tts 0.2.1.
type tagger struct {
	usual   map[string]string
	tags    []string
	known   map[string]bool
	weights map[string]map[string]float64
}

func openTagger(path string) (*tagger, error) {
	var file struct {
		TagDict map[string]string             `json:"tagdict"`
		Tags    []string                      `json:"tags"`
		Vocab   []string                      `json:"vocab"`
		Weights map[string]map[string]float64 `json:"weights"`
	}
	if err := readGzippedJSON(path, &file); err != nil {
		return nil, fmt.Errorf("read the parts of speech: %w", err)
	}
	t := &tagger{usual: file.TagDict, tags: file.Tags, weights: file.Weights}
	if file.Vocab != nil {
		t.known = make(map[string]bool, len(file.Vocab))
		for _, w := range file.Vocab {
			t.known[w] = true
		}
	}
	return t, nil
}

// tag gives one tag for each word.
func (t *tagger) tag(words []string) []string {
	around := []string{"-START2-", "-START-"}
	for _, w := range words {
		n := normalWord(w)
		if t.known != nil && !t.known[n] {
			n = "<" + wordShape(w) + ">"
		}
		around = append(around, n)
	}
	around = append(around, "-END-", "-END2-")
	prev, prev2 := "-START-", "-START2-"
	tags := make([]string, len(words))
	for i, w := range words {
		tag, ok := t.usual[w]
		if !ok {
			tag = t.weigh(i, w, around, prev, prev2)
		}
		tags[i] = tag
		prev2, prev = prev, tag
	}
	return tags
}

func (t *tagger) weigh(i int, word string, around []string, prev, prev2 string) string {
	j := i + 2
	first := "i+"
	if i == 0 {
		first = "i0"
	}
	features := [15]string{"b", "s3=" + lastLetters(word, 3), "p1=" + string([]rune(word)[:1]), "w=" + around[j], "sh=" + wordShape(word), first,
		"t-1=" + prev, "t-2=" + prev2, "t-12=" + prev + "," + prev2,
		"w-1=" + around[j-1], "s3-1=" + lastLetters(around[j-1], 3), "w-2=" + around[j-2],
		"w+1=" + around[j+1], "s3+1=" + lastLetters(around[j+1], 3), "w+2=" + around[j+2]}
	scores := map[string]float64{}
	for _, f := range features {
		for tag, w := range t.weights[f] {
			scores[tag] += w
		}
	}
	if len(scores) == 0 {
		return "NN"
	}
	best := ""
	for _, tag := range t.tags {
		if best == "" || scores[tag] > scores[best] || (scores[tag] == scores[best] && tag > best) {
			best = tag
		}
	}
	return best
}

func normalWord(w string) string {
	switch {
	case strings.Contains(w, "-") && w[0] != '-':
		return "!HYPHEN"
	case w[0] >= '0' && w[0] <= '9':
		return "!DIGITS"
	}
	return strings.ToLower(w)
}

// wordShape is the word's outline: "x" all lower case, "XX" all capitals, "Xx"
// capitalised.
func wordShape(w string) string {
	if allLetters(w) {
		lower, upper := strings.ToLower(w), strings.ToUpper(w)
		switch {
		case w == lower:
			return "x"
		case w == upper && len([]rune(w)) > 1:
			return "XX"
		case w == upper:
			return "X1"
		case w == capitalised(lower):
			return "Xx"
		}
		return "xX"
	}
	rs := []rune(w)
	for i, r := range rs {
		switch {
		case unicode.IsDigit(r):
			rs[i] = 'd'
		case unicode.IsLetter(r):
			rs[i] = 'x'
		}
	}
	return string(rs[:min(4, len(rs))])
}

func lastLetters(s string, n int) string {
	rs := []rune(s)
	return string(rs[max(0, len(rs)-n):])
}
