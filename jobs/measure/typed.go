package measure

import "fmt"

// The bare figures of engineering formulas, with their unit in the type. A
// figure somebody said or printed stays a [Quantity], which remembers how.
type (
	NewtonMetres      float64
	Newtons           float64
	Millimetres       float64
	SquareMillimetres float64
	Megapascals       float64 // N/mm²
	Degrees           float64
)

// Quantity is the torque in N·m.
func (t NewtonMetres) Quantity() Quantity { return Quantity{Amount: float64(t), Unit: NewtonMetre} }

// Quantity is the force in N.
func (f Newtons) Quantity() Quantity { return Quantity{Amount: float64(f), Unit: Newton} }

// Quantity is the length in mm.
func (l Millimetres) Quantity() Quantity { return Quantity{Amount: float64(l), Unit: Millimetre} }

// Quantity is the angle in °.
func (a Degrees) Quantity() Quantity { return Quantity{Amount: float64(a), Unit: Degree} }

// NewtonMetres is q as a bare torque. The error says that q is no torque.
func (q Quantity) NewtonMetres() (NewtonMetres, error) {
	v, err := q.bare(Torque, 1)
	return NewtonMetres(v), err
}

// Newtons is q as a bare force. The error says that q is no force.
func (q Quantity) Newtons() (Newtons, error) {
	v, err := q.bare(Force, 1)
	return Newtons(v), err
}

// Millimetres is q as a bare length. The error says that q is no length.
func (q Quantity) Millimetres() (Millimetres, error) {
	v, err := q.bare(Length, 1e3)
	return Millimetres(v), err
}

// Degrees is q as a bare angle. The error says that q is no angle.
func (q Quantity) Degrees() (Degrees, error) {
	v, err := q.bare(Angle, 180/piValue)
	return Degrees(v), err
}

func (q Quantity) bare(dim Dimension, perSI float64) (float64, error) {
	if d := q.Unit.Dimension(); d != dim {
		return 0, fmt.Errorf("use %s as %s: it is %s", q, dim, dimensionWords(d))
	}
	switch q.Unit { // the unit asked for: no detour through SI, no rounding
	case Millimetre, Degree, NewtonMetre, Newton:
		return q.Amount, nil
	}
	return q.SI() * perSI, nil
}
