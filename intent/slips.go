package intent

import (
	"regexp"
	"slices"
	"strings"
)

// hesitations are the sounds of somebody looking for a word.
var hesitations = map[string]bool{"er": true, "erm": true, "um": true, "uhm": true, "umm": true, "uh": true, "err": true, "hmm": true}

// restarts are the words with which somebody takes back what was just begun,
// longest first.
var restarts = [][]string{
	{"no", "hang", "on"}, {"no", "sorry"}, {"no", "wait"}, {"sorry", "no"}, {"wait", "no"}, {"hang", "on"}, {"i", "mean"}, {"or", "rather"}, {"no"}, {"sorry"}, {"rather"}, {"wait"},
}

// restartWords is how many words must follow a restart that begins anew.
const restartWords = 3

// Straighten takes the slips of the tongue out of a sentence: "took, er, took
// four" is took four, and "four, no, five tens" is five tens. A sentence without
// any is given back as "". What it gives is to be read only when the sentence as
// it was said is none of the language: "no" may be an answer, and "sorry" a word
// of a note.
func Straighten(text string) string {
	if m := forgot.FindStringSubmatch(text); m != nil {
		return "new step, " + m[1] + ", goes " + strings.TrimRight(m[2], " .!")
	}
	var words []slipWord
	slipped := false
	for _, f := range strings.Fields(strings.ReplaceAll(text, ",", " , ")) {
		bare := strings.ToLower(strings.Trim(f, ".!?;:…"))
		switch {
		case f == "," || bare == "" || bare == "-" || bare == "–" || bare == "—":
			if n := len(words); n > 0 {
				words[n-1].comma = true
			}
		case hesitations[bare]:
			slipped = true
			if n := len(words); n > 0 {
				words[n-1].comma = true
			}
		default:
			words = append(words, slipWord{said: f, bare: bare})
		}
	}
	if rest, ok := anew(words); ok {
		words, slipped = rest, true
	}
	if rest, ok := onceOnly(words); ok {
		words, slipped = rest, true
	}
	if !slipped {
		return ""
	}
	said := make([]string, len(words))
	for i, w := range words {
		said[i] = w.said
	}
	return strings.Join(said, " ")
}

// forgot is a step that comes to mind too late, with the place it should have had.
var forgot = regexp.MustCompile(`(?i)^(?:(?:oh|so|and|wait|damn|right|hang on),? )*(?:I|we)(?:'ve)? (?:forgot|forgotten) (?:about |to )?([^,;]+)[,;]? (?:and |so )?(?:put|add|do|stick) (?:that|it|this)(?: one)?(?: in)?,? ((?:right |just |straight )?(?:after|before) .+)$`)

// slipWord is a word as it was written and as it is compared; comma tells that
// the voice halts after it.
type slipWord struct {
	said, bare string
	comma      bool
}

// anew puts in what somebody said instead: from the word it takes up again, in
// the place of a number, or as a sentence of its own.
func anew(words []slipWord) ([]slipWord, bool) {
	for at := len(words) - 1; at > 0; at-- {
		if !words[at-1].comma {
			continue
		}
		for _, r := range restarts {
			end := at + len(r)
			if end >= len(words) || !words[end-1].comma || !slices.EqualFunc(words[at:end], r, func(w slipWord, s string) bool { return w.bare == s }) {
				continue
			}
			before, after := words[:at], words[end:]
			for i := len(before) - 1; i >= 0; i-- {
				if before[i].bare == after[0].bare {
					return slices.Concat(before[:i], after), true
				}
			}
			if last := len(before) - 1; numeral(after[0].bare) && numeral(before[last].bare) {
				for last > 0 && numeral(before[last-1].bare) {
					last--
				}
				return slices.Concat(before[:last], after), true
			}
			return after, len(after) >= restartWords && after[0].bare != "not"
		}
	}
	return words, false
}

// onceOnly drops words said twice in a row: "the pump, the pump bolts". A number
// may be said twice on purpose.
func onceOnly(words []slipWord) ([]slipWord, bool) {
	for n := min(3, len(words)/2); n > 0; n-- {
		for i := 0; i+2*n <= len(words); i++ {
			same := slices.EqualFunc(words[i:i+n], words[i+n:i+2*n], func(a, b slipWord) bool { return a.bare == b.bare })
			if same && !numeral(words[i+n-1].bare) {
				rest, _ := onceOnly(slices.Concat(words[:i], words[i+n:]))
				return rest, true
			}
		}
	}
	return words, false
}

// numberWords are the words of numbers and of sizes said by their number.
var numberWords = func() map[string]bool {
	m := map[string]bool{}
	for n := 1; n < 100; n++ {
		for _, w := range strings.Fields(strings.ReplaceAll(cardinals(n)[0], "-", " ")) {
			m[w], m[w+"s"] = true, true
		}
	}
	for _, w := range strings.Fields("sixes hundred point oh zero") {
		m[w] = true
	}
	return m
}()

// numeral tells whether a word is of a number.
func numeral(word string) bool {
	return numberWords[word] || word != "" && strings.Trim(word, "0123456789.") == ""
}
