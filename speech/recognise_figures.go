package speech

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Doubt is another reading of an utterance that differs from the best one in a
// figure and is too likely to be passed over: "seventeen or seventy?".
type Doubt struct {
	Text string // the other reading
	// Best and Other are the two figures, in digits; both are empty where the
	// readings differ by more than one figure.
	Best, Other string
}

// figureDoubt is the posterior from which another figure is asked about. A wrong
// one costs a bolt, a question one word. Where the other reading has more figures
// or fewer ("took fourteens"), which was it cannot be asked in a word, only for
// the whole sentence again: numberDoubt is the line there.
const (
	figureDoubt = 0.1
	numberDoubt = 0.2
)

// doubt looks for a reading with another figure: among the hypotheses, and in
// the model's own unrestricted reading, which is not led by what the language
// makes likely. There a figure of the best reading is missing, and its place is
// taken by another that the language allows. nil when there is none.
func doubt(res Result, lang Language) *Doubt {
	if len(res.Hypotheses) == 0 {
		return nil
	}
	best := res.Hypotheses[0].Text
	have := figures(best)
	for _, h := range res.Hypotheses[1:] {
		other := values(figures(h.Text))
		line := figureDoubt
		if len(other) != len(have) {
			line = numberDoubt
		}
		if h.Posterior >= line && !slices.Equal(values(have), other) {
			return newDoubt(best, h.Text)
		}
	}
	free := values(figures(res.FreeText))
	for i, f := range have {
		if slices.Contains(free, f.value) {
			continue
		}
		others := []string{soundAlike(f.value)}
		if len(free) == len(have) {
			others = append(others, free[i])
		}
		for _, other := range others {
			if !slices.Contains(free, other) || slices.Contains(values(have), other) {
				continue
			}
			text := best[:f.from] + other + best[f.to:]
			if _, _, ok := lang.Meaning(text); ok {
				return newDoubt(best, text)
			}
		}
	}
	return nil
}

// askAlike asks which of two figures it was that sound alike: "forty newton
// metres" of a synthetic voice over music was fourteen wherever in the model's window
// it was heard, at 0.87, and the model knew of no other reading.
func (res *Result) askAlike(lang Language) {
	best := res.Hypotheses[0].Text
	for _, f := range figures(best) {
		other := soundAlike(f.value)
		if other == "" {
			continue
		}
		text := best[:f.from] + other + best[f.to:]
		if _, _, ok := lang.Meaning(text); ok {
			res.Doubt, res.Verdict = newDoubt(best, text), Ask
			return
		}
	}
}

// rivalFigure reports whether another reading that is not out of the question
// differs from the best one in the value of a figure.
func rivalFigure(list []Hypothesis) bool {
	for _, h := range list[min(1, len(list)):] {
		have, other := values(figures(list[0].Text)), values(figures(h.Text))
		if h.Posterior >= rivalPosterior && len(have) == len(other) && !slices.Equal(have, other) {
			return true
		}
	}
	return false
}

// rivalPosterior is a fifth of what makes another figure be asked about.
const rivalPosterior = figureDoubt / 5

func newDoubt(best, other string) *Doubt {
	d := &Doubt{Text: other}
	a, b := values(figures(best)), values(figures(other))
	if len(a) != len(b) {
		return d
	}
	for i := range a {
		if a[i] == b[i] {
			continue
		}
		if d.Best != "" {
			d.Best, d.Other = "", ""
			return d
		}
		d.Best, d.Other = a[i], b[i]
	}
	return d
}

// figure is a number in a text, which has it in the bytes from from to to.
type figure struct {
	value    string // in digits
	from, to int
}

var figureWords = regexp.MustCompile(`(?i)[0-9]+(?:[.,/][0-9]+)*|[½¼¾⅓⅔⅛⅜⅝⅞]|[a-z]+`)

// figures finds the numbers of a text, in digits or in words below a thousand:
// "forty-five", "a hundred and fifty", and "200 and 10" as the model may write it.
func figures(text string) []figure {
	var list []figure
	room := 0 // what may still be added to the last figure is less than this
	for _, at := range figureWords.FindAllStringIndex(text, -1) {
		word := strings.ToLower(text[at[0]:at[1]])
		n, known := numberWords[word]
		if digits, err := strconv.Atoi(word); err == nil {
			n, known = digits, true
		}
		last := len(list) - 1
		switch {
		case word == "and" && (room == 100 || room == needsAnd):
			room = 100
		case word == "hundred":
			room = 100
			if last >= 0 && strings.TrimSpace(text[list[last].to:at[0]]) == "" {
				if hundreds, _ := strconv.Atoi(list[last].value); hundreds > 0 && hundreds < 10 {
					list[last].value, list[last].to = strconv.Itoa(100*hundreds), at[1]
					continue
				}
			}
			list = append(list, figure{"100", at[0], at[1]})
		case !known && word[0] >= 'a' && word[0] <= 'z':
			room = 0
		case !known:
			list, room = append(list, figure{word, at[0], at[1]}), 0
		case n > 0 && n < room:
			whole, _ := strconv.Atoi(list[last].value)
			list[last].value, list[last].to = strconv.Itoa(whole+n), at[1]
			room = roomAfter(word, n)
		default:
			list, room = append(list, figure{strconv.Itoa(n), at[0], at[1]}), roomAfter(word, n)
		}
	}
	return list
}

// needsAnd: hundreds in digits, which grow only by an "and".
const needsAnd = -1

// roomAfter says what the number n may be followed by to make a larger one: a
// unit after tens in words.
func roomAfter(word string, n int) int {
	switch {
	case n >= 100 && n < 1000 && n%100 == 0:
		return needsAnd
	case n >= 20 && n < 100 && n%10 == 0 && word[0] >= 'a':
		return 10
	}
	return 0
}

func values(list []figure) []string {
	var v []string
	for _, f := range list {
		v = append(v, f.value)
	}
	return v
}

// numberWords are the numbers of one word, also in the plural of sizes ("thirteens").
var numberWords = func() map[string]int {
	m := map[string]int{}
	for n := range 100 {
		word := cardinal(uint64(n))
		if strings.ContainsAny(word, " -") {
			continue
		}
		m[word], m[word+"s"], m[word+"es"] = n, n, n
		if tens, ok := strings.CutSuffix(word, "y"); ok {
			m[tens+"ies"] = n
		}
	}
	return m
}()

// soundAlike is the number that noise makes of another: thirteen of thirty and
// the other way round, up to nineteen and ninety; "" for others.
func soundAlike(figure string) string {
	n, err := strconv.Atoi(figure)
	switch {
	case err != nil:
		return ""
	case n > 12 && n < 20:
		return strconv.Itoa(n % 10 * 10)
	case n >= 30 && n < 100 && n%10 == 0:
		return strconv.Itoa(10 + n/10)
	}
	return ""
}
