package measure

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestQuantitiesAreSaidAsTheShopSaysThem(t *testing.T) {
	for _, c := range []struct {
		q               Quantity
		print, say, dig string
	}{
		{Quantity{Amount: 25, Unit: NewtonMetre}, "25 N·m", "twenty-five newton metres", "two five newton metres"},
		{Quantity{Amount: 1, Unit: NewtonMetre}, "1 N·m", "one newton metre", "one newton metre"},
		{Quantity{Amount: 13, Unit: FootPound}, "13 lbf·ft", "thirteen foot-pounds", "one three foot-pounds"},
		{Quantity{Amount: 30, Unit: FootPound}, "30 lbf·ft", "thirty foot-pounds", "three zero foot-pounds"},
		{Quantity{Amount: 105, Unit: NewtonMetre}, "105 N·m", "one hundred and five newton metres", "one zero five newton metres"},
		{Quantity{Amount: 24, Tolerance: 4, Unit: NewtonMetre}, "24 ± 4 N·m", "twenty-four plus or minus four newton metres", "two four plus or minus four newton metres"},
		{Quantity{Amount: 0.5625, Unit: Inch}, "9/16 in", "nine sixteenths of an inch", "nine sixteenths of an inch"},
		{Quantity{Amount: 1.125, Unit: Inch}, "1-1/8 in", "one inch and an eighth", "one inch and an eighth"},
		{Quantity{Amount: 0.5, Unit: Inch}, "1/2 in", "half an inch", "half an inch"},
		{Quantity{Amount: 2.75, Unit: Inch}, "2-3/4 in", "two inches and three quarters", "two inches and three quarters"},
		{Quantity{Amount: 0.015, Unit: Inch}, "0.015 in", "fifteen thou", "zero point zero one five inches"},
		{Quantity{Amount: 0.15, Unit: Millimetre}, "0.15 mm", "zero point one five millimetres", "zero point one five millimetres"},
		{Quantity{Amount: 0.2, Unit: Millimetre}, "0.2 mm", "zero point two millimetres", "zero point two millimetres"},
		{Quantity{Amount: 90, Unit: Degree}, "90°", "ninety degrees", "nine zero degrees"},
		{Quantity{Amount: 32, Unit: PSI}, "32 psi", "thirty-two psi", "three two psi"},
		{Quantity{Amount: 90, Unit: Celsius}, "90 °C", "ninety degrees Celsius", "nine zero degrees Celsius"},
		{Quantity{Amount: 7.456998714, Unit: NewtonMetre}, "7.457 N·m", "seven point four six newton metres", "seven point four six newton metres"},
		{Quantity{Amount: 7, Unit: Turn}, "7 turns", "seven turns", "seven turns"},
		{Quantity{}, "not given", "not given", "not given"},
	} {
		require.Equal(t, c.print, c.q.String())
		require.Equal(t, c.say, c.q.Say())
		require.Equal(t, c.dig, c.q.SayDigits())
	}
}

func TestNumbersThatSoundAlikeAreKnown(t *testing.T) {
	for _, v := range []float64{13, 30, 14, 40, 15, 50, 16, 60, 17, 70, 18, 80, 19, 90, 113, 130} {
		require.True(t, Confusable(v), v)
	}
	for _, v := range []float64{1, 5, 10, 12, 20, 25, 33, 45, 100, 105} {
		require.False(t, Confusable(v), v)
	}
}

func TestTighteningsKeepTorqueAndTurnsApart(t *testing.T) {
	for text, want := range map[string]string{
		"24 N·m + 90°":                             "24 N·m + 90°",
		"twenty-four newton metres plus ninety":    "24 N·m + 90°",
		"24 Nm then a quarter turn":                "24 N·m + 90°",
		"24 Nm, then 90":                           "24 N·m + 90°",
		"20 N·m + 60° + 60°":                       "20 N·m + 60° + 60°",
		"90°":                                      "90°",
		"24 ± 4 N·m + 90°":                         "24 ± 4 N·m + 90°",
		"24 plus or minus 4 N·m plus three flats":  "24 ± 4 N·m + 180°",
		"40 foot pounds followed by half a turn":   "40 lbf·ft + 180°",
		"25 N·m":                                   "25 N·m",
		"twenty newton metres and then 45 degrees": "20 N·m + 45°",
	} {
		got, err := ParseTightening(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got.String(), text)
		require.Equal(t, text, got.Said)
	}
	for _, text := range []string{"24 N·m + 10 N·m", "24 N·m + ", "+ 90°", "24 N·m + 5 mm", "24 N·m + 0", "5 mm"} {
		_, err := ParseTightening(text)
		require.Error(t, err, text)
	}
	got, err := ParseTightening("24 N·m + 90°")
	require.NoError(t, err)
	require.Equal(t, "twenty-four newton metres plus ninety degrees", got.Say())
}

func TestStagesMayShareTheUnit(t *testing.T) {
	got, err := ParseStages("5, 10, 25 N·m, 90°")
	require.NoError(t, err)
	require.Len(t, got, 4)
	require.Equal(t, "5 N·m", got[0].String())
	require.Equal(t, "10 N·m", got[1].String())
	require.Equal(t, "25 N·m", got[2].String())
	require.Equal(t, "90°", got[3].String())
	got, err = ParseStages("2,5 N·m; 5 N·m")
	require.NoError(t, err)
	require.Equal(t, "2.5 N·m", got[0].String(), "a comma between digits is a decimal mark")
	got, err = ParseStages("20 N·m; loosen 180°; back off; bolts 1-4 7: 10 N·m + 90°; repeat; bolts 1 and 3: 30 N·m")
	require.NoError(t, err)
	for i, want := range []string{"20 N·m", "loosen 180°", "loosen", "bolts 1-4, 7: 10 N·m + 90°", "bolts 1-4, 7: 10 N·m + 90°", "bolts 1, 3: 30 N·m"} {
		require.Equal(t, want, got[i].String())
	}
	require.Equal(t, "loosen by one hundred and eighty degrees", got[1].Say())
	for _, text := range []string{"", "5, 10", "5 N·m, bananas", "repeat", "bolts: 5 N·m", "bolts x: 5 N·m", "bolts 4-1: 5 N·m", "loosen 5 N·m", "bolts 1-99999999: 5 N·m"} {
		_, err := ParseStages(text)
		require.Error(t, err, text)
	}
}

func TestPrintedFiguresComeInSeveralUnits(t *testing.T) {
	got, err := ParsePrinted("25 N·m (18 lbf·ft, 2.5 kgf·m)")
	require.NoError(t, err)
	require.Len(t, got, 3)
	require.Equal(t, KilogramMetre, got[2].Unit)
}

func TestRangesHaveTwoEnds(t *testing.T) {
	r, err := ParseRange("5..25 N·m")
	require.NoError(t, err)
	require.Equal(t, 5.0, r.Low.Amount)
	require.Equal(t, 25.0, r.High.Amount)
	require.Equal(t, "5..25 N·m", r.String())
	_, err = ParseRange("25 N·m")
	require.Error(t, err)
}

func TestRoundingToMarksTellsTheError(t *testing.T) {
	r, err := RoundToMark(Quantity{Amount: 44.4444, Unit: NewtonMetre}, Quantity{Amount: 0.5, Unit: NewtonMetre})
	require.NoError(t, err)
	require.Equal(t, "44.5 N·m", r.Set.String())
	require.InDelta(t, 0.00125, r.Error, 1e-5)
	r, err = RoundToMark(Quantity{Amount: 18, Unit: FootPound}, Quantity{Amount: 1, Unit: NewtonMetre})
	require.NoError(t, err)
	require.Equal(t, "24 N·m", r.Set.String())
	for _, mark := range []Quantity{{Amount: 0, Unit: NewtonMetre}, {Amount: -1, Unit: NewtonMetre}, {Amount: 1, Unit: Bar}, {}} {
		_, err := RoundToMark(Quantity{Amount: 18, Unit: NewtonMetre}, mark)
		require.Error(t, err)
	}
	rapid.Check(t, func(t *rapid.T) {
		mark := Quantity{Amount: float64(rapid.IntRange(1, 50).Draw(t, "tenths")) / 10, Unit: NewtonMetre}
		q := Quantity{Amount: rapid.Float64Range(0.1, 500).Draw(t, "amount"), Unit: NewtonMetre}
		r, err := RoundToMark(q, mark)
		require.NoError(t, err)
		require.LessOrEqual(t, abs(r.Set.Amount-q.Amount), mark.Amount/2*(1+1e-9), "the nearest mark is at most half a step away")
		again, err := RoundToMark(r.Set, mark)
		require.NoError(t, err)
		require.Equal(t, r.Set.Amount, again.Set.Amount, "a mark stays where it is")
	})
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
