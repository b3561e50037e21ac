// Package intent turns the words of the shop into typed intents.
//
// Here live the phrase grammar (JSGF), its byte automaton, the trade's
// vocabulary and the closed set of things a person can ask for. Nothing here
// knows sound, the record or a reply: a text goes in, an [Intent] comes out.
package intent

import (
	"time"

	"putback/jobs/measure"
)

// Intent is one thing a person asked for. The set is closed: every member is a
// struct of this package.
type Intent interface{ intent() }

// Size is a fastener's size as it was said, never converted.
type Size struct {
	Said string // "tens", "nine sixteenths", "M8 by 25"
	Kind SizeKind
	// Across is the wrench size or the hex key size when Kind is Wrench or HexKey or Unknown.
	Across measure.Quantity
	// Designation is the thread in print form when Kind is Thread: "M8x1.25", "3/8-16".
	Designation string
	// Length is the shank length when it was said, else the zero Quantity.
	Length measure.Quantity
}

// SizeKind says what a spoken size measures.
type SizeKind string

// The kinds of size.
const (
	SizeUnknown SizeKind = "unknown"
	SizeWrench  SizeKind = "wrench"
	SizeThread  SizeKind = "thread"
	SizeHexKey  SizeKind = "hex key"
	SizeDrive   SizeKind = "drive" // torx, twelve point, triple square: Said carries it
)

// Fastener is the description of one batch in a spoken sentence:
// "six tens", "two long at the bottom", "four left-hand M8 studs".
type Fastener struct {
	Count    int    // 0: not said
	All      bool   // "all of them", "the rest"
	Kind     string // "bolt", "nut", "stud", "screw", "washer", "clip", "hose", "connector", "pin"; "" not said
	Size     *Size  // nil: not said
	Length   string // "long", "short" or "" when only the word was said
	At       string // "bottom", "top left": where within the place
	LeftHand bool
}

// The control intents.
type (
	// Call is the bare call word.
	Call struct{}
	// Next asks for the next step. Also "what's next".
	Next struct{}
	// Back goes to the step before.
	Back struct{}
	// Done reports the current step or bolt as done; with Pass all that is left
	// of the pass of a tightening run ("that's the whole round"), with Step that
	// step ("the sea cock's shut"), with Count so many bolts of a run, with Torque
	// the bolt that was pulled to that figure ("that's forty on it").
	Done struct {
		Pass   bool
		Step   string
		Count  int
		Torque *measure.Quantity
	}
	// BackOne takes the tightening run one bolt back.
	BackOne struct{}
	// Pause suspends a tightening run or the session ("hold on", "back in a bit").
	Pause struct{}
	// Resume goes on with a paused run or session.
	Resume struct{}
	// WhereWasI asks for the summary after an interruption.
	WhereWasI struct{}
	// SayAgain repeats the last reply.
	SayAgain struct{}
	// Slower repeats the last reply slowly, numbers digit by digit.
	Slower struct{}
	// Stop silences what is being spoken.
	Stop struct{}
	// Quiet stops answering until Listen.
	Quiet struct{}
	// Listen ends Quiet.
	Listen struct{}
	// Strike takes back the last change, or the last Count of them.
	Strike struct{ Count int }
	// Help asks what can be said here.
	Help struct{}
	// Yes and No answer a question.
	Yes struct{}
	No  struct{}
	// Choice answers a question with a word, a name, a unit or a number.
	Choice struct {
		Text     string
		Quantity *measure.Quantity
	}
)

// The ledger intents. Where names a place or a group as it was said.
type (
	Removed struct {
		Items     []Fastener // one or several: "four long, two short"
		Where     string
		Stow      string // "cup four"; "same": where the others of that group are
		Condition string // "damaged", "seized", "locker", "stretched", …
		Bad       int    // how many of them are so; 0: all
	}
	Loosened struct {
		Items []Fastener
		Where string
	}
	Refitted struct {
		Items []Fastener
		Where string
		Snug  bool // "snug", "finger tight"
		New   bool // fitted new ones
	}
	// Torqued records tightened fasteners outside a run. How is "wrench", "feel" or "unknown".
	Torqued struct {
		Items  []Fastener
		Where  string
		Torque *measure.Quantity
		How    string
		With   string // the wrench, where its name was said
	}
	// Discarded records fasteners thrown away; with New, that new ones replace them.
	Discarded struct {
		Items []Fastener
		Where string
		New   bool
	}
	// Condition notes a state of fasteners or a part: "damaged", "seized", "locker", "left-hand", "stripped", "corroded".
	Condition struct {
		Items []Fastener
		Where string
		What  string
	}
	// Stowed says where fasteners or a part are kept.
	Stowed struct {
		Items []Fastener
		Name  string
		Stow  string
	}
	// Tip is advice to be repeated when the same group is refitted.
	Tip struct {
		Name string
		Text string
	}
	// Excuse says why a group will not come back complete.
	Excuse struct {
		Where, Reason string
	}
)

// The figures and look-ups.
type (
	// SetSpec dictates a figure for a group.
	SetSpec struct {
		Name      string
		Torque    *measure.Quantity // with its tolerance
		Angle     *measure.Quantity // added turn
		Oiled     bool
		Thread    string // designation
		Class     string // "8.8", "grade 5"
		Count     int
		RenewRule string           // "always", "" not said
		Head      measure.Quantity // width across flats
		Length    measure.Quantity // of the shank
		Into      string           // "steel", "cast iron", "aluminium"
		Locker    string           // the sealant on its thread
		Again     bool             // a last pass round at the full figure
	}
	// SetPattern dictates in what pattern a group is tightened, how its bolts
	// stand, or both. Pattern is "centre-out", "cross", "round", "spiral" or "";
	// Rows is 0 when it was not said. A bolt's coordinates nobody says with a
	// spanner in the hand: those stay in the sheet.
	SetPattern struct {
		Name, Pattern string
		Rows          int
	}
	// SetTool dictates the range of a torque wrench and the distance of its
	// marks; what was not said is not given. Low has the unit of High where it was
	// said without one.
	SetTool struct {
		Name             string
		Low, High, Marks measure.Quantity
	}
	// SetCaution dictates what to be careful of at a step; Step "" the one in hand.
	SetCaution struct{ Step, Text string }
	// SetUses says that a group or a part belongs to a step.
	SetUses struct{ Step, Name string }
	// SetCheck adds a line to the checks before the first start.
	SetCheck struct{ Text string }
	// SetLimit dictates the limits of a measurement; an end not said is not
	// given. An end without a unit has that of the other, or the sheet's for lengths.
	SetLimit struct {
		Name     string
		Min, Max measure.Quantity
	}
	// SetFill dictates how much of a fluid goes in, or what kind: "15W-40".
	SetFill struct {
		Fluid  string
		Amount measure.Quantity
		Is     string
	}
	// SetOrder dictates the printed order of a group's bolts, numbers from 1.
	SetOrder struct {
		Name  string
		Bolts []int
	}
	// SetStages dictates the printed stages of a group, in order.
	SetStages struct {
		Name   string
		Stages []measure.Tightening
	}
	// SetTime dictates a time of a sealant's label. What is "close", "torque", "oil" or "cure".
	SetTime struct {
		Sealant, What string
		For           time.Duration
	}
	AskTorque struct{ Name string }
	AskSize   struct{ Name string }
	AskCount  struct{ Name string }
	AskPlace  struct{ Name string } // where is it kept
	// AskHeld asks what lies in a stowing place: "what's in cup two".
	AskHeld  struct{ Place string }
	AskPart  struct{ Name string } // "" all parts still needed
	AskRenew struct{ Name string } // may it be used again
	AskFluid struct{ Name string }
	AskLimit struct{ Name string }
	AskOut   struct{ Name string } // "how many out"; Name "" means all
	// AskLeft: "what's left". Of "back" asks how many are back, Of "torque" which
	// are not torqued.
	AskLeft struct{ Name, Of string }
	// LeftOver: something lies on the bench and nobody knows where it belongs;
	// without Items, whether anything does is asked.
	LeftOver  struct{ Items []Fastener }
	AskDoubts struct{}
	// AskTimers: how long still; with Fluid, until that may go in.
	AskTimers struct{ Name, Fluid string }
	// AskDetail asks for one thing on record of a group: What is "locker", "oiled"
	// or "pattern".
	AskDetail struct{ Name, What string }
	// AskNotes has the notes read back.
	AskNotes struct{}
	AskWhy   struct{ Name string } // why does this step wait
	AskLast  struct{}              // "what did you write down"
	// Convert asks for a quantity in another unit; without From, the one that was
	// said last.
	Convert struct {
		From measure.Quantity
		To   measure.Unit
	}
	// AskJudge: "is 70 foot-pounds too much for an M6 8.8".
	AskJudge struct {
		Torque measure.Quantity
		Size   Size
		Class  string
		Oiled  bool
		Into   string // "steel", "cast iron", "aluminium", "" not said
	}
	// AskGuide: "guide torque for an M8 8.8 oiled".
	AskGuide struct {
		Size  Size
		Class string
		Oiled bool
		Into  string // as of AskJudge
	}
	// AskStrength: "how strong is an M8 10.9".
	AskStrength struct {
		Size  Size
		Class string
	}
	// AskPreload: "what preload does 25 newton metres give on an M8 8.8".
	AskPreload struct {
		Torque measure.Quantity
		Size   Size
		Class  string
		Oiled  bool
	}
	// AskDesignation: "what is a quarter twenty".
	AskDesignation struct{ Size Size }
	// AskWrench: "which wrench for 110 newton metres".
	AskWrench struct{ Torque measure.Quantity }
	// AskLocker: "what thread locker for an M6 stud".
	AskLocker struct{}
	// AskThread: "what thread takes a 12 mm head".
	AskThread struct{ Size Size }
	// AskHead: "what wrench fits an M10".
	AskHead struct{ Size Size }
	// AskSetting: wrench setting with an adapter.
	AskSetting struct {
		Torque  measure.Quantity
		Lever   measure.Quantity // grip to drive
		Adapter measure.Quantity // drive to fastener
		Angle   measure.Quantity // 0 straight ahead
	}
	// AskPattern: tightening order for N bolts, or the order to loosen them in.
	AskPattern struct {
		Count  int
		Loosen bool
	}
	// AskEngage: is this thread engagement enough.
	AskEngage struct {
		Size     Size
		Turns    float64
		Depth    *measure.Quantity
		Material string // "steel", "cast iron", "aluminium"
	}
)

// The steps.
type (
	GoStep   struct{ Name string } // "go to the pump step"
	SkipStep struct{ Name, Reason string }
	// InsertStep: with neither After nor Before it comes after the current one.
	InsertStep struct{ Text, After, Before string }
	// Constrain: "the seal goes in after the pump".
	Constrain struct{ Step, After string }
	// Stage moves between "fault", "strip", "clean", "refit", "start".
	Stage struct{ To string }
)

// Tighten starts a tightening run of a group.
type Tighten struct {
	Name  string
	Check bool // retighten / check pass only
}

// Wrench says which wrench is in the hand.
type Wrench struct{ Name string }

// The parts, fluids and sealants.
type (
	PartAside struct{ Name, Where string }
	// PartHave: Count are at hand, or with More came to those.
	PartHave struct {
		Name  string
		Count int
		More  bool
	}
	PartFitted struct {
		Name  string
		Count int
		New   bool
	}
	PartNeeded struct {
		Name  string
		Count int
	}
	Drained struct {
		Fluid  string
		Amount *measure.Quantity
	}
	// Filled: with ToMark its level was told, and no more.
	Filled struct {
		Fluid  string
		Amount *measure.Quantity
		ToMark bool
	}
	// Sealed says that a sealant or locker was put on.
	Sealed struct{ Sealant, Where string }
	Timer  struct {
		Name string
		For  time.Duration
	}
	TimerOff struct{ Name string }
)

// Doubts, notes, marks and measurements.
type (
	Note   struct{ Text string }
	Flag   struct{ Text string }
	Settle struct{ Name, How string } // a doubt is settled; Name "" = the last or the asked one
	Mark   struct{ Label string }
	// Measure reports a measurement. A Value without a unit was said as a bare
	// number: it is in the unit of the measurement's limit.
	Measure struct {
		Name  string
		Value measure.Quantity
	}
)

// Finding the fault.
type (
	Suspect  struct{ Name string }
	Evidence struct {
		For  bool
		Name string // suspect; "" = the last named
		Text string
	}
	RuleOut   struct{ Name, Reason string }
	Culprit   struct{ Name string }
	AskFaults struct{}
)

// The end of the job.
type (
	StartCheck struct{} // "am I ready to start it"
	HandOver   struct{} // "what was done"
)

// Unclear is speech inside the grammar that must be asked back, never guessed:
// "thirty pounds", "three tenths", "a few". Question is what decides.
type Unclear struct {
	Heard    string
	Question string
	Choices  []string
	// Then is the intent for each choice, in the order of Choices; may be empty.
	// Without Choices it is the one intent that was likely meant, which a yes
	// carries out.
	Then []Intent
	// Part: more was said than Then has.
	Part bool
	// Nearest: Then is a guess from the words alone, see [Automaton.Nearest], and
	// Question says it. It is asked whatever it is.
	Nearest bool
}

func (Call) intent()           {}
func (Next) intent()           {}
func (Back) intent()           {}
func (Done) intent()           {}
func (BackOne) intent()        {}
func (Pause) intent()          {}
func (Resume) intent()         {}
func (WhereWasI) intent()      {}
func (SayAgain) intent()       {}
func (Slower) intent()         {}
func (Stop) intent()           {}
func (Quiet) intent()          {}
func (Listen) intent()         {}
func (Strike) intent()         {}
func (Help) intent()           {}
func (Yes) intent()            {}
func (No) intent()             {}
func (Choice) intent()         {}
func (Removed) intent()        {}
func (Loosened) intent()       {}
func (Refitted) intent()       {}
func (Torqued) intent()        {}
func (Discarded) intent()      {}
func (Condition) intent()      {}
func (Stowed) intent()         {}
func (Tip) intent()            {}
func (Excuse) intent()         {}
func (SetSpec) intent()        {}
func (SetLimit) intent()       {}
func (SetFill) intent()        {}
func (SetOrder) intent()       {}
func (SetStages) intent()      {}
func (SetTime) intent()        {}
func (SetPattern) intent()     {}
func (SetTool) intent()        {}
func (SetCaution) intent()     {}
func (SetUses) intent()        {}
func (SetCheck) intent()       {}
func (AskTorque) intent()      {}
func (AskSize) intent()        {}
func (AskCount) intent()       {}
func (AskPlace) intent()       {}
func (AskHeld) intent()        {}
func (AskPart) intent()        {}
func (AskRenew) intent()       {}
func (AskFluid) intent()       {}
func (AskLimit) intent()       {}
func (AskOut) intent()         {}
func (AskLeft) intent()        {}
func (LeftOver) intent()       {}
func (AskDoubts) intent()      {}
func (AskTimers) intent()      {}
func (AskDetail) intent()      {}
func (AskNotes) intent()       {}
func (AskWhy) intent()         {}
func (AskLast) intent()        {}
func (Convert) intent()        {}
func (AskJudge) intent()       {}
func (AskGuide) intent()       {}
func (AskThread) intent()      {}
func (AskHead) intent()        {}
func (AskSetting) intent()     {}
func (AskPattern) intent()     {}
func (AskEngage) intent()      {}
func (GoStep) intent()         {}
func (SkipStep) intent()       {}
func (InsertStep) intent()     {}
func (Constrain) intent()      {}
func (Stage) intent()          {}
func (Tighten) intent()        {}
func (Wrench) intent()         {}
func (PartAside) intent()      {}
func (PartHave) intent()       {}
func (PartFitted) intent()     {}
func (PartNeeded) intent()     {}
func (Drained) intent()        {}
func (Filled) intent()         {}
func (Sealed) intent()         {}
func (Timer) intent()          {}
func (TimerOff) intent()       {}
func (Note) intent()           {}
func (Flag) intent()           {}
func (Settle) intent()         {}
func (Mark) intent()           {}
func (Measure) intent()        {}
func (Suspect) intent()        {}
func (Evidence) intent()       {}
func (RuleOut) intent()        {}
func (Culprit) intent()        {}
func (AskFaults) intent()      {}
func (StartCheck) intent()     {}
func (HandOver) intent()       {}
func (Unclear) intent()        {}
func (AskStrength) intent()    {}
func (AskPreload) intent()     {}
func (AskDesignation) intent() {}
func (AskWrench) intent()      {}
func (AskLocker) intent()      {}

// Vocabulary is what the open job adds to the grammar, names as the person writes them.
type Vocabulary struct {
	Groups   []string // fastener groups and places
	Parts    []string
	Steps    []string
	Places   []string // stowing places: "cup four", "top shelf"
	Fluids   []string
	Sealants []string
	Limits   []string // named measurements
	Wrenches []string
	Suspects []string
	Words    []string // the user's own
	Deeds    []Deed   // what the steps ask for
	CallWord string   // "toolbox"
}
