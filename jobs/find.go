package jobs

import (
	"slices"
	"strings"
	"unicode"

	"putback/intent"
)

// normal brings a name into the form names are compared in: lower case, words
// apart by single spaces, no punctuation.
func normal(name string) string {
	return strings.Join(nameWords(name), " ")
}

// fill are words that carry nothing when a name is looked for.
var fill = map[string]bool{"the": true, "a": true, "an": true, "of": true, "on": true, "off": true, "from": true, "to": true, "in": true, "at": true, "my": true, "that": true, "this": true, "those": true, "these": true, "for": true}

func nameWords(name string) []string {
	name = strings.ReplaceAll(strings.ToLower(name), "'s", "")
	return strings.FieldsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' && r != '/'
	})
}

// singular takes the plural off a word, roughly: it only has to bring two spellings together.
func singular(w string) string {
	if len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") {
		return strings.TrimSuffix(w, "s")
	}
	return w
}

// likeness says how well a spoken name fits a name of the job, 0 to 1: every
// word spoken must be found, in any order; 1 is the same name.
func likeness(said, name string) float64 {
	a, b := keyWords(said), keyWords(name)
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	if slices.Equal(a, b) {
		return 1
	}
	used := make([]bool, len(b))
	sum := 0.0
	for _, w := range a {
		best, at := 0.0, -1
		for i, v := range b {
			if used[i] {
				continue
			}
			if s := wordLikeness(w, v); s > best {
				best, at = s, i
			}
		}
		if at < 0 {
			return 0
		}
		used[at] = true
		sum += best
	}
	// All words of the spoken name were found; what the job's name has besides costs a little.
	return sum / float64(len(a)) * (0.7 + 0.29*float64(len(a))/float64(len(b)))
}

func keyWords(name string) []string {
	var list []string
	for _, w := range nameWords(name) {
		if !fill[w] {
			list = append(list, singular(w))
		}
	}
	return list
}

func wordLikeness(a, b string) float64 {
	if a == b {
		return 1
	}
	if min(len(a), len(b)) >= 4 && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a)) {
		return 0.9
	}
	// Slips of the tongue and of the ear: one letter in five.
	if n := max(len(a), len(b)); min(len(a), len(b)) >= 4 {
		if d := intent.Distance(a, b); d*5 <= n {
			return 0.8
		}
	}
	return 0
}

// find gives the places of the best fits of a spoken name, several when they
// fit equally well, none when nothing fits.
func find(said string, n int, names func(i int) []string) []int {
	return findBy(likeness, said, n, names)
}

// findThing is find for things and not for the bolts that hold them: a name
// that ends in the same word fits better, the pump is the raw-water pump and not
// the pump pulley.
func findThing(said string, n int, names func(i int) []string) []int {
	return findBy(thingLikeness, said, n, names)
}

func thingLikeness(said, name string) float64 {
	l := likeness(said, name)
	a, b := keyWords(said), keyWords(name)
	if l > 0 && l < 1 && a[len(a)-1] == b[len(b)-1] {
		l = min(l+0.1, 0.99)
	}
	return l
}

func findBy(like func(said, name string) float64, said string, n int, names func(i int) []string) []int {
	var hits []int
	best := 0.0
	for i := range n {
		score := 0.0
		for _, name := range names(i) {
			score = max(score, like(said, name))
		}
		switch {
		case score == 0 || score < best-0.005:
		case score > best+0.005:
			best, hits = score, append(hits[:0], i)
		default:
			hits = append(hits, i)
		}
	}
	return hits
}

// findAll gives every fit, not only the best.
func findAll(said string, n int, names func(i int) []string) []int {
	var hits []int
	for i := range n {
		for _, name := range names(i) {
			if likeness(said, name) > 0 {
				hits = append(hits, i)
				break
			}
		}
	}
	return hits
}
