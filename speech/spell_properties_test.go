package speech

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The reference is PyPI num2words 0.5.14 in British English, commas taken out
// (they are pauses to the voice): testdata/num2words.tsv.
func TestNumbersAreThoseOfNum2words(t *testing.T) {
	data, err := os.ReadFile("testdata/num2words.tsv")
	require.NoError(t, err)
	rows := strings.Split(strings.TrimSpace(string(data)), "\n")
	require.Greater(t, len(rows), 1000)
	for _, row := range rows {
		f := strings.Split(row, "\t")
		print := f[0]
		if len(print) > 6 { // without separators, so many figures are a label
			print = print[:len(print)-6] + "," + print[len(print)-6:len(print)-3] + "," + print[len(print)-3:]
		}
		require.Equal(t, f[1], Spell(print, SpellOptions{}), f[0])
		suffix := "th"
		switch {
		case strings.HasSuffix(f[2], "first"):
			suffix = "st"
		case strings.HasSuffix(f[2], "second"):
			suffix = "nd"
		case strings.HasSuffix(f[2], "third"):
			suffix = "rd"
		}
		require.Equal(t, f[2], Spell(f[0]+suffix, SpellOptions{}), f[0])
	}
}

func TestEveryUnitIsSaidWithEveryNumber(t *testing.T) {
	for form, u := range spokenUnits {
		for n := range 1000 {
			words := cardinal(uint64(n))
			unit := u.many
			if n == 1 {
				unit = u.one
			}
			separator := " "
			if form == `"` || form == "″" {
				separator = "" // an inch mark stands at its number
			}
			require.Equal(t, words+" "+unit, strings.TrimSuffix(Spell(fmt.Sprintf("%d%s%s", n, separator, form), SpellOptions{}), "."), "%d %s", n, form)
		}
	}
}

func TestWhatIsSpelledHasNoFiguresOrSigns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune(`0123456789 .,:;-–—±×x/°+"'()#%&=<>≤≥µ½MNmTAinlbft·²³⁵٣abcXÄß…!?_*[]|~@`), unicode.L, unicode.Nd)).Draw(t, "text")
		for _, o := range []SpellOptions{{}, {Digits: true}, {ReadBack: true}} {
			said := Spell(text, o)
			for _, r := range said {
				if !unicode.IsLetter(r) && !unicode.IsMark(r) && !strings.ContainsRune(" ,.;:!?'-/", r) {
					t.Fatalf("%q in %q from %q", r, said, text)
				}
			}
		}
	})
}

func TestSpellingTwiceChangesNothing(t *testing.T) {
	for _, c := range spellCases {
		require.Equal(t, c.said, Spell(c.said, SpellOptions{}), "%q", c.print)
	}
}

func TestDigitsFollowANumber(t *testing.T) {
	for _, c := range []struct {
		print, digits, readBack string
	}{
		{"13 mm", "thirteen: one three, millimetres", "thirteen: one three, millimetres"},
		{"30 N·m", "thirty: three zero, newton metres", "thirty: three zero, newton metres"},
		{"25 N·m", "twenty-five: two five, newton metres", "twenty-five newton metres"},
		{"4 bolts", "four bolts", "four bolts"},
		{"0.30 mm", "zero point three zero millimetres", "zero point three zero millimetres"},
		{"13.5 mm", "thirteen point five: one three point five, millimetres", "thirteen point five: one three point five, millimetres"},
		{"115 N·m", "one hundred and fifteen: one one five, newton metres", "one hundred and fifteen: one one five, newton metres"},
		{"M10x1.25", "M ten: one zero, by one point two five", "M ten by one point two five"},
		{"9/16 in", "nine sixteenths: nine over one six, inch", "nine sixteenths inch"},
		{"Fifteen off.", "Fifteen: one five, off.", "Fifteen: one five, off."},
		{"Sixty to go", "Sixty: six zero, to go", "Sixty: six zero, to go"},
		{"four 10s", "four tens: one zero", "four tens"},
		{"four 13s off", "four thirteens: one three, off", "four thirteens: one three, off"},
	} {
		require.Equal(t, c.digits, Spell(c.print, SpellOptions{Digits: true}), "digits of %q", c.print)
		require.Equal(t, c.readBack, Spell(c.print, SpellOptions{ReadBack: true}), "read-back of %q", c.print)
	}
}

// Thirteen and thirty, fifteen and fifty, sixteen and sixty, and the others of the
// same kind.
func TestNumbersThatSoundAlikeAreConfusable(t *testing.T) {
	for _, n := range []string{"13", "30", "14", "40", "15", "50", "16", "60", "17", "70", "18", "80", "19", "90", "113", "130", "1,015", "13.5"} {
		require.True(t, confusable(n), n)
	}
	for _, n := range []string{"0", "3", "10", "12", "20", "25", "31", "100", "112", "1300", "0.30"} {
		require.False(t, confusable(n), n)
	}
}

func FuzzSpell(f *testing.F) {
	for _, c := range spellCases {
		f.Add(c.print)
	}
	f.Add("1-1/8-7 M M8x #10-")
	f.Add("\xff\x00°'s 9/")
	f.Fuzz(func(t *testing.T, text string) {
		said := Spell(text, SpellOptions{Digits: true})
		if strings.ContainsAny(said, "0123456789") {
			t.Fatalf("figures left in %q from %q", said, text)
		}
	})
}
