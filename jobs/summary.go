package jobs

import "time"

// whereWasI says when and where work stopped, what is out, open and next.
func (d *draft) whereWasI(worked time.Time) {
	if worked.IsZero() {
		d.say(ReplyAnswer, "Nothing is done yet.")
	} else {
		d.say(ReplyAnswer, "Last worked %s.", ago(worked, d.now))
	}
	if st := d.st.open(); st != nil {
		d.more("On %s.", st.Name)
	} else if d.st.LastDone != "" {
		d.more("After %s.", d.st.LastDone)
	}
	if n, groups := d.st.totalOut(); n > 0 {
		d.more("%s out in %s.", capital(spell(n)), countOf(groups, "group", "groups"))
	}
	if st, w := d.st.next(); st != nil && len(w) == 0 {
		d.room("Next: %s.", st.Name)
	}
}

// unfinished lists what stands between the job and the first start.
func (s *State) unfinished(now time.Time) []string {
	var list []string
	for _, f := range s.Fluids {
		if f.Out && !f.In {
			list = append(list, f.Name+" not filled")
		}
	}
	for _, dt := range s.Doubts {
		if !dt.Over {
			list = append(list, "doubt: "+short(dt.Text))
		}
	}
	for _, g := range s.Groups {
		if g.holes() > 0 && g.Excuse == "" {
			list = append(list, spell(g.holes())+" "+g.Name+" out")
		} else if g.figure() != "" && g.Refitted+g.Renewed > 0 && g.Back+g.Snug+g.Loose > 0 {
			list = append(list, g.Name+" not torqued")
		} else if g.ByFeel+g.Unsure > 0 && g.figure() != "" {
			list = append(list, g.Name+" tight by feel")
		}
	}
	for _, p := range s.Parts {
		if p.Aside && p.Fitted == 0 {
			list = append(list, p.Name+" not in")
		}
	}
	for _, t := range s.Timers {
		if !t.Ended && !t.Limit && now.Before(t.due()) {
			list = append(list, t.Name+" still running")
		}
	}
	return list
}

// startCheck tells what is open before the first start.
func (d *draft) startCheck(_ []string) {
	if open := d.st.unfinished(d.now); len(open) > 0 {
		d.say(ReplyAnswer, "Not yet: %s.", bounded(open, ",", maxWords-4))
		return
	}
	if d.st.Sheet != nil && len(d.st.Sheet.FirstStart) > 0 {
		d.say(ReplyAnswer, "Nothing open in the record. Check: %s. Your manual decides.", bounded(d.st.Sheet.FirstStart, ",", maxWords-12))
		return
	}
	d.say(ReplyAnswer, "Nothing open in the record. Your manual decides.")
}
