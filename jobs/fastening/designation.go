package fastening

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// Designation is a fastener as printed or said: thread, and length and class
// when they were given.
type Designation struct {
	Thread Thread
	Length measure.Quantity // shank length; not given: zero
	Class  string           // "8.8", "grade 5"; "" not given
	Said   string
}

// String prints it the way a sheet does: "M10x1.25x30 10.9".
func (d Designation) String() string {
	s := d.Thread.Designation
	if d.Length.Given() {
		if d.Thread.System == Metric && d.Thread.Series == "coarse" && d.Length.Amount < max(4, float64(d.Thread.Diameter)/2) {
			s += "x" + short(float64(d.Thread.Pitch))
		}
		s += "x" + strings.TrimSuffix(strings.TrimSuffix(d.Length.String(), " mm"), " in")
	}
	if d.Class != "" {
		s += " " + d.Class
	}
	return s
}

var (
	classAtEnd = regexp.MustCompile(`(?i)^(.*?)[\s,;-]*\b(?:(?:class|grade|property class|sae(?: grade)?)\s+\S.*|(?:4\.6|4\.8|5\.6|5\.8|6\.8|8\.8|9\.8|10\.9|12\.9|a2-70))$`)
	mThread    = regexp.MustCompile(`^(?:m|em\b)\s*(.+)$`)
	inchThread = regexp.MustCompile(`^(#|no\.?\s*|number\s+)?(\d+/\d+|\d+)(?:\s*(?:"|in\b|inch\b))?\s*-\s*(\d+)(?:\s*(unc|unf|un))?(?:\s*(?:x|by)\s*(.+))?$`)
	inchSeries = regexp.MustCompile(`^(.+?)\s*(unc|unf|coarse|fine|national coarse|national fine)(?:\s*(?:x|by)\s*(.+))?$`)
)

// ParseDesignation reads a thread printed or said: "M8", "M8x1",
// "M10x1.25x30", "M eight by one twenty-five" (M8x1.25), "ten by one
// twenty-five", "eight mil by twenty-five" (M8, 25 mm long), "3/8-16 UNC",
// "quarter twenty", "#10-32", each with a class behind it if wanted ("M8 10.9",
// "3/8-16 grade 5"). After "by", 125 is a pitch of 1.25 where the diameter has
// one; after a printed x it is a length. A bare "ten" is no thread: it may be
// the wrench, and the error says so.
func ParseDesignation(text string) (Designation, error) {
	d, err := parseDesignation(text)
	if err != nil {
		return Designation{}, fmt.Errorf("read thread %q: %w", text, err)
	}
	d.Said = strings.TrimSpace(text)
	return d, nil
}

func parseDesignation(text string) (Designation, error) {
	s := strings.ToLower(strings.Join(strings.Fields(text), " "))
	s = strings.NewReplacer("×", "x", "*", "x", "–", "-", "−", "-", "″", `"`).Replace(s)
	if len(s) > 100 {
		return Designation{}, fmt.Errorf("%d bytes are no designation", len(s))
	}
	if s == "" {
		return Designation{}, fmt.Errorf("nothing given; write it like M8, M8x1 or 3/8-16")
	}
	class := ""
	if m := classAtEnd.FindStringSubmatch(s); m != nil && m[1] != "" {
		c, err := ParseClass(strings.TrimLeft(s[len(m[1]):], " ,;-"))
		if err != nil {
			return Designation{}, err
		}
		class, s = c.Name, strings.TrimSpace(m[1])
	}
	for _, read := range []func(string) (Designation, bool, error){readInch, readMetric, readInchWords, readMetricWords} {
		d, ok, err := read(s)
		if err != nil {
			return Designation{}, err
		}
		if ok {
			d.Class = class
			return d, nil
		}
	}
	if v, err := measure.ParseNumber(s); err == nil {
		if n, ok := inchNominal(s); ok && n[0] != '#' {
			return Designation{}, fmt.Errorf("is that the thread or the wrench? Write %s UNC or %s UNF for the thread", n, n)
		}
		return Designation{}, fmt.Errorf("is that the thread or the wrench? Write M%s for the thread", short(v))
	}
	return Designation{}, fmt.Errorf("no thread in it; write it like M8, M8x1, M10x1.25x30, 3/8-16 or #10-32")
}

// readInch reads print like 3/8-16, 3/8-16 UNC x 1-1/2, #10-32, 10-24.
func readInch(s string) (Designation, bool, error) {
	m := inchThread.FindStringSubmatch(s)
	if m == nil {
		return Designation{}, false, nil
	}
	nominal := m[2]
	if !strings.Contains(nominal, "/") {
		nominal = "#" + nominal
	}
	tpi, err := strconv.ParseFloat(m[3], 64)
	if err != nil {
		return Designation{}, false, err
	}
	return inchWithLength(nominal, tpi, seriesOf(m[4]), m[5])
}

// readInchWords reads "quarter twenty", "three eighths sixteen", "half inch
// UNF", "number ten thirty-two", "ten thirty-two".
func readInchWords(s string) (Designation, bool, error) {
	if m := inchSeries.FindStringSubmatch(s); m != nil {
		if n, tpi, ok := nominalAndCount(m[1]); ok {
			return inchWithLength(n, tpi, seriesOf(m[2]), m[3])
		}
	}
	head, length, _ := cutBy(s)
	n, tpi, ok := nominalAndCount(head)
	if !ok || tpi == 0 {
		return Designation{}, false, nil
	}
	return inchWithLength(n, tpi, "", length)
}

func seriesOf(word string) string {
	switch word {
	case "unc", "coarse", "national coarse":
		return "UNC"
	case "unf", "fine", "national fine":
		return "UNF"
	}
	return ""
}

func inchWithLength(nominal string, tpi float64, series, length string) (Designation, bool, error) {
	t, err := unifiedOf(nominal, tpi, series)
	if err != nil {
		return Designation{}, false, err
	}
	d := Designation{Thread: t}
	if strings.TrimSpace(length) == "" {
		return d, true, nil
	}
	v, err := lengthNumber(length, measure.Inch)
	if err != nil {
		return Designation{}, false, err
	}
	d.Length = v
	return d, true, nil
}

// nominalAndCount splits words into an inch size and the threads an inch (0: not said).
func nominalAndCount(s string) (nominal string, tpi float64, ok bool) {
	s = strings.NewReplacer(" inch", "", " in.", "", `"`, "", "-", " ").Replace(s)
	s = strings.TrimSpace(s)
	words := strings.Fields(s)
	for i := len(words); i >= 1; i-- {
		n, ok := inchNominal(strings.Join(words[:i], " "))
		if !ok {
			continue
		}
		if i == len(words) {
			return n, 0, true
		}
		v, err := measure.ParseNumber(strings.Join(words[i:], " "))
		if err == nil && v >= 8 && v <= 80 && v == float64(int(v)) {
			return n, v, true
		}
	}
	return "", 0, false
}

func inchNominal(words string) (string, bool) {
	for _, p := range []string{"#", "number ", "no. ", "no "} {
		if rest, ok := strings.CutPrefix(words, p); ok {
			v, err := measure.ParseNumber(rest)
			return "#" + short(v), err == nil && v == 10
		}
	}
	if words == "ten" || words == "10" {
		return "#10", true
	}
	v, err := measure.ParseNumber(words)
	if err != nil {
		return "", false
	}
	for _, r := range unifiedRows {
		if r.nominal[0] != '#' && r.d == v {
			return r.nominal, true
		}
	}
	return "", false
}

// readMetric reads everything that starts with M.
func readMetric(s string) (Designation, bool, error) {
	m := mThread.FindStringSubmatch(s)
	if m == nil {
		return Designation{}, false, nil
	}
	head, rest, sep := cutBy(m[1])
	size, fine := strings.CutSuffix(strings.TrimSpace(head), " fine")
	size = strings.TrimSuffix(size, " coarse")
	v, err := measure.ParseNumber(size)
	if err != nil {
		return Designation{}, false, nil
	}
	if !fine {
		return metricWith(v, sep, rest)
	}
	p, err := finePitch(v)
	if err != nil {
		return Designation{}, false, err
	}
	if rest == "" {
		return metricWith(v, "x", short(p))
	}
	return metricWith(v, "x", short(p)+"x"+rest)
}

// finePitch is the one fine pitch of a diameter; several must be told apart.
func finePitch(d float64) (float64, error) {
	for _, r := range metricRows {
		if r.d != d {
			continue
		}
		switch len(r.pitches) {
		case 1:
			return 0, fmt.Errorf("the thread M%s has no fine pitch in the tables", short(d))
		case 2:
			return r.pitches[1], nil
		}
		return 0, fmt.Errorf("the thread M%s has several fine pitches: say M%s by %s or by %s", short(d), short(d), short(r.pitches[1]), short(r.pitches[2]))
	}
	return 0, fmt.Errorf("the thread M%s is not in the tables, which run from M3 to M24", short(d))
}

// readMetricWords reads "ten by one twenty-five", "eight mil by twenty-five".
func readMetricWords(s string) (Designation, bool, error) {
	head, rest, sep := cutBy(s)
	if sep == "" {
		return Designation{}, false, nil
	}
	head = strings.TrimSpace(head)
	for _, unit := range []string{" mil", " mm", "mm", " millimetre", " millimeter"} {
		head = strings.TrimSuffix(head, unit)
	}
	v, err := measure.ParseNumber(head)
	if err != nil {
		return Designation{}, false, nil
	}
	return metricWith(v, sep, rest)
}

// cutBy cuts at the first "by", or "x" or "-" beside a digit; "six" is left whole.
func cutBy(s string) (before, after, sep string) {
	at, n, sep := len(s), 0, ""
	for _, p := range []string{" by ", " x "} {
		if i := strings.Index(s, p); i >= 0 && i < at {
			at, n, sep = i, len(p), strings.TrimSpace(p)
		}
	}
	for i := 1; i < len(s) && i < at; i++ {
		if (s[i] == 'x' || s[i] == '-') && isDigit(s[i-1]) && i+1 < len(s) && (isDigit(s[i+1]) || s[i+1] == ' ' || s[i+1] == '.') {
			at, n, sep = i, 1, "x"
		}
	}
	if sep == "" {
		return s, "", ""
	}
	return s[:at], s[at+n:], sep
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// metricWith adds what stands behind the diameter: a pitch, a length, or both.
func metricWith(d float64, sep, rest string) (Designation, bool, error) {
	if rest = strings.TrimSpace(rest); rest == "" {
		t, err := metricOf(d, 0)
		return Designation{Thread: t}, err == nil, err
	}
	first, second, sep2 := cutBy(rest)
	if sep2 != "" && strings.TrimSpace(second) == "" {
		return Designation{}, false, fmt.Errorf("nothing is said after the last %q", sep2)
	}
	spoken := sep == "by"
	q, err := lengthNumber(first, measure.Millimetre)
	if err != nil {
		return Designation{}, false, err
	}
	if pitch, ok := asPitch(d, q.Amount, spoken, sep2 != ""); ok {
		t, err := metricOf(d, pitch)
		if err != nil {
			return Designation{}, false, err
		}
		out := Designation{Thread: t}
		if second != "" {
			if out.Length, err = lengthNumber(second, measure.Millimetre); err != nil {
				return Designation{}, false, err
			}
		}
		return out, true, nil
	}
	if second != "" {
		return Designation{}, false, fmt.Errorf("%s is no pitch of M%s", q, short(d))
	}
	t, err := metricOf(d, 0)
	if err != nil {
		return Designation{}, false, err
	}
	if mm, err := q.Millimetres(); err != nil || float64(mm) < d/2 {
		return Designation{}, false, fmt.Errorf("%s is neither a pitch nor a length of M%s", q, short(d))
	}
	return Designation{Thread: t, Length: q}, true, nil
}

// asPitch tells whether v behind the diameter is a pitch. After a spoken "by",
// 125 counts as 1.25 where the diameter has that pitch.
func asPitch(d, v float64, spoken, lengthFollows bool) (float64, bool) {
	for _, r := range metricRows {
		if r.d != d {
			continue
		}
		for _, p := range r.pitches {
			if v == p || (spoken || lengthFollows) && v == 100*p && v > 100 {
				return p, true
			}
		}
		if v < 3.5 && v < r.pitches[0] {
			return v, true
		}
	}
	return v, lengthFollows && v <= 6
}

func lengthNumber(text string, unit measure.Unit) (measure.Quantity, error) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), " long"))
	text = strings.TrimSuffix(text, " mil")
	q := measure.Quantity{Unit: unit}
	v, err := measure.ParseNumber(text)
	if err == nil {
		q.Amount = v
	} else {
		given, gerr := measure.ParseAs(measure.Length, text)
		if gerr != nil {
			return measure.Quantity{}, err
		}
		if q, gerr = given.In(unit); gerr != nil {
			return measure.Quantity{}, gerr
		}
		q.Said, q.Tolerance = "", 0
	}
	if !(q.Amount > 0) || q.Amount > 1e4 {
		return measure.Quantity{}, fmt.Errorf("a length or pitch of %s", q)
	}
	return q, nil
}
