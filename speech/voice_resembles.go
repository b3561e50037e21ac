package speech

import "strings"

// Resembles reports whether heard is likely a piece of spoken that came back
// through the microphone. Three quarters of the heard words must be among the
// spoken ones in the same order, small mishearings allowed; of one or two words
// that is asked of the whole of a sentence, because an answer repeats a word of
// the question: "inch pounds" after "Foot pounds or inch pounds?" is somebody
// answering. An empty text resembles nothing.
//
// It cannot tell an echo from a person who says the same sentence. Ask it only
// about sound that overlaps with the program's own speech.
func Resembles(heard, spoken string) bool {
	h := soundWords(heard)
	if len(h) == 0 {
		return false
	}
	if len(h) >= 3 {
		return 4*inOrder(h, soundWords(spoken)) >= 3*len(h)
	}
	for _, sentence := range cutAfter(spoken, ".!?\n") {
		s := soundWords(sentence)
		if len(s) <= len(h)+1 && len(s) > 0 && inOrder(h, s) == len(h) {
			return true
		}
	}
	return false
}

// soundWords is a text as bare words: "40 N·m" and "forty newton metres" are
// the same.
func soundWords(text string) []string {
	said := strings.ToLower(Spell(text, SpellOptions{}))
	return strings.FieldsFunc(said, func(r rune) bool { return strings.ContainsRune(" ,.;:!?-'—", r) })
}

// inOrder counts the words of a that are in b in the same order: the longest
// common subsequence.
func inOrder(a, b []string) int {
	row := make([]int, len(b)+1)
	for _, x := range a {
		diagonal := 0
		for j, y := range b {
			above := row[j+1]
			if alike(x, y) {
				row[j+1] = max(above, diagonal+1)
			} else {
				row[j+1] = max(above, row[j])
			}
			diagonal = above
		}
	}
	return row[len(b)]
}

// alike reports words that differ in no more than one letter in four.
func alike(a, b string) bool {
	if a == b {
		return true
	}
	x, y := []rune(a), []rune(b)
	allowed := max(len(x), len(y)) / 4
	if d := len(x) - len(y); d > allowed || -d > allowed || allowed == 0 {
		return false
	}
	return letterDistance(x, y) <= allowed
}

// letterDistance is the number of letters to put in, take out or change, a
// swap of two neighbours counting as one ("metre", "meter").
func letterDistance(a, b []rune) int {
	before := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		next := make([]int, len(b)+1)
		next[0] = i + 1
		for j := range b {
			cost := row[j]
			if a[i] != b[j] {
				cost++
			}
			next[j+1] = min(cost, row[j+1]+1, next[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, row = row, next
	}
	return row[len(b)]
}
