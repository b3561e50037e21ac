package speech

import (
	"strconv"
	"strings"
)

var ones = [20]string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
	"twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}

var tens = [10]string{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}

// cardinal says n the British way: "one hundred and five", "two thousand and
// one", "one thousand two hundred and fifty".
func cardinal(n uint64) string {
	switch {
	case n < 20:
		return ones[n]
	case n < 100:
		if n%10 == 0 {
			return tens[n/10]
		}
		return tens[n/10] + "-" + ones[n%10]
	case n < 1000:
		return hundredAnd(ones[n/100]+" hundred", n%100)
	}
	for _, scale := range []struct {
		size uint64
		name string
	}{{1e18, "quintillion"}, {1e15, "quadrillion"}, {1e12, "trillion"}, {1e9, "billion"}, {1e6, "million"}, {1e3, "thousand"}} {
		if n >= scale.size {
			head, rest := cardinal(n/scale.size)+" "+scale.name, n%scale.size
			if rest >= 100 {
				return head + " " + cardinal(rest)
			}
			return hundredAnd(head, rest)
		}
	}
	return "" // not reached: every n above 999 has a scale
}

func hundredAnd(head string, rest uint64) string {
	if rest == 0 {
		return head
	}
	return head + " and " + cardinal(rest)
}

// ordinal says "first", "twenty-third", "one hundred and first".
func ordinal(n uint64) string {
	c := cardinal(n)
	cut := strings.LastIndexAny(c, " -") + 1
	head, last := c[:cut], c[cut:]
	irregular := map[string]string{"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth",
		"nine": "ninth", "twelve": "twelfth"}
	switch w, ok := irregular[last]; {
	case ok:
		return head + w
	case strings.HasSuffix(last, "y"):
		return head + strings.TrimSuffix(last, "y") + "ieth"
	}
	return head + last + "th"
}

// digitByDigit says each digit of a printed number, its point and nothing else.
func digitByDigit(printed string) string {
	var out []string
	for _, r := range printed {
		switch {
		case r >= '0' && r <= '9':
			out = append(out, ones[r-'0'])
		case r == '.':
			out = append(out, "point")
		}
	}
	return strings.Join(out, " ")
}

// decimal says a printed number without sign, all its digits kept: "0.30" is
// "zero point three zero". A number with leading zeros or more than six digits
// without separators is a label, not an amount, and goes digit by digit.
func decimal(printed string) string {
	plain := strings.ReplaceAll(printed, ",", "")
	whole, frac, point := strings.Cut(plain, ".")
	if whole == "" {
		whole = "0"
	}
	label := (len(whole) > 1 && whole[0] == '0') || (len(whole) > 6 && !strings.Contains(printed, ","))
	n, err := strconv.ParseUint(whole, 10, 64)
	words := ""
	if label || err != nil {
		words = digitByDigit(whole)
	} else {
		words = cardinal(n)
	}
	if point {
		for _, part := range strings.Split(frac, ".") { // a version has several points
			words += " point " + digitByDigit(part)
		}
	}
	return words
}

// denominators are the parts into which the shop divides, singular and plural.
// Any other "3/12" counts: three of twelve.
var denominators = map[int][2]string{
	2: {"half", "halves"}, 3: {"third", "thirds"}, 4: {"quarter", "quarters"}, 5: {"fifth", "fifths"}, 6: {"sixth", "sixths"},
	8: {"eighth", "eighths"}, 10: {"tenth", "tenths"}, 16: {"sixteenth", "sixteenths"}, 32: {"thirty-second", "thirty-seconds"},
	64: {"sixty-fourth", "sixty-fourths"},
}

// fraction says "nine sixteenths", "one half"; "" when the shop has no such part.
func fraction(over, under int) string {
	names, ok := denominators[under]
	if !ok || over <= 0 {
		return ""
	}
	if over == 1 {
		return "one " + names[0]
	}
	return cardinal(uint64(over)) + " " + names[1]
}

// confusable reports whether the whole part of a printed number ends in what
// noise turns into another number: thirteen and thirty, up to nineteen and
// ninety.
func confusable(printed string) bool {
	whole, _, _ := strings.Cut(strings.ReplaceAll(printed, ",", ""), ".")
	n, err := strconv.ParseUint(whole, 10, 64)
	if err != nil {
		return false
	}
	n %= 100
	return (n >= 13 && n <= 19) || (n >= 30 && n%10 == 0)
}

// spokenNumbers gives the print form of number words, for the digits of a text
// that already has words: "thirteen" → "13".
var spokenNumbers = func() map[string]string {
	m := map[string]string{}
	for n := uint64(10); n < 100; n++ {
		m[cardinal(n)] = strconv.FormatUint(n, 10)
	}
	return m
}()
