package fastening

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/jobs/measure"
)

// printedTorque is one row of the Army's and a machine maker's printed tables:
// US Army TM 5-3895-367-14&P, Table H-1, and a maker's dry/lubed table, lbf·ft.
type printedTorque struct {
	thread                 string
	dry5, dry8, lub5, lub8 float64
}

var printedTorques = []printedTorque{
	{"1/4-20", 8, 12, 6, 9}, {"5/16-18", 17, 25, 13, 18}, {"3/8-16", 31, 44, 23, 33}, {"7/16-14", 49, 70, 37, 52},
	{"1/2-13", 75, 105, 57, 80}, {"1/2-20", 85, 120, 64, 90}, {"9/16-12", 110, 155, 82, 115}, {"5/8-11", 150, 210, 115, 160},
	{"3/4-10", 265, 375, 200, 280},
}

func inUnit(t require.TestingT, q measure.Quantity, u measure.Unit) float64 {
	got, err := q.In(u)
	require.NoError(t, err)
	return got.Amount
}

func TestGuideTorquesAgreeWithPrintedTables(t *testing.T) {
	within2 := 0
	for _, r := range printedTorques {
		for _, c := range []struct {
			class string
			lube  Lubrication
			want  float64
		}{{"grade 5", LubeDry, r.dry5}, {"grade 8", LubeDry, r.dry8}, {"grade 5", LubeOiled, r.lub5}, {"grade 8", LubeOiled, r.lub8}} {
			g, err := GuideFor(mustThread(t, r.thread), c.class, c.lube, Steel)
			require.NoError(t, err)
			got := inUnit(t, g.Torque.Quantity(), measure.FootPound)
			require.InEpsilon(t, c.want, got, 0.06, "%s %s %s", r.thread, c.class, c.lube)
			if got > 0.98*c.want && got < 1.02*c.want {
				within2++
			}
		}
	}
	require.Greater(t, within2, 18, "most of the 36 values agree within 2 %")
}

// Shigley, 9th ed., example 8-3: 3/4-16 grade 5, Fi 25 000 lbf, K 0.2, f = fc = 0.15.
func TestShigleysExampleComesOut(t *testing.T) {
	th := mustThread(t, "3/4-16")
	f, err := mustRead(t, "25000 lbf").Newtons()
	require.NoError(t, err)
	require.InEpsilon(t, 3750, inUnit(t, ShortTorque(0.20, th.Diameter, f).Quantity(), measure.InchPound), 1e-6)
	require.InEpsilon(t, 3551, inUnit(t, PowerScrewTorque(th, f, 0.15, 0.15).Quantity(), measure.InchPound), 0.002)
}

// The printed preload and torque at 90 % of yield: published tables after VDI
// 2230 for fine threads; coarse threads computed from the same formulas.
func TestLongFormAgreesWithPrintedTables(t *testing.T) {
	for _, c := range []struct {
		thread, class string
		mu            float64
		kN, nm        float64 // kN 0: not printed
	}{
		{"M8x1", "8.8", 0.12, 20.2, 26.1}, {"M8x1", "8.8", 0.14, 19.7, 29.2}, {"M10x1.25", "8.8", 0.12, 31.6, 51}, {"M10x1.25", "8.8", 0.14, 30.8, 57},
		{"M12x1.25", "8.8", 0.12, 48.0, 90}, {"M14x1.5", "8.8", 0.12, 64.8, 142}, {"M16x1.5", "8.8", 0.12, 87.6, 218},
		{"M8x1", "10.9", 0.12, 29.7, 38.3}, {"M10x1.25", "10.9", 0.12, 46.4, 75},
		{"M8", "8.8", 0.12, 0, 24.6}, {"M8", "8.8", 0.14, 0, 27.3}, {"M10", "8.8", 0.12, 0, 48.4}, {"M10", "8.8", 0.14, 0, 53.9},
		{"M12", "8.8", 0.12, 0, 83.6}, {"M12", "8.8", 0.14, 0, 93.0}, {"M16", "8.8", 0.12, 0, 205.9}, {"M16", "8.8", 0.14, 0, 230.0},
		{"M6", "8.8", 0.12, 0, 10.2}, {"M6", "8.8", 0.14, 0, 11.3},
	} {
		th := mustThread(t, c.thread)
		f, err := PreloadAtYield(th, c.class, c.mu)
		require.NoError(t, err)
		if c.kN > 0 {
			require.InEpsilon(t, c.kN*1000, float64(f), 0.01, "%s %s mu %g preload", c.thread, c.class, c.mu)
		}
		require.InEpsilon(t, c.nm, float64(LongTorque(th, f, c.mu, c.mu, BearingOf(th))), 0.01, "%s %s mu %g torque", c.thread, c.class, c.mu)
	}
	// One joint with the coefficients unrounded (1/2π and 1/(2·cos 30°) for 0.16 and
	// 0.58): M10x1.5, 30 kN, µ 0.12, dW 14.6, dh 11. The rounding costs 0.3 %.
	require.InEpsilon(t, 48.96, float64(LongTorque(mustThread(t, "M10"), 30000, 0.12, 0.12, Bearing{14.6, 11})), 0.003)
}

func TestShortFormGoesBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.05, 0.4).Draw(t, "K")
		d := measure.Millimetres(rapid.Float64Range(3, 24).Draw(t, "d"))
		f := measure.Newtons(rapid.Float64Range(1, 1e6).Draw(t, "F"))
		require.InEpsilon(t, float64(f), float64(ShortPreload(k, d, ShortTorque(k, d, f))), 1e-12)
	})
}

func TestGuideFiguresCarryWhatTheyStandOn(t *testing.T) {
	m8 := mustThread(t, "M8")
	g, err := GuideFor(m8, "", LubeUnknown, MaterialUnknown)
	require.NoError(t, err)
	require.Equal(t, "8.8", g.Class.Name)
	require.Contains(t, g.Assumptions, "class 8.8 taken for granted")
	require.Equal(t, "guide figure, your manual decides", g.Note)
	require.NotEmpty(t, g.Source)
	require.Less(t, g.Low, g.High)

	alu, err := GuideFor(m8, "8.8", LubeDry, Aluminium)
	require.NoError(t, err)
	require.InEpsilon(t, 0.7*float64(g.High), float64(alu.Torque), 1e-9, "30 %% off into aluminium, US Army TM 5-3895-367-14&P")
	oiled, err := GuideFor(m8, "8.8", LubeOiled, Aluminium)
	require.NoError(t, err)
	require.Equal(t, alu.Torque, oiled.Torque, "a figure for oiled threads is not reduced again")
	plated, err := GuideFor(m8, "8.8", LubePlated, Steel)
	require.NoError(t, err)
	require.InEpsilon(t, 0.8*float64(g.High), float64(plated.Torque), 1e-9, "20 %% off plated, US Army TM 5-3895-367-14&P")

	_, err = GuideFor(m8, "7.7", LubeDry, Steel)
	require.Error(t, err)
}

// US Army TM 5-2330-325-13&P: 50-70 lbf·in with 30 of run-on becomes 80-100.
func TestRunOnTorqueIsAddedFromAThirdUp(t *testing.T) {
	r, err := WithRunOn(mustRead(t, "50-70 lbf·in"), mustRead(t, "30 lbf·in"))
	require.NoError(t, err)
	require.True(t, r.Added)
	require.Equal(t, "80 lbf·in", r.Low.String())
	require.Equal(t, "100 lbf·in", r.High.String())
	r, err = WithRunOn(mustRead(t, "50-70 lbf·in"), mustRead(t, "20 lbf·in"))
	require.NoError(t, err)
	require.False(t, r.Added)
	require.Equal(t, "70 lbf·in", r.High.String())
	_, err = WithRunOn(mustRead(t, "5 mm"), mustRead(t, "20 lbf·in"))
	require.Error(t, err)
}

// A power-tool maker's published example: 1/2 in, grip 4 in, area 0.1436 in²,
// 30 lbf·ft + 60°, pitch 1/30 in, 65 % of the turn to the bolt → 62.4 lbf·ft.
func TestATurnHasATorqueEquivalent(t *testing.T) {
	j := AngleJoint{Diameter: 12.7, Pitch: 25.4 / 30, Grip: 4 * 25.4, Area: 0.1436 * 25.4 * 25.4, BoltShare: 0.65}
	snug, err := mustRead(t, "30 lbf·ft").NewtonMetres()
	require.NoError(t, err)
	got, err := j.Equivalent(snug, 60)
	require.NoError(t, err)
	require.InEpsilon(t, 62.4, inUnit(t, got.Quantity(), measure.FootPound), 0.002)
	j.BoltShare = 1.2
	_, err = j.Equivalent(snug, 60)
	require.Error(t, err)
	_, err = AngleJoint{}.Equivalent(snug, 60)
	require.Error(t, err)
	// The elastic joint: with both stiffnesses equal, half of the turn stretches the bolt.
	require.InEpsilon(t, 48, float64(TurnFor(1.5, 10000, 1e5, 1e5)), 1e-9, "360/1.5·10000·2/1e5, computed by hand")
}

// Design News after the Industrial Fasteners Institute: 1, 1.5 and 2 diameters.
func TestEngagementIsCountedInDiameters(t *testing.T) {
	m8 := mustThread(t, "M8")
	e, err := EngagementByTurns(m8, 7, Aluminium)
	require.NoError(t, err)
	require.InDelta(t, 8.75, float64(e.Depth), 1e-9)
	require.InDelta(t, 1.09, e.Diameters, 0.005)
	require.InDelta(t, 16, float64(e.Wanted), 1e-9)
	require.False(t, e.Enough)
	for into, depth := range map[Material]measure.Millimetres{Steel: 8, CastIron: 12, Aluminium: 16, MaterialUnknown: 16} {
		e, err := EngagementByDepth(m8, depth, into)
		require.NoError(t, err)
		require.True(t, e.Enough, into)
		e, err = EngagementByDepth(m8, depth-0.1, into)
		require.NoError(t, err)
		require.False(t, e.Enough, into)
	}
	_, err = EngagementByDepth(m8, -1, Steel)
	require.Error(t, err)
	_, err = EngagementByDepth(m8, 5, "cheese")
	require.ErrorContains(t, err, "cheese")
}

// Shigley, 9th ed., eq. 8-31: 0.75 of proof load re-used, 0.90 permanent; and
// the table value of 3/4-16 grade 5, 0.373 in² at 85 ksi.
func TestPreloadIsAShareOfProofLoad(t *testing.T) {
	th := mustThread(t, "3/4-16")
	for share, lbf := range map[float64]float64{ShareReused: 0.75 * 0.373 * 85000, SharePermanent: 0.90 * 0.373 * 85000} {
		f, err := Preload(th, "grade 5", share)
		require.NoError(t, err)
		require.InEpsilon(t, lbf, inUnit(t, f.Quantity(), measure.PoundForce), 0.001)
	}
	_, err := Preload(th, "7.7", ShareReused)
	require.Error(t, err)
	require.InEpsilon(t, 16, th.PerInch(), 1e-12)
}

// Sizes without a row of their own get an estimate that lies between their neighbours.
func TestEveryThreadHasABearingRing(t *testing.T) {
	last := measure.Millimetres(0)
	for _, name := range []string{"M5", "M6", "M8", "M10", "M12", "M14", "M16", "M18", "M20", "M22", "M24"} {
		th := mustThread(t, name)
		b := BearingOf(th)
		require.Greater(t, b.Hole, th.Diameter, name)
		require.Greater(t, b.Outer, last, name)
		last = b.Outer
	}
}
