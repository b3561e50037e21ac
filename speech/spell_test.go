package speech

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Each pair is how a fitter would say the print: trade practice, no source, but
// for designations and units, which are those of the standards named in intent.
var spellCases = []struct{ print, said string }{
	{"25 ± 3 N·m", "twenty-five, plus or minus three, newton metres"},
	{"M8x1.25", "M eight by one point two five"},
	{"M10x1.25x40", "M ten by one point two five by forty"},
	{"M8 x 25", "M eight by twenty-five"},
	{"3/8-16", "three eighths sixteen"},
	{"1/4-20 UNC", "quarter twenty U N C"},
	{"1 1/8-7", "one and one eighth seven"},
	{"#10-32", "number ten thirty-two"},
	{"9/16 in", "nine sixteenths inch"},
	{"3/4\" drive", "three quarter inch drive"},
	{"1-1/8 in", "one and one eighth inches"},
	{"4 1/2 qt", "four and a half quarts"},
	{"1/2 L", "half a litre"},
	{"3/4 L", "three quarters of a litre"},
	{"70 lbf·in", "seventy inch pounds"},
	{"70 in-lb", "seventy inch pounds"},
	{"31 lbf·ft", "thirty-one foot pounds"},
	{"31 ft/lbs", "thirty-one foot pounds"},
	{"1 lbf·ft", "one foot pound"},
	{"0.30 mm", "zero point three zero millimetres"},
	{"10:35", "ten thirty-five"},
	{"10:05", "ten oh five"},
	{"7:00.", "seven o'clock."},
	{"+ 90°", "plus ninety degrees"},
	{"40 N·m + 90°", "forty newton metres, plus ninety degrees"},
	{"32 PSI", "thirty-two P S I"},
	{"class 8.8", "class eight point eight"},
	{"class 10.9, oiled", "class ten point nine, oiled"},
	{"A2-70", "A two seventy"},
	{"T30", "T thirty"},
	{"80 °C", "eighty degrees Celsius"},
	{"-10 °C", "minus ten degrees Celsius"},
	{"5..25 N·m", "five to twenty-five newton metres"},
	{"5–25 N·m", "five to twenty-five newton metres"},
	{"5-25 N·m", "five to twenty-five newton metres"},
	{"Refit 12 off the front cover.", "Refit twelve off the front cover."},
	{"Four 10s off.", "Four tens off."},
	{"four 10 mm bolts", "four ten millimetre bolts"},
	{"2 h 10 min", "two hours ten minutes"},
	{"1 min", "one minute"},
	{"min. 0.15 mm", "minimum zero point one five millimetres"},
	{"4 in the tray", "four in the tray"},
	{"3 of 12", "three of twelve"},
	{"3/12", "three of twelve"},
	{"4x M8", "four, M eight"},
	{"12-point", "twelve point"},
	{"12pt socket", "twelve point socket"},
	{"the 3rd bolt", "the third bolt"},
	{"No. 3 bearing", "number three bearing"},
	{"approx. 5 kg", "approximately five kilograms"},
	{"±4 %", "plus or minus four percent"},
	{"2026-11-25", "the twenty-fifth of November twenty twenty-six"},
	{"RTV", "R T V"},
	{"O-ring", "O ring"},
	{"in N·m", "in newton metres"},
	{"3.2 L of oil", "three point two litres of oil"},
	{"4407125", "four four zero seven one two five"},
	{"1,250 rpm", "one thousand two hundred and fifty R P M"},
	{"dry/oiled", "dry or oiled"},
	{"cup4", "cup four"},
	{"4.1 kgf·m", "four point one kilogram force metres"},
	{"", ""},
}

func TestSpellSaysWhatTheShopPrints(t *testing.T) {
	for _, c := range spellCases {
		require.Equal(t, c.said, Spell(c.print, SpellOptions{}), "%q", c.print)
	}
}
