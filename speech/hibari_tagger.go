package speech

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
)

// tagger gives each word its part of speech (Penn Treebank tags), because some
// words sound by it: "the record", "to record". A word with one usual tag has
// it from a table; the rest are weighed by an averaged perceptron. Port of
// hibari-tts 0.2.1.
type tagger struct {
	usual   table
	tags    []string
	known   map[string]bool
	weights table
}

func openTagger(path string) (*tagger, error) {
	file, err := readTable(path)
	if err != nil {
		return nil, fmt.Errorf("read the parts of speech: %w", err)
	}
	t := &tagger{}
	fail := func(part string, err error) error {
		return fmt.Errorf("read the parts of speech: %s: %s: %w; run `putback models verify`", path, part, err)
	}
	part := func(name string) string { v, _ := file.get(name); return v }
	if t.usual, err = indexTable(part("tagdict")); err != nil {
		return nil, fail("tagdict", err)
	}
	if t.weights, err = indexTable(part("weights")); err != nil {
		return nil, fail("weights", err)
	}
	if err := json.Unmarshal([]byte(part("tags")), &t.tags); err != nil {
		return nil, fail("tags", err)
	}
	if v, ok := file.get("vocab"); ok {
		var vocab []string
		if err := json.Unmarshal([]byte(v), &vocab); err != nil {
			return nil, fail("vocab", err)
		}
		t.known = make(map[string]bool, len(vocab))
		for _, w := range vocab {
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
		tag := ""
		if v, ok := t.usual.get(w); ok {
			tag, _ = decodeString(v)
		}
		if tag == "" {
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
		v, ok := t.weights.get(f)
		if !ok {
			continue
		}
		// A row that cannot be decoded weighs nothing; the file's hash was
		// checked when it was fetched.
		row := map[string]float64{}
		_ = json.Unmarshal([]byte(v), &row)
		for tag, w := range row {
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
