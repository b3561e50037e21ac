package measure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

var unitsWords = map[string]int{
	"zero": 0, "oh": 0, "o": 0, "nought": 0, "naught": 0, "one": 1, "two": 2, "three": 3, "four": 4,
	"five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
}

var teenWords = map[string]int{
	"ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
	"sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}

var tensWords = map[string]int{
	"twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
	"eighty": 80, "ninety": 90,
}

// denominators are the fractions of the shop; tenths are not among them, they are asked about.
var denominators = map[string]int{
	"half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourth": 4, "fourths": 4,
	"fifth": 5, "fifths": 5, "sixth": 6, "sixths": 6, "eighth": 8, "eighths": 8, "eights": 8,
	"sixteenth": 16, "sixteenths": 16, "hundredth": 100, "hundredths": 100,
	"thirty second": 32, "thirty seconds": 32, "sixty fourth": 64, "sixty fourths": 64,
}

// ParseNumber reads a number without a unit, in digits or as the shop says it:
// "135", "9/16", "1-1/8", "one thirty-five" (135), "one oh five" (105), "two
// ten" (210), "point one five" (0.15), "one and a half", "nine sixteenths",
// "half a dozen" (6), "a couple" (2). "3 tenths" and a number that could carry
// a thousands mark ("1,250") give an [*AskError]; "a few" asks for a figure.
func ParseNumber(text string) (float64, error) {
	if err := checkLength(text); err != nil {
		return 0, err
	}
	v, err := number(tokens(text))
	if err != nil {
		return 0, heardIn(err, text)
	}
	return v, nil
}

// heardIn puts the whole text into an AskError, or wraps any other error with it.
func heardIn(err error, text string) error {
	switch e := err.(type) {
	case *AskError:
		e.Heard = text
		return e
	case *NotTorque:
		e.Heard = text
		return e
	}
	return fmt.Errorf("read %q: %w", text, err)
}

// errNoNumber tells callers inside the package that the tokens hold no number.
type errNoNumber struct{ words string }

func (e errNoNumber) Error() string {
	if e.words == "" {
		return "there is no number in it"
	}
	return fmt.Sprintf("%q is no number", e.words)
}

// number reads all of ts as one number.
func number(ts []token) (float64, error) {
	if len(ts) == 0 {
		return 0, errNoNumber{}
	}
	if len(ts) > 1 && ts[0].text == "-" || ts[0].text == "minus" {
		v, err := number(ts[1:])
		return -v, err
	}
	if err := vague(ts); err != nil {
		return 0, err
	}
	if v, ok, err := digits(ts); ok || err != nil {
		return v, err
	}
	return spokenNumber(withoutCommas(ts))
}

// withoutCommas drops the pauses of "one thousand, two hundred".
func withoutCommas(ts []token) []token {
	if indexOf(ts, ",") < 0 {
		return ts
	}
	var out []token
	for i, t := range ts {
		if t.text != "," || i == 0 || i == len(ts)-1 {
			out = append(out, t)
		}
	}
	return out
}

// vague finds amounts that are none.
func vague(ts []token) error {
	switch key(ts) {
	case "a few", "few", "some", "several", "a bit", "a touch", "a grunt", "one grunt", "two grunts", "plenty", "a lot", "lots":
		return &AskError{Heard: key(ts), Question: "How much, as a number?"}
	}
	return nil
}

// digits reads "25", "1.5", "1,5", "9/16", "1-1/8", "1 1/8", "1 and 1/8". ok is
// false when ts is not of digits only.
func digits(ts []token) (v float64, ok bool, err error) {
	if !ts[0].number {
		return 0, false, nil
	}
	first, err := decimal(ts[0].text)
	if err != nil {
		return 0, false, err
	}
	rest := ts[1:]
	if len(rest) == 0 {
		return first, true, nil
	}
	if rest[0].text == "/" && len(rest) == 2 && rest[1].number {
		return ratio(ts[0].text, rest[1].text)
	}
	if (rest[0].text == "-" || rest[0].text == "and") && len(rest) == 4 {
		rest = rest[1:]
	}
	if len(rest) == 3 && rest[0].number && rest[1].text == "/" && rest[2].number {
		f, ok, err := ratio(rest[0].text, rest[2].text)
		if err != nil || !ok {
			return 0, false, err
		}
		if f >= 1 || first != math.Trunc(first) {
			return 0, false, fmt.Errorf("%q is no mixed number", key(ts))
		}
		return first + f, true, nil
	}
	return 0, false, nil
}

func ratio(num, den string) (float64, bool, error) {
	a, err := decimal(num)
	if err != nil {
		return 0, false, err
	}
	b, err := decimal(den)
	if err != nil {
		return 0, false, err
	}
	if b == 0 {
		return 0, false, fmt.Errorf("%s/%s divides by nothing", num, den)
	}
	return a / b, true, nil
}

// decimal reads one literal. A comma with one or two digits behind it is a
// decimal mark; with three it could be a thousands mark and is asked about.
func decimal(s string) (float64, error) {
	if i := strings.IndexByte(s, ','); i >= 0 {
		after := s[i+1:]
		switch {
		case strings.ContainsAny(after, ",") || strings.Contains(s, ".") || len(after) == 3 && s[0] != '0':
			if groupsOfThree(s) && (strings.Contains(after, ",") || strings.Contains(s, ".")) {
				s = strings.ReplaceAll(s, ",", "")
				break
			}
			return 0, &AskError{Heard: s, Question: fmt.Sprintf("Is that %s or %s?", strings.Replace(s, ",", ".", 1), strings.ReplaceAll(s, ",", ""))}
		default:
			s = strings.Replace(s, ",", ".", 1)
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is no number", s)
	}
	return v, nil
}

func groupsOfThree(s string) bool {
	whole, _, _ := strings.Cut(s, ".")
	for i, g := range strings.Split(whole, ",") {
		if i > 0 && len(g) != 3 || i == 0 && (len(g) == 0 || len(g) > 3) {
			return false
		}
	}
	return !strings.Contains(s[strings.LastIndexByte(s, ',')+1:], ",") && strings.Count(s, ".") <= 1 &&
		(!strings.Contains(s, ".") || strings.LastIndexByte(s, ',') < strings.IndexByte(s, '.'))
}

// spokenNumber reads a number said in words, digits allowed among them.
func spokenNumber(ts []token) (float64, error) {
	if i := indexOf(ts, "point"); i >= 0 {
		return pointNumber(ts[:i], ts[i+1:])
	}
	if v, ok, err := fraction(ts); ok || err != nil {
		return v, err
	}
	// "one and a half", "two and three quarters", "one and 1/8"
	for i := len(ts) - 2; i > 0; i-- {
		if ts[i].text != "and" {
			continue
		}
		f, ok, err := fraction(ts[i+1:])
		if err != nil {
			return 0, err
		}
		if !ok {
			f, ok, _ = digits(ts[i+1:])
			ok = ok && indexOf(ts[i+1:], "/") > 0
		}
		if !ok || f >= 1 {
			continue
		}
		w, err := cardinal(ts[:i])
		if err != nil {
			return 0, err
		}
		return w + f, nil
	}
	if v, ok := counted(ts); ok {
		return v, nil
	}
	return cardinal(ts)
}

// counted reads the counts that are words of their own.
func counted(ts []token) (float64, bool) {
	switch key(ts) {
	case "a", "an", "single", "a single":
		return 1, true
	case "a pair", "pair", "a couple", "couple", "a pair of", "a couple of", "couple of", "pair of":
		return 2, true
	case "half a dozen", "half dozen":
		return 6, true
	case "a dozen", "dozen":
		return 12, true
	}
	if n := len(ts); n > 1 && ts[n-1].text == "dozen" {
		if v, err := cardinal(ts[:n-1]); err == nil && v <= 100 {
			return 12 * v, true
		}
	}
	return 0, false
}

// pointNumber reads "one point two five", "point oh five", "zero point twenty five".
func pointNumber(before, after []token) (float64, error) {
	whole := 0.0
	if len(before) > 0 {
		v, err := cardinal(before)
		if err != nil {
			return 0, err
		}
		whole = v
	}
	if len(after) == 0 {
		return 0, fmt.Errorf("nothing is said after the point")
	}
	var b strings.Builder
	for i := 0; i < len(after); i++ {
		t := after[i]
		n := len(t.text)
		switch {
		case t.number && strings.Trim(t.text, "0123456789") == "":
			b.WriteString(t.text)
		case wordIn(unitsWords, t.text):
			b.WriteString(strconv.Itoa(unitsWords[t.text]))
		case wordIn(teenWords, t.text):
			b.WriteString(strconv.Itoa(teenWords[t.text]))
		case wordIn(tensWords, t.text):
			v := tensWords[t.text]
			if i+1 < len(after) && unitsWords[after[i+1].text] > 0 {
				i++
				v += unitsWords[after[i].text]
			}
			b.WriteString(strconv.Itoa(v))
		default:
			return 0, errNoNumber{t.text}
		}
		if b.Len() > 12 || n == 0 {
			return 0, fmt.Errorf("too many digits after the point")
		}
	}
	f, err := strconv.ParseFloat(strconv.FormatFloat(whole, 'f', 0, 64)+"."+b.String(), 64)
	if err != nil {
		return 0, fmt.Errorf("%q is no number", key(after))
	}
	return f, nil
}

// fraction reads "nine sixteenths", "three quarters", "a half", "half", "half
// a", "three thirty-seconds", "9 sixteenths". ok is false when ts is no fraction.
func fraction(ts []token) (v float64, ok bool, err error) {
	for len(ts) > 1 && (ts[len(ts)-1].text == "a" || ts[len(ts)-1].text == "an") {
		ts = ts[:len(ts)-1] // "half a", before the unit
	}
	n := len(ts)
	if n == 0 {
		return 0, false, nil
	}
	if last := ts[n-1].text; last == "tenths" || last == "tenth" {
		if num, err := cardinalOrOne(ts[:n-1]); err == nil {
			return 0, false, tenths(num)
		}
		return 0, false, nil
	}
	den, used := 0, 0
	if n >= 2 {
		if d, found := denominators[ts[n-2].text+" "+ts[n-1].text]; found {
			den, used = d, 2
		}
	}
	if den == 0 {
		d, found := denominators[ts[n-1].text]
		if !found {
			return 0, false, nil
		}
		den, used = d, 1
	}
	num, err := cardinalOrOne(ts[:n-used])
	if err != nil {
		return 0, false, nil
	}
	if num != math.Trunc(num) || num <= 0 {
		return 0, false, nil
	}
	return num / float64(den), true, nil
}

func cardinalOrOne(ts []token) (float64, error) {
	if len(ts) == 0 || len(ts) == 1 && (ts[0].text == "a" || ts[0].text == "an") {
		return 1, nil
	}
	return cardinal(ts)
}

// tenths is the question about "three tenths": of a millimetre to most, of a
// thou to a machinist, of an inch to nobody with a feeler gauge but possible.
func tenths(n float64) *AskError {
	return &AskError{
		Heard:    trimmed(n, 6, 6) + " tenths",
		Question: "Tenths of a millimetre, of a thou or of an inch?",
		Choices: []Quantity{
			{Amount: n / 10, Unit: Millimetre}, {Amount: n / 10, Unit: Thou}, {Amount: n / 10, Unit: Inch},
		},
		Units: []Unit{Millimetre, Thou, Inch},
	}
}

// cardinal reads whole numbers as said: "twenty-five", "a hundred and five",
// "one thirty-five", "one oh five", "two ten", "three zero", "twenty five hundred".
func cardinal(ts []token) (float64, error) {
	if len(ts) == 0 {
		return 0, errNoNumber{}
	}
	if len(ts) == 1 && ts[0].number {
		return decimal(ts[0].text)
	}
	if ts[0].text == "a" && len(ts) > 1 && (ts[1].text == "hundred" || ts[1].text == "thousand") {
		ts = append([]token{{text: "one"}}, ts[1:]...)
	}
	for _, m := range []struct {
		word string
		size float64
	}{{"thousand", 1000}, {"hundred", 100}} {
		i := indexOf(ts, m.word)
		if i < 0 {
			continue
		}
		head, err := cardinal(ts[:i])
		if err != nil {
			return 0, err
		}
		tail := ts[i+1:]
		if len(tail) > 0 && tail[0].text == "and" {
			tail = tail[1:]
			if len(tail) == 0 {
				return 0, errNoNumber{key(ts)}
			}
		}
		if len(tail) == 0 {
			return head * m.size, nil
		}
		rest, err := cardinal(tail)
		if err != nil {
			return 0, err
		}
		if rest >= m.size || head != math.Trunc(head) || head > 1e6 {
			return 0, errNoNumber{key(ts)}
		}
		return head*m.size + rest, nil
	}
	return chunks(ts)
}

// chunks joins numbers said side by side: digit by digit, or hundreds and the rest.
func chunks(ts []token) (float64, error) {
	type chunk struct {
		value int
		wide  bool // two digits
	}
	var cs []chunk
	for i := 0; i < len(ts); i++ {
		w := ts[i].text
		switch {
		case wordIn(unitsWords, w):
			cs = append(cs, chunk{unitsWords[w], false})
		case wordIn(teenWords, w):
			cs = append(cs, chunk{teenWords[w], true})
		case wordIn(tensWords, w):
			v := tensWords[w]
			if i+1 < len(ts) && unitsWords[ts[i+1].text] > 0 {
				i++
				v += unitsWords[ts[i].text]
			}
			cs = append(cs, chunk{v, true})
		case ts[i].number && len(w) == 1:
			n, err := strconv.Atoi(w)
			if err != nil {
				return 0, errNoNumber{key(ts)}
			}
			cs = append(cs, chunk{n, false})
		case ts[i].number && len(w) == 2 && w[0] != '0' && isDigit(rune(w[1])):
			n, err := strconv.Atoi(w)
			if err != nil {
				return 0, errNoNumber{key(ts)}
			}
			cs = append(cs, chunk{n, true})
		default:
			return 0, errNoNumber{key(ts)}
		}
	}
	narrow := 0
	for _, c := range cs {
		if !c.wide {
			narrow++
		}
	}
	switch {
	case len(cs) == 1:
		return float64(cs[0].value), nil
	case narrow == len(cs) && len(cs) <= 6: // digit by digit
		v := 0
		for _, c := range cs {
			v = 10*v + c.value
		}
		return float64(v), nil
	case len(cs) == 2 && cs[1].wide && cs[0].value > 0: // "one thirty-five", "ten fifty"
		return float64(100*cs[0].value + cs[1].value), nil
	case len(cs) == 3 && cs[0].wide && !cs[1].wide && cs[1].value == 0 && !cs[2].wide: // "ten oh five"
		return float64(100*cs[0].value + cs[2].value), nil
	}
	return 0, errNoNumber{key(ts)}
}

func wordIn(m map[string]int, w string) bool { _, ok := m[w]; return ok }

func indexOf(ts []token, word string) int {
	for i, t := range ts {
		if t.text == word {
			return i
		}
	}
	return -1
}
