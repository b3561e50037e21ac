// Package measure holds quantities and units of the shop: torque, length,
// volume, pressure, temperature, angle, mass and time.
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
