package measure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Say is q for the ear: "twenty-five newton metres", "nine sixteenths of an
// inch", "fifteen thou", "twenty-four plus or minus four newton metres".
// Figures with more than four digits are rounded to three.
func (q Quantity) Say() string {
	if !q.Given() {
		return "not given"
	}
	if q.Unit == Inch && q.Tolerance == 0 {
		if s, ok := sayInches(q.Amount); ok {
			return s
		}
		if t := cleaned(q.Amount * 1000); math.Abs(t) < 100 && t == math.Trunc(t*10)/10 {
			return Quantity{Amount: t, Unit: Thou}.Say()
		}
	}
	amount := SayNumber(q.Amount)
	if q.Tolerance != 0 {
		amount += " plus or minus " + SayNumber(q.Tolerance)
	}
	if q.Unit == Turn && q.Amount == 0.25 {
		return "a quarter turn"
	}
	return amount + " " + q.Unit.Words(q.Amount)
}

// SayDigits is q for a noisy room, digit by digit: "one three newton metres"
// cannot be taken for thirty.
func (q Quantity) SayDigits() string {
	if !q.Given() {
		return "not given"
	}
	if q.Unit == Inch {
		if s, ok := sayInches(q.Amount); ok {
			return s
		}
	}
	s := sayDigits(trimmed(q.Amount, 4, 3))
	if q.Tolerance != 0 {
		s += " plus or minus " + sayDigits(trimmed(q.Tolerance, 4, 3))
	}
	return s + " " + q.Unit.Words(q.Amount)
}

// Say is the tightening for the ear: "twenty-four newton metres plus ninety degrees".
func (t Tightening) Say() string {
	var parts []string
	if t.Torque.Given() {
		parts = append(parts, t.Torque.Say())
	}
	for _, a := range t.Angles {
		parts = append(parts, a.Say())
	}
	out := strings.Join(parts, " plus ")
	switch {
	case t.Loosen && out != "":
		out = "loosen by " + out
	case t.Loosen:
		out = "loosen"
	case out == "":
		return "not given"
	}
	if len(t.Bolts) > 0 {
		out = "bolts " + boltList(t.Bolts) + ": " + out
	}
	return out
}

// Confusable tells whether a number sounds like another in noise (13/30,
// 15/50, 16/60 and the like) and should be read back digit by digit.
func Confusable(v float64) bool {
	n := math.Mod(math.Abs(v), 100)
	if v != math.Trunc(v) {
		n = math.Trunc(n)
	}
	return n >= 13 && n <= 19 || n >= 30 && n <= 90 && math.Mod(n, 10) == 0
}

// SayNumber is a number in words: 135 → "one hundred and thirty-five", 0.15 →
// "zero point one five", -5 → "minus five". Rounded to three digits when it
// has more than four.
func SayNumber(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "no number"
	}
	text := trimmed(v, 4, 3)
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "minus ", text[1:]
	}
	if strings.ContainsAny(text, "eE") {
		return sign + sayDigits(text)
	}
	whole, frac, hasFrac := strings.Cut(text, ".")
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil {
		return sign + sayDigits(text)
	}
	out := sign + sayWhole(n)
	if hasFrac {
		out += " point " + sayDigits(frac)
	}
	return out
}

var smallNames = strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
var tensNames = strings.Fields("zero ten twenty thirty forty fifty sixty seventy eighty ninety")

func sayWhole(n int64) string {
	switch {
	case n < 20:
		return smallNames[n]
	case n < 100:
		if n%10 == 0 {
			return tensNames[n/10]
		}
		return tensNames[n/10] + "-" + smallNames[n%10]
	case n < 1000:
		return sayRest(smallNames[n/100]+" hundred", n%100)
	case n < 1000000:
		return sayRest(sayWhole(n/1000)+" thousand", n%1000)
	case n < 1000000000:
		return sayRest(sayWhole(n/1000000)+" million", n%1000000)
	}
	return sayDigits(strconv.FormatInt(n, 10))
}

func sayRest(head string, rest int64) string {
	switch {
	case rest == 0:
		return head
	case rest < 100:
		return head + " and " + sayWhole(rest)
	}
	return head + " " + sayWhole(rest)
}

func sayDigits(text string) string {
	var words []string
	for _, r := range text {
		switch {
		case isDigit(r):
			words = append(words, smallNames[r-'0'])
		case r == '.':
			words = append(words, "point")
		case r == '-':
			words = append(words, "minus")
		case r == 'e':
			words = append(words, "times ten to the")
		}
	}
	return strings.Join(words, " ")
}

var partNames = map[int][2]string{
	2: {"half", "halves"}, 4: {"quarter", "quarters"}, 8: {"eighth", "eighths"}, 16: {"sixteenth", "sixteenths"},
	32: {"thirty-second", "thirty-seconds"}, 64: {"sixty-fourth", "sixty-fourths"},
}

// sayInches says binary fractions of an inch as the shop does.
func sayInches(v float64) (string, bool) {
	whole, num, den, ok := inchFraction(v)
	if !ok || num == 0 {
		return "", false
	}
	part := smallOr(num) + " " + partNames[den][1]
	switch {
	case den == 2:
		part = "a half"
	case num == 1 && den == 8:
		part = "an eighth"
	case num == 1:
		part = "a " + partNames[den][0]
	}
	switch whole {
	case 0:
		if den == 2 {
			return "half an inch", true
		}
		return part + " of an inch", true
	case 1:
		return "one inch and " + part, true
	}
	return fmt.Sprintf("%s inches and %s", sayWhole(int64(whole)), part), true
}

func smallOr(n int) string { return sayWhole(int64(n)) }
