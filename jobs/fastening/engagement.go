package fastening

import (
	"fmt"

	"putback/jobs/measure"
)

// Material is what the screw goes into.
type Material string

// The materials. The empty one means that nobody said.
const (
	MaterialUnknown Material = ""
	Steel           Material = "steel"
	CastIron        Material = "cast iron"
	Aluminium       Material = "aluminium"
)

// EngagementRule is the depth of thread a material wants, in diameters.
type EngagementRule struct {
	Into      Material
	Diameters float64
	Source    string
}

// EngagementRules lists the rules.
func EngagementRules() []EngagementRule {
	return []EngagementRule{
		{Steel, 1.0, srcEngagement}, {CastIron, 1.5, srcEngagement}, {Aluminium, 2.0, srcEngagement},
	}
}

// Engagement compares the thread that is in with what its material wants.
type Engagement struct {
	Thread    Thread
	Into      Material
	Depth     measure.Millimetres // engaged
	Wanted    measure.Millimetres
	Diameters float64 // engaged, in diameters
	Enough    bool
	Source    string
	Note      string
}

// EngagementByTurns counts full turns from first bite to seat: depth is turns
// times pitch. Errors as [EngagementByDepth].
func EngagementByTurns(t Thread, turns float64, into Material) (Engagement, error) {
	return EngagementByDepth(t, measure.Millimetres(turns)*t.Pitch, into)
}

// EngagementByDepth judges a depth of engaged thread. A material nobody said is
// taken as aluminium, the most demanding. The error is for a negative depth or
// an unknown material.
func EngagementByDepth(t Thread, depth measure.Millimetres, into Material) (Engagement, error) {
	if !(depth >= 0) || depth > 1e4 {
		return Engagement{}, fmt.Errorf("judge thread engagement of %s: a depth of %s mm", t, short(float64(depth)))
	}
	if into == MaterialUnknown {
		into = Aluminium
	}
	for _, r := range EngagementRules() {
		if r.Into != into {
			continue
		}
		e := Engagement{Thread: t, Into: into, Depth: depth, Wanted: measure.Millimetres(r.Diameters) * t.Diameter,
			Diameters: float64(depth / t.Diameter), Source: r.Source, Note: GuideNote}
		e.Enough = depth >= e.Wanted*(1-1e-9)
		return e, nil
	}
	return Engagement{}, fmt.Errorf("judge thread engagement of %s: no rule for %q; steel, cast iron and aluminium have one", t, into)
}
