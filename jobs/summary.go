package jobs

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// whereWasI says when and where work stopped, what is out, open and next, in
// under a quarter of a minute of speech: at 2.5 words a second [maxWords].
func (d *draft) whereWasI(worked time.Time) {
	if worked.IsZero() {
		d.say(ReplyAnswer, "Nothing is done yet.")
	} else {
		d.say(ReplyAnswer, "Last worked %s", ago(worked, d.now))
		if d.st.open() == nil && d.st.LastDone != "" {
			d.reply.Text += ", after " + d.st.LastDone
		}
		d.reply.Text += "."
	}
	// What is next is never left out for length.
	next := ""
	st, waits := d.st.next()
	if open := d.st.open(); open != nil {
		next = "In hand: " + open.Name
		if st != nil && len(waits) == 0 {
			next += ", then " + st.Name
		}
		next += "."
	} else if st != nil && len(waits) == 0 {
		next = "Next: " + st.Name + "."
	} else if st == nil && d.st.stepPhase() == "strip" && len(d.st.Steps) > 0 {
		next = "Next: putting back."
	}
	room := func(format string, args ...any) {
		text := fmt.Sprintf(format, args...)
		if words(d.reply.Text)+words(text)+words(next) <= maxWords {
			d.more("%s", text)
		}
	}
	if r := d.st.Run; r != nil && r.current() > 0 {
		room("Tightening %s, %s, bolt %d.", r.Group, r.passWords(), r.current())
	} else if n := len(d.st.Paused); n > 0 {
		r := d.st.Paused[n-1]
		room("Tightening %s is unfinished, bolt %d.", r.Group, r.current())
	}
	if n, groups := d.st.totalOut(); n > 0 {
		if groups == 1 {
			room("%s out.", capital(d.st.outList()[0]))
		} else {
			room("%s out in %s.", capital(spell(n)), countOf(groups, "group", "groups"))
		}
	}
	if open := d.st.openDoubts(); len(open) > 0 {
		first := open[0]
		if f := strings.Fields(first); len(f) > 8 {
			first = strings.Join(f[:8], " ")
		}
		if len(open) == 1 {
			room("One doubt: %s.", first)
		} else {
			room("%s doubts, the first: %s.", capital(spell(len(open))), first)
		}
	}
	for _, t := range d.st.Timers {
		if !t.Ended && d.now.Before(t.due()) {
			room("%s: %s left.", capital(t.Name), lasts(t.due().Sub(d.now)))
		}
	}
	d.more("%s", next)
}

// openDoubts are the texts of the doubts not settled.
func (s *State) openDoubts() []string {
	var list []string
	for _, dt := range s.Doubts {
		if !dt.Over {
			list = append(list, strings.TrimSuffix(dt.Text, "."))
		}
	}
	return list
}

// unfinished lists what stands between the job and the first start, what is
// most dangerous to forget first.
func (s *State) unfinished(now time.Time) []string {
	var list []string
	for _, f := range s.Fluids {
		if f.Out && !f.In {
			list = append(list, f.Name+" not filled")
		}
	}
	for _, g := range s.Groups {
		if g.Excuse != "" {
			continue
		}
		in := g.Refitted+g.Renewed > 0
		switch {
		case g.holes() > 0:
			list = append(list, spell(g.holes())+" "+g.Name+" out")
		case g.figure() != "" && (g.Loose > 0 || in && g.Back+g.Snug > 0):
			list = append(list, g.Name+" not torqued")
		case g.Loose > 0:
			list = append(list, spell(g.Loose)+" "+g.Name+" loose")
		case g.figure() != "" && g.ByFeel > 0:
			list = append(list, g.Name+" by feel only")
		case g.figure() != "" && g.Unsure > 0:
			list = append(list, g.Name+" tight, not said how")
		}
	}
	for _, r := range append(slices.Clone(s.Paused), s.Run) {
		if r != nil && !r.Check && r.current() > 0 && !slices.ContainsFunc(list, func(x string) bool { return strings.HasPrefix(x, r.Group) }) {
			list = append(list, r.Group+" tightening unfinished")
		}
	}
	for _, text := range s.openDoubts() {
		list = append(list, "doubt: "+short(text))
	}
	for _, p := range s.Parts {
		if p.Aside && p.Fitted == 0 {
			list = append(list, p.Name+" not in")
		}
	}
	for _, l := range s.Limits {
		if l.Value.Given() && !slices.Contains(s.Checked, l.Name) {
			if verdict, _ := l.verdict(); verdict == "over" || verdict == "under" {
				list = append(list, l.Name+" "+verdict+" its limit")
			}
		}
	}
	for _, t := range s.Timers {
		if !t.Ended && !t.Limit && t.Sealant != "" && strings.HasSuffix(t.Name, wetTail) && now.Before(t.due()) {
			list = append(list, t.Name+" still running")
		}
	}
	return list
}
