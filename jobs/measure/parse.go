package measure

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Habits settle what a shop need not be asked: of the readings of a doubtful
// word the one in Prefer is taken, when exactly one is. The zero Habits asks.
type Habits struct {
	Prefer []Unit // e.g. Millimetre for "mil", ImperialQuart for "quarts"
}

// Parse reads a quantity in any printed or spoken form: "66 in-lb", "66 inch
// pounds", "9/16 in", "nine sixteenths of an inch", "24 ± 4 N·m", "four point
// one kilos" (4.1 kgf·m), "a quarter turn" (90°), "20 to 26 N·m" (23 ± 3).
//
// What must be asked gives an [*AskError] with the question and its choices
// ("30 pounds", "three tenths", "four and a half quarts", "ten mil"); a state
// ("snug") gives [*NotTorque]; everything else an error that says what is
// missing. Said holds the text as it came.
func Parse(text string) (Quantity, error) { return Habits{}.ParseAs("", text) }

// ParseAs is [Parse] with the dimension known, which settles most doubts: "30
// pounds" as [Mass] is 30 lb, as [Torque] it is still asked.
func ParseAs(dim Dimension, text string) (Quantity, error) { return Habits{}.ParseAs(dim, text) }

// ParseAs reads text as [Parse] does, with the shop's habits applied.
func (h Habits) ParseAs(dim Dimension, text string) (Quantity, error) {
	if err := checkLength(text); err != nil {
		return Quantity{}, err
	}
	ts := tokens(text)
	q, err := h.quantity(ts, dim)
	if err != nil {
		return Quantity{}, heardIn(err, text)
	}
	q.Said = strings.TrimSpace(text)
	return q, nil
}

// quantity reads all of ts. Turns become degrees, which is what a gauge shows.
func (h Habits) quantity(ts []token, dim Dimension) (Quantity, error) {
	q, err := h.asSaid(ts, dim)
	if err == nil && q.Unit == Turn {
		q = Quantity{Amount: 360 * q.Amount, Unit: Degree, Tolerance: 360 * q.Tolerance}
	}
	return q, err
}

func (h Habits) asSaid(ts []token, dim Dimension) (Quantity, error) {
	if len(ts) == 0 {
		return Quantity{}, errNoNumber{}
	}
	if err := state(ts); err != nil {
		return Quantity{}, err
	}
	ts = dropFillers(ts)
	if len(ts) == 0 {
		return Quantity{}, errNoNumber{}
	}
	if left, right, ok := splitTolerance(ts); ok {
		return h.tolerance(left, right, dim)
	}
	if left, right, ok := splitRange(ts); ok {
		if q, ok, err := h.span(left, right, dim); ok || err != nil {
			return q, err
		}
	}
	return h.plain(ts, dim)
}

// state finds the words for a state of a fastener that stand in for a figure.
func state(ts []token) error {
	switch key(ts) {
	case "finger tight", "snug", "hand tight", "nipped up", "just nipped", "pinched up":
		return &NotTorque{Heard: key(ts), State: "snug"}
	case "one grunt", "a grunt", "two grunts", "good and tight", "tight", "as tight as it goes", "flat out", "by feel":
		return &AskError{Heard: key(ts), Question: "How much is that, as a number and a unit?"}
	}
	return nil
}

func dropFillers(ts []token) []token {
	for len(ts) > 1 {
		switch ts[0].text {
		case "about", "around", "roughly", "approximately", "approx", "exactly", "just", "only", "~", "(":
			ts = ts[1:]
			continue
		}
		break
	}
	for len(ts) > 1 && ts[len(ts)-1].text == ")" && indexOf(ts, "(") < 0 {
		ts = ts[:len(ts)-1]
	}
	return ts
}

func splitTolerance(ts []token) (left, right []token, ok bool) {
	for i, t := range ts {
		switch {
		case t.text == "±":
			return ts[:i], ts[i+1:], true
		case t.text == "plus" && i+2 < len(ts) && ts[i+1].text == "or" && ts[i+2].text == "minus":
			return ts[:i], ts[i+3:], true
		case t.text == "give" && i+2 < len(ts) && ts[i+1].text == "or" && ts[i+2].text == "take":
			return ts[:i], ts[i+3:], true
		}
	}
	return nil, nil, false
}

// tolerance joins "24" ± "4 N·m", "24 N·m" ± "4", "24 N·m" ± "4 N·m" and "24 N·m" ± "10 %".
func (h Habits) tolerance(left, right []token, dim Dimension) (Quantity, error) {
	left, right = trimParens(left), trimParens(right)
	if n := len(right); n > 1 && (right[n-1].text == "%" || right[n-1].text == "percent") {
		q, err := h.plain(left, dim)
		if err != nil {
			return Quantity{}, err
		}
		share, err := number(right[:n-1])
		if err != nil {
			return Quantity{}, err
		}
		return withTolerance(q, math.Abs(q.Amount)*share/100)
	}
	if v, err := number(left); err == nil { // the unit stands at the end
		tol, err := h.plain(right, dim)
		if ask := new(AskError); errors.As(err, &ask) && len(ask.Units) == len(ask.Choices) {
			for i, c := range ask.Choices {
				ask.Choices[i] = Quantity{Amount: v, Unit: c.Unit, Tolerance: c.Amount}
			}
		}
		if err != nil {
			return Quantity{}, err
		}
		q := tol
		q.Amount = v
		return withTolerance(q, tol.Amount)
	}
	q, err := h.plain(left, dim)
	if err != nil {
		return Quantity{}, err
	}
	if v, err := number(right); err == nil {
		return withTolerance(q, v)
	}
	tol, err := h.plain(right, q.Unit.Dimension())
	if err != nil {
		return Quantity{}, err
	}
	if q.Unit.Dimension() == Temperature {
		if tol.Unit != q.Unit {
			return Quantity{}, fmt.Errorf("the tolerance of a temperature must be in the same unit")
		}
	} else if tol, err = tol.In(q.Unit); err != nil {
		return Quantity{}, err
	}
	return withTolerance(q, tol.Amount)
}

func withTolerance(q Quantity, tol float64) (Quantity, error) {
	if tol < 0 {
		return Quantity{}, fmt.Errorf("a tolerance below nothing")
	}
	q.Tolerance = tol
	return q, nil
}

// trimParens drops the brackets of "(24 ± 4) N·m": left "(24", right "4) N·m".
func trimParens(ts []token) []token {
	out := make([]token, 0, len(ts))
	for _, t := range ts {
		if t.text != "(" && t.text != ")" {
			out = append(out, t)
		}
	}
	return out
}

func splitRange(ts []token) (left, right []token, ok bool) {
	from := 0
	if ts[0].text == "between" || ts[0].text == "from" {
		from = 1
	}
	for i := from + 1; i < len(ts)-1; i++ {
		switch ts[i].text {
		case "..", "to", "-":
			return ts[from:i], ts[i+1:], true
		case "and":
			if ts[0].text == "between" {
				return ts[from:i], ts[i+1:], true
			}
		}
	}
	return nil, nil, false
}

// span reads "20 to 26 N·m" as 23 ± 3. ok is false when it is no range after
// all ("1-1/8 in").
func (h Habits) span(left, right []token, dim Dimension) (Quantity, bool, error) {
	if len(left) == 1 && left[0].number && len(right) > 3 && right[0].number && right[1].text == "/" {
		return Quantity{}, false, nil // 1-1/8
	}
	high, err := h.plain(right, dim)
	if err != nil {
		var ask *AskError
		if errors.As(err, &ask) {
			if low, lerr := number(left); lerr == nil && len(ask.Units) > 0 {
				for i, c := range ask.Choices {
					ask.Choices[i] = Quantity{Amount: (low + c.Amount) / 2, Unit: c.Unit, Tolerance: math.Abs(c.Amount-low) / 2}
				}
				return Quantity{}, false, err
			}
		}
		return Quantity{}, false, nil
	}
	low := high
	if v, err := number(left); err == nil {
		low.Amount = v
	} else if low, err = h.plain(left, high.Unit.Dimension()); err != nil {
		return Quantity{}, false, nil
	} else if low, err = low.In(high.Unit); err != nil {
		return Quantity{}, false, nil
	}
	if low.Amount > high.Amount {
		return Quantity{}, false, fmt.Errorf("the range runs backwards, from %s to %s", low, high)
	}
	return Quantity{Amount: (low.Amount + high.Amount) / 2, Unit: high.Unit, Tolerance: (high.Amount - low.Amount) / 2}, true, nil
}

// plain reads one amount with its unit, no tolerance and no range.
func (h Habits) plain(ts []token, dim Dimension) (Quantity, error) {
	if q, ok, err := h.unitInside(ts, dim); ok || err != nil {
		return q, err
	}
	if q, ok, err := timeSum(ts, dim); ok || err != nil {
		return q, err
	}
	for n := min(longestKey, len(ts)); n >= 1; n-- {
		head, tail := ts[:len(ts)-n], ts[len(ts)-n:]
		if tail[0].number {
			continue
		}
		if q, ok, err := flats(head, tail, dim); ok || err != nil {
			return q, err
		}
		us := lookUnit(key(tail), dim)
		if us == nil {
			continue
		}
		head = dropOf(head)
		if len(head) == 0 && len(tail) == len(ts) {
			break // a unit alone
		}
		if len(head) == 0 && len(tail) < len(ts) {
			head = []token{{text: "a"}}
		}
		v, err := number(head)
		if err != nil {
			var none errNoNumber
			if errors.As(err, &none) && n > 1 {
				continue // "five thirty-seconds": a shorter unit may leave a number
			}
			if ask := new(AskError); errors.As(err, &ask) && len(ask.Choices) > 0 && len(us) == 1 && us[0].Dimension() == Length {
				// "three tenths of a millimetre" says whose tenths
				return Quantity{Amount: ask.Choices[0].Amount, Unit: us[0]}, nil
			}
			return Quantity{}, err
		}
		if tail[0].text == "mil" || tail[0].text == "mils" {
			// below one it can only be millimetres: a thousandth of a thou is nobody's figure
			if v < 1 && v > 0 {
				us = []Unit{Millimetre}
			}
		}
		u, err := h.settle(us, v)
		if err != nil {
			return Quantity{}, err
		}
		return Quantity{Amount: v, Unit: u}, nil
	}
	if v, ok := bareFraction(ts, dim); ok {
		return Quantity{Amount: v, Unit: Inch}, nil
	}
	if us := lookUnit(key(ts), dim); us != nil {
		return Quantity{}, fmt.Errorf("the number is missing: how many %s?", eitherOf(us))
	}
	if v, err := number(ts); err == nil {
		return Quantity{}, fmt.Errorf("%s of what? The unit is missing, say for instance %s", trimmed(v, 6, 6), exampleOf(v, dim))
	} else if ask := new(AskError); errors.As(err, &ask) {
		return Quantity{}, err
	}
	return Quantity{}, fmt.Errorf("no figure with a unit%s in it; say for instance %s", ofDimension(dim), exampleOf(25, dim))
}

// bareFraction reads a fraction that needs no unit: "nine sixteenths" is of an
// inch, as nothing else in the shop is divided so. Halves and quarters are only
// taken so where a length is expected.
func bareFraction(ts []token, dim Dimension) (float64, bool) {
	if dim != "" && dim != Length {
		return 0, false
	}
	v, err := number(ts)
	if err != nil || v <= 0 {
		return 0, false
	}
	said := indexOf(ts, "/") > 0
	for _, t := range ts {
		said = said || isFractionWord(t.text) || t.text == "seconds" || t.text == "second"
	}
	_, num, den, ok := inchFraction(v)
	return v, said && ok && num != 0 && (den >= 8 || dim == Length)
}

func exampleOf(v float64, dim Dimension) string {
	for _, r := range table {
		if r.dim == dim {
			return trimmed(v, 6, 6) + " " + r.unit.Symbol
		}
	}
	return trimmed(v, 6, 6) + " N·m"
}

// dropOf drops what stands between an amount and its unit: "of an", "a", "of".
func dropOf(ts []token) []token {
	n := len(ts)
	if n > 1 && (ts[n-1].text == "a" || ts[n-1].text == "an") {
		n--
	}
	if n > 1 && ts[n-1].text == "of" {
		n--
	} else if n == len(ts)-1 && !isFractionWord(ts[n-1].text) {
		return ts // "three a": leave it to fail
	}
	return ts[:n]
}

func isFractionWord(w string) bool { _, ok := denominators[w]; return ok }

// settle takes the one unit, or the one the shop prefers, or asks.
func (h Habits) settle(us []Unit, v float64) (Unit, error) {
	if len(us) == 1 {
		return us[0], nil
	}
	var liked []Unit
	for _, u := range us {
		for _, p := range h.Prefer {
			if p == u {
				liked = append(liked, u)
				break
			}
		}
	}
	if len(liked) == 1 {
		return liked[0], nil
	}
	ask := &AskError{Question: upperFirst(eitherOf(us)) + "?", Units: us}
	for _, u := range us {
		ask.Choices = append(ask.Choices, Quantity{Amount: v, Unit: u})
	}
	return Unit{}, ask
}

// unitInside reads "an inch and an eighth", "a thou and a half", "two inches
// and three quarters", "an hour and a half".
func (h Habits) unitInside(ts []token, dim Dimension) (Quantity, bool, error) {
	for i := len(ts) - 2; i > 0; i-- {
		if ts[i].text != "and" {
			continue
		}
		f, ok, _ := fraction(ts[i+1:])
		if !ok {
			f, ok, _ = digits(ts[i+1:])
			ok = ok && indexOf(ts[i+1:], "/") > 0
		}
		if !ok || f >= 1 {
			return Quantity{}, false, nil
		}
		for n := min(longestKey, i); n >= 1; n-- {
			us := lookUnit(key(ts[i-n:i]), dim)
			if us == nil || ts[i-n].number {
				continue
			}
			v := 1.0
			if i > n {
				var err error
				if v, err = number(ts[:i-n]); err != nil {
					continue
				}
			}
			u, err := h.settle(us, v+f)
			if err != nil {
				return Quantity{}, false, err
			}
			return Quantity{Amount: v + f, Unit: u}, true, nil
		}
	}
	return Quantity{}, false, nil
}

// timeSum reads "1 h 30 min", "two minutes thirty seconds", "an hour and 20 minutes".
func timeSum(ts []token, dim Dimension) (Quantity, bool, error) {
	if dim != "" && dim != Time {
		return Quantity{}, false, nil
	}
	for i := 1; i < len(ts)-1; i++ {
		us := lookUnit(ts[i].text, Time)
		if us == nil || us[0] == Second {
			continue
		}
		big, err := number(ts[:i])
		if err != nil {
			continue
		}
		rest := ts[i+1:]
		if rest[0].text == "and" {
			rest = rest[1:]
		}
		small, err := Habits{}.plain(rest, Time)
		if err != nil || small.SI() >= (Quantity{Amount: 1, Unit: us[0]}).SI() {
			continue
		}
		q, err := Quantity{Amount: big, Unit: us[0]}.In(small.Unit)
		if err != nil {
			return Quantity{}, false, err
		}
		q.Amount += small.Amount
		return q, true, nil
	}
	return Quantity{}, false, nil
}

// flats reads turns counted on the flats of a hexagon: "three flats" is 180°.
func flats(head, tail []token, dim Dimension) (Quantity, bool, error) {
	if len(tail) != 1 || tail[0].text != "flats" && tail[0].text != "flat" || dim != "" && dim != Angle {
		return Quantity{}, false, nil
	}
	v, err := number(dropOf(head))
	if err != nil {
		return Quantity{}, false, err
	}
	return Quantity{Amount: v * 60, Unit: Degree}, true, nil
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
