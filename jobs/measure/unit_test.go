package measure

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The recorded figures come from PyPI pint 0.25.3, written by
// scripts/reference-check.
func TestEveryUnitAgreesWithPint(t *testing.T) {
	raw, err := os.ReadFile("testdata/reference-units.json")
	require.NoError(t, err)
	var ref struct {
		Source string                        `json:"source"`
		SI     map[string]map[string]float64 `json:"amounts in SI"`
	}
	require.NoError(t, json.Unmarshal(raw, &ref))
	require.Len(t, ref.SI, len(Units()), "every unit of the table is in the reference")
	for symbol, amounts := range ref.SI {
		u, err := ParseUnit(symbol)
		require.NoError(t, err, symbol)
		require.Equal(t, symbol, u.Symbol)
		for amount, si := range amounts {
			v, err := strconv.ParseFloat(amount, 64)
			require.NoError(t, err)
			require.InEpsilon(t, si, Quantity{Amount: v, Unit: u}.SI(), 1e-12, "%s %s, %s", amount, symbol, ref.Source)
		}
	}
}

// NIST SP 811 App. B, the digits printed there; quarts and pints after the US
// and UK definitions of the gallon.
func TestFactorsArePrintedOnes(t *testing.T) {
	for _, c := range []struct {
		from Unit
		to   Unit
		want string
	}{
		{FootPound, NewtonMetre, "1.3558179483"}, {InchPound, NewtonMetre, "0.1129848290"},
		{KilogramMetre, NewtonMetre, "9.80665"}, {KilogramCentimetre, NewtonMetre, "0.0980665"},
		{OunceInch, NewtonMetre, "0.00706155181"}, {DecinewtonMetre, NewtonMetre, "0.1"},
		{DecanewtonMetre, NewtonMetre, "10"}, {NewtonCentimetre, NewtonMetre, "0.01"},
		{Thou, Millimetre, "0.0254"}, {Inch, Millimetre, "25.4"},
		{USQuart, Litre, "0.946352946"}, {USPint, Litre, "0.473176473"}, {USGallon, Litre, "3.785411784"},
		{ImperialQuart, Litre, "1.1365225"}, {ImperialPint, Litre, "0.56826125"},
		{PSI, Kilopascal, "6.894757293"}, {KilogramPerSquareCm, Kilopascal, "98.0665"}, {Bar, Kilopascal, "100"},
	} {
		got, err := Quantity{Amount: 1, Unit: c.from}.In(c.to)
		require.NoError(t, err)
		want, err := strconv.ParseFloat(c.want, 64)
		require.NoError(t, err)
		require.InEpsilon(t, want, got.Amount, 1e-9, "%s in %s", c.from, c.to)
	}
}

func TestConversionsRoundTrip(t *testing.T) {
	units := Units()
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom(units).Draw(t, "from")
		var same []Unit
		for _, u := range units {
			if u.Dimension() == from.Dimension() {
				same = append(same, u)
			}
		}
		to := rapid.SampledFrom(same).Draw(t, "to")
		q := Quantity{Amount: rapid.Float64Range(1e-6, 1e6).Draw(t, "amount"), Unit: from, Tolerance: rapid.Float64Range(0, 10).Draw(t, "tolerance"), Said: "said"}
		there, err := q.In(to)
		require.NoError(t, err)
		back, err := there.In(from)
		require.NoError(t, err)
		// A temperature near its zero is compared on the absolute scale, where the amount is not small.
		scale := math.Abs(q.Amount)
		if from.Dimension() == Temperature {
			scale = q.SI()
		}
		require.LessOrEqual(t, math.Abs(back.Amount-q.Amount), 1e-12*scale)
		require.InDelta(t, q.Tolerance, back.Tolerance, 1e-12*(1+q.Tolerance))
		require.Equal(t, "said", back.Said, "a value remembers how it was said")
		require.True(t, q.Same(there, 1e-12))
	})
}

func TestDimensionsDoNotMix(t *testing.T) {
	_, err := Quantity{Amount: 5, Unit: NewtonMetre}.In(Millimetre)
	require.ErrorContains(t, err, "a torque")
	_, err = Quantity{Amount: 5, Unit: NewtonMetre}.In(Newton)
	require.ErrorContains(t, err, "a force")
	_, err = Quantity{Amount: 5, Unit: Unit{"furlong"}}.In(Metre)
	require.Error(t, err)
	_, err = Quantity{Amount: 5, Unit: Bar}.NewtonMetres()
	require.ErrorContains(t, err, "a pressure")
	require.Equal(t, Dimension(""), Unit{}.Dimension())
}

func TestTemperaturesMeetAtTheFixedPoints(t *testing.T) {
	for c, f := range map[float64]float64{100: 212, 0: 32, -40: -40, 37: 98.6} {
		got, err := Quantity{Amount: c, Unit: Celsius}.In(Fahrenheit)
		require.NoError(t, err)
		require.InDelta(t, f, got.Amount, 1e-12)
	}
	q, err := Parse("90 ± 5 °C")
	require.NoError(t, err)
	f, err := q.In(Fahrenheit)
	require.NoError(t, err)
	require.InDelta(t, 9, f.Tolerance, 1e-12, "a tolerance is a difference: no offset")
}

func TestEverySpellingIsItsUnit(t *testing.T) {
	for _, u := range Units() {
		require.NotEmpty(t, Spellings(u))
		for _, s := range append(Spellings(u), u.Symbol) {
			if _, doubt := byDoubt[unitKey(s)]; doubt && s != u.Symbol {
				continue
			}
			got, err := ParseUnitAs(u.Dimension(), s)
			if ask := (*AskError)(nil); err != nil {
				require.ErrorAs(t, err, &ask, s)
				continue
			}
			require.Equal(t, u, got, s)
		}
	}
}

func TestUnitsTravelAsText(t *testing.T) {
	q := Quantity{Amount: 25, Unit: NewtonMetre, Tolerance: 3, Said: "25 ± 3 N·m"}
	raw, err := json.Marshal(q)
	require.NoError(t, err)
	require.JSONEq(t, `{"amount":25,"unit":"N·m","tolerance":3,"said":"25 ± 3 N·m"}`, string(raw))
	var back Quantity
	require.NoError(t, json.Unmarshal(raw, &back))
	require.Equal(t, q, back)

	raw, err = json.Marshal(Quantity{})
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &back))
	require.False(t, back.Given())
	for _, u := range Units() {
		raw, err := json.Marshal(u)
		require.NoError(t, err)
		var got Unit
		require.NoError(t, json.Unmarshal(raw, &got), u.Symbol)
		require.Equal(t, u, got)
	}
	require.Error(t, json.Unmarshal([]byte(`{"amount":1,"unit":"parsec"}`), &back))
}

func TestBareFiguresKeepTheirUnit(t *testing.T) {
	nm, err := Quantity{Amount: 10, Unit: KilogramMetre}.NewtonMetres()
	require.NoError(t, err)
	require.InEpsilon(t, 98.0665, float64(nm), 1e-12)
	mm, err := Quantity{Amount: 0.5, Unit: Inch}.Millimetres()
	require.NoError(t, err)
	require.InEpsilon(t, 12.7, float64(mm), 1e-12)
	deg, err := Quantity{Amount: 0.25, Unit: Turn}.Degrees()
	require.NoError(t, err)
	require.InEpsilon(t, 90, float64(deg), 1e-12)
	n, err := Quantity{Amount: 2, Unit: Kilonewton}.Newtons()
	require.NoError(t, err)
	require.InEpsilon(t, 2000, float64(n), 1e-12)
	require.Equal(t, "12.5 N·m", NewtonMetres(12.5).Quantity().String())
}

func BenchmarkConvert(b *testing.B) {
	q := Quantity{Amount: 66, Unit: InchPound}
	for b.Loop() {
		if _, err := q.In(NewtonMetre); err != nil {
			b.Fatal(err)
		}
	}
}

func TestRoundingToDigitsTakesTheToleranceAlong(t *testing.T) {
	q := Quantity{Amount: 7.456998714, Tolerance: 0.31187, Unit: NewtonMetre}
	require.Equal(t, "7.46 ± 0.312 N·m", q.Digits(3).String())
	require.Equal(t, "7 ± 0.3 N·m", q.Digits(0).String())
}

func TestErrorsReadAsSentences(t *testing.T) {
	_, err := ParseUnit("pounds")
	require.EqualError(t, err, `read "pounds": more than one reading, ask: foot-pounds or inch-pounds?`)
	_, err = Parse("snug")
	require.EqualError(t, err, `read "snug": that is the state "snug", not a figure`)
	_, err = ParseUnit("furlong")
	require.ErrorContains(t, err, "no such unit")
	require.False(t, Quantity{}.Same(Quantity{}, 1), "two figures that were not given are not the same figure")
	require.True(t, math.IsNaN(Quantity{Amount: 1, Unit: Unit{"furlong"}}.SI()))
	require.Equal(t, "2 mm", Millimetres(2).Quantity().String())
	require.Equal(t, "2 N", Newtons(2).Quantity().String())
	require.Equal(t, "2°", Degrees(2).Quantity().String())
}
