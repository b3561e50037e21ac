// Package measure holds quantities and units of the shop: torque, length,
// volume, pressure, temperature, angle, mass, time and force.
//
// Here live the unit table with its exact factors, conversion, the reading of
// every printed and spoken form of a figure, printing, saying for the ear and
// rounding to the marks of a tool. What a figure is for (threads, wrenches,
// judgement) is the business of package fastening.
//
// The main call reads a figure as it was said, and another gives it in the unit
// of the wrench in hand:
//
//	q, err := measure.Parse("sixty-six inch-pounds")
//	nm, err := q.In(measure.NewtonMetre) // 7.457 N·m, nm.Said still has the words
//
// A figure that could be two things is never guessed: Parse then returns an
// [*AskError] with the one question to put and the readings it decides between.
//
// A figure somebody said or printed is a [Quantity], which remembers how; the
// bare figures of formulas are types with the unit in their name, such as
// [NewtonMetres]. In JSON a Quantity is {"amount":25,"unit":"N·m"} with
// "tolerance" and "said" when there are any.
package measure

// Dimension is the kind of thing a unit measures.
type Dimension string

// The dimensions.
const (
	Torque      Dimension = "torque"      // SI: N·m
	Length      Dimension = "length"      // SI: m
	Volume      Dimension = "volume"      // SI: m³
	Pressure    Dimension = "pressure"    // SI: Pa
	Temperature Dimension = "temperature" // SI: K
	Angle       Dimension = "angle"       // SI: rad
	Mass        Dimension = "mass"        // SI: kg
	Time        Dimension = "time"        // SI: s
	Force       Dimension = "force"       // SI: N
)

// Unit is one unit of the table, compared by value. The zero Unit is no unit.
type Unit struct {
	Symbol string // print form and key: "N·m", "lbf·ft", "lbf·in", "mm", "in"
}

// Quantity is an amount as it was said or printed, in its own unit.
// The zero Quantity means "not given".
type Quantity struct {
	Amount    float64 `json:"amount"`
	Unit      Unit    `json:"unit"`
	Tolerance float64 `json:"tolerance,omitempty"` // ± in Unit, 0: none
	Said      string  `json:"said,omitempty"`      // the words or print it came from
}
