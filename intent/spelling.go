package intent

import (
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"
)

// mode says how the word before was written, which decides how the next one may
// join it: "one" written "1" may be followed by "thirty" written "3", which
// then still owes its last digit.
type mode uint8

const (
	modeGap      mode = iota // in letters: a gap must follow
	modeTight                // nothing may stand between
	modeEither               // a gap or nothing
	modeUnit                 // in digits, ended by 1 … 9 or 0 standing for itself
	modeTeen                 // in digits, ended by two digits
	modeTens                 // in digits, ended by a round ten
	modeBig                  // in digits, ended by round hundreds or thousands
	modeOweUnit              // "thirty" written "3", its unit to come
	modeOweTwo               // "one hundred" written "1", two digits to come
	modeOweThree             // "one thousand" written "1", three digits to come
	modeHundreds             // "one thousand two" written "12", "hundred" to come
	modePoint                // a decimal point, digits to come
	modeDecimals             // digits after the point
	modeArticle              // "a" written "1", a fraction or "hundred" to come
	modeMixed                // "three and" written "3", a fraction to come
	modeMixedA               // "three and a" written "3", a fraction to come
	modeFraction             // 9/16
	modeStart                // before the first word
	modeFree                 // after free speech: nothing may follow
	modeClitic               // in letters, and 's or the like must join it
	modeOverOne              // a numerator, its fraction word to come: see numerators
	modeOverEven
	modeOverThree
	modeOverSeven
	modeOverNine
	modeOverMore
	modeCount
)

// A place keeps its mode in five bits, a network's node the modes in thirty-two.
const _ = 32 - uint(modeCount)

// complete reports whether a sentence may stop here and a gap may follow.
func (m mode) complete() bool {
	switch m {
	case modeGap, modeEither, modeUnit, modeTeen, modeTens, modeBig, modeDecimals, modeFraction, modeStart, modeFree:
		return true
	}
	return false
}

// joining is the mode by which a word may join without a gap; modeStart: none may.
func (m mode) joining() mode {
	if m == modeGap {
		return modeClitic
	}
	return m
}

// inDigits are the complete modes that end in a digit: a unit may join them.
var inDigits = []mode{modeUnit, modeTeen, modeTens, modeBig, modeDecimals, modeFraction, modeEither}

// spelling is one way to write a word, lower case.
type spelling struct {
	after  mode // how the word before must have been written
	text   string
	leaves mode
}

// spellings lists the ways to write a word: with and without apostrophe and
// hyphen, British and American, joined and parted, in digits and in letters.
// The word itself comes first.
func spellings(word string) []spelling {
	var out []spelling
	if strings.HasPrefix(word, "'") { // "the pump's off": joins the word before
		for _, apostrophe := range []string{"'", "’"} {
			for _, m := range append([]mode{modeClitic}, inDigits...) {
				out = append(out, spelling{m, apostrophe + word[1:], modeGap})
			}
		}
		return out
	}
	for _, t := range letterForms(word) {
		leaves := modeGap
		if c := t[len(t)-1]; c >= '0' && c <= '9' || len(t) == 1 && t != "a" && t != "i" {
			leaves = modeEither // M8, T30, N M
		}
		out = append(out, spelling{modeGap, t, leaves})
	}
	out = append(out, numerals[word]...)
	if strings.Contains("¾⅔⅜⅝⅞", word) { // "2¾"
		for _, m := range inDigits {
			out = append(out, spelling{m, word, modeFraction}, spelling{m, "-" + word, modeFraction})
		}
	}
	for _, short := range abbreviations[word] {
		// A lone letter or "in" would be mistaken for a word of its own.
		if len(short) > 1 && short != "in" || short == "&" {
			out = append(out, spelling{modeGap, short, modeGap})
		}
		for _, m := range inDigits {
			out = append(out, spelling{m, short, modeGap})
		}
	}
	return out
}

// letterForms gives the ways to write a word without reading it as a number,
// the word itself first.
func letterForms(word string) []string {
	set := map[string]bool{}
	list := []string{}
	add := func(s string) {
		if s = strings.TrimSpace(s); s != "" && !set[s] && len(list) < 64 {
			set[s] = true
			list = append(list, s)
		}
	}
	add(word)
	if hasDigit(word) {
		for _, s := range spokenForms(word) {
			add(s)
		}
	}
	if other := otherSpelling[word]; other != "" {
		add(other)
	}
	if parted := compounds[word]; parted != "" {
		add(parted)
		add(strings.ReplaceAll(parted, " ", "-"))
	}
	for i := 0; i < len(list); i++ { // list grows while it is walked
		s := list[i]
		for _, apostrophe := range []string{"'", "’"} {
			if strings.Contains(s, apostrophe) {
				add(strings.ReplaceAll(s, apostrophe, ""))
				add(strings.ReplaceAll(s, apostrophe, "’"))
				add(strings.ReplaceAll(s, apostrophe, "'"))
			}
		}
		if inner := strings.Trim(s, "-"); strings.Contains(inner, "-") {
			add(strings.ReplaceAll(s, "-", " "))
			add(strings.ReplaceAll(s, "-", ""))
		}
		if strings.Contains(s, "·") {
			for _, dot := range []string{"", "-", " ", "⋅", "."} {
				add(strings.ReplaceAll(s, "·", dot))
			}
		}
		if strings.Contains(s, "/") && !hasDigit(s) {
			add(strings.ReplaceAll(s, "/", " "))
			add(strings.ReplaceAll(s, "/", "-"))
		}
		if upper := upperNonASCII(s); upper != s {
			add(upper)
		}
	}
	return list
}

// upperNonASCII gives the upper-case form of letters beyond ASCII; the
// automaton itself folds only ASCII.
func upperNonASCII(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return r >= utf8.RuneSelf }) < 0 {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r >= utf8.RuneSelf {
			return unicode.ToUpper(r)
		}
		return r
	}, s)
}

func hasDigit(s string) bool { return strings.ContainsAny(s, "0123456789") }

// abbreviations are the printed short forms of words. They join a number
// without a gap.
var abbreviations = map[string][]string{
	"ounce": {"oz", "oz."}, "ounces": {"oz", "oz."},
	"pound": {"lb", "lb.", "lbs"}, "pounds": {"lbs", "lb", "lbs."},
	"inch": {"in", "in.", "\""}, "inches": {"in", "in.", "\""},
	"foot": {"ft", "ft."}, "feet": {"ft", "ft."},
	"millimetre": {"mm"}, "millimetres": {"mm"}, "millimeter": {"mm"}, "millimeters": {"mm"},
	"centimetre": {"cm"}, "centimetres": {"cm"}, "centimeter": {"cm"}, "centimeters": {"cm"},
	"litre": {"l"}, "litres": {"l"}, "liter": {"l"}, "liters": {"l"},
	"percent": {"%"}, "degree": {"°"}, "degrees": {"°"},
	"minute": {"min", "min."}, "minutes": {"min", "mins", "min."},
	"hour": {"h", "hr"}, "hours": {"h", "hrs"}, "second": {"s", "sec"}, "seconds": {"s", "secs"},
	"dollar": {"$"}, "dollars": {"$"},
	"and": {"&"}, "okay": {"ok", "o.k."}, "ok": {"okay"}, "number": {"no.", "#"},
	"mister": {"mr", "mr."}, "doctor": {"dr", "dr."},
}

// twoSpellings are words that are written in two ways, British first.
var twoSpellings = [][2]string{
	{"colour", "color"}, {"colours", "colors"}, {"aluminium", "aluminum"}, {"grey", "gray"},
	{"tyre", "tire"}, {"tyres", "tires"}, {"centre", "center"}, {"centres", "centers"},
	{"metre", "meter"}, {"metres", "meters"}, {"litre", "liter"}, {"litres", "liters"},
	{"millimetre", "millimeter"}, {"millimetres", "millimeters"},
	{"centimetre", "centimeter"}, {"centimetres", "centimeters"},
	{"millilitre", "milliliter"}, {"millilitres", "milliliters"},
	{"gauge", "gage"}, {"gauges", "gages"}, {"plough", "plow"}, {"mould", "mold"},
	{"labour", "labor"}, {"vapour", "vapor"}, {"fibre", "fiber"}, {"draught", "draft"},
	{"sulphur", "sulfur"}, {"cheque", "check"}, {"programme", "program"}, {"storey", "story"},
	{"disc", "disk"}, {"discs", "disks"}, {"caliper", "calliper"}, {"calipers", "callipers"},
	{"catalogue", "catalog"}, {"favourite", "favorite"}, {"honour", "honor"}, {"neighbour", "neighbor"},
	{"harbour", "harbor"}, {"rigour", "rigor"}, {"odour", "odor"}, {"armour", "armor"},
	{"organise", "organize"}, {"recognise", "recognize"}, {"cancelled", "canceled"}, {"labelled", "labeled"},
	{"travelled", "traveled"}, {"mum", "mom"}, {"whiskey", "whisky"}, {"doughnut", "donut"},
	{"yoghurt", "yogurt"}, {"omelette", "omelet"}, {"jewellery", "jewelry"}, {"pyjamas", "pajamas"},
	{"theatre", "theater"}, {"licence", "license"}, {"defence", "defense"}, {"offence", "offense"},
	{"analyse", "analyze"}, {"spelt", "spelled"}, {"burnt", "burned"}, {"learnt", "learned"},
	{"nought", "naught"}, {"allen", "alan"}, {"torx", "torques"},
}

// parted are words that are written as one or as two.
var parted = []string{
	"fly wheel", "gear box", "crank case", "crank shaft", "cam shaft", "drive shaft", "prop shaft",
	"tool box", "cylinder head", "head gasket", "water pump", "raw water", "sea cock", "bell housing", "dip stick",
	"lock nut", "lock washer", "spring washer", "split pin", "cap screw", "grub screw", "set screw",
	"thread lock", "thread locker", "spark plug", "glow plug", "hand brake", "back plate", "end cap",
	"side cover", "top end", "under side", "out side", "in side", "hose clip", "hose clamp",
	"fuel line", "oil filter", "air box", "air filter", "head bolt", "work bench", "left hand", "right hand",
	"hand tight", "finger tight", "cross head", "flat head", "tie rod", "push rod", "con rod", "rocker box",
	"rocker arm", "stern tube", "stern gland", "sea strainer", "bilge pump", "lift pump", "feed pump", "anti seize",
	"over night", "any more", "every thing", "some thing", "may be", "all right", "week end", "news paper",
	"cross pattern", "jam nut", "wing nut", "circlip pliers", "heat shield", "belt guard", "engine mount",
	"dowel pin", "foot pounds", "foot pound", "inch pounds", "inch pound", "re torque", "re tighten",
	"stand by", "hold on", "time out", "check list", "key way", "key board", "black out", "ice cream", "cup cake",
}

var otherSpelling, compounds = spellingTables()

func spellingTables() (other, compound map[string]string) {
	other, compound = map[string]string{}, map[string]string{}
	for _, p := range twoSpellings {
		if p[0] == "cheque" || p[0] == "programme" || p[0] == "storey" || p[0] == "draught" || p[0] == "torx" {
			other[p[0]] = p[1] // only this way round: the other word has meanings of its own
			continue
		}
		other[p[0]], other[p[1]] = p[1], p[0]
	}
	for _, p := range parted {
		compound[strings.ReplaceAll(p, " ", "")] = p
	}
	return other, compound
}

// sortedKeys gives the keys of a map in order, so that nothing depends on the
// order of a map.
func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
