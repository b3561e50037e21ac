package fastening

import (
	"fmt"
	"math"

	"putback/jobs/measure"
)

// AngleJoint is what a turn after the snug torque stretches.
type AngleJoint struct {
	Diameter, Pitch, Grip measure.Millimetres
	Area                  measure.SquareMillimetres
	Modulus               measure.Megapascals // of the bolt; 0: steel, 206 843 MPa (30·10⁶ psi)
	BoltShare             float64             // of the turn that stretches the bolt, 0 to 1; the rest compresses the joint
	K                     float64             // nut factor; 0: 0.20
}

// Equivalent is the torque that would give the preload of a torque-and-turn
// figure: the turn advances angle/360·P, the bolt takes its share of it,
// F = E·A·δ/grip, T = snug + K·d·F. It is for comparison only: the turn is made
// by gauge or paint mark, never by a torque wrench. Source: a power-tool
// maker's published example. Errors name the figure that is out of range.
func (j AngleJoint) Equivalent(snug measure.NewtonMetres, turn measure.Degrees) (measure.NewtonMetres, error) {
	if j.Grip <= 0 || j.Area <= 0 || j.Pitch <= 0 || j.Diameter <= 0 {
		return 0, fmt.Errorf("torque equivalent of a turn: diameter, pitch, grip and area must be above zero")
	}
	if j.BoltShare <= 0 || j.BoltShare > 1 {
		return 0, fmt.Errorf("torque equivalent of a turn: share of the bolt %g is not between 0 and 1", j.BoltShare)
	}
	e, k := float64(j.Modulus), j.K
	if e == 0 {
		e = 30e6 * 0.006894757293168
	}
	if k == 0 {
		k = 0.20
	}
	stretch := float64(turn) / 360 * float64(j.Pitch) * j.BoltShare
	f := e * float64(j.Area) * stretch / float64(j.Grip)
	return snug + ShortTorque(k, j.Diameter, measure.Newtons(f)), nil
}

// TurnFor is the turn from snug that raises a preload: θ = 360/P·F·(1/kb + 1/kc),
// stiffness of bolt and of joint in N/mm. Source: the elastic joint, as printed
// beside the example of [AngleJoint.Equivalent]. NaN when a stiffness is not above zero.
func TurnFor(pitch measure.Millimetres, preload measure.Newtons, boltStiffness, jointStiffness float64) measure.Degrees {
	if boltStiffness <= 0 || jointStiffness <= 0 || pitch <= 0 {
		return measure.Degrees(math.NaN())
	}
	return measure.Degrees(360 / float64(pitch) * float64(preload) * (1/boltStiffness + 1/jointStiffness))
}

// TurnAdvice is said before an angle stage.
const TurnAdvice = "Turn it by an angle gauge or a paint mark, not by the torque wrench."

// CheckAdvice is how a tightened bolt is checked without loosening the joint.
// Source: US Army TM 5-2330-325-13&P.
const CheckAdvice = "Mark bolt and seat, back off a quarter turn, retighten: the marks should meet."

// ReuseRule says when a bolt may go back. Makers differ, so a rule is stored
// with the group and carries where it was read.
type ReuseRule struct {
	Rule   string // "always new", "maximum length", "minimum diameter", "count of uses"
	Limit  measure.Quantity
	Uses   int
	Source string
}
