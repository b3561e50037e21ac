package measure

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Forms from the project's list of how quantities are said and printed in the
// trade (common practice, no source).
func TestPrintedAndSpokenFormsAreRead(t *testing.T) {
	for text, want := range map[string]Quantity{
		"66 in-lb":                          {Amount: 66, Unit: InchPound},
		"66 inch pounds":                    {Amount: 66, Unit: InchPound},
		"sixty-six inch-pounds":             {Amount: 66, Unit: InchPound},
		"70 ft-lbs":                         {Amount: 70, Unit: FootPound},
		"70 ft/lbs":                         {Amount: 70, Unit: FootPound},
		"seventy foot pounds":               {Amount: 70, Unit: FootPound},
		"seventy pound-feet":                {Amount: 70, Unit: FootPound},
		"70 lb.ft":                          {Amount: 70, Unit: FootPound},
		"70 LBF-FT":                         {Amount: 70, Unit: FootPound},
		"25Nm":                              {Amount: 25, Unit: NewtonMetre},
		"25 N.m":                            {Amount: 25, Unit: NewtonMetre},
		"25 N⋅m":                            {Amount: 25, Unit: NewtonMetre},
		"ten newton metres":                 {Amount: 10, Unit: NewtonMetre},
		"ten newtons":                       {Amount: 10, Unit: NewtonMetre},
		"ten N M":                           {Amount: 10, Unit: NewtonMetre},
		"four point one kilos":              {Amount: 4.1, Unit: KilogramMetre},
		"4.1 kgf·m":                         {Amount: 4.1, Unit: KilogramMetre},
		"4.1 kg-m":                          {Amount: 4.1, Unit: KilogramMetre},
		"12 kgf/cm":                         {Amount: 12, Unit: KilogramCentimetre},
		"12 kgf/cm²":                        {Amount: 12, Unit: KilogramPerSquareCm},
		"80 oz-in":                          {Amount: 80, Unit: OunceInch},
		"2.5 daNm":                          {Amount: 2.5, Unit: DecanewtonMetre},
		"one thirty-five newton metres":     {Amount: 135, Unit: NewtonMetre},
		"one oh five foot-pounds":           {Amount: 105, Unit: FootPound},
		"one twenty-five newton metres":     {Amount: 125, Unit: NewtonMetre},
		"two ten newton metres":             {Amount: 210, Unit: NewtonMetre},
		"a hundred and five N·m":            {Amount: 105, Unit: NewtonMetre},
		"1,5 N·m":                           {Amount: 1.5, Unit: NewtonMetre},
		"nine sixteenths":                   {Amount: 0.5625, Unit: Inch},
		"9/16":                              {Amount: 0.5625, Unit: Inch},
		"nine sixteenths of an inch":        {Amount: 0.5625, Unit: Inch},
		"nine-sixteenths inch":              {Amount: 0.5625, Unit: Inch},
		"9/16 in":                           {Amount: 0.5625, Unit: Inch},
		`9/16"`:                             {Amount: 0.5625, Unit: Inch},
		"inch and an eighth":                {Amount: 1.125, Unit: Inch},
		"an inch and an eighth":             {Amount: 1.125, Unit: Inch},
		"two inches and three quarters":     {Amount: 2.75, Unit: Inch},
		"1-1/8 in":                          {Amount: 1.125, Unit: Inch},
		"1 1/8 inch":                        {Amount: 1.125, Unit: Inch},
		"1½ in":                             {Amount: 1.5, Unit: Inch},
		"half an inch":                      {Amount: 0.5, Unit: Inch},
		"five thirty-seconds of an inch":    {Amount: 5.0 / 32, Unit: Inch},
		"five thou":                         {Amount: 5, Unit: Thou},
		"five thousandths":                  {Amount: 5, Unit: Thou},
		"five thousandths of an inch":       {Amount: 5, Unit: Thou},
		"a thou and a half":                 {Amount: 1.5, Unit: Thou},
		"point three mil":                   {Amount: 0.3, Unit: Millimetre},
		"point one five millimetres":        {Amount: 0.15, Unit: Millimetre},
		".15 mm":                            {Amount: 0.15, Unit: Millimetre},
		"three tenths of a millimetre":      {Amount: 0.3, Unit: Millimetre},
		"twenty microns":                    {Amount: 20, Unit: Micrometre},
		"a quarter turn":                    {Amount: 90, Unit: Degree},
		"half a turn":                       {Amount: 180, Unit: Degree},
		"one and a half turns":              {Amount: 540, Unit: Degree},
		"three flats":                       {Amount: 180, Unit: Degree},
		"ninety degrees":                    {Amount: 90, Unit: Degree},
		"90°":                               {Amount: 90, Unit: Degree},
		"90 °C":                             {Amount: 90, Unit: Celsius},
		"ninety degrees centigrade":         {Amount: 90, Unit: Celsius},
		"-5 C":                              {Amount: -5, Unit: Celsius},
		"thirty-two psi":                    {Amount: 32, Unit: PSI},
		"thirty two pounds per square in":   {},
		"thirty two pounds per square inch": {Amount: 32, Unit: PSI},
		"two point two bar":                 {Amount: 2.2, Unit: Bar},
		"three point two litres":            {Amount: 3.2, Unit: Litre},
		"150 cc":                            {Amount: 150, Unit: Millilitre},
		"four and a half US quarts":         {Amount: 4.5, Unit: USQuart},
		"five imperial pints":               {Amount: 5, Unit: ImperialPint},
		"ten minutes":                       {Amount: 10, Unit: Minute},
		"an hour and a half":                {Amount: 1.5, Unit: Hour},
		"1 h 30 min":                        {Amount: 90, Unit: Minute},
		"thirty seconds":                    {Amount: 30, Unit: Second},
		"24 ± 4 N·m":                        {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"24 N·m ± 4":                        {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"(24 ± 4) N·m":                      {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"24 +/- 4 Nm":                       {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"24 N·m ± 25 %":                     {Amount: 24, Tolerance: 6, Unit: NewtonMetre},
		"twenty-four plus or minus four newton metres": {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"24 N·m ± 10 lbf·in":                           {Amount: 24, Tolerance: 1.1298482902761668, Unit: NewtonMetre},
		"90 °C ± 5":                                    {Amount: 90, Tolerance: 5, Unit: Celsius},
		"24 N·m give or take 4":                        {Amount: 24, Tolerance: 4, Unit: NewtonMetre},
		"from 20 to 26 N·m":                            {Amount: 23, Tolerance: 3, Unit: NewtonMetre},
		"2 N·m to 30 lbf·in":                           {Amount: (2/0.1129848290276167 + 30) / 2, Tolerance: (30 - 2/0.1129848290276167) / 2, Unit: InchPound},
		"one thousand, two hundred N·m":                {Amount: 1200, Unit: NewtonMetre},
		"20 to 26 N·m":                                 {Amount: 23, Tolerance: 3, Unit: NewtonMetre},
		"50-70 lbf·in":                                 {Amount: 60, Tolerance: 10, Unit: InchPound},
		"between 20 and 26 N·m":                        {Amount: 23, Tolerance: 3, Unit: NewtonMetre},
		"about 25 N·m":                                 {Amount: 25, Unit: NewtonMetre},
		"12 kg":                                        {Amount: 12, Unit: Kilogram},
	} {
		got, err := Parse(text)
		if !want.Given() {
			require.Error(t, err, text)
			continue
		}
		require.NoError(t, err, text)
		require.Equal(t, want.Unit, got.Unit, text)
		require.InDelta(t, want.Amount, got.Amount, 1e-12, text)
		require.InDelta(t, want.Tolerance, got.Tolerance, 1e-12, text)
		require.Equal(t, text, got.Said)
	}
}

func TestWhatIsDoubtfulIsAsked(t *testing.T) {
	for text, want := range map[string][]string{
		"30 pounds":               {"30 lbf·ft", "30 lbf·in"},
		"thirty pounds":           {"30 lbf·ft", "30 lbf·in"},
		"30 lbs":                  {"30 lbf·ft", "30 lbf·in"},
		"20 to 30 pounds":         {"25 ± 5 lbf·ft", "25 ± 5 lbf·in"},
		"30 ± 3 pounds":           {"30 ± 3 lbf·ft", "30 ± 3 lbf·in"},
		"three tenths":            {"0.3 mm", "0.3 thou", "0.3 in"},
		"four and a half quarts":  {"4.5 US qt", "4.5 imp qt"},
		"two pints":               {"2 US pt", "2 imp pt"},
		"a gallon":                {"1 US gal", "1 imp gal"},
		"ten mil":                 {"10 mm", "10 thou"},
		"a few":                   nil,
		"one grunt":               nil,
		"1,250 N·m":               nil, // a thousands mark or a decimal one
		"good and tight":          nil,
		"a couple of quarts more": {},
	} {
		_, err := Parse(text)
		require.Error(t, err, text)
		var ask *AskError
		if want != nil && len(want) == 0 {
			require.False(t, errors.As(err, &ask), "%s is plain nonsense", text)
			continue
		}
		require.ErrorAs(t, err, &ask, text)
		require.NotEmpty(t, ask.Question, text)
		require.Equal(t, text, ask.Heard)
		var got []string
		for _, c := range ask.Choices {
			got = append(got, c.String())
		}
		require.Equal(t, want, got, text)
	}
}

func TestTheDimensionSettlesDoubts(t *testing.T) {
	for _, c := range []struct {
		dim  Dimension
		text string
		want Quantity
	}{
		{Mass, "30 pounds", Quantity{Amount: 30, Unit: Pound}},
		{Pressure, "30 pounds", Quantity{Amount: 30, Unit: PSI}},
		{Force, "30 pounds", Quantity{Amount: 30, Unit: PoundForce}},
		{Mass, "thirty kilos", Quantity{Amount: 30, Unit: Kilogram}},
		{Torque, "4.1 kg", Quantity{Amount: 4.1, Unit: KilogramMetre}},
		{Force, "500 newtons", Quantity{Amount: 500, Unit: Newton}},
		{Length, "three quarters", Quantity{Amount: 0.75, Unit: Inch}},
	} {
		got, err := ParseAs(c.dim, c.text)
		require.NoError(t, err, c.text)
		require.Equal(t, c.want.Unit, got.Unit, c.text)
		require.Equal(t, c.want.Amount, got.Amount, c.text)
	}
	for _, c := range []struct {
		dim  Dimension
		text string
	}{{Torque, "30 pounds"}, {Temperature, "90 degrees"}, {Volume, "4 quarts"}} {
		var ask *AskError
		_, err := ParseAs(c.dim, c.text)
		require.ErrorAs(t, err, &ask, c.text)
	}
	_, err := ParseAs(Length, "25 N·m")
	require.Error(t, err)
}

func TestHabitsOfTheShopAreNotAskedAgain(t *testing.T) {
	h := Habits{Prefer: []Unit{Millimetre, ImperialQuart}}
	q, err := h.ParseAs("", "ten mil")
	require.NoError(t, err)
	require.Equal(t, "10 mm", q.String())
	q, err = h.ParseAs(Volume, "four and a half quarts")
	require.NoError(t, err)
	require.Equal(t, "4.5 imp qt", q.String())
	_, err = h.ParseAs("", "thirty pounds")
	var ask *AskError
	require.ErrorAs(t, err, &ask)
}

func TestStatesAreNoFigures(t *testing.T) {
	for _, text := range []string{"snug", "finger tight"} {
		var state *NotTorque
		_, err := Parse(text)
		require.ErrorAs(t, err, &state, text)
		require.Equal(t, "snug", state.State)
	}
}

func TestErrorsSayWhatIsMissing(t *testing.T) {
	for text, want := range map[string]string{
		"25": "unit is missing", "foot-pounds": "number is missing", "": "no number", "elephants": "no figure",
		"5 furlongs": "no figure", "26 to 20 N·m": "backwards", "24 ± -4 N·m": "below nothing", "1/0 in": "divides by nothing", "90 °C ± 5 °F": "same unit", "24 N·m ± 5 mm": "N·m",
	} {
		_, err := Parse(text)
		require.ErrorContains(t, err, want, text)
	}
}

func TestNumbersAreReadAsTheShopSaysThem(t *testing.T) {
	for text, want := range map[string]float64{
		"one thirty-five": 135, "one oh five": 105, "one twenty five": 125, "two ten": 210, "three zero": 30, "one three": 13,
		"twelve fifty": 1250, "two thousand five hundred": 2500, "twenty-five hundred": 2500, "point one five": 0.15,
		"one point oh five": 1.05, "two point twenty-five": 2.25, "one and a half": 1.5, "nine sixteenths": 0.5625,
		"half a dozen": 6, "a dozen": 12, "two dozen": 24, "a pair": 2, "a couple": 2, "a": 1, "1 3/4": 1.75, "1,234,567": 1234567,
		"1,234.5": 1234.5, "0,125": 0.125, "minus three": -3, "a hundred": 100, "a hundred and twenty": 120, "forty-two": 42,
		"two and three quarters": 2.75, "a half": 0.5, "three eighths": 0.375, "a sixty-fourth": 1.0 / 64,
	} {
		got, err := ParseNumber(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, got, 1e-12, text)
	}
	for _, text := range []string{"", "thirteen five", "hundred hundred", "point", "one point", "banana", "1.2.3", "number one idler", "twenty forty fifty"} {
		_, err := ParseNumber(text)
		require.Error(t, err, text)
	}
}

// Plain cardinals as PyPI num2words 0.5.14 writes them in British English,
// recorded by scripts/reference-check.
func TestPlainCardinalsAgreeWithNum2words(t *testing.T) {
	raw, err := os.ReadFile("testdata/reference-numbers.json")
	require.NoError(t, err)
	var ref struct {
		Words map[string]string `json:"words"`
	}
	require.NoError(t, json.Unmarshal(raw, &ref))
	require.Greater(t, len(ref.Words), 400)
	for digits, words := range ref.Words {
		want, err := strconv.ParseFloat(digits, 64)
		require.NoError(t, err)
		got, err := ParseNumber(words)
		require.NoError(t, err, words)
		require.Equal(t, want, got, words)
		if want < 10000 {
			require.Equal(t, strings.ReplaceAll(words, ",", ""), SayNumber(want), "said the same, without the comma")
		}
	}
}

func TestANumberSaidIsTheNumberHeard(t *testing.T) {
	for n := range 10000 {
		got, err := ParseNumber(SayNumber(float64(n)))
		require.NoError(t, err, SayNumber(float64(n)))
		require.Equal(t, float64(n), got, SayNumber(float64(n)))
	}
	rapid.Check(t, func(t *rapid.T) {
		v := float64(rapid.IntRange(0, 9999).Draw(t, "digits")) / math.Pow10(rapid.IntRange(0, 3).Draw(t, "places"))
		got, err := ParseNumber(SayNumber(v))
		require.NoError(t, err)
		require.InDelta(t, v, got, 1e-9)
	})
}

func TestWhatIsPrintedAndSaidIsReadBack(t *testing.T) {
	units := Units()
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		q := Quantity{Amount: float64(rapid.IntRange(1, 9999).Draw(t, "amount")) / math.Pow10(rapid.IntRange(0, 2).Draw(t, "places")), Unit: u}
		if rapid.Bool().Draw(t, "tolerant") {
			q.Tolerance = float64(rapid.IntRange(1, 9).Draw(t, "tolerance"))
		}
		got, err := ParseAs(u.Dimension(), q.String())
		require.NoError(t, err, q.String())
		require.True(t, q.Same(got, 1e-9), "%s read as %s", q, got)
		heard, err := ParseAs(u.Dimension(), q.Say())
		require.NoError(t, err, q.Say())
		require.True(t, q.Same(heard, 1e-9), "%s, said %q, heard %s", q, q.Say(), heard)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"66 in-lb", "nine sixteenths of an inch", "24 ± 4 N·m", "an inch and an eighth", "three tenths",
		"thirty pounds", "1 h 30 min", "1,250 N·m", "between 20 and 26 N·m", "(24 ± 4) N·m", "-5 °C", "½ in", "point", "±", "5..25 N·m", "1/0 in", "a a a a"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		q, err := Parse(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.NotEmpty(t, q.Unit.Dimension(), "a quantity has a known unit")
		require.False(t, math.IsNaN(q.Amount) || math.IsInf(q.Amount, 0) || q.Tolerance < 0, "%q gave %v", text, q)
		if a := math.Abs(q.Amount); a > 1e-6 && a < 1e12 && q.Tolerance < 1e12 && (q.Tolerance == 0 || q.Tolerance > 1e-6) {
			back, err := ParseAs(q.Unit.Dimension(), q.String())
			require.NoError(t, err, "%q printed %q", text, q)
			require.True(t, q.Same(back, 1e-3), "%q printed %q read %q", text, q, back)
		}
		require.NotEmpty(t, q.Say())
		require.NotEmpty(t, q.SayDigits())
	})
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"one thirty-five", "1-1/8", "a hundred and five", "point oh five", "half a dozen", "1,234.5", "minus minus one", "thousand"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := ParseNumber(text)
		if err == nil {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), text)
		}
	})
}

func FuzzParseTightening(f *testing.F) {
	for _, s := range []string{"24 N·m + 90°", "twenty-four newton metres plus ninety", "90°", "5, 10, 25 N·m", "24 Nm then a quarter turn", "25 N·m (18 lbf·ft, 2.5 kgf·m)", "+", "5 N·m + 9999 turns"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if got, err := ParseTightening(text); err == nil {
			require.True(t, got.Torque.Given() || len(got.Angles) > 0, "%q gave nothing", text)
			require.NotEmpty(t, got.Say())
		}
		if stages, err := ParseStages(text); err == nil {
			require.NotEmpty(t, stages)
		}
		if qs, err := ParsePrinted(text); err == nil {
			require.NotEmpty(t, qs)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("twenty-four plus or minus four newton metres"); err != nil {
			b.Fatal(err)
		}
	}
}
