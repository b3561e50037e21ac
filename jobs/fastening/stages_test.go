package fastening

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/jobs/measure"
)

// ASME PCC-1 as quoted in public texts: 30, 60, 100 %, then once round.
func TestATorqueIsReachedInStages(t *testing.T) {
	o, err := Cross(8)
	require.NoError(t, err)
	target := measure.Tightening{Torque: mustRead(t, "25 N·m")}
	ps, err := Passes(target, nil, o, mustRead(t, "0.5 N·m"))
	require.NoError(t, err)
	require.Len(t, ps, 4)
	for i, want := range []string{"7.5 N·m", "15 N·m", "25 N·m", "25 N·m"} {
		require.Equal(t, want, ps[i].Target.String())
	}
	require.Equal(t, o.Sequence, ps[2].Order)
	require.Equal(t, []int{1, 2, 3, 4, 5, 6, 7, 8}, ps[3].Order)
}

func TestTurnsAreStagesOfTheirOwn(t *testing.T) {
	o, err := Cross(4)
	require.NoError(t, err)
	target, err := measure.ParseTightening("40 N·m + 60° + 60°")
	require.NoError(t, err)
	ps, err := Passes(target, nil, o, measure.Quantity{})
	require.NoError(t, err)
	require.Len(t, ps, 5)
	require.Equal(t, "12 N·m", ps[0].Target.String())
	require.Equal(t, "60°", ps[3].Target.String())
	require.False(t, ps[3].Target.Torque.Given(), "a turn is made by gauge, not by the torque wrench")
}

func TestPrintedStagesAreTakenAsTheyAre(t *testing.T) {
	o, err := PrintedOrder([]int{2, 1}, 2)
	require.NoError(t, err)
	printed, err := measure.ParseStages("5 N·m, 10 N·m, 90°")
	require.NoError(t, err)
	ps, err := Passes(measure.Tightening{}, printed, o, measure.Quantity{})
	require.NoError(t, err)
	require.Len(t, ps, 3)
	require.Equal(t, "5 N·m", ps[0].Target.String())
	require.Equal(t, []int{2, 1}, ps[2].Order)
}

func TestStagesNeedAFigureAndBolts(t *testing.T) {
	o, err := Cross(2)
	require.NoError(t, err)
	_, err = Passes(measure.Tightening{}, nil, o, measure.Quantity{})
	require.ErrorContains(t, err, "no torque is known")
	_, err = Passes(measure.Tightening{Torque: mustRead(t, "5 N·m")}, nil, Order{}, measure.Quantity{})
	require.Error(t, err)
	one, err := Cross(1)
	require.NoError(t, err)
	ps, err := Passes(measure.Tightening{Torque: mustRead(t, "5 N·m")}, nil, one, measure.Quantity{})
	require.NoError(t, err)
	require.Len(t, ps, 1, "a single bolt is tightened in one go")
}

func TestSealantsCarryTheirSource(t *testing.T) {
	s := Sealant{Name: "grey silicone", CloseWithin: 10 * time.Minute, FluidAfter: 2 * time.Hour, Cure: 24 * time.Hour}
	require.ErrorContains(t, s.Check(), "source")
	s.Source = "printed on the tube"
	require.NoError(t, s.Check())
	require.Less(t, s.WarnBefore(), s.CloseWithin, "the warning comes before the limit")
	require.Equal(t, 2*time.Minute, Sealant{CloseWithin: 3 * time.Minute}.WarnBefore())
	s.FluidAfter = 48 * time.Hour
	require.ErrorContains(t, s.Check(), "full cure already")
	l := Locker{Name: "blue", Cure: 24 * time.Hour, Fixture: 10 * time.Minute}
	require.Error(t, l.Check())
	l.Source = "label"
	require.NoError(t, l.Check())
	l.Fixture = 48 * time.Hour
	require.Error(t, l.Check())
}

func TestStagesCanLoosenRepeatAndTakeSomeBolts(t *testing.T) {
	o, err := Cross(4)
	require.NoError(t, err)
	printed, err := measure.ParseStages("20 N·m, loosen 180°, 20 N·m, bolts 1-2: 60°, repeat")
	require.NoError(t, err)
	ps, err := Passes(measure.Tightening{}, printed, o, measure.Quantity{})
	require.NoError(t, err)
	require.Len(t, ps, 5)
	require.Equal(t, "loosen 180°", ps[1].Target.String())
	require.Equal(t, []int{4, 2, 3, 1}, ps[1].Order, "loosened in the order backwards")
	require.Equal(t, []int{1, 2}, ps[3].Order)
	require.Equal(t, ps[3], ps[4])
	printed, err = measure.ParseStages("bolts 7-9: 60°")
	require.NoError(t, err)
	_, err = Passes(measure.Tightening{}, printed, o, measure.Quantity{})
	require.Error(t, err, "a subset of bolts the group has not")
}
