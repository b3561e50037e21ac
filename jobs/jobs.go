// Package jobs is the domain: the sheet, the ledger of fasteners, steps and
// order, timers, parts, doubts; events, the fold of events to state, and
// replies as data. It knows neither sound nor clock nor chance: time comes in
// with every call, so that a job replays byte for byte.
package jobs

import (
	"encoding/json"
	"time"
)

// Event is one line of the journal.
type Event struct {
	Seq        int64           `json:"seq"`
	At         time.Time       `json:"at"`
	Kind       string          `json:"kind"`
	Data       json.RawMessage `json:"data"`
	Heard      string          `json:"heard,omitempty"`
	Confidence float64         `json:"confidence,omitempty"`
	// Turn is the Seq of the first event of the same utterance; events of one
	// turn are committed, and struck, together.
	Turn int64 `json:"turn"`
	// Auto marks what is no change of the job by the person, a warning given, being told to be quiet; a strike passes over it.
	Auto bool `json:"auto,omitempty"`
	// Reply is what was answered, on the last event of its turn.
	Reply *Reply `json:"reply,omitempty"`
}

// ReplyKind tells the voice and the page how a reply is meant.
type ReplyKind string

// The kinds of reply.
const (
	ReplyNone      ReplyKind = ""          // silence
	ReplyAnswer    ReplyKind = "answer"    // nothing changed
	ReplyReadBack  ReplyKind = "read-back" // something changed, this is what
	ReplyQuestion  ReplyKind = "question"  // waits for an answer
	ReplyObjection ReplyKind = "objection" // waits for an explicit yes
	ReplyWarning   ReplyKind = "warning"   // by itself: timers, cautions
	ReplyRepeat    ReplyKind = "repeat"
)

// Reply is what is to be said, as text for the ear. Numbers stand as the
// domain prints them ("25 N·m", "8 lbf·in"); the voice spells them out.
type Reply struct {
	Kind    ReplyKind `json:"kind"`
	Text    string    `json:"text"`
	Choices []string  `json:"choices,omitempty"` // answers a question takes
	// Digits asks the voice to say the numbers digit by digit as well (13/30, 15/50, 16/60).
	Digits bool `json:"digits,omitempty"`
	Slow   bool `json:"slow,omitempty"`
	// Free marks a question that any words answer: a reason.
	Free bool `json:"free,omitempty"`
}

// Heard is where an intent came from.
type Heard struct {
	Text       string
	Confidence float64 // 0..1; 1 for typed text
}

// View is the job as the page and the report show it: a snapshot, no pointers into the state.
type View struct {
	Job      string        `json:"job"`
	Machine  string        `json:"machine"`
	Stage    string        `json:"stage"` // fault, strip, clean, refit, start
	Step     *StepView     `json:"step"`
	Next     *StepView     `json:"next"`
	Steps    []StepView    `json:"steps"`
	Groups   []GroupView   `json:"groups"`
	Run      *RunView      `json:"run"`
	Paused   []RunView     `json:"paused"` // runs left for another
	Wrench   string        `json:"wrench"` // in hand, "" not said
	Checks   []CheckView   `json:"checks"` // before the first start
	Timers   []TimerView   `json:"timers"`
	Doubts   []DoubtView   `json:"doubts"`
	Parts    []PartView    `json:"parts"`
	Fluids   []FluidView   `json:"fluids"`
	Limits   []LimitView   `json:"limits"`
	Suspects []SuspectView `json:"suspects"`
	Notes    []NoteView    `json:"notes"`
	Dictated []string      `json:"dictated"` // what was said of the sheet, in words
	Recent   []EntryView   `json:"recent"`   // newest first, at most 50
	Question *Reply        `json:"question"`
	LastSeq  int64         `json:"lastSeq"`
}

// StepView is one step. State: "waiting", "open", "done", "skipped".
type StepView struct {
	Name     string   `json:"name"`
	Do       string   `json:"do"`
	Phase    string   `json:"phase"` // strip, refit
	State    string   `json:"state"`
	Caution  string   `json:"caution,omitempty"`
	Waits    []string `json:"waits,omitempty"`
	Groups   []string `json:"groups,omitempty"`
	Parts    []string `json:"parts,omitempty"`
	Reason   string   `json:"reason,omitempty"`
	Inserted bool     `json:"inserted,omitempty"`
}

// GroupView is one group of fasteners with its ledger:
// Removed = Refitted + Renewed + Discarded + Out.
type GroupView struct {
	Name      string       `json:"name"`
	Kind      string       `json:"kind"`
	Size      string       `json:"size"`
	Thread    string       `json:"thread"`
	Class     string       `json:"class"`
	Place     string       `json:"place"` // where on the machine
	Stow      string       `json:"stow"`  // where it is kept
	Count     int          `json:"count"` // of the sheet, 0 unknown
	Removed   int          `json:"removed"`
	Out       int          `json:"out"`
	Refitted  int          `json:"refitted"`
	Renewed   int          `json:"renewed"`
	Discarded int          `json:"discarded"`
	Loose     int          `json:"loose"`
	Snug      int          `json:"snug"`
	Torqued   int          `json:"torqued"`
	ByFeel    int          `json:"byFeel"`
	Unsure    int          `json:"unsure"` // tight, nobody said how
	Torque    string       `json:"torque"` // required, as printed: "25 ± 3 N·m"
	TorqueNm  float64      `json:"torqueNm"`
	GuideLow  float64      `json:"guideLowNm"` // guide range for the thread, N·m; 0 unknown
	GuideHigh float64      `json:"guideHighNm"`
	DoneAt    string       `json:"doneAt"` // torque done, as printed
	Source    string       `json:"source"` // who said the figure
	Renew     string       `json:"renew"`
	Excuse    string       `json:"excuse"`
	Positions [][2]float64 `json:"positions"` // mm; empty: not known
	Order     []int        `json:"order"`     // bolt numbers from 1, in tightening order
	OrderFrom string       `json:"orderFrom"` // "printed in your manual", "fallback: cross pattern"
	Tips      []string     `json:"tips"`
	Flags     []string     `json:"flags"` // damaged, seized, left-hand…
}

// RunView is a tightening run. Numbers from 1.
type RunView struct {
	Group   string `json:"group"`
	Pass    int    `json:"pass"`
	Passes  int    `json:"passes"`
	Target  string `json:"target"` // "5 N·m", "90°"
	Order   []int  `json:"order"`
	Done    []int  `json:"done"`    // bolts done in this pass
	Current int    `json:"current"` // 0: none
	Paused  bool   `json:"paused"`
	Tool    string `json:"tool"`
}

// TimerView is one timer.
type TimerView struct {
	Name   string    `json:"name"`
	Due    time.Time `json:"due"`
	Warn   time.Time `json:"warn"`
	Source string    `json:"source"`
	State  string    `json:"state"` // running, over, stopped
}

// DoubtView is one doubt.
type DoubtView struct {
	Text  string    `json:"text"`
	At    time.Time `json:"at"`
	Step  string    `json:"step"`
	Open  bool      `json:"open"`
	Ended string    `json:"ended"`
}

// PartView is one kind of part.
type PartView struct {
	Name   string `json:"name"`
	Need   int    `json:"need"`
	Have   int    `json:"have"`
	Fitted int    `json:"fitted"`
	New    int    `json:"new"`
	Spare  int    `json:"spare"`
	Where  string `json:"where"`
	Renew  string `json:"renew"`
	Aside  bool   `json:"aside"`
	Asked  bool   `json:"asked"` // somebody said that a new one is needed
}

// FluidView is one fluid.
type FluidView struct {
	Name    string `json:"name"`
	Fill    string `json:"fill"`
	Drained string `json:"drained"`
	Filled  string `json:"filled"`
}

// LimitView is one measurement with its limits.
type LimitView struct {
	Name, Limit, Value, Verdict string
	Source                      string
}

// SuspectView is one suspected fault. State: "open", "ruled out", "culprit".
type SuspectView struct {
	Name    string   `json:"name"`
	State   string   `json:"state"`
	For     []string `json:"for"`
	Against []string `json:"against"`
	Reason  string   `json:"reason"`
}

// CheckView is a line of the checklist before the first start.
type CheckView struct {
	Name string `json:"name"`
	Done bool   `json:"done"`
}

// NoteView is a note or a mark.
type NoteView struct {
	Kind string    `json:"kind"` // note, mark
	Text string    `json:"text"`
	At   time.Time `json:"at"`
}

// EntryView is one journal entry in words.
type EntryView struct {
	Seq    int64     `json:"seq"`
	At     time.Time `json:"at"`
	Kind   string    `json:"kind"`
	Heard  string    `json:"heard"`
	Words  string    `json:"words"`
	Struck bool      `json:"struck"`
}
