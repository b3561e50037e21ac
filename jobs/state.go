package jobs

import (
	"maps"
	"slices"
	"time"

	"putback/jobs/measure"
)

// State is the job as the fold of its events. It is copied on write: a State
// that was handed on never changes, which is what makes a strike exact.
type State struct {
	Sheet   *Sheet   `json:"sheet,omitempty"`
	File    string   `json:"file,omitempty"` // the sheet's
	Job     string   `json:"job,omitempty"`
	Machine string   `json:"machine,omitempty"`
	Phase   string   `json:"phase,omitempty"` // fault, strip, clean, refit, start
	Groups  []*group `json:"groups,omitempty"`
	Steps   []*step  `json:"steps,omitempty"` // strip steps, then refit steps
	// Current is the index in Steps of the open step, -1 none.
	Current int         `json:"current"`
	After   []stepAfter `json:"after,omitempty"` // constraints by voice
	Run     *run        `json:"run,omitempty"`
	// Paused are the runs left unfinished for another.
	Paused []*run   `json:"paused,omitempty"`
	Wrench string   `json:"wrench,omitempty"`
	Parts  []*part  `json:"parts,omitempty"`
	Fluids []*fluid `json:"fluids,omitempty"`
	// Labels are the sealants whose times were dictated; they go before the sheet's.
	Labels []SheetSealant `json:"labels,omitempty"`
	// Tools are the wrenches whose range or marks were dictated, Starts the checks.
	Tools    []SheetWrench `json:"tools,omitempty"`
	Starts   []string      `json:"starts,omitempty"`
	Timers   []*timer      `json:"timers,omitempty"`
	Doubts   []*doubt      `json:"doubts,omitempty"`
	Limits   []*limit      `json:"limits,omitempty"`
	Suspects []*suspect    `json:"suspects,omitempty"`
	Notes    []*NoteView   `json:"notes,omitempty"`
	Checked  []string      `json:"checked,omitempty"`
	Cautions []string      `json:"cautions,omitempty"` // said already
	Quiet    bool          `json:"quiet,omitempty"`
	Left     bool          `json:"left,omitempty"`   // the session was paused
	Last     string        `json:"last,omitempty"`   // group last spoken of
	LastIn   string        `json:"lastIn,omitempty"` // the step that was open then
	// Worked is the time of the last change, LastDone the last step done.
	Worked   time.Time `json:"worked"`
	LastDone string    `json:"lastDone,omitempty"`

	// What follows is about the journal, not the job: a strike does not restore it.
	Seq    int64          `json:"seq"`
	Struck map[int64]bool `json:"struck,omitempty"` // turns taken back
	// Amended are the turns that count as something else than was written.
	Amended map[int64]bool `json:"amended,omitempty"`

	index map[string]int // group name to place in Groups; rebuilt after reading
}

// group is a group of equal fasteners and its ledger:
// Removed = Refitted + Renewed + Discarded + out().
type group struct {
	Name     string           `json:"name"`
	Kind     string           `json:"kind,omitempty"`
	Place    string           `json:"place,omitempty"`
	Size     string           `json:"size,omitempty"` // as said
	SizeKind string           `json:"sizeKind,omitempty"`
	Wrench   measure.Quantity `json:"wrench"`
	Tool     string           `json:"tool,omitempty"`
	Thread   string           `json:"thread,omitempty"`
	Class    string           `json:"class,omitempty"`
	Length   measure.Quantity `json:"length"`
	LeftHand bool             `json:"leftHand,omitempty"`
	Into     string           `json:"into,omitempty"`
	Locker   string           `json:"locker,omitempty"`
	Stow     string           `json:"stow,omitempty"`
	Renew    string           `json:"renew,omitempty"`

	Torque   measure.Quantity   `json:"torque"`
	Angles   []measure.Quantity `json:"angles,omitempty"`
	Oiled    bool               `json:"oiled,omitempty"`
	Stages   []SheetStage       `json:"stages,omitempty"`
	Again    bool               `json:"again,omitempty"`
	Order    string             `json:"order,omitempty"`
	Sequence []int              `json:"sequence,omitempty"`
	At       [][2]float64       `json:"at,omitempty"`
	// Rows is in how many equal rows the bolts stand, 0 not said.
	Rows int `json:"rows,omitempty"`
	// Said are the facts that were dictated; a later sheet does not take them back.
	Said []string `json:"said,omitempty"`
	// Source and SourceAt say who gave the torque: "sheet" or "dictated".
	Source    string    `json:"source,omitempty"`
	SourceAt  time.Time `json:"sourceAt"`
	Objection string    `json:"objection,omitempty"`

	Count int `json:"count,omitempty"` // how many there are, 0 unknown
	// CountAt and StowAt are when the number and the place were said; zero: the sheet's.
	CountAt time.Time `json:"countAt"`
	StowAt  time.Time `json:"stowAt"`

	Removed   int `json:"removed,omitempty"`
	Refitted  int `json:"refitted,omitempty"`
	Renewed   int `json:"renewed,omitempty"`
	Discarded int `json:"discarded,omitempty"`
	// In place, by state; the rest of those in place was never touched.
	Loose   int `json:"loose,omitempty"`
	Back    int `json:"back,omitempty"` // refitted, not yet snug
	Snug    int `json:"snug,omitempty"`
	Torqued int `json:"torqued,omitempty"` // by wrench
	ByFeel  int `json:"byFeel,omitempty"`
	Unsure  int `json:"unsure,omitempty"` // tight, nobody said how
	// OffSeq is the event that first emptied a hole: the order things came off.
	OffSeq int64 `json:"offSeq,omitempty"`
	// DoneAt is the figure the torqued ones were brought to.
	DoneAt measure.Quantity `json:"doneAt"`

	Conditions []string `json:"conditions,omitempty"`
	Damaged    int      `json:"damaged,omitempty"` // not fit to go back, still among those out or in place
	Tips       []string `json:"tips,omitempty"`
	TipSaid    bool     `json:"tipSaid,omitempty"` // since it last came off
	Excuse     string   `json:"excuse,omitempty"`
	FromSheet  bool     `json:"fromSheet,omitempty"`
}

// out is how many lie on the bench.
func (g *group) out() int { return g.Removed - g.Refitted - g.Renewed - g.Discarded }

// holes is how many places on the machine are empty: what is out and what was
// thrown away without a new one fitted.
func (g *group) holes() int { return g.out() + g.Discarded }

// touched is how many in place have a state of their own.
func (g *group) touched() int {
	return g.Loose + g.Back + g.Snug + g.Torqued + g.ByFeel + g.Unsure
}

// tight is how many were tightened again, however.
func (g *group) tight() int { return g.Torqued + g.ByFeel + g.Unsure }

// step is one step of the work.
type step struct {
	SheetStep
	Phase    string    `json:"phase"`
	State    string    `json:"state"` // waiting, open, done, skipped
	Reason   string    `json:"reason,omitempty"`
	Inserted bool      `json:"inserted,omitempty"`
	Made     bool      `json:"made,omitempty"` // a refit step made by reversing a strip step
	DoneAt   time.Time `json:"doneAt"`
	DoneSeq  int64     `json:"doneSeq,omitempty"`
	// Warn, Groups and Needs are the caution, the groups and the parts that were dictated.
	Warn   string   `json:"warn,omitempty"`
	Groups []string `json:"groups,omitempty"`
	Needs  []string `json:"needs,omitempty"`
}

type run struct {
	Group  string     `json:"group"`
	Check  bool       `json:"check,omitempty"`
	Passes []passPlan `json:"passes"`
	Order  []int      `json:"order"`
	Pass   int        `json:"pass"`           // from 0
	Done   []int      `json:"done,omitempty"` // bolts of this pass
	Tool   string     `json:"tool,omitempty"`
	Paused bool       `json:"paused,omitempty"`
}

type part struct {
	Name   string `json:"name"`
	Need   int    `json:"need,omitempty"`
	Have   int    `json:"have,omitempty"`
	Fitted int    `json:"fitted,omitempty"`
	New    int    `json:"new,omitempty"`
	Spare  int    `json:"spare,omitempty"`
	Renew  string `json:"renew,omitempty"`
	Where  string `json:"where,omitempty"`
	Aside  bool   `json:"aside,omitempty"` // it lies on the bench
	Asked  bool   `json:"asked,omitempty"` // somebody said a new one is needed
	Ruled  bool   `json:"ruled,omitempty"` // the rule of renewing was dictated
	// HaveAt and WhereAt are when number and place were said; zero: the sheet's.
	HaveAt  time.Time `json:"haveAt"`
	WhereAt time.Time `json:"whereAt"`
}

type fluid struct {
	Name    string           `json:"name"`
	Fill    measure.Quantity `json:"fill"`
	FillAt  time.Time        `json:"fillAt"`        // when it was dictated; zero: the sheet's
	Is      string           `json:"is,omitempty"`  // "15W-40"
	IsAt    time.Time        `json:"isAt,omitzero"` // when that was dictated; zero: the sheet's
	Out     bool             `json:"out,omitempty"`
	In      bool             `json:"in,omitempty"`
	Drained measure.Quantity `json:"drained"`
	Filled  measure.Quantity `json:"filled"`
}

type timer struct {
	timerSet
	Set   time.Time `json:"set"`
	Told  bool      `json:"told,omitempty"`  // the warning was said
	Over  bool      `json:"over,omitempty"`  // the end was said
	Ended bool      `json:"ended,omitempty"` // stopped, or closed in time
}

func (t *timer) due() time.Time  { return t.Set.Add(t.Due) }
func (t *timer) warn() time.Time { return t.Set.Add(t.Warn) }

type doubt struct {
	Text  string    `json:"text"`
	At    time.Time `json:"at"`
	Step  string    `json:"step,omitempty"`
	Ended string    `json:"ended,omitempty"`
	Over  bool      `json:"over,omitempty"`
}

type limit struct {
	SheetLimit
	Dictated time.Time        `json:"dictated"` // zero: the sheet's
	Value    measure.Quantity `json:"value"`
	At       time.Time        `json:"at"`
}

type suspect struct {
	Name    string   `json:"name"`
	State   string   `json:"state"` // open, ruled out, culprit
	For     []string `json:"for,omitempty"`
	Against []string `json:"against,omitempty"`
	Reason  string   `json:"reason,omitempty"`
}

func newState() *State {
	return &State{Current: -1, Phase: "strip", Struck: map[int64]bool{}, index: map[string]int{}}
}

// clone gives a State whose lists may be changed. What the lists point to is
// shared: change it through edit.
func (s *State) clone() *State {
	c := *s
	c.Groups = slices.Clone(s.Groups)
	c.Steps = slices.Clone(s.Steps)
	c.After = slices.Clip(s.After)
	c.Paused = slices.Clone(s.Paused)
	c.Parts = slices.Clone(s.Parts)
	c.Fluids = slices.Clone(s.Fluids)
	c.Timers = slices.Clone(s.Timers)
	c.Labels = slices.Clone(s.Labels)
	c.Tools = slices.Clone(s.Tools)
	c.Starts = slices.Clip(s.Starts)
	c.Doubts = slices.Clone(s.Doubts)
	c.Limits = slices.Clone(s.Limits)
	c.Suspects = slices.Clone(s.Suspects)
	c.Notes = slices.Clip(s.Notes)
	c.Checked = slices.Clip(s.Checked)
	c.Cautions = slices.Clip(s.Cautions)
	return &c
}

// edit puts a copy of one entry in its place and gives the copy.
func edit[T any](list []*T, i int) *T {
	c := *list[i]
	list[i] = &c
	return &c
}

// speakOf remembers the group that "two more" and "they're in cup two" mean.
func (s *State) speakOf(name string) {
	s.Last, s.LastIn = name, ""
	if st := s.open(); st != nil {
		s.LastIn = st.Name
	}
}

// spokenOf is the group last spoken of while the step now open was open, nil when there is none.
func (s *State) spokenOf() *group {
	in := ""
	if st := s.open(); st != nil {
		in = st.Name
	}
	if s.LastIn != in {
		return nil
	}
	return s.group(s.Last)
}

func (s *State) group(name string) *group {
	if i, ok := s.index[name]; ok {
		return s.Groups[i]
	}
	return nil
}

func (s *State) reindex() {
	s.index = make(map[string]int, len(s.Groups))
	for i, g := range s.Groups {
		s.index[g.Name] = i
	}
	if s.Struck == nil {
		s.Struck = map[int64]bool{}
	}
}

func (s *State) addGroup(g *group) {
	s.index = maps.Clone(s.index)
	if s.index == nil {
		s.index = map[string]int{}
	}
	s.index[g.Name] = len(s.Groups)
	s.Groups = append(slices.Clip(s.Groups), g)
}

func (s *State) step(name string) (int, *step) {
	for i, st := range s.Steps {
		if st.Name == name {
			return i, st
		}
	}
	return -1, nil
}

func (s *State) part(name string) (int, *part) {
	i := slices.IndexFunc(s.Parts, func(p *part) bool { return p.Name == name })
	if i < 0 {
		return -1, nil
	}
	return i, s.Parts[i]
}

func (s *State) fluid(name string) (int, *fluid) {
	i := slices.IndexFunc(s.Fluids, func(p *fluid) bool { return p.Name == name })
	if i < 0 {
		return -1, nil
	}
	return i, s.Fluids[i]
}

func (s *State) limit(name string) (int, *limit) {
	i := slices.IndexFunc(s.Limits, func(p *limit) bool { return p.Name == name })
	if i < 0 {
		return -1, nil
	}
	return i, s.Limits[i]
}

func (s *State) suspect(name string) (int, *suspect) {
	i := slices.IndexFunc(s.Suspects, func(p *suspect) bool { return p.Name == name })
	if i < 0 {
		return -1, nil
	}
	return i, s.Suspects[i]
}

// open gives the current step, nil when none is open.
func (s *State) open() *step {
	if s.Current < 0 || s.Current >= len(s.Steps) {
		return nil
	}
	return s.Steps[s.Current]
}
