package fastening

import (
	"fmt"
	"regexp"
	"strings"

	"putback/jobs/measure"
)

// Class is a strength class for threads up to a diameter.
type Class struct {
	Name     string // "8.8", "grade 5", "A2-70"
	Standard string // "ISO 898-1", "SAE J429", "ISO 3506"
	UpTo     measure.Millimetres
	Tensile  measure.Megapascals
	Yield    measure.Megapascals
	Proof    measure.Megapascals
	HeadMark string // what stands on the head
	Source   string
}

const ksi = 6.894757293168 // MPa

// classRows: the smaller diameters of a class stand first. UpTo 0: no limit in
// the tables used here.
var classRows = []Class{
	{"4.6", "ISO 898-1", 0, 400, 240, 225, "4.6", srcISO898},
	{"4.8", "ISO 898-1", 0, 420, 340, 310, "4.8", srcISO898},
	{"5.6", "ISO 898-1", 0, 500, 300, 280, "5.6", srcISO898},
	{"5.8", "ISO 898-1", 0, 520, 420, 380, "5.8", srcISO898},
	{"6.8", "ISO 898-1", 0, 600, 480, 440, "6.8", srcISO898},
	{"8.8", "ISO 898-1", 16, 800, 640, 580, "8.8", srcISO898},
	{"8.8", "ISO 898-1", 0, 830, 660, 600, "8.8", srcISO898},
	{"9.8", "ISO 898-1", 16, 900, 720, 650, "9.8", srcISO898},
	{"10.9", "ISO 898-1", 0, 1040, 940, 830, "10.9", srcISO898},
	{"12.9", "ISO 898-1", 0, 1220, 1100, 970, "12.9", srcISO898},
	// ISO 3506 gives no proof load; the 0.2 % proof stress stands in for it.
	{"A2-70", "ISO 3506", 0, 700, 450, 450, "A2-70", srcISO3506},
	{"grade 2", "SAE J429", 19.05, 74 * ksi, 57 * ksi, 55 * ksi, "no mark", srcSAE},
	{"grade 5", "SAE J429", 25.4, 120 * ksi, 92 * ksi, 85 * ksi, "3 lines", srcSAE},
	{"grade 8", "SAE J429", 38.1, 150 * ksi, 130 * ksi, 120 * ksi, "6 lines", srcSAE},
}

// Classes lists every row of the class table.
func Classes() []Class { return append([]Class(nil), classRows...) }

var gradeWords = regexp.MustCompile(`^(?:sae\s+)?(?:j429\s+)?(?:grade|gr\.?)\s*(\S+)$`)

// ParseClass reads a strength class, printed or said: "8.8", "class 10.9",
// "eight point eight", "ten nine", "grade five", "SAE 8", "A2-70". For a class
// of several rows the first is returned; [Class.For] takes the one for a thread.
func ParseClass(text string) (Class, error) {
	s := strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, p := range []string{"property class ", "strength class ", "class "} {
		s = strings.TrimPrefix(s, p)
	}
	if m := gradeWords.FindStringSubmatch(s); m != nil {
		return gradeNumbered(m[1], text)
	}
	if rest, ok := strings.CutPrefix(s, "sae "); ok {
		return gradeNumbered(rest, text)
	}
	switch strings.NewReplacer(" ", "", "-", "").Replace(s) {
	case "a270", "atwoseventy", "stainless", "a2":
		s = "A2-70"
	case "fourpointsix", "foursix":
		s = "4.6"
	case "fourpointeight", "foureight":
		s = "4.8"
	case "fivepointsix", "fivesix":
		s = "5.6"
	case "fivepointeight", "fiveeight":
		s = "5.8"
	case "sixpointeight", "sixeight":
		s = "6.8"
	case "eightpointeight", "eighteight", "88":
		s = "8.8"
	case "ninepointeight", "nineeight":
		s = "9.8"
	case "tenpointnine", "tennine", "109":
		s = "10.9"
	case "twelvepointnine", "twelvenine", "129":
		s = "12.9"
	}
	for _, c := range classRows {
		if c.Name == s {
			return c, nil
		}
	}
	return Class{}, fmt.Errorf("read strength class %q: not in the tables; write it like 8.8, 10.9, A2-70 or grade 5", text)
}

func gradeNumbered(word, text string) (Class, error) {
	if v, err := measure.ParseNumber(strings.TrimPrefix(word, "grade ")); err == nil {
		for _, c := range classRows {
			if c.Name == "grade "+short(v) {
				return c, nil
			}
		}
	}
	return Class{}, fmt.Errorf("read strength class %q: SAE grades 2, 5 and 8 are in the tables", text)
}

// For is the row of the class that holds for a thread: 8.8 is 580 MPa proof up
// to M16 and 600 above. The error says that the class ends below the thread.
func (c Class) For(t Thread) (Class, error) {
	for _, r := range classRows {
		if r.Name == c.Name && (r.UpTo == 0 || t.Diameter <= r.UpTo+0.001) {
			return r, nil
		}
	}
	return Class{}, fmt.Errorf("class %s is not made in %s", c.Name, t)
}

// assumedClass is taken where nobody knows the class: 8.8, for inch threads
// grade 5, which is as strong.
func assumedClass(t Thread) string {
	if t.System == Unified {
		return "grade 5"
	}
	return "8.8"
}

// assumption says which class was taken.
func assumption(class string) string { return classWords(class) + " taken for granted" }

// classWords is "class 8.8" or "grade 5".
func classWords(class string) string {
	if strings.HasPrefix(class, "grade") {
		return class
	}
	return "class " + class
}

// bolt is a thread in a known class.
type bolt struct {
	Thread Thread
	Class  Class
}

func newBolt(t Thread, className string) (bolt, error) {
	c, err := ParseClass(className)
	if err != nil {
		return bolt{}, err
	}
	if c, err = c.For(t); err != nil {
		return bolt{}, err
	}
	return bolt{t, c}, nil
}

// Strength is what a bolt carries.
type Strength struct {
	Proof, Yield, Breaking measure.Newtons
	Class                  Class
}

// StrengthOf gives proof, yield and breaking load of a thread in a class:
// stress area times the class's stresses. Source: ISO 898-1 and SAE J429.
func StrengthOf(t Thread, class string) (Strength, error) {
	b, err := newBolt(t, class)
	if err != nil {
		return Strength{}, fmt.Errorf("strength of %s: %w", t, err)
	}
	return b.strength(), nil
}

func (b bolt) strength() Strength {
	as := float64(b.Thread.StressArea())
	return Strength{
		Proof:    measure.Newtons(as * float64(b.Class.Proof)),
		Yield:    measure.Newtons(as * float64(b.Class.Yield)),
		Breaking: measure.Newtons(as * float64(b.Class.Tensile)),
		Class:    b.Class,
	}
}
