package jobs

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// WriteStatus prints where the job stands, for a terminal.
func WriteStatus(w io.Writer, v View) error {
	out := bufio.NewWriter(w)
	line := func(format string, args ...any) { fmt.Fprintf(out, format+"\n", args...) }
	title := v.Job
	if title == "" {
		title = "Job without a sheet"
	}
	if v.Machine != "" {
		title += ", " + v.Machine
	}
	line("%s", title)
	line("stage: %s", v.Stage)
	if v.Step != nil {
		line("step:  %s, %s", v.Step.Name, v.Step.Do)
	}
	if v.Next != nil {
		text := v.Next.Name
		if len(v.Next.Waits) > 0 {
			text += " (waits for " + andList(v.Next.Waits) + ")"
		}
		line("next:  %s", text)
	}
	done, total := map[string]int{}, map[string]int{}
	for _, s := range v.Steps {
		total[s.Phase]++
		if s.State == "done" {
			done[s.Phase]++
		}
	}
	for _, phase := range []string{"strip", "refit"} {
		if total[phase] > 0 {
			line("%s steps: %d of %d done", phase, done[phase], total[phase])
		}
	}
	head := false
	for _, g := range v.Groups {
		if g.Removed+g.Loose+g.Snug+g.Torqued+g.ByFeel == 0 && g.Excuse == "" {
			continue
		}
		if !head {
			line("")
			line("%-28s %5s %5s %5s %5s %5s %5s %5s  %s", "fasteners", "of", "off", "back", "new", "gone", "out", "tight", "where")
			head = true
		}
		tail := g.Stow
		if g.Torque != "" {
			tail = strings.TrimPrefix(tail+", "+g.Torque, ", ")
		}
		if g.Excuse != "" {
			tail += " (short: " + g.Excuse + ")"
		}
		line("%-28s %5d %5d %5d %5d %5d %5d %5d  %s", g.Name, g.Count, g.Removed, g.Refitted, g.Renewed, g.Discarded, g.Out, g.Torqued+g.ByFeel, tail)
	}
	if r := v.Run; r != nil {
		line("")
		state := ""
		if r.Paused {
			state = ", paused"
		}
		line("tightening %s: pass %d of %d at %s, %d of %d bolts done%s", r.Group, r.Pass, r.Passes, r.Target, len(r.Done), len(r.Order), state)
	}
	for _, t := range v.Timers {
		if t.State == "running" {
			line("timer %s: until %s", t.Name, t.Due.Format("15:04:05"))
		}
	}
	for _, d := range v.Doubts {
		if d.Open {
			line("doubt: %s", d.Text)
		}
	}
	for _, u := range v.Suspects {
		line("suspect %s: %s", u.Name, u.State)
	}
	for _, l := range v.Limits {
		if l.Value != "" {
			line("%s: %s, %s (%s)", l.Name, l.Value, l.Verdict, l.Limit)
		}
	}
	if v.Question != nil {
		line("asked: %s", v.Question.Text)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("printing the status: %w", err)
	}
	return nil
}
