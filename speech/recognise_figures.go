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
// one costs a bolt, a question one word.
const figureDoubt = 0.1

// doubt looks for a reading with another figure: among the hypotheses, and in
// the model's own unrestricted reading, where thirteen and thirty, up to
// nineteen and ninety, are told apart without what the language makes likely.
// nil when there is none.
func doubt(res Result, lang Language) *Doubt {
	if len(res.Hypotheses) == 0 {
		return nil
	}
	best := res.Hypotheses[0].Text
	have := figures(best)
	for _, h := range res.Hypotheses[1:] {
		if h.Posterior >= figureDoubt && !slices.Equal(values(have), values(figures(h.Text))) {
			return newDoubt(best, h.Text)
		}
	}
	free := values(figures(res.FreeText))
	for _, f := range have {
		twin := soundAlike(f.value)
		if twin == "" || slices.Contains(free, f.value) || !slices.Contains(free, twin) {
			continue
		}
		text := best[:f.from] + twin + best[f.to:]
		if len(lang.Meanings(text)) > 0 {
			return newDoubt(best, text)
		}
	}
	return nil
}

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

// figures finds the numbers of a text, in digits or in words below a hundred.
func figures(text string) []figure {
	var list []figure
	open := false // the last figure is tens in words, a unit may follow
	for _, at := range figureWords.FindAllStringIndex(text, -1) {
		word := strings.ToLower(text[at[0]:at[1]])
		if word[0] < 'a' || word[0] > 'z' {
			list, open = append(list, figure{word, at[0], at[1]}), false
			continue
		}
		n, ok := numberWords[word]
		if !ok {
			open = false
			continue
		}
		if last := len(list) - 1; open && n > 0 && n < 10 {
			tens, _ := strconv.Atoi(list[last].value)
			list[last].value, list[last].to, open = strconv.Itoa(tens+n), at[1], false
			continue
		}
		list, open = append(list, figure{strconv.Itoa(n), at[0], at[1]}), n >= 20
	}
	return list
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
