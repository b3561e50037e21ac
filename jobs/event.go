package jobs

import (
	"time"

	"putback/jobs/measure"
)

// The kinds of event. A kind keeps its meaning for ever: old journals are
// folded by new programs.
const (
	KindSheet      = "sheet"       // a sheet was read: sheetRead
	KindGroup      = "group"       // a group appeared by being named: groupNamed
	KindCounted    = "counted"     // the true number of a group: groupCount
	KindRemoved    = "removed"     // groupCount
	KindLoosened   = "loosened"    // groupCount
	KindRefitted   = "refitted"    // groupCount
	KindRenewed    = "renewed"     // groupCount: new ones fitted for old
	KindSnugged    = "snugged"     // groupCount
	KindTorqued    = "torqued"     // groupTorqued
	KindDiscarded  = "discarded"   // groupCount
	KindCondition  = "condition"   // groupCondition
	KindStowed     = "stowed"      // stowed
	KindTip        = "tip"         // named
	KindExcuse     = "excuse"      // named
	KindSpec       = "spec"        // groupSpec
	KindStep       = "step"        // stepState
	KindInsert     = "insert"      // stepInserted
	KindConstrain  = "constrain"   // stepAfter
	KindStage      = "stage"       // named
	KindRun        = "run"         // runStarted
	KindRunBolt    = "run-bolt"    // runBolt
	KindRunBack    = "run-back"    // empty
	KindRunPause   = "run-pause"   // empty
	KindRunResume  = "run-resume"  // empty
	KindRunEnd     = "run-end"     // empty
	KindWrench     = "wrench"      // named
	KindPartAside  = "part-aside"  // partCount
	KindPartHave   = "part-have"   // partCount
	KindPartFitted = "part-fitted" // partCount
	KindPartNeed   = "part-need"   // partCount
	KindDrained    = "drained"     // fluidMoved
	KindFilled     = "filled"      // fluidMoved
	KindTimer      = "timer"       // timerSet
	KindTimerSaid  = "timer-said"  // timerSaid, automatic
	KindTimerOff   = "timer-off"   // named
	KindNote       = "note"        // named
	KindMark       = "mark"        // named
	KindDoubt      = "doubt"       // doubtRaised
	KindSettled    = "settled"     // doubtSettled
	KindMeasured   = "measured"    // measured
	KindSuspect    = "suspect"     // named
	KindEvidence   = "evidence"    // evidence
	KindRuledOut   = "ruled-out"   // named
	KindCulprit    = "culprit"     // named
	KindPaused     = "paused"      // empty: the session was left
	KindResumed    = "resumed"     // empty
	KindQuiet      = "quiet"       // quietSet
	KindStrike     = "strike"      // strike
	KindAmend      = "amend"       // amend: what an older turn should have been
	KindChecked    = "checked"     // named: a line of the first-start checklist
	KindLimit      = "limit"       // limitSet: limits dictated
	KindFill       = "fill"        // fluidMoved: how much goes in, dictated
	KindSealant    = "sealant"     // sealantTime: a time of a label, dictated
	KindTool       = "tool"        // toolSet: a wrench's range and marks, dictated
	KindCaution    = "caution"     // stepText: a step's caution, dictated
	KindUses       = "uses"        // stepUses: what belongs to a step, dictated
	KindPartRule   = "part-rule"   // partRule: when a part is renewed, dictated
	KindStartLine  = "start-line"  // named: a line of the checks before the first start, dictated
)

type (
	sheetRead struct {
		File  string `json:"file,omitempty"`
		Sheet *Sheet `json:"sheet"`
	}
	groupNamed struct {
		Name     string           `json:"name"`
		Kind     string           `json:"kind,omitempty"`
		Place    string           `json:"place,omitempty"`
		Size     string           `json:"size,omitempty"`
		SizeKind string           `json:"sizeKind,omitempty"`
		Wrench   measure.Quantity `json:"wrench"`
		Thread   string           `json:"thread,omitempty"`
		Length   measure.Quantity `json:"length"`
		LeftHand bool             `json:"leftHand,omitempty"`
	}
	groupCount struct {
		Group string `json:"group"`
		N     int    `json:"n"`
		At    string `json:"at,omitempty"` // "bottom": where within the place
	}
	groupTorqued struct {
		Group  string           `json:"group"`
		N      int              `json:"n"`
		How    string           `json:"how"` // wrench, feel, unknown
		Torque measure.Quantity `json:"torque"`
		// Objection is what was said against the figure before it was confirmed.
		Objection string `json:"objection,omitempty"`
	}
	groupCondition struct {
		Group string `json:"group"`
		What  string `json:"what"`
		N     int    `json:"n,omitempty"`
	}
	stowed struct {
		Group string `json:"group,omitempty"`
		Part  string `json:"part,omitempty"`
		Stow  string `json:"stow"`
	}
	named struct {
		Name string `json:"name,omitempty"`
		Text string `json:"text,omitempty"`
	}
	groupSpec struct {
		Group     string           `json:"group"`
		Torque    measure.Quantity `json:"torque"`
		Angle     measure.Quantity `json:"angle"`
		Oiled     bool             `json:"oiled,omitempty"`
		Thread    string           `json:"thread,omitempty"`
		Class     string           `json:"class,omitempty"`
		Renew     string           `json:"renew,omitempty"`
		Count     int              `json:"count,omitempty"`
		Sequence  []int            `json:"sequence,omitempty"`
		Stages    []SheetStage     `json:"stages,omitempty"`
		Wrench    measure.Quantity `json:"wrench,omitzero"`
		Length    measure.Quantity `json:"length,omitzero"`
		Into      string           `json:"into,omitempty"`
		Locker    string           `json:"locker,omitempty"`
		Again     bool             `json:"again,omitempty"`
		Order     string           `json:"order,omitempty"`
		Rows      int              `json:"rows,omitempty"`
		Objection string           `json:"objection,omitempty"`
	}
	toolSet struct {
		Name  string           `json:"name"`
		Low   measure.Quantity `json:"low,omitzero"`
		High  measure.Quantity `json:"high,omitzero"`
		Marks measure.Quantity `json:"marks,omitzero"`
	}
	stepText struct {
		Step string `json:"step"`
		Text string `json:"text"`
	}
	stepUses struct {
		Step  string `json:"step"`
		Group string `json:"group,omitempty"`
		Part  string `json:"part,omitempty"`
	}
	partRule struct {
		Part  string `json:"part"`
		Renew string `json:"renew"`
	}
	stepState struct {
		Step    string `json:"step"`
		State   string `json:"state"` // open, done, skipped, waiting
		Reason  string `json:"reason,omitempty"`
		Caution bool   `json:"caution,omitempty"` // its caution was said with it
		// Tips are the groups whose tip was said with it.
		Tips []string `json:"tips,omitempty"`
	}
	stepInserted struct {
		Name  string `json:"name"`
		Do    string `json:"do"`
		Phase string `json:"phase"`
		After string `json:"after,omitempty"` // "" first
	}
	stepAfter struct {
		Step  string `json:"step"`
		After string `json:"after"`
	}
	runStarted struct {
		Group  string     `json:"group"`
		Check  bool       `json:"check,omitempty"`
		Passes []passPlan `json:"passes"`
		Order  []int      `json:"order"`
		Tool   string     `json:"tool,omitempty"`
	}
	runBolt struct {
		Bolt int `json:"bolt"` // 0: the whole pass that is left
	}
	partCount struct {
		Part  string `json:"part"`
		N     int    `json:"n,omitempty"`
		New   bool   `json:"new,omitempty"`
		Where string `json:"where,omitempty"`
	}
	fluidMoved struct {
		Fluid  string           `json:"fluid"`
		Amount measure.Quantity `json:"amount"`
		Is     string           `json:"is,omitempty"` // "15W-40"
	}
	timerSet struct {
		Name   string        `json:"name"`
		Warn   time.Duration `json:"warn,omitempty"` // from now, 0 none
		Due    time.Duration `json:"due"`            // from now
		Source string        `json:"source,omitempty"`
		Limit  bool          `json:"limit,omitempty"` // due is a closing limit, not a wait
		// Sealant is set on a closing limit: tightening ends it and starts the long wait.
		Sealant string `json:"sealant,omitempty"`
		// Groups are the fasteners whose tightening closes it.
		Groups []string `json:"groups,omitempty"`
	}
	timerSaid struct {
		Name string `json:"name"`
		Due  bool   `json:"due,omitempty"` // the end was said, not the warning
	}
	doubtRaised struct {
		Text string `json:"text"`
		Step string `json:"step,omitempty"`
	}
	doubtSettled struct {
		Doubt int    `json:"doubt"` // number from 1
		How   string `json:"how,omitempty"`
	}
	measured struct {
		Name  string           `json:"name"`
		Value measure.Quantity `json:"value"`
	}
	limitSet struct {
		Name string           `json:"name"`
		Min  measure.Quantity `json:"min"`
		Max  measure.Quantity `json:"max"`
	}
	sealantTime struct {
		Sealant string        `json:"sealant"`
		What    string        `json:"what"` // close, torque, oil, cure
		For     time.Duration `json:"for"`
	}
	evidence struct {
		Suspect string `json:"suspect"`
		For     bool   `json:"for"`
		Text    string `json:"text"`
	}
	quietSet struct {
		On bool `json:"on"`
	}
	strike struct {
		Turn int64 `json:"turn"` // the turn taken back
	}
	empty struct{}
)

// passPlan is one pass of a tightening run.
type passPlan struct {
	Torque measure.Quantity `json:"torque"`
	Angle  measure.Quantity `json:"angle"`
	Back   bool             `json:"back,omitempty"`
	Again  bool             `json:"again,omitempty"` // the retighten pass
	Bolts  []int            `json:"bolts,omitempty"` // a subset; empty: all
	Order  []int            `json:"order,omitempty"` // the pass's own order; empty: the run's
}
