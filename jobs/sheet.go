package jobs

import (
	"fmt"
	"time"

	"putback/jobs/measure"
)

// Sheet is what the person wrote down before the job, from their own manual.
// Every field but Job may be empty. Names are unique within their list.
type Sheet struct {
	Job        string         `json:"job"`
	Machine    string         `json:"machine,omitempty"`
	Source     string         `json:"source,omitempty"` // which manual; "" the person's own
	Units      SheetUnits     `json:"units"`
	Wrenches   []SheetWrench  `json:"wrenches,omitempty"`
	Fasteners  []SheetGroup   `json:"fasteners,omitempty"`
	Parts      []SheetPart    `json:"parts,omitempty"`
	Sealants   []SheetSealant `json:"sealants,omitempty"`
	Strip      []SheetStep    `json:"strip,omitempty"`
	Refit      []SheetStep    `json:"refit,omitempty"`
	Fluids     []SheetFluid   `json:"fluids,omitempty"`
	Limits     []SheetLimit   `json:"limits,omitempty"`
	FirstStart []string       `json:"firstStart,omitempty"`
	Places     []string       `json:"places,omitempty"`
	Words      []string       `json:"words,omitempty"`
}

// SheetUnits are the units answers are given in, the preferred one first.
type SheetUnits struct {
	Torque []measure.Unit `json:"torque,omitempty"`
	Length []measure.Unit `json:"length,omitempty"`
	Volume []measure.Unit `json:"volume,omitempty"`
}

// SheetWrench is a torque wrench: its range and the distance of its marks.
type SheetWrench struct {
	Name  string           `json:"name"`
	Low   measure.Quantity `json:"low"`
	High  measure.Quantity `json:"high"`
	Marks measure.Quantity `json:"marks"`
}

// SheetStage is one stage of tightening: a torque, an added turn or, when Back
// is set, a loosening before the next.
type SheetStage struct {
	Torque measure.Quantity `json:"torque"`
	Angle  measure.Quantity `json:"angle"`
	Back   bool             `json:"back,omitempty"`
	Bolts  []int            `json:"bolts,omitempty"` // a subset, numbers from 1; empty: all
}

// SheetGroup is a group of equal fasteners.
type SheetGroup struct {
	Name     string             `json:"name"`
	Kind     string             `json:"kind,omitempty"`  // bolt, nut, stud, screw, washer, clip, hose, connector, pin
	Place    string             `json:"place,omitempty"` // where on the machine
	Stow     string             `json:"stow,omitempty"`
	Thread   string             `json:"thread,omitempty"` // "M8x1.25"
	Class    string             `json:"class,omitempty"`  // "8.8", "grade 5"
	Wrench   measure.Quantity   `json:"wrench"`           // width across flats
	Tool     string             `json:"tool,omitempty"`   // other drives: "T30"
	Length   measure.Quantity   `json:"length"`           // shank
	Count    int                `json:"count,omitempty"`
	Torque   measure.Quantity   `json:"torque"`           // with tolerance
	Angles   []measure.Quantity `json:"angles,omitempty"` // turns added after Torque
	Stages   []SheetStage       `json:"stages,omitempty"`
	Again    bool               `json:"again,omitempty"`    // a last pass round at the full figure
	Order    string             `json:"order,omitempty"`    // cross, centre-out, round
	Sequence []int              `json:"sequence,omitempty"` // printed order, bolt numbers from 1
	At       [][2]float64       `json:"at,omitempty"`       // positions, mm
	Oiled    bool               `json:"oiled,omitempty"`
	Into     string             `json:"into,omitempty"`  // steel, cast iron, aluminium
	Renew    string             `json:"renew,omitempty"` // always, if damaged
	LeftHand bool               `json:"leftHand,omitempty"`
	Locker   string             `json:"locker,omitempty"` // sealant put on its thread
	Tips     []string           `json:"tips,omitempty"`
	Line     int                `json:"-"` // in the file, 0 unknown
}

// SheetPart is a part that comes off, or a new one that goes in.
type SheetPart struct {
	Name  string `json:"name"`
	Count int    `json:"count,omitempty"`
	Renew string `json:"renew,omitempty"` // always, if damaged, ""
	Have  int    `json:"have,omitempty"`  // new ones at hand
	Spare int    `json:"spare,omitempty"` // more than needed
	Place string `json:"place,omitempty"`
}

// SheetSealant is a sealant or locker with the times of its own label.
type SheetSealant struct {
	Name        string        `json:"name"`
	CloseWithin time.Duration `json:"closeWithin,omitempty"` // from putting on to closing
	TorqueIn    time.Duration `json:"torqueWithin,omitempty"`
	OilAfter    time.Duration `json:"oilAfter,omitempty"` // wait from tightening to oil or coolant
	Cure        time.Duration `json:"cure,omitempty"`
	Source      string        `json:"source,omitempty"`
}

// SheetStep is one step of stripping or refitting.
type SheetStep struct {
	Name      string   `json:"name"`
	Do        string   `json:"do,omitempty"`
	Caution   string   `json:"caution,omitempty"`
	Fasteners []string `json:"fasteners,omitempty"`
	Parts     []string `json:"parts,omitempty"`
	After     []string `json:"after,omitempty"`
	Sealant   string   `json:"sealant,omitempty"`
	Fluids    []string `json:"fluids,omitempty"`
	Measure   []string `json:"measure,omitempty"`
	Tools     []string `json:"tools,omitempty"`
	Undoes    string   `json:"undoes,omitempty"` // refit: the strip step it reverses
}

// SheetFluid is a fluid and how much goes in.
type SheetFluid struct {
	Name string           `json:"name"`
	Fill measure.Quantity `json:"fill"`
	Kind string           `json:"kind,omitempty"`
}

// SheetLimit is a named measurement and its limits, either end may be open.
type SheetLimit struct {
	Name   string           `json:"name"`
	Min    measure.Quantity `json:"min"`
	Max    measure.Quantity `json:"max"`
	Source string           `json:"source,omitempty"`
}

// Severity of a problem found in a sheet.
type Severity string

// The severities: a sheet with an error is not loaded, a warning is said and loaded.
const (
	SeverityError   Severity = "error"
	SeverityWarning Severity = "warning"
)

// Problem is one thing wrong with a sheet, where it stands and how to mend it.
type Problem struct {
	File     string   `json:"file"`
	Line     int      `json:"line"` // from 1; 0 the whole file
	Column   int      `json:"column"`
	Message  string   `json:"message"`
	Fix      string   `json:"fix"`
	Severity Severity `json:"severity"`
}

// String prints a problem as compilers do: "cover.yaml:12:3: error: …".
func (p Problem) String() string {
	where := p.File
	if p.Line > 0 {
		where = fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	}
	text := fmt.Sprintf("%s: %s: %s", where, p.Severity, p.Message)
	if p.Fix != "" {
		text += " (" + p.Fix + ")"
	}
	return text
}
