package board

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"
	"time"

	"putback/jobs"
)

// ReportOptions is what a report needs besides the job.
type ReportOptions struct {
	// Now is printed as the time of the report; the zero time leaves it out.
	Now time.Time
	// Words puts one event into words for the timeline; nil: [jobs.Words].
	Words func(jobs.Event) string
	// Program names the program and its version in the foot; "" leaves it out.
	Program string
}

// openMost is how many open points the summary lists.
const openMost = 30

// reportStyle is the report's whole style sheet, type faces included, and reportPolicy
// the Content-Security-Policy that allows it and nothing else.
var reportStyle, reportPolicy = func() (template.CSS, string) {
	var b strings.Builder
	for _, w := range []string{"500", "700"} {
		font, err := pageFiles.ReadFile("page/barlow-" + w + ".woff2")
		if err != nil {
			panic(err) // embedded files cannot fail to be read
		}
		b.WriteString(`@font-face { font-family: "Bench"; font-weight: ` + w + `; src: url("data:font/woff2;base64,` +
			base64.StdEncoding.EncodeToString(font) + `") format("woff2"); }` + "\n")
	}
	for _, name := range []string{"report.css", "drawings.css"} {
		css, err := pageFiles.ReadFile("page/" + name)
		if err != nil {
			panic(err)
		}
		b.Write(css)
	}
	sum := sha256.Sum256([]byte(b.String()))
	policy := "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; font-src data:; base-uri 'none'; form-action 'none'"
	return template.CSS(b.String()), policy
}()

// reportEntry is one line of the timeline.
type reportEntry struct {
	At           time.Time
	Words, Heard string
	Struck       bool
}

// reportDay is one day of the timeline.
type reportDay struct {
	Day     string
	Entries []reportEntry
}

// reportGroup is one group of fasteners in the report.
type reportGroup struct {
	groupLine
	Picture   *layout
	OrderText string
	Said      []reportEntry // who said what for its figures
}

// keyLine explains one mark of the ledger drawings.
type keyLine struct {
	Slot  slot
	Words string
}

type reportData struct {
	View       jobs.View
	Style      template.CSS
	Policy     string
	Program    string
	Made       string
	From, To   string
	Entries    string
	Out        int
	Torqued    int
	StepsDone  int
	OpenDoubts int
	Open       []string
	MoreOpen   int
	Cautions   []jobs.StepView
	Groups     []reportGroup
	Untouched  []jobs.GroupView
	Key        []keyLine
	Days       []reportDay
}

// Report writes the report of a job as one self-contained HTML file that prints
// well: summary, cautions, steps, every group with its drawing, its torque wanted and done and who
// said the figure, parts, measurements, doubts, and the timeline out of history, oldest first. With an
// empty history the timeline shows v's recent entries. The error is w's.
func Report(w io.Writer, v jobs.View, history []jobs.Event, o ReportOptions) error {
	d := reportData{View: v, Style: reportStyle, Policy: reportPolicy, Program: o.Program, Made: orNothing(o.Now, "2 January 2006, 15:04")}
	if o.Words == nil {
		o.Words = jobs.Words
	}
	entries, said := tellHistory(v, history, o.Words)
	d.Days = byDay(entries)
	if n := len(entries); n > 0 {
		d.From, d.To = orNothing(entries[0].At, "2 January 2006"), orNothing(entries[n-1].At, "2 January 2006")
		d.Entries = strconv.Itoa(n) + " entries"
		if n == 1 {
			d.Entries = "1 entry"
		}
	}
	for _, s := range v.Steps {
		if s.State == "done" {
			d.StepsDone++
		}
		if s.Caution != "" {
			d.Cautions = append(d.Cautions, s)
		}
	}
	for _, g := range v.Groups {
		d.Out += max(g.Out, 0)
		d.Torqued += max(g.Torqued, 0)
		if g.Removed == 0 && g.Loose == 0 && g.Torqued == 0 && g.ByFeel == 0 && len(said[g.Name]) == 0 {
			d.Untouched = append(d.Untouched, g)
			continue
		}
		d.Groups = append(d.Groups, reportOf(g, said[g.Name]))
	}
	for _, s := range slotWords {
		d.Key = append(d.Key, keyLine{drawSlot(s.kind, 12, 12), s.words})
	}
	d.Open = stillOpen(v)
	for _, x := range v.Doubts {
		if x.Open {
			d.OpenDoubts++
		}
	}
	if n := len(d.Open); n > openMost {
		d.Open, d.MoreOpen = d.Open[:openMost], n-openMost
	}
	if err := templates.ExecuteTemplate(w, "report", d); err != nil {
		return fmt.Errorf("writing the report of %q: %w", v.Job, err)
	}
	return nil
}

func reportOf(g jobs.GroupView, said []reportEntry) reportGroup {
	r := reportGroup{groupLine: makeGroup(g), Said: said}
	r.Name = g.Name // a report has room for the whole name
	if len(g.Positions) > 0 || len(g.Order) > 1 {
		r.Picture = drawLayout(max(g.Count, g.Removed, len(g.Order)), g.Positions, g.Order, boltRun{})
	}
	order := make([]string, len(g.Order))
	for i, n := range g.Order {
		order[i] = strconv.Itoa(n)
	}
	r.OrderText = strings.Join(order, " ")
	return r
}

// stillOpen lists what keeps the job from being finished.
func stillOpen(v jobs.View) []string {
	var open []string
	for _, g := range v.Groups {
		switch {
		case g.Out > 0 && g.Excuse != "":
			open = append(open, fmt.Sprintf("%s: %d out, because %s", g.Name, g.Out, g.Excuse))
		case g.Out > 0:
			open = append(open, fmt.Sprintf("%s: %d of %d out", g.Name, g.Out, max(g.Count, g.Removed)))
		}
		if g.Loose > 0 {
			open = append(open, fmt.Sprintf("%s: %d loose", g.Name, g.Loose))
		}
		in := g.Refitted + g.Renewed
		if left := in - g.Torqued - g.ByFeel; g.Torque != "" && left > 0 {
			open = append(open, fmt.Sprintf("%s: %d in but not tightened to %s", g.Name, left, g.Torque))
		}
	}
	for _, d := range v.Doubts {
		if d.Open {
			open = append(open, "doubt: "+d.Text)
		}
	}
	for _, p := range v.Parts {
		if p.Need > p.Fitted {
			open = append(open, fmt.Sprintf("%s: %d of %d fitted", p.Name, p.Fitted, p.Need))
		}
	}
	for _, l := range v.Limits {
		if l.Value == "" {
			open = append(open, l.Name+": not measured")
		}
	}
	for _, s := range v.Steps {
		if s.State == "open" {
			open = append(open, "step begun, not done: "+stepText(s))
		}
	}
	return open
}

// tellHistory puts the journal into words, and picks for each group the entries that gave or used a figure.
func tellHistory(v jobs.View, history []jobs.Event, words func(jobs.Event) string) (all []reportEntry, said map[string][]reportEntry) {
	said = make(map[string][]reportEntry)
	if len(history) == 0 {
		for i := len(v.Recent) - 1; i >= 0; i-- {
			e := v.Recent[i]
			w := e.Words
			if w == "" {
				w = e.Kind
			}
			all = append(all, reportEntry{e.At, w, e.Heard, e.Struck})
		}
		return all, said
	}
	// What a strike took back, and what an amendment that stands itself replaced.
	// Strikes first: a later one can take an amendment back.
	struck := make(map[int64]bool)
	for _, kind := range []string{jobs.KindStrike, jobs.KindAmend} {
		for _, e := range history {
			var back struct {
				Turn int64 `json:"turn"`
			}
			// An event whose data cannot be read strikes nothing; it is told all the same.
			if e.Kind == kind && !(kind == jobs.KindAmend && struck[e.Turn]) && json.Unmarshal(e.Data, &back) == nil {
				struck[back.Turn] = true
			}
		}
	}
	var turn int64 = -1
	for _, e := range history {
		w := words(e)
		if w == "" {
			w = e.Kind
		}
		r := reportEntry{e.At, w, e.Heard, struck[e.Turn] && e.Turn != 0}
		for _, group := range figuresOf(e) {
			said[group] = append(said[group], r)
		}
		// One utterance can make several events: its words are quoted once.
		if e.Turn != 0 && e.Turn == turn {
			r.Heard = ""
		}
		turn = e.Turn
		all = append(all, r)
	}
	return all, said
}

// figuresOf names the groups for which an entry gave or used a figure; an
// amendment does it with the events that stand in the place of older ones.
func figuresOf(e jobs.Event) (groups []string) {
	var of struct {
		Group  string       `json:"group"`
		Events []jobs.Event `json:"events"`
	}
	// An event whose data cannot be read gave no figure; it is told all the same.
	if json.Unmarshal(e.Data, &of) != nil {
		return nil
	}
	switch e.Kind {
	case jobs.KindSpec, jobs.KindTorqued:
		if of.Group != "" {
			groups = append(groups, of.Group)
		}
	case jobs.KindAmend:
		for _, instead := range of.Events {
			if instead.Kind != jobs.KindAmend {
				groups = append(groups, figuresOf(instead)...)
			}
		}
	}
	return groups
}

func byDay(entries []reportEntry) []reportDay {
	var days []reportDay
	for _, e := range entries {
		day := orNothing(e.At, "Monday, 2 January 2006")
		if day == "" {
			day = "Without a date"
		}
		if len(days) == 0 || days[len(days)-1].Day != day {
			days = append(days, reportDay{Day: day})
		}
		last := &days[len(days)-1]
		last.Entries = append(last.Entries, e)
	}
	return days
}
