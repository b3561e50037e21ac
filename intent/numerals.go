package intent

import (
	"slices"
	"strconv"
	"strings"
)

var (
	unitWords = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	teenWords = []string{"ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}
	tensWords = []string{"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}
)

// fractionWords gives the denominators of the words that end a fraction.
var fractionWords = map[string]string{
	"half": "2", "halves": "2", "third": "3", "thirds": "3", "quarter": "4", "quarters": "4", "fourth": "4", "fourths": "4",
	"fifth": "5", "fifths": "5", "sixth": "6", "sixths": "6", "eighth": "8", "eighths": "8", "tenth": "10", "tenths": "10",
	"twelfth": "12", "twelfths": "12", "sixteenth": "16", "sixteenths": "16",
	"thirty-second": "32", "thirty-seconds": "32", "sixty-fourth": "64", "sixty-fourths": "64",
	"hundredth": "100", "hundredths": "100",
}

// numerators are those of fractions that somebody writes, by what they stand
// over. "Two quarter inch" is two of a size, which nobody writes 2/4.
var numerators = []struct {
	leaves mode
	are    []int
	under  []string
}{
	{modeOverOne, []int{1}, []string{"2", "3", "4", "5", "6", "8", "10", "12", "16", "32", "64", "100"}},
	{modeOverEven, []int{2, 4}, []string{"3", "5"}},
	{modeOverThree, []int{3}, []string{"4", "5", "8", "10", "16", "32", "64", "100"}},
	{modeOverSeven, []int{5, 7}, []string{"8", "10", "12", "16", "32", "64", "100"}},
	{modeOverNine, []int{9, 11, 13, 15}, []string{"16", "32", "64", "100"}},
	{modeOverMore, []int{17, 19}, []string{"32", "64", "100"}},
}

var ordinalWords = map[string]string{
	"first": "1st", "second": "2nd", "third": "3rd", "fourth": "4th", "fifth": "5th", "sixth": "6th", "seventh": "7th",
	"eighth": "8th", "ninth": "9th", "tenth": "10th", "eleventh": "11th", "twelfth": "12th", "thirteenth": "13th",
	"fourteenth": "14th", "fifteenth": "15th", "sixteenth": "16th", "seventeenth": "17th", "eighteenth": "18th",
	"nineteenth": "19th", "twentieth": "20th", "thirtieth": "30th",
}

// fractionSigns are the single characters for fractions of one, by what is below.
// The others are words of the grammar.
var fractionSigns = map[string]string{"2": "½", "4": "¼", "3": "⅓", "8": "⅛"}

// numerals gives the ways to write number words in digits, alone and as part of
// a longer number: "one hundred and thirty five" is written "135" by "one" as
// "1" in front of "hundred", which leaves two digits owed, and so on.
var numerals = numeralTable()

func numeralTable() map[string][]spelling {
	t := map[string][]spelling{}
	add := func(word, text string, leaves mode, after ...mode) {
		for _, a := range after {
			t[word] = append(t[word], spelling{a, text, leaves})
		}
	}
	plural := func(word string) string {
		if strings.HasSuffix(word, "x") {
			return word + "es"
		}
		if strings.HasSuffix(word, "y") {
			return strings.TrimSuffix(word, "y") + "ies"
		}
		return word + "s"
	}
	number := func(word, digits string, leaves mode, joins ...mode) {
		add(word, digits, leaves, append([]mode{modeGap}, joins...)...)
		add(plural(word), digits+"s", modeGap, modeGap, modeUnit, modeTeen)
		add(plural(word), digits+"'s", modeGap, modeGap, modeUnit, modeTeen)
	}
	over := func(word string, n int) {
		for _, o := range numerators {
			if slices.Contains(o.are, n) {
				d := strconv.Itoa(n)
				add(word, d, o.leaves, modeGap)
				add(word, " "+d, o.leaves, modeMixed)
				add(word, "-"+d, o.leaves, modeMixed)
			}
		}
	}
	for i, w := range unitWords {
		d := strconv.Itoa(i + 1)
		number(w, d, modeUnit, modeUnit)
		add(w, d, modeTeen, modeOweUnit)
		add(w, "0"+d, modeTeen, modeOweTwo)
		add(w, "00"+d, modeTeen, modeOweThree)
		add(w, d, modeHundreds, modeOweThree)
		add(w, d, modeDecimals, modePoint, modeDecimals)
		over(w, i+1)
	}
	for _, w := range []string{"zero", "oh", "nought", "naught"} {
		number(w, "0", modeUnit, modeUnit)
		add(w, "0", modeDecimals, modePoint, modeDecimals)
		add(w, "0", modeOweUnit, modeUnit, modeTeen)
	}
	for i, w := range teenWords {
		d := strconv.Itoa(i + 10)
		number(w, d, modeTeen, modeUnit, modeTeen, modeOweTwo)
		add(w, "0"+d, modeTeen, modeOweThree)
		add(w, d, modeDecimals, modePoint)
		over(w, i+10)
	}
	for i, w := range tensWords {
		d := strconv.Itoa(i + 2)
		number(w, d+"0", modeTens, modeUnit, modeTeen, modeOweTwo)
		add(w, d, modeOweUnit, modeGap, modeUnit, modeTeen, modeOweTwo, modePoint)
		add(w, "0"+d+"0", modeTens, modeOweThree)
		add(w, "0"+d, modeOweUnit, modeOweThree)
	}
	add("hundred", "00", modeBig, modeUnit, modeTeen, modeArticle, modeHundreds)
	add("hundred", "", modeOweTwo, modeUnit, modeTeen, modeArticle, modeHundreds)
	add("thousand", "000", modeBig, modeUnit, modeTeen, modeTens, modeArticle)
	add("thousand", ",000", modeBig, modeUnit, modeTeen, modeTens, modeArticle)
	add("thousand", "", modeOweThree, modeUnit, modeTeen, modeTens, modeArticle)
	add("thousand", ",", modeOweThree, modeUnit, modeTeen, modeTens, modeArticle)
	add("and", "", modeOweTwo, modeOweTwo)
	add("and", "", modeOweThree, modeOweThree)
	add("and", "", modeMixed, modeUnit, modeTeen, modeTens, modeBig)
	add("point", ".", modePoint, modeUnit, modeTeen, modeTens, modeBig, modeGap)
	add("point", "0.", modePoint, modeGap)
	for _, w := range []string{"a", "an"} {
		add(w, "1", modeArticle, modeGap)
		add(w, "", modeMixedA, modeMixed)
	}
	for _, w := range sortedKeys(fractionWords) {
		d := fractionWords[w]
		add(w, "/"+d, modeFraction, modeArticle)
		for _, o := range numerators {
			if slices.Contains(o.under, d) {
				add(w, "/"+d, modeFraction, o.leaves)
			}
		}
		if strings.HasSuffix(w, "s") {
			continue
		}
		one, sign := "1/"+d, fractionSigns[d]
		if sign != "" {
			add(w, sign, modeFraction, modeMixedA, modeGap)
		}
		for _, join := range []string{" ", "-"} {
			add(w, join+one, modeFraction, modeMixedA)
			if sign != "" {
				add(w, join+sign, modeFraction, modeMixedA)
			}
		}
		if w == "half" || w == "quarter" {
			add(w, one, modeFraction, modeGap)
			add(w, map[string]string{"half": ".5", "quarter": ".25"}[w], modeFraction, modeMixedA)
		}
	}
	for _, w := range sortedKeys(ordinalWords) {
		add(w, ordinalWords[w], modeGap, modeGap)
	}
	add("x", "x", modeTight, modeUnit, modeTeen, modeTens)
	add("by", "x", modeEither, modeUnit, modeTeen, modeTens, modeBig)
	add("by", "×", modeEither, modeUnit, modeTeen, modeTens, modeBig)
	return t
}

// spokenForms gives the ways to say and write a token with digits in it: "8",
// "M8", "135", "1.25", "3/8". The token itself is not among them.
func spokenForms(token string) []string {
	runs := splitRuns(token)
	forms := []string{""}
	for i, run := range runs {
		var ways []string
		if hasDigit(run) {
			ways = append([]string{run}, sayNumber(run)...)
		} else {
			ways = []string{run}
			if run == "-" || run == "." {
				ways = append(ways, " ")
			}
		}
		var next []string
		for _, f := range forms {
			for _, w := range ways {
				switch {
				case i == 0:
					next = append(next, w)
				case hasDigit(w) && hasDigit(run) || !hasDigit(run) && hasDigit(lastRune(f)):
					next = append(next, f+w)
					if !strings.HasPrefix(w, " ") && !strings.HasPrefix(w, "-") {
						next = append(next, f+" "+w, f+"-"+w)
					}
				default:
					next = append(next, strings.TrimRight(f, " ")+" "+strings.TrimSpace(w))
				}
			}
		}
		if forms = next; len(forms) > 48 {
			forms = forms[:48]
		}
	}
	return forms
}

func lastRune(s string) string {
	if s == "" {
		return ""
	}
	return s[len(s)-1:]
}

// splitRuns parts letters from numbers: "m8x1.25" → m, 8, x, 1.25.
func splitRuns(token string) []string {
	var runs []string
	isNum := func(i int) bool {
		c := token[i]
		if c >= '0' && c <= '9' {
			return true
		}
		return (c == '.' || c == '/') && i > 0 && i+1 < len(token) &&
			token[i-1] >= '0' && token[i-1] <= '9' && token[i+1] >= '0' && token[i+1] <= '9'
	}
	for i := 0; i < len(token); {
		j := i + 1
		for j < len(token) && isNum(j) == isNum(i) {
			j++
		}
		runs = append(runs, token[i:j])
		i = j
	}
	return runs
}

// sayNumber gives the ways to say digits: a whole number below ten thousand, a
// decimal, a fraction. The commonest way comes first.
func sayNumber(digits string) []string {
	if whole, decimals, ok := strings.Cut(digits, "."); ok {
		var out []string
		for _, w := range append(sayNumber(whole), "") {
			if w == "" && strings.Trim(whole, "0") != "" {
				continue
			}
			say := strings.TrimSpace(w + " point")
			for _, d := range []byte(decimals) {
				switch d { // a version, "1.2.0", has more than one
				case '.':
					say += " point"
				case '/':
					say += " over"
				default:
					say += " " + digitWord(d)
				}
			}
			out = append(out, say)
		}
		return out
	}
	if top, bottom, ok := strings.Cut(digits, "/"); ok {
		var out []string
		names := sortedKeys(fractionWords)
		slices.Reverse(names) // "quarter" before "fourth"
		for _, name := range names {
			if fractionWords[name] != bottom || strings.HasSuffix(name, "s") != (top != "1") && name != "half" {
				continue
			}
			for _, t := range sayNumber(top) {
				out = append(out, t+" "+name, t+"-"+name)
			}
		}
		return out
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n > 9999 || len(digits) > 1 && digits[0] == '0' {
		var each []string
		for i := range len(digits) {
			if digits[i] < '0' || digits[i] > '9' {
				// Recogniser text can put a hyphen into a number: no words for that.
				return []string{digits}
			}
			each = append(each, digitWord(digits[i]))
		}
		return []string{strings.Join(each, " ")}
	}
	return cardinals(n)
}

func digitWord(c byte) string {
	if c == '0' {
		return "zero"
	}
	return unitWords[c-'1']
}

// cardinals lists the ways to say n, 0 … 9999.
func cardinals(n int) []string {
	switch {
	case n == 0:
		return []string{"zero", "nought", "oh"}
	case n < 10:
		return []string{unitWords[n-1]}
	case n < 20:
		return []string{teenWords[n-10]}
	case n < 100:
		tens := tensWords[n/10-2]
		if n%10 == 0 {
			return []string{tens}
		}
		return []string{tens + " " + unitWords[n%10-1], tens + "-" + unitWords[n%10-1]}
	case n < 1000:
		var out []string
		head := cardinals(n / 100)[0]
		if n%100 == 0 {
			out = append(out, head+" hundred")
		} else {
			for _, rest := range cardinals(n % 100) {
				out = append(out, head+" hundred and "+rest, head+" hundred "+rest)
				if n%100 < 10 {
					out = append(out, head+" oh "+rest, head+" zero "+rest)
				} else {
					out = append(out, head+" "+rest)
				}
			}
		}
		if n/100 == 1 {
			for _, s := range out {
				if strings.HasPrefix(s, "one hundred") {
					out = append(out, "a"+s[len("one"):])
				}
			}
		}
		return out
	default:
		var out []string
		head := cardinals(n / 1000)[0] + " thousand"
		switch rest := n % 1000; {
		case rest == 0:
			out = append(out, head)
		case rest < 100:
			out = append(out, head+" and "+cardinals(rest)[0])
		default:
			for _, r := range cardinals(rest) {
				out = append(out, head+" "+r)
			}
		}
		if n%1000 != 0 && n/100%10 != 0 {
			for _, s := range cardinals(n / 100)[:1] {
				if n%100 == 0 {
					out = append(out, s+" hundred")
				} else if n%100 > 9 {
					out = append(out, s+" hundred and "+cardinals(n % 100)[0], s+" "+cardinals(n % 100)[0])
				}
			}
		}
		return out
	}
}
