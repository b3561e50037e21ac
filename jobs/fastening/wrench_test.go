package fastening

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/jobs/measure"
)

func TestSettingsWithAdaptersArePublishedOnes(t *testing.T) {
	for _, c := range []struct {
		want, lever, adapter string
		angle                float64
		set                  float64
		tolerance            float64
		source               string
	}{
		{"300 lbf·in", "10 in", "4 in", 0, 214, 0.5, "US Army TM 1-1500-204-23-9"},
		{"40 lbf·ft", "12 in", "4 in", 0, 30, 1e-9, "US Army TM 9-2350-277"},
		{"100 lbf·in", "12 in", "6 in", 0, 66.7, 0.05, "NAVEDTRA 14315"},
		{"135 lbf·in", "10 in", "1.5 in", 0, 117.4, 0.05, "R66 maintenance manual 20.4, longer"},
		{"135 lbf·in", "10 in", "1.5 in", 180, 158.8, 0.05, "R66 maintenance manual 20.4, shorter"},
		{"50 N·m", "400 mm", "50 mm", 0, 44.44, 0.005, "computed"},
		{"50 N·m", "400 mm", "50 mm", 45, 45.94, 0.005, "computed"},
		{"50 N·m", "400 mm", "50 mm", 90, 50, 1e-12, "computed"},
		{"50 N·m", "400 mm", "50 mm", 180, 57.14, 0.005, "computed"},
	} {
		got, err := Setting(mustRead(t, c.want), Adapter{Lever: mustRead(t, c.lever), Length: mustRead(t, c.adapter), Angle: measure.Degrees(c.angle).Quantity()})
		require.NoError(t, err)
		require.InDelta(t, c.set, got.Amount, c.tolerance, "%s, %g°: %s", c.want, c.angle, c.source)
	}
	straight, err := Setting(mustRead(t, "50 N·m"), Adapter{Lever: mustRead(t, "400 mm")})
	require.NoError(t, err)
	require.Equal(t, 50.0, straight.Amount, "a straight extension needs no correction")
}

func TestAdaptersThatCannotBeAreRefused(t *testing.T) {
	for _, a := range []Adapter{
		{Length: mustRead(t, "50 mm")},
		{Lever: mustRead(t, "40 mm"), Length: mustRead(t, "50 mm"), Angle: mustRead(t, "180°")},
		{Lever: mustRead(t, "5 bar"), Length: mustRead(t, "50 mm")},
		{Lever: mustRead(t, "400 mm"), Length: mustRead(t, "50 mm"), Angle: mustRead(t, "5 mm")},
		{Lever: mustRead(t, "400 mm"), Length: measure.Quantity{Amount: -50, Unit: measure.Millimetre}},
	} {
		_, err := Setting(mustRead(t, "50 N·m"), a)
		require.Error(t, err)
	}
	_, err := Setting(mustRead(t, "50 mm"), Adapter{})
	require.Error(t, err)
}

func TestTheAdapterTurnsTheSettingTheRightWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Adapter{
			Lever:  measure.Millimetres(rapid.Float64Range(150, 1200).Draw(t, "lever")).Quantity(),
			Length: measure.Millimetres(rapid.Float64Range(5, 140).Draw(t, "adapter")).Quantity(),
			Angle:  measure.Degrees(rapid.Float64Range(0, 180).Draw(t, "angle")).Quantity(),
		}
		want := measure.NewtonMetres(rapid.Float64Range(1, 300).Draw(t, "want")).Quantity()
		got, err := Setting(want, a)
		require.NoError(t, err)
		// The same moment by statics: the force at the grip times its distance from the fastener along the wrench.
		force := got.Amount / (a.Lever.Amount / 1000)
		arm := (a.Lever.Amount + a.Length.Amount*math.Cos(a.Angle.Amount*math.Pi/180)) / 1000
		require.InEpsilon(t, want.Amount, force*arm, 1e-12)
		if a.Angle.Amount < 89 {
			require.Less(t, got.Amount, want.Amount)
		}
		if a.Angle.Amount > 91 {
			require.Greater(t, got.Amount, want.Amount)
		}
	})
}

// demoWrenches are the two of the invented boat-engine job.
func demoWrenches(t require.TestingT) []Wrench {
	small, err := measure.ParseRange("5..25 N·m")
	require.NoError(t, err)
	long, err := measure.ParseRange("20..110 N·m")
	require.NoError(t, err)
	return []Wrench{
		{Name: "small click", Range: small, Mark: mustRead(t, "0.5 N·m")},
		{Name: "long click", Range: long, Mark: mustRead(t, "1 N·m")},
	}
}

func TestTheWrenchIsChosenByItsRange(t *testing.T) {
	ws := demoWrenches(t)
	for _, c := range []struct {
		want, name, set string
		usable          bool
	}{
		{"10 N·m", "small click", "10 N·m", true}, {"25 N·m", "long click", "25 N·m", true}, {"22 N·m", "small click", "22 N·m", true}, {"50 N·m", "long click", "50 N·m", true},
		{"13.3 N·m", "small click", "13.5 N·m", true}, {"18 lbf·ft", "small click", "24.5 N·m", true}, {"110 N·m", "long click", "110 N·m", true},
		{"3 N·m", "small click", "3 N·m", false}, {"150 N·m", "long click", "150 N·m", false},
	} {
		got, err := ChooseWrench(ws, mustRead(t, c.want), Adapter{})
		require.NoError(t, err)
		require.Equal(t, c.usable, got.Usable, c.want)
		require.Equal(t, c.usable, len(got.Warnings) == 0, c.want)
		require.Equal(t, c.set, got.Set.String(), c.want)
		require.Equal(t, c.name, got.Wrench.Name, c.want)
	}
	_, err := ChooseWrench(nil, mustRead(t, "10 N·m"), Adapter{})
	require.ErrorContains(t, err, "no wrenches")
}

// ISO 6789, published reprints: ±4 % above 10 N·m of maximum, ±6 % at or
// below; checked at 20, 60 and 100 % of the maximum.
func TestRangesAndTolerancesFollowTheStandard(t *testing.T) {
	ws := demoWrenches(t)
	require.Equal(t, 0.04, ws[0].Accuracy())
	tiny, err := measure.ParseRange("2..10 N·m")
	require.NoError(t, err)
	require.Equal(t, 0.06, Wrench{Range: tiny}.Accuracy())

	for set, want := range map[string]string{"4.9 N·m": "under 20 %", "5 N·m": "", "25 N·m": "", "25.5 N·m": "above the range"} {
		c, err := SetWrench(Wrench{Name: "w", Range: ws[0].Range}, mustRead(t, set), Adapter{})
		require.NoError(t, err)
		if want == "" {
			require.Empty(t, c.Warnings, set)
			continue
		}
		require.Contains(t, c.Warnings[0], want, set)
	}
	c, err := SetWrench(Wrench{Name: "long click", Range: ws[1].Range, Mark: mustRead(t, "5 N·m")}, mustRead(t, "32.4 N·m"), Adapter{})
	require.NoError(t, err)
	require.Contains(t, c.Warnings[0], "nearest mark is 7.4 % off")
	c, err = SetWrench(Wrench{Name: "stiff", Range: measure.Range{Low: mustRead(t, "40 N·m"), High: mustRead(t, "110 N·m")}}, mustRead(t, "30 N·m"), Adapter{})
	require.NoError(t, err)
	require.Contains(t, c.Warnings[0], "below the scale")
}

func TestAWrenchKnowsItsOwnLength(t *testing.T) {
	ws := demoWrenches(t)
	ws[0].Lever, ws[1].Lever = mustRead(t, "250 mm"), mustRead(t, "400 mm")
	c, err := ChooseWrench(ws, mustRead(t, "50 N·m"), Adapter{Length: mustRead(t, "50 mm")})
	require.NoError(t, err)
	require.Equal(t, "long click", c.Wrench.Name)
	require.InDelta(t, 44.44, c.Exact.Amount, 0.005)
	a, err := AnswerSetting(mustRead(t, "50 N·m"), Adapter{Length: mustRead(t, "50 mm")}, ws)
	require.NoError(t, err)
	require.Empty(t, a.Ask)
	require.Contains(t, a.Text, "400 mm from grip to drive")
}
