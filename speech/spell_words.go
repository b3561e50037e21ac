package speech

import "strings"

// abbreviations are print forms that sound otherwise, keyed in lower case
// without the closing point.
var abbreviations = map[string]string{
	"approx": "approximately", "max": "maximum", "min": "minimum", "incl": "including", "excl": "excluding",
	"e.g": "for example", "i.e": "that is", "etc": "and so on", "vs": "versus", "dia": "diameter", "temp": "temperature",
	"qty": "quantity", "assy": "assembly", "w/o": "without", "w/": "with", "ref": "reference", "fig": "figure",
	"spec": "spec", "specs": "specs", "hex": "hex", "torx": "torks", "allen": "allen", "alu": "aluminium",
	"o-ring": "O ring", "o-rings": "O rings", "u-bolt": "U bolt", "u-bolts": "U bolts", "v-belt": "V belt", "v-belts": "V belts",
	"t-handle": "T handle", "a/f": "across flats",
}

// initialisms are said letter by letter or in full; in capitals only, because
// in lower case they are other words or none.
var initialisms = map[string]string{
	"LH": "left hand", "RH": "right hand", "OD": "outside diameter", "ID": "inside diameter", "AF": "across flats",
	"TDC": "top dead centre", "BDC": "bottom dead centre", "CW": "clockwise", "CCW": "counterclockwise",
	"ISO": "I S O", "JIS": "J I S", "DIN": "D I N", "SAE": "S A E", "UNC": "U N C", "UNF": "U N F", "UNEF": "U N E F",
	"ASME": "A S M E", "VDI": "V D I", "LED": "L E D", "USB": "U S B", "UK": "U K", "US": "U S", "EPDM": "E P D M", "ECU": "E C U",
	"OK": "okay", "EP": "E P", "ATF": "A T F", "NOTE": "note", "AA": "A A", "AC": "A C", "DC": "D C", "OEM": "O E M", "ID.": "I D",
}

// sayWord gives the speech of one printed word that is no number and no unit.
func sayWord(w string) string {
	bare := strings.TrimSuffix(w, ".")
	if s, ok := initialisms[bare]; ok {
		return s
	}
	if s, ok := abbreviations[strings.ToLower(bare)]; ok {
		return s
	}
	if unpronounceable(bare) {
		return strings.Join(strings.Split(bare, ""), " ")
	}
	return w
}

// unpronounceable reports a word of capitals without a vowel, which is said
// letter by letter: "RTV", "NBR". A single letter is left as it is.
func unpronounceable(w string) bool {
	if len(w) < 2 || len(w) > 6 {
		return false
	}
	for _, r := range w {
		if r < 'A' || r > 'Z' || strings.ContainsRune("AEIOU", r) {
			return false
		}
	}
	return true
}

// symbols are marks said as words; the rest of the marks are silent.
var symbols = map[string]string{
	"±": "plus or minus", "+": "plus", "=": "equals", "≈": "about", "~": "about", "<": "less than", ">": "more than", "≤": "at most",
	"≥": "at least", "&": "and", "@": "at", "×": "by", "→": "to", "µ": "mu", "μ": "mu", "Ø": "diameter", "⌀": "diameter", "№": "number",
	"½": "one half", "¼": "one quarter", "¾": "three quarters", "⅛": "one eighth", "⅜": "three eighths", "⅝": "five eighths",
	"⅞": "seven eighths", "⅓": "one third", "⅔": "two thirds", "#": "number", "§": "section", "Δ": "delta", "*": "", "_": " ",
}
