package fastening

import (
	"fmt"
	"math"

	"putback/jobs/measure"
)

// Lubrication is the state of thread and head when tightened.
type Lubrication string

// The states. The empty one means that nobody said.
const (
	LubeUnknown   Lubrication = ""
	LubeDry       Lubrication = "dry"
	LubeOiled     Lubrication = "oiled"
	LubePlated    Lubrication = "zinc plated"
	LubeBlack     Lubrication = "black"
	LubeCadmium   Lubrication = "cadmium plated"
	LubeAntiSeize Lubrication = "anti-seize"
)

// NutFactor is K of T = K·d·F for one state.
type NutFactor struct {
	State  Lubrication
	K      float64
	Source string
}

// NutFactors lists K. Dry is taken as 0.20 and oiled as 0.15, as the Army's
// table of dry and lubed torques does.
func NutFactors() []NutFactor { return append([]NutFactor(nil), nutFactors...) }

var nutFactors = []NutFactor{
	{LubeBlack, 0.30, srcShigley}, {LubePlated, 0.20, srcShigley}, {LubeCadmium, 0.16, srcShigley},
	{LubeAntiSeize, 0.12, srcShigley}, {LubeDry, 0.20, srcArmyTable}, {LubeOiled, 0.15, srcArmyTable},
	{LubeUnknown, 0.20, srcArmyTable},
}

// Factor is K for the state; an unknown state counts as dry.
func (l Lubrication) Factor() float64 {
	for _, f := range nutFactors {
		if f.State == l {
			return f.K
		}
	}
	return 0.20
}

// ShortTorque is T = K·d·F. Source: Shigley, table 8-15. The preload of one
// torque scatters by 25 to 30 %.
func ShortTorque(k float64, d measure.Millimetres, preload measure.Newtons) measure.NewtonMetres {
	return measure.NewtonMetres(k * float64(d) / 1000 * float64(preload))
}

// ShortPreload is F = T/(K·d), the preload a torque gives. Source: as [ShortTorque].
func ShortPreload(k float64, d measure.Millimetres, t measure.NewtonMetres) measure.Newtons {
	return measure.Newtons(float64(t) / (k * float64(d) / 1000))
}

// Bearing is the ring the head turns on: its outer diameter and the hole.
type Bearing struct {
	Outer, Hole measure.Millimetres
}

// meanDiameter is DKm = (dW + dh)/2.
func (b Bearing) meanDiameter() float64 { return float64(b.Outer+b.Hole) / 2 }

type bearingRow struct {
	d      float64
	b      Bearing
	source string
}

// bearingRows: hexagon heads on medium holes.
var bearingRows = []bearingRow{
	{5, Bearing{6.9, 5.5}, srcMemory}, {6, Bearing{8.9, 6.6}, srcMemory},
	{8, Bearing{11.6, 9}, srcVDI}, {10, Bearing{14.6, 11}, srcVDI}, {12, Bearing{16.6, 13.5}, srcVDI},
	{14, Bearing{19.6, 15.5}, srcVDI}, {16, Bearing{22.5, 17.5}, srcVDI},
	{20, Bearing{28.2, 22}, srcMemory}, {24, Bearing{33.6, 26}, srcMemory},
}

// BearingOf is the bearing ring of a hexagon head. For diameters without a row
// it is estimated as 1.45·d and 1.1·d (common practice, no source).
func BearingOf(t Thread) Bearing {
	for _, r := range bearingRows {
		if r.d == float64(t.Diameter) {
			return r.b
		}
	}
	return Bearing{1.45 * t.Diameter, 1.1 * t.Diameter}
}

// LongTorque is M = F·(0.16·P + 0.58·d2·µG + DKm/2·µK), with the friction of
// the thread and of the head. Source: VDI 2230 and ISO 16047.
func LongTorque(t Thread, preload measure.Newtons, muThread, muHead float64, b Bearing) measure.NewtonMetres {
	arm := 0.16*float64(t.Pitch) + 0.58*float64(t.PitchDiameter())*muThread + b.meanDiameter()/2*muHead
	return measure.NewtonMetres(float64(preload) * arm / 1000)
}

// PreloadAtYield is the preload at 90 % use of the yield stress under torque:
// F = As0·0.9·Rp/√(1 + 3·(1.5·(d2/d0)·(P/(π·d2) + 1.155·µG))²), d0 = (d2+d3)/2.
// Source: VDI 2230.
func PreloadAtYield(t Thread, class string, muThread float64) (measure.Newtons, error) {
	b, err := newBolt(t, class)
	if err != nil {
		return 0, fmt.Errorf("preload of %s: %w", t, err)
	}
	d2, d3 := float64(t.PitchDiameter()), float64(t.RootDiameter())
	d0 := (d2 + d3) / 2
	twist := 1.5 * d2 / d0 * (float64(t.Pitch)/(math.Pi*d2) + 1.155*muThread)
	area := math.Pi / 4 * d0 * d0
	return measure.Newtons(area * 0.9 * float64(b.Class.Yield) / math.Sqrt(1+3*twist*twist)), nil
}

// PowerScrewTorque is the torque that raises a preload by the mechanics of the
// screw: F·(dm/2·(tan λ + f·sec α)/(1 − f·tan λ·sec α) + 0.625·fc·d), α = 30°,
// dm the mean of major and root diameter. Source: Shigley, eq. 8-26.
func PowerScrewTorque(t Thread, preload measure.Newtons, muThread, muHead float64) measure.NewtonMetres {
	d := float64(t.Diameter)
	root := d - 1.226869*float64(t.Pitch)
	if t.System == Unified {
		root = d - 1.299038*float64(t.Pitch) // external root of the unified form, flat crests
	}
	dm := (d + root) / 2
	tan := float64(t.Pitch) / (math.Pi * dm)
	sec := 1 / math.Cos(math.Pi/6)
	arm := dm/2*(tan+muThread*sec)/(1-muThread*tan*sec) + 0.625*muHead*d
	return measure.NewtonMetres(float64(preload) * arm / 1000)
}

// The shares of proof load a joint is preloaded to. Source: Shigley, eq. 8-31.
const (
	ShareReused    = 0.75 // taken apart again
	SharePermanent = 0.90
)

// Preload is the force a joint is tightened to: share of the proof load.
func Preload(t Thread, class string, share float64) (measure.Newtons, error) {
	s, err := StrengthOf(t, class)
	if err != nil {
		return 0, err
	}
	return measure.Newtons(share * float64(s.Proof)), nil
}

// Guide is a computed torque with everything that must go with it.
type Guide struct {
	Thread      Thread
	Class       Class
	Torque      measure.NewtonMetres
	Low, High   measure.NewtonMetres // oiled and dry: what printed tables run between
	Preload     measure.Newtons
	Assumptions []string
	Source      string
	Note        string // GuideNote
}

// GuideFor computes a guide torque: 75 % of the proof load (a joint taken apart
// again) by the short form. A class that nobody said ("") is taken as 8.8, for
// inch threads as grade 5. Into aluminium it is at most 70 % of the dry figure,
// plated screws take 80 % of it (US Army TM 5-3895-367-14&P). The errors are those of the tables.
func GuideFor(t Thread, class string, lube Lubrication, into Material) (Guide, error) {
	g := Guide{Thread: t, Note: GuideNote, Source: srcShigley + "; " + srcArmyTable}
	if class == "" {
		class = assumedClass(t)
		g.Assumptions = append(g.Assumptions, assumption(class))
	}
	b, err := newBolt(t, class)
	if err != nil {
		return Guide{}, fmt.Errorf("guide torque: %w", err)
	}
	g.Class = b.Class
	g.Preload = measure.Newtons(ShareReused * float64(b.strength().Proof))
	g.Low = ShortTorque(LubeOiled.Factor(), t.Diameter, g.Preload)
	g.High = ShortTorque(LubeDry.Factor(), t.Diameter, g.Preload)
	k := lube.Factor()
	if lube == LubeBlack {
		k = LubeDry.Factor() // the high factor of black screws would overload one that happens to be oiled
	}
	g.Torque = ShortTorque(k, t.Diameter, g.Preload)
	switch lube {
	case LubeUnknown, LubeDry, LubeBlack:
		g.Assumptions = append(g.Assumptions, "dry, 75 % of proof load")
	case LubePlated:
		g.Torque = 0.8 * ShortTorque(LubeDry.Factor(), t.Diameter, g.Preload)
		g.Assumptions = append(g.Assumptions, "plated: 20 % off the dry figure")
	default:
		g.Assumptions = append(g.Assumptions, string(lube)+", 75 % of proof load")
	}
	if into == Aluminium {
		g.Assumptions = append(g.Assumptions, "into aluminium: 30 % off")
		g.Low, g.High = 0.7*g.Low, 0.7*g.High
		g.Torque = min(g.Torque, g.High) // a figure for oiled threads is not reduced again
	}
	return g, nil
}

// Reduction is one rule for torquing with lubricant on a dry specification.
type Reduction struct {
	When   string
	Factor float64
	Source string
}

// Reductions lists the rules. A specification given for oiled threads is not
// reduced again.
func Reductions() []Reduction {
	return []Reduction{
		{"engine oil on a dry specification", 0.90, srcArmyTable},
		{"plated screw on a dry specification", 0.80, srcArmyTable},
		{"into aluminium", 0.70, srcArmyTable},
	}
}
