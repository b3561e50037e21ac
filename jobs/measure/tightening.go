package measure

import (
	"fmt"
	"strings"
)

// Tightening is a figure for a fastener as manuals print it: a torque, further
// turns after it, or a turn alone: "24 N·m", "24 N·m + 90°", "20 N·m + 60° + 60°", "90°".
type Tightening struct {
	Torque Quantity   `json:"torque"`          // not given: a turn alone
	Angles []Quantity `json:"angle,omitempty"` // turns after the torque, in order
	Said   string     `json:"said,omitempty"`
	// Loosen: the stage backs off, by the one angle, or altogether without any.
	Loosen bool `json:"loosen,omitempty"`
	// Bolts are the numbers the stage is for; empty: all.
	Bolts []int `json:"bolts,omitempty"`
}

// ParseTightening reads a torque with or without turns, printed or spoken
// ("twenty-four newton metres plus ninety", "24 Nm then a quarter turn").
// Numbers after the plus without a unit are degrees. Errors as [Parse].
func ParseTightening(text string) (Tightening, error) { return Habits{}.ParseTightening(text) }

// ParseTightening is the package's ParseTightening with the shop's habits applied.
func (h Habits) ParseTightening(text string) (Tightening, error) {
	if err := checkLength(text); err != nil {
		return Tightening{}, err
	}
	t := Tightening{Said: strings.TrimSpace(text)}
	for i, part := range splitPlus(tokens(text)) {
		q, err := h.stagePart(part, i > 0)
		if err != nil {
			return Tightening{}, heardIn(err, text)
		}
		if q.Unit.Dimension() == Torque {
			if i > 0 {
				return Tightening{}, fmt.Errorf("read %q: a second torque after a plus; write stages separated by commas", text)
			}
			t.Torque = q
			continue
		}
		if q.Amount <= 0 || q.SI() > 8*piValue {
			return Tightening{}, fmt.Errorf("read %q: a turn of %s; between 0° and 1440° is meant", text, q)
		}
		t.Angles = append(t.Angles, q)
	}
	return t, nil
}

// stagePart reads one part of a tightening: the first may be torque or turn,
// later ones are turns and may lack the unit.
func (h Habits) stagePart(part []token, later bool) (Quantity, error) {
	if later {
		if v, err := number(part); err == nil {
			return Quantity{Amount: v, Unit: Degree, Said: key(part)}, nil
		}
		q, err := h.quantity(part, "")
		if err != nil {
			return Quantity{}, err
		}
		if d := q.Unit.Dimension(); d != Angle && d != Torque {
			return Quantity{}, fmt.Errorf("%s is no turn", q)
		}
		q.Said = key(part)
		return q, nil
	}
	q, err := h.quantity(part, Torque)
	if err == nil {
		q.Said = key(part)
		return q, nil
	}
	if a, aerr := h.quantity(part, Angle); aerr == nil {
		a.Said = key(part)
		return a, nil
	}
	return Quantity{}, err
}

// splitPlus cuts at "+", "plus", "then" and "followed by", but not at "plus or minus".
func splitPlus(ts []token) [][]token {
	var out [][]token
	start := 0
	for i := 0; i < len(ts); i++ {
		cut := 0
		switch ts[i].text {
		case "+", "then":
			cut = 1
		case "plus":
			if i+1 >= len(ts) || ts[i+1].text != "or" {
				cut = 1
			}
		case "and":
			if i+1 < len(ts) && ts[i+1].text == "then" {
				cut = 2
			}
		case "followed":
			if i+1 < len(ts) && ts[i+1].text == "by" {
				cut = 2
			}
		}
		if cut > 0 {
			out = append(out, trimComma(ts[start:i]))
			i += cut - 1
			start = i + 1
		}
	}
	return append(out, trimComma(ts[start:]))
}

func trimComma(ts []token) []token {
	for len(ts) > 0 && ts[len(ts)-1].text == "," {
		ts = ts[:len(ts)-1]
	}
	return ts
}

// String prints the tightening as manuals do: "24 ± 4 N·m + 90°".
func (t Tightening) String() string {
	var parts []string
	if t.Torque.Given() {
		parts = append(parts, t.Torque.String())
	}
	for _, a := range t.Angles {
		parts = append(parts, a.String())
	}
	out := strings.Join(parts, " + ")
	switch {
	case t.Loosen:
		out = strings.TrimSpace("loosen " + out)
	case parts == nil:
		return "not given"
	}
	if len(t.Bolts) > 0 {
		out = "bolts " + boltList(t.Bolts) + ": " + out
	}
	return out
}

// boltList prints 1, 2, 3, 4, 7 as "1-4, 7".
func boltList(bs []int) string {
	var parts []string
	for i := 0; i < len(bs); {
		j := i
		for j+1 < len(bs) && bs[j+1] == bs[j]+1 {
			j++
		}
		switch {
		case j > i+1:
			parts = append(parts, fmt.Sprintf("%d-%d", bs[i], bs[j]))
		default:
			for k := i; k <= j; k++ {
				parts = append(parts, fmt.Sprint(bs[k]))
			}
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}

// ParseStages reads stages separated by commas or semicolons: "5 N·m, 10 N·m,
// 90°". Each is a [Tightening]. A stage without a unit takes the unit of the
// one after it: "5, 10, 25 N·m". A stage can back off ("loosen 180°", "loosen"),
// be the one before once more ("repeat"), or be for some of the bolts ("bolts
// 1-4: 10 N·m", "bolts 1 3 5: 90°").
func ParseStages(text string) ([]Tightening, error) {
	fields := strings.FieldsFunc(splittable(text), func(r rune) bool { return r == ';' })
	if len(fields) == 0 {
		return nil, fmt.Errorf("read stages %q: %w", text, errNoNumber{})
	}
	out := make([]Tightening, len(fields))
	var unit Unit
	for i := len(fields) - 1; i >= 0; i-- {
		if isRepeat(fields[i]) {
			continue // filled in below, when the one before is known
		}
		t, err := parseStage(fields[i], unit)
		if err != nil {
			return nil, fmt.Errorf("stage %d: %w", i+1, err)
		}
		if t.Torque.Given() {
			unit = t.Torque.Unit
		}
		out[i] = t
	}
	for i, f := range fields {
		if !isRepeat(f) {
			continue
		}
		if i == 0 {
			return nil, fmt.Errorf("stage 1: nothing stands before %q to repeat", strings.TrimSpace(f))
		}
		out[i] = out[i-1]
	}
	return out, nil
}

func isRepeat(field string) bool {
	switch strings.ToLower(strings.TrimSpace(field)) {
	case "repeat", "again", "once more", "repeat it":
		return true
	}
	return false
}

// parseStage reads one stage; unit is that of the stage after it.
func parseStage(field string, unit Unit) (Tightening, error) {
	said := strings.TrimSpace(field)
	bolts, rest, err := cutBolts(said)
	if err != nil {
		return Tightening{}, err
	}
	back, loosen := cutLoosen(rest)
	switch {
	case loosen && back == "":
		return Tightening{Loosen: true, Bolts: bolts, Said: said}, nil
	case loosen:
		a, err := ParseAs(Angle, back)
		if err != nil {
			return Tightening{}, err
		}
		if !(a.Amount > 0) || a.SI() > 8*piValue {
			return Tightening{}, fmt.Errorf("read %q: a turn of %s; between 0° and 1440° is meant", field, a)
		}
		return Tightening{Angles: []Quantity{a}, Loosen: true, Bolts: bolts, Said: said}, nil
	}
	if v, err := ParseNumber(rest); err == nil && unit != (Unit{}) {
		return Tightening{Torque: Quantity{Amount: v, Unit: unit, Said: rest}, Bolts: bolts, Said: said}, nil
	}
	t, err := ParseTightening(rest)
	if err != nil {
		return Tightening{}, err
	}
	t.Bolts, t.Said = bolts, said
	return t, nil
}

// cutLoosen takes "loosen", "back off" or "slacken" off the front.
func cutLoosen(s string) (rest string, ok bool) {
	low := strings.ToLower(s)
	for _, p := range []string{"loosen", "back off", "slacken", "undo"} {
		if strings.HasPrefix(low, p) {
			rest = strings.TrimSpace(s[len(p):])
			rest = strings.TrimPrefix(rest, "by ")
			if rest == "fully" || rest == "completely" || rest == "all" {
				rest = ""
			}
			return rest, true
		}
	}
	return s, false
}

// cutBolts takes "bolts 1-4:" off the front.
func cutBolts(s string) (bolts []int, rest string, err error) {
	list, rest, ok := strings.Cut(s, ":")
	if !ok {
		return nil, s, nil
	}
	list = strings.ToLower(list)
	for _, p := range []string{"bolts", "bolt", "nuts", "nut", "numbers", "number"} {
		list = strings.TrimPrefix(list, p)
	}
	for _, f := range strings.FieldsFunc(list, func(r rune) bool { return r == ' ' || r == '&' || r == '+' }) {
		if f == "and" {
			continue
		}
		var from, to int
		if n, _ := fmt.Sscanf(f, "%d-%d", &from, &to); n == 0 {
			return nil, "", fmt.Errorf("read %q: %q is no bolt number; write it like bolts 1-4 7: 10 N·m", s, f)
		} else if n == 1 {
			to = from
		}
		if from < 1 || to < from || to > 1000 {
			return nil, "", fmt.Errorf("read %q: bolts %d to %d cannot be", s, from, to)
		}
		for b := from; b <= to; b++ {
			bolts = append(bolts, b)
		}
	}
	if len(bolts) == 0 {
		return nil, "", fmt.Errorf("read %q: no bolt number before the colon", s)
	}
	return bolts, strings.TrimSpace(rest), nil
}

// splittable turns commas that separate stages into semicolons; a comma
// between two digits is a decimal mark and stays.
func splittable(text string) string {
	rs := []rune(text)
	for i, r := range rs {
		if r == ',' && !(i > 0 && i+1 < len(rs) && isDigit(rs[i-1]) && isDigit(rs[i+1])) {
			rs[i] = ';'
		}
	}
	return string(rs)
}

// ParsePrinted reads a figure printed in several units, each rounded by the
// printer: "25 N·m (18 lbf·ft, 2.5 kgf·m)". At least one quantity comes back;
// whether they agree is for fastening.CheckPrinted to say.
func ParsePrinted(text string) ([]Quantity, error) {
	cut := func(r rune) bool {
		return r == ';' || r == '(' || r == ')' || r == '[' || r == ']' || r == '|' || r == '='
	}
	var out []Quantity
	for _, f := range strings.FieldsFunc(splittable(text), cut) {
		if strings.TrimSpace(f) == "" {
			continue
		}
		q, err := Parse(f)
		if err != nil {
			return nil, err
		}
		out = append(out, q)
	}
	if out == nil {
		return nil, fmt.Errorf("read printed figure %q: %w", text, errNoNumber{})
	}
	return out, nil
}

// Range is a span of one tool or one limit, both ends in one unit.
type Range struct {
	Low, High Quantity
}

// ParseRange reads "5..25 N·m", "20 to 110 N·m", "0.2-0.3 mm".
func ParseRange(text string) (Range, error) {
	q, err := Parse(text)
	if err != nil {
		return Range{}, err
	}
	if q.Tolerance == 0 {
		return Range{}, fmt.Errorf("read range %q: one figure only; write it like 5..25 N·m", text)
	}
	r := Range{q, q}
	r.Low.Amount, r.High.Amount = cleaned(q.Amount-q.Tolerance), cleaned(q.Amount+q.Tolerance)
	r.Low.Tolerance, r.High.Tolerance = 0, 0
	return r, nil
}

// String prints the range as the sheet writes it.
func (r Range) String() string {
	return printAmount(r.Low.Amount, r.Low.Unit) + ".." + r.High.String()
}
