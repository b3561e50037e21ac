package measure

import (
	"fmt"
	"sort"
	"strings"
)

// The exact definitions everything else is computed from.
// Source: NIST SP 811 Appendix B; checked against PyPI pint 0.25.3.
const (
	standardGravity = 9.80665    // m/s²
	poundMass       = 0.45359237 // kg
	inchLength      = 0.0254     // m
	poundForce      = poundMass * standardGravity
	usGallon        = 231 * inchLength * inchLength * inchLength // m³
	imperialGallon  = 4.54609e-3                                 // m³, UK Units of Measurement Regulations 1995
	piValue         = 3.14159265358979323846264338327950288419716939937510582097494459
)

// The units of the table, for use in code. Their Symbol is the key.
var (
	NewtonMetre         = Unit{"N·m"}
	FootPound           = Unit{"lbf·ft"}
	InchPound           = Unit{"lbf·in"}
	KilogramMetre       = Unit{"kgf·m"}
	KilogramCentimetre  = Unit{"kgf·cm"}
	OunceInch           = Unit{"ozf·in"}
	DecinewtonMetre     = Unit{"dN·m"}
	DecanewtonMetre     = Unit{"daN·m"}
	NewtonCentimetre    = Unit{"N·cm"}
	Millimetre          = Unit{"mm"}
	Metre               = Unit{"m"}
	Centimetre          = Unit{"cm"}
	Inch                = Unit{"in"}
	Foot                = Unit{"ft"}
	Thou                = Unit{"thou"}
	Micrometre          = Unit{"µm"}
	Litre               = Unit{"L"}
	Millilitre          = Unit{"mL"}
	USQuart             = Unit{"US qt"}
	USPint              = Unit{"US pt"}
	USGallon            = Unit{"US gal"}
	ImperialQuart       = Unit{"imp qt"}
	ImperialPint        = Unit{"imp pt"}
	ImperialGallon      = Unit{"imp gal"}
	PSI                 = Unit{"psi"}
	Bar                 = Unit{"bar"}
	Kilopascal          = Unit{"kPa"}
	KilogramPerSquareCm = Unit{"kgf/cm²"}
	Celsius             = Unit{"°C"}
	Fahrenheit          = Unit{"°F"}
	Degree              = Unit{"°"}
	Radian              = Unit{"rad"}
	Turn                = Unit{"turn"}
	Kilogram            = Unit{"kg"}
	Gram                = Unit{"g"}
	Pound               = Unit{"lb"}
	Second              = Unit{"s"}
	Minute              = Unit{"min"}
	Hour                = Unit{"h"}
	Newton              = Unit{"N"}
	Kilonewton          = Unit{"kN"}
	PoundForce          = Unit{"lbf"}
)

// row is one unit: its size in SI, how it is said, and every other way it is
// written or spoken. Ways that could mean another unit stand in doubtful instead.
type row struct {
	unit      Unit
	dim       Dimension
	scale     float64 // SI per unit
	offset    float64 // SI at zero, temperatures only
	one, many string  // for the ear
	also      []string
}

var table = []row{
	{NewtonMetre, Torque, 1, 0, "newton metre", "newton metres",
		[]string{"Nm", "N.m", "N-m", "newton meter", "newton meters", "newtonmeter", "newtonmeters", "newtonmetre", "newtonmetres"}},
	{FootPound, Torque, poundForce * 12 * inchLength, 0, "foot-pound", "foot-pounds",
		[]string{"lb·ft", "lbs·ft", "lbft", "lbfft", "lbf ft", "ft·lb", "ft lbs", "ft/lbs", "ft·lbf", "ftlb", "ftlbs", "foot pound", "foot pounds",
			"foot lb", "foot lbs", "feet pounds", "pound foot", "pound feet", "pounds feet", "pounds foot", "pound-force foot", "pound-force feet", "footpound", "footpounds", "pounds-feet"}},
	{InchPound, Torque, poundForce * inchLength, 0, "inch-pound", "inch-pounds",
		[]string{"lb·in", "lbs·in", "lbin", "lbfin", "in·lb", "in lbs", "in/lbs", "in·lbf", "inlb", "inlbs", "inch pound", "inch pounds",
			"inch lb", "inch lbs", "pound inch", "pound inches", "pounds inch", "pounds inches", "inches pounds", "pound-force inch", "pound-force inches", "inchpound", "inchpounds"}},
	{KilogramMetre, Torque, standardGravity, 0, "kilogram metre", "kilogram metres",
		[]string{"kg·m", "kgm", "kgfm", "m·kg", "mkg", "m·kgf", "mkgf", "kgf/m", "kg/m", "kilogram meter", "kilogram meters", "kilogram-force metre", "kilogram-force metres",
			"kilogram-force meter", "kilogram-force meters", "kilo metres force", "kilopond metre", "kilopond metres", "kpm", "kp·m", "metre kilograms", "meter kilograms", "metre kilos", "meter kilos"}},
	{KilogramCentimetre, Torque, standardGravity / 100, 0, "kilogram centimetre", "kilogram centimetres",
		[]string{"kg·cm", "kgcm", "kgfcm", "cm·kg", "cmkg", "cm·kgf", "kgf/cm", "kg/cm", "kilogram centimeter", "kilogram centimeters", "kilogram-force centimetre", "kilogram-force centimetres",
			"kilogram-force centimeter", "kilogram-force centimeters"}},
	{OunceInch, Torque, poundForce / 16 * inchLength, 0, "inch-ounce", "inch-ounces",
		[]string{"oz·in", "ozin", "in·oz", "in·ozf", "inoz", "ounce inch", "ounce inches", "inch ounce", "inch ounces", "ounces inch"}},
	{DecinewtonMetre, Torque, 0.1, 0, "decinewton metre", "decinewton metres", []string{"dNm", "decinewton meter", "decinewton meters"}},
	{DecanewtonMetre, Torque, 10, 0, "decanewton metre", "decanewton metres", []string{"daNm", "decanewton meter", "decanewton meters", "deca newton metre", "deca newton metres"}},
	{NewtonCentimetre, Torque, 0.01, 0, "newton centimetre", "newton centimetres", []string{"Ncm", "newton centimeter", "newton centimeters"}},

	{Millimetre, Length, 1e-3, 0, "millimetre", "millimetres", []string{"millimeter", "millimeters", "mms"}},
	{Metre, Length, 1, 0, "metre", "metres", []string{"meter", "meters"}},
	{Centimetre, Length, 1e-2, 0, "centimetre", "centimetres", []string{"centimeter", "centimeters", "cms"}},
	{Inch, Length, inchLength, 0, "inch", "inches", []string{"ins", "″"}},
	{Foot, Length, 12 * inchLength, 0, "foot", "feet", []string{"′"}},
	{Thou, Length, inchLength / 1000, 0, "thou", "thou", []string{"thous", "thousandth", "thousandths", "thousandth of an inch", "thousandths of an inch"}},
	{Micrometre, Length, 1e-6, 0, "micron", "microns", []string{"um", "micrometre", "micrometres", "micrometer", "micrometers"}},

	{Litre, Volume, 1e-3, 0, "litre", "litres", []string{"liter", "liters", "ltr", "ltrs", "lt"}},
	{Millilitre, Volume, 1e-6, 0, "millilitre", "millilitres", []string{"milliliter", "milliliters", "mls", "cc", "ccs", "cm3", "cubic centimetre", "cubic centimetres", "cubic centimeters"}},
	{USQuart, Volume, usGallon / 4, 0, "US quart", "US quarts", []string{"US quart", "American quart", "American quarts", "quart US", "quarts US", "qt US"}},
	{USPint, Volume, usGallon / 8, 0, "US pint", "US pints", []string{"American pint", "American pints", "pint US", "pints US", "pt US"}},
	{USGallon, Volume, usGallon, 0, "US gallon", "US gallons", []string{"American gallon", "American gallons", "gallon US", "gallons US", "gal US"}},
	{ImperialQuart, Volume, imperialGallon / 4, 0, "imperial quart", "imperial quarts", []string{"UK quart", "UK quarts", "UK qt", "British quart", "British quarts", "imperial qt"}},
	{ImperialPint, Volume, imperialGallon / 8, 0, "imperial pint", "imperial pints", []string{"UK pint", "UK pints", "UK pt", "British pint", "British pints", "imperial pt"}},
	{ImperialGallon, Volume, imperialGallon, 0, "imperial gallon", "imperial gallons", []string{"UK gallon", "UK gallons", "UK gal", "British gallon", "British gallons", "imperial gal"}},

	{PSI, Pressure, poundForce / (inchLength * inchLength), 0, "psi", "psi",
		[]string{"p s i", "lbf/in2", "lb/in2", "lbs/in2", "pound per square inch", "pounds per square inch", "pounds pressure"}},
	{Bar, Pressure, 1e5, 0, "bar", "bar", []string{"bars"}},
	{Kilopascal, Pressure, 1e3, 0, "kilopascal", "kilopascals", []string{"k p a", "kilo pascal", "kilo pascals"}},
	{KilogramPerSquareCm, Pressure, standardGravity * 1e4, 0, "kilogram per square centimetre", "kilograms per square centimetre",
		[]string{"kg/cm2", "kgf/cm2", "kilos per square centimetre", "kilos per square centimeter", "kilograms per square centimeter", "kilogram per square centimeter"}},

	{Celsius, Temperature, 1, 273.15, "degree Celsius", "degrees Celsius", []string{"C", "deg C", "degC", "degrees C", "Celsius", "centigrade", "degree centigrade", "degrees centigrade"}},
	{Fahrenheit, Temperature, 5.0 / 9, 459.67 * 5 / 9, "degree Fahrenheit", "degrees Fahrenheit", []string{"F", "deg F", "degF", "degrees F", "Fahrenheit"}},

	{Degree, Angle, piValue / 180, 0, "degree", "degrees", []string{"deg", "degs"}},
	{Radian, Angle, 1, 0, "radian", "radians", []string{"rads"}},
	{Turn, Angle, 2 * piValue, 0, "turn", "turns", []string{"rev", "revs", "revolution", "revolutions", "full turn", "full turns"}},

	{Kilogram, Mass, 1, 0, "kilogram", "kilograms", []string{"kgs", "kilogramme", "kilogrammes"}},
	{Gram, Mass, 1e-3, 0, "gram", "grams", []string{"gramme", "grammes"}},
	{Pound, Mass, poundMass, 0, "pound", "pounds", []string{"pounds mass", "pounds weight", "lbm"}},

	{Second, Time, 1, 0, "second", "seconds", []string{"sec", "secs"}},
	{Minute, Time, 60, 0, "minute", "minutes", []string{"mins"}},
	{Hour, Time, 3600, 0, "hour", "hours", []string{"hr", "hrs"}},

	{Newton, Force, 1, 0, "newton", "newtons", nil},
	{Kilonewton, Force, 1e3, 0, "kilonewton", "kilonewtons", []string{"kilo newton", "kilo newtons"}},
	{PoundForce, Force, poundForce, 0, "pound-force", "pounds-force", []string{"pounds force", "pounds of force", "pound force", "lbsf"}},
}

// doubt is a word of the shop that names more than one unit.
type doubt struct {
	words   []string
	settled map[Dimension][]Unit // what it can be when the dimension is known
	unsaid  []Unit               // what it can be when it is not
}

// doubtful lists the words of trade practice that must not be guessed, and the
// two ("newtons", "kilos") that practice does settle: a torque when nothing
// else is said. Common practice, no source; "mil": see PyPI pint, where it is
// an angle, and US against European usage.
var doubtful = []doubt{
	{words: []string{"pounds", "pound", "lbs", "#"},
		settled: map[Dimension][]Unit{Torque: {FootPound, InchPound}, Mass: {Pound}, Force: {PoundForce}, Pressure: {PSI}},
		unsaid:  []Unit{FootPound, InchPound}},
	{words: []string{"mil", "mils"},
		settled: map[Dimension][]Unit{Length: {Millimetre, Thou}, Volume: {Millilitre}},
		unsaid:  []Unit{Millimetre, Thou}},
	{words: []string{"quart", "quarts", "qt", "qts"},
		settled: map[Dimension][]Unit{Volume: {USQuart, ImperialQuart}}, unsaid: []Unit{USQuart, ImperialQuart}},
	{words: []string{"pint", "pints", "pt", "pts"},
		settled: map[Dimension][]Unit{Volume: {USPint, ImperialPint}}, unsaid: []Unit{USPint, ImperialPint}},
	{words: []string{"gallon", "gallons", "gal", "gals"},
		settled: map[Dimension][]Unit{Volume: {USGallon, ImperialGallon}}, unsaid: []Unit{USGallon, ImperialGallon}},
	{words: []string{"newtons", "newton"},
		settled: map[Dimension][]Unit{Torque: {NewtonMetre}, Force: {Newton}}, unsaid: []Unit{NewtonMetre}},
	{words: []string{"kilos", "kilo"},
		settled: map[Dimension][]Unit{Torque: {KilogramMetre}, Mass: {Kilogram}, Pressure: {KilogramPerSquareCm}}, unsaid: []Unit{KilogramMetre}},
	{words: []string{"kg", "kilograms", "kilogram"},
		settled: map[Dimension][]Unit{Torque: {KilogramMetre}, Mass: {Kilogram}, Pressure: {KilogramPerSquareCm}}, unsaid: []Unit{Kilogram}},
	{words: []string{"degrees", "degree", "°", "deg"},
		settled: map[Dimension][]Unit{Angle: {Degree}, Temperature: {Celsius, Fahrenheit}}, unsaid: []Unit{Degree}},
	{words: []string{"N"},
		settled: map[Dimension][]Unit{Torque: {NewtonMetre}, Force: {Newton}}, unsaid: []Unit{Newton}},
}

var (
	bySymbol   = map[string]*row{}
	byWords    = map[string]Unit{}
	byDoubt    = map[string]*doubt{}
	longestKey int // in tokens
)

func init() {
	note := func(words string, u Unit) {
		k := unitKey(words)
		byWords[k] = u
		longestKey = max(longestKey, strings.Count(k, " ")+1)
	}
	for i := range table {
		r := &table[i]
		bySymbol[r.unit.Symbol] = r
		for _, w := range append([]string{r.unit.Symbol, r.one, r.many}, r.also...) {
			note(w, r.unit)
		}
	}
	for i := range doubtful {
		for _, w := range doubtful[i].words {
			byDoubt[unitKey(w)] = &doubtful[i]
		}
	}
}

// Units lists every unit of the table, in the table's order.
func Units() []Unit {
	out := make([]Unit, len(table))
	for i, r := range table {
		out[i] = r.unit
	}
	return out
}

// Spellings lists every printed and spoken form ParseUnit takes for u, in
// lower case with single spaces, shortest first; forms that must be asked
// about ("pounds") are not among them. Nil for an unknown unit.
func Spellings(u Unit) []string {
	var out []string
	for k, v := range byWords {
		if v == u {
			out = append(out, k)
		}
	}
	sort.Slice(out, func(i, j int) bool {
		if len(out[i]) != len(out[j]) {
			return len(out[i]) < len(out[j])
		}
		return out[i] < out[j]
	})
	return out
}

// ParseUnit reads a printed or spoken unit: "N·m", "ft-lbs", "inch pounds".
// A word that names several units ("pounds", "mil", "quarts") gives an
// [*AskError] whose Units are the choices; an unknown one a plain error.
func ParseUnit(text string) (Unit, error) { return ParseUnitAs("", text) }

// ParseUnitAs is [ParseUnit] with the dimension known, which settles most
// doubts: "pounds" as [Mass] is lb. The empty Dimension settles nothing.
func ParseUnitAs(dim Dimension, text string) (Unit, error) {
	if err := checkLength(text); err != nil {
		return Unit{}, err
	}
	if r, ok := bySymbol[strings.TrimSpace(text)]; ok && (dim == "" || r.dim == dim) {
		return r.unit, nil
	}
	us := lookUnit(unitKey(text), dim)
	switch len(us) {
	case 0:
		return Unit{}, fmt.Errorf("read unit %q: no such unit%s; write it like N·m, lbf·ft, mm or psi", text, ofDimension(dim))
	case 1:
		return us[0], nil
	}
	return Unit{}, &AskError{Heard: text, Question: eitherOf(us) + "?", Units: us}
}

// Dimension says what u measures, "" for the zero or an unknown Unit.
func (u Unit) Dimension() Dimension {
	if r, ok := bySymbol[u.Symbol]; ok {
		return r.dim
	}
	return ""
}

// Words is the unit for the ear, in the number that goes with amount: 1 →
// "newton metre", else "newton metres". An unknown unit gives its Symbol.
func (u Unit) Words(amount float64) string {
	r, ok := bySymbol[u.Symbol]
	if !ok {
		return u.Symbol
	}
	if amount == 1 {
		return r.one
	}
	return r.many
}

// String is the symbol.
func (u Unit) String() string { return u.Symbol }

// MarshalText makes a Unit a plain string in JSON and YAML.
func (u Unit) MarshalText() ([]byte, error) { return []byte(u.Symbol), nil }

// UnmarshalText reads a unit as [ParseUnit] does; empty text is the zero Unit.
func (u *Unit) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*u = Unit{}
		return nil
	}
	got, err := ParseUnit(string(text))
	if err != nil {
		return err
	}
	*u = got
	return nil
}

// lookUnit gives every unit the key can mean under dim ("": any).
func lookUnit(key string, dim Dimension) []Unit {
	if d, ok := byDoubt[key]; ok {
		if dim == "" {
			return d.unsaid
		}
		if us := d.settled[dim]; us != nil {
			return us
		}
	}
	if u, ok := byWords[key]; ok && (dim == "" || u.Dimension() == dim) {
		return []Unit{u}
	}
	return nil
}

func ofDimension(dim Dimension) string {
	if dim == "" {
		return ""
	}
	return " of " + string(dim)
}

// eitherOf is "foot-pounds or inch-pounds".
func eitherOf(us []Unit) string {
	words := make([]string, len(us))
	for i, u := range us {
		words[i] = u.Words(2)
	}
	return orList(words)
}

func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
