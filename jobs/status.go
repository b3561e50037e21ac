package jobs

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// WriteStatus prints where the job stands, for a terminal: everything that is
// recorded and not yet settled first, then what is on record besides.
func WriteStatus(w io.Writer, v View) error {
	out := bufio.NewWriter(w)
	p := statusPrinter{out}
	p.head(v)
	p.steps(v)
	p.fasteners(v)
	p.runs(v)
	p.parts(v)
	p.rest(v)
	if err := out.Flush(); err != nil {
		return fmt.Errorf("printing the status: %w", err)
	}
	return nil
}

type statusPrinter struct{ out *bufio.Writer }

func (p statusPrinter) line(format string, args ...any) { fmt.Fprintf(p.out, format+"\n", args...) }

// because adds what was said, where something was.
func because(text string) string {
	if text == "" {
		return ""
	}
	return " (" + text + ")"
}

func (p statusPrinter) head(v View) {
	title := v.Job
	if title == "" {
		title = "Job without a sheet"
	}
	if v.Machine != "" {
		title += ", " + v.Machine
	}
	p.line("%s", title)
	p.line("stage: %s", v.Stage)
	if v.Step != nil {
		p.line("step:  %s, %s", v.Step.Name, v.Step.Do)
	}
	if v.Next != nil {
		text := v.Next.Name
		if len(v.Next.Waits) > 0 {
			text += " (waits for " + andList(v.Next.Waits) + ")"
		}
		p.line("next:  %s", text)
	}
	if v.Wrench != "" {
		p.line("in hand: %s", v.Wrench)
	}
	if v.Question != nil {
		p.line("asked: %s", v.Question.Text)
	}
}

func (p statusPrinter) steps(v View) {
	done, total := map[string]int{}, map[string]int{}
	for _, s := range v.Steps {
		total[s.Phase]++
		if s.State == "done" {
			done[s.Phase]++
		}
	}
	for _, phase := range []string{"strip", "refit"} {
		if total[phase] > 0 {
			p.line("%s steps: %d of %d done", phase, done[phase], total[phase])
		}
	}
	for _, s := range v.Steps {
		if s.State == "skipped" {
			p.line("skipped: %s%s", s.Name, because(s.Reason))
		}
		if s.Inserted {
			p.line("inserted: %s, %s", s.Name, s.State)
		}
	}
}

func (p statusPrinter) fasteners(v View) {
	head := false
	for _, g := range v.Groups {
		if g.Removed+g.Loose+g.Snug+g.Torqued+g.ByFeel+g.Unsure == 0 && g.Excuse == "" && len(g.Flags) == 0 {
			continue
		}
		if !head {
			p.line("")
			p.line("%-28s %5s %5s %5s %5s %5s %5s %5s %5s %5s %5s  %s", "fasteners", "of", "off", "back", "new", "gone", "out", "loose", "snug", "tight", "feel", "where")
			head = true
		}
		var tail []string
		if g.Stow != "" {
			tail = append(tail, g.Stow)
		}
		if g.Torque != "" {
			tail = append(tail, g.Torque+" "+g.Source)
		}
		if g.DoneAt != "" {
			tail = append(tail, "done at "+g.DoneAt)
		}
		tail = append(tail, g.Flags...)
		if g.Excuse != "" {
			tail = append(tail, g.Excuse)
		}
		p.line("%-28s %5d %5d %5d %5d %5d %5d %5d %5d %5d %5d  %s", g.Name, g.Count, g.Removed, g.Refitted, g.Renewed, g.Discarded, g.Out,
			g.Loose, g.Snug, g.Torqued, g.ByFeel+g.Unsure, strings.Join(tail, ", "))
		for _, t := range g.Tips {
			p.line("%-28s tip: %s", "", t)
		}
	}
}

func (p statusPrinter) runs(v View) {
	list := v.Paused
	if v.Run != nil {
		list = append([]RunView{*v.Run}, list...)
	}
	for i, r := range list {
		if i == 0 {
			p.line("")
		}
		state := ""
		if r.Paused || i > 0 || v.Run == nil {
			state = ", paused"
		}
		p.line("tightening %s: pass %d of %d at %s, %d of %d bolts done, bolt %d next%s", r.Group, r.Pass, r.Passes, r.Target, len(r.Done), len(r.Order), r.Current, state)
	}
}

func (p statusPrinter) parts(v View) {
	head := false
	section := func() {
		if !head {
			p.line("")
			head = true
		}
	}
	for _, x := range v.Parts {
		var w []string
		if x.Aside {
			w = append(w, "set aside")
		}
		if x.Where != "" {
			w = append(w, x.Where)
		}
		if x.Fitted > 0 {
			w = append(w, fmt.Sprintf("%d fitted, %d new", x.Fitted, x.New))
		}
		if x.Need > 0 && (x.Renew == "always" || x.Have > 0 || x.Asked) {
			w = append(w, fmt.Sprintf("%d needed, %d at hand", x.Need, x.Have))
		}
		if x.Renew != "" {
			w = append(w, "renew "+x.Renew)
		}
		if len(w) == 0 {
			continue
		}
		section()
		p.line("part %s: %s", x.Name, strings.Join(w, ", "))
	}
	for _, f := range v.Fluids {
		var w []string
		if f.Drained != "" {
			w = append(w, "out "+f.Drained)
		}
		if f.Filled != "" {
			w = append(w, "in "+f.Filled)
		}
		if len(w) > 0 {
			section()
			p.line("fluid %s: %s; wants %s", f.Name, strings.Join(w, ", "), f.Fill)
		}
	}
}

func (p statusPrinter) rest(v View) {
	p.line("")
	for _, t := range v.Timers {
		switch t.State {
		case "running":
			p.line("timer %s: until %s%s", t.Name, t.Due.Format("2 Jan 15:04:05"), because(t.Source))
		default:
			p.line("timer %s: %s", t.Name, t.State)
		}
	}
	for _, d := range v.Doubts {
		if d.Open {
			p.line("doubt: %s%s", d.Text, because(d.Step))
		} else {
			p.line("doubt settled: %s%s", d.Text, because(d.Ended))
		}
	}
	for _, u := range v.Suspects {
		p.line("suspect %s: %s%s", u.Name, u.State, because(u.Reason))
		for _, e := range u.For {
			p.line("  for: %s", e)
		}
		for _, e := range u.Against {
			p.line("  against: %s", e)
		}
	}
	for _, l := range v.Limits {
		if l.Value != "" {
			p.line("%s: %s, %s (%s)", l.Name, l.Value, l.Verdict, l.Limit)
		}
	}
	for _, x := range v.Dictated {
		p.line("dictated: %s", x)
	}
	for _, n := range v.Notes {
		p.line("%s", strings.TrimSuffix(n.Kind+" "+n.At.Format("2 Jan 15:04:05")+": "+n.Text, ": "))
	}
	for _, c := range v.Checks {
		if c.Done {
			p.line("checked: %s", c.Name)
		}
	}
}
