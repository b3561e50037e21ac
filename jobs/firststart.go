package jobs

import (
	"slices"
	"strings"

	"putback/intent"
)

// starting collects what was answered on the way to the first start.
type starting struct {
	doubts []int    // asked about and still open
	feel   []string // groups and measurements asked about and not left as they are
}

// startCheck goes through what stands before the first start: each doubt, what
// is only tight by feel, what is open in the record, then the checklist.
func (d *draft) startCheck() { d.beforeStart(starting{}) }

func (d *draft) beforeStart(c starting) {
	for i, dt := range d.st.Doubts {
		if dt.Over || slices.Contains(c.doubts, i) {
			continue
		}
		still := c
		still.doubts = append(slices.Clone(c.doubts), i)
		d.confirm(ReplyQuestion, "You doubted: "+strings.TrimSuffix(short(dt.Text), ".")+". Settled?",
			func(d *draft) {
				d.add(KindSettled, doubtSettled{Doubt: i + 1, How: "settled before first start"})
				d.beforeStart(c)
			},
			func(d *draft) { d.beforeStart(still) })
		d.ask.ending = true // unanswered, it stays open: nothing is lost
		return
	}
	for _, g := range d.st.Groups {
		n := g.ByFeel + g.Unsure
		if n == 0 || g.Excuse != "" || g.figure() == "" || g.holes() > 0 || slices.Contains(c.feel, g.Name) {
			continue
		}
		how := "by feel"
		if g.ByFeel == 0 {
			how = "but nobody said how"
		}
		name, still := g.Name, c
		still.feel = append(slices.Clone(c.feel), name)
		d.confirm(ReplyQuestion, capital(name)+": "+spell(n)+" tight "+how+", "+g.figure()+" wanted. Leave "+plural(n, "it", "them")+" so?",
			func(d *draft) {
				d.add(KindExcuse, named{Name: name, Text: "left tight " + how})
				d.beforeStart(c)
			},
			func(d *draft) { d.beforeStart(still) })
		return
	}
	for _, l := range d.st.Limits {
		verdict, by := l.verdict()
		if !l.Value.Given() || verdict != "over" && verdict != "under" || slices.Contains(d.st.Checked, l.Name) || slices.Contains(c.feel, l.Name) {
			continue
		}
		name, still := l.Name, c
		still.feel = append(slices.Clone(c.feel), name)
		d.confirm(ReplyQuestion, capital(name)+" is "+by.String()+" "+verdict+" its limit. Leave it so?",
			func(d *draft) {
				d.add(KindChecked, named{Name: name})
				d.beforeStart(c)
			},
			func(d *draft) { d.beforeStart(still) })
		return
	}
	if open := d.st.unfinished(d.now); len(open) > 0 {
		d.say(ReplyAnswer, "Not yet: %s.", bounded(open, ",", maxWords-6))
		return
	}
	d.checklist()
}

// checklist asks for the first line not yet ticked.
func (d *draft) checklist() {
	if d.st.Phase != "start" {
		d.add(KindStage, named{Name: "start"})
	}
	left := d.st.unchecked()
	if len(left) == 0 {
		d.say(ReplyAnswer, "All checked, nothing open in the record.")
		if later := d.st.stepsLeft(); len(later) > 0 {
			d.room("Steps left: %s.", fewOf(later, 3))
		}
		d.more("Your manual decides.")
		return
	}
	item := left[0]
	d.ask = &question{done: true, yes: func(d *draft) { d.tick(item) },
		no: func(d *draft) { d.say(ReplyAnswer, "Do that first, then say done.") }}
	text := capital(item) + "?"
	if len(left) == len(d.st.checks()) {
		text = "Nothing open in the record. " + capital(countOf(len(left), "check", "checks")) + ". " + text
	}
	d.reply = Reply{Kind: ReplyQuestion, Text: text, Choices: []string{"yes", "no"}}
}

// tick ticks a line of the checklist off and goes on to the next.
func (d *draft) tick(item string) {
	d.add(KindChecked, named{Name: item})
	d.checklist()
}

// checkDone ticks a line that was told as done. Before that list is gone through
// it says so: what is checked too early has to be checked again.
func (d *draft) checkDone(item string) {
	switch {
	case d.st.Phase != "start":
		d.say(ReplyAnswer, "%s is for the first start: I ask for it then.", capital(item))
	case slices.Contains(d.st.Checked, item):
		d.say(ReplyAnswer, "%s is checked already.", capital(item))
	default:
		d.tick(item)
		if d.reply.Kind == ReplyQuestion {
			d.reply.Text = capital(item) + ": checked. " + d.reply.Text
		}
	}
}

// checkOf is the line of the checks that a deed tells of, "" none.
func (s *State) checkOf(key string) string {
	for _, c := range s.checks() {
		if slices.ContainsFunc(intent.CheckDeeds(c), func(d intent.Deed) bool { return d.Key == key }) {
			return c
		}
	}
	return ""
}

// markOf is the line of the checks about a fluid's level, "" none.
func (s *State) markOf(fluid string) string {
	for _, c := range s.checks() {
		if (hasWords(c, fluid) || slices.ContainsFunc(keyWords(fluid), func(w string) bool { return hasWords(c, w) })) && (hasWords(c, "mark") || hasWords(c, "level")) {
			return c
		}
	}
	return ""
}

// asked: does a step ask for the deed of that key?
func (s *State) asked(key string) bool {
	return slices.ContainsFunc(s.Steps, func(st *step) bool {
		return slices.ContainsFunc(intent.Deeds(st.Name, st.Do), func(d intent.Deed) bool { return d.Key == key })
	})
}

// checks are the lines of the sheet, or without them what the record suggests
// (common practice, no source).
func (s *State) checks() []string {
	if s.Sheet != nil && len(s.Sheet.FirstStart) > 0 {
		return append(slices.Clip(s.Sheet.FirstStart), s.Starts...)
	}
	list := slices.Clone(s.Starts)
	for _, f := range s.Fluids {
		if f.Out || f.In {
			list = append(list, f.Name+" to its mark")
		}
	}
	return append(list, "tools and rags counted")
}

func (s *State) unchecked() []string {
	var list []string
	for _, c := range s.checks() {
		if !slices.Contains(s.Checked, c) {
			list = append(list, c)
		}
	}
	return list
}

// stepsLeft names the refit steps not done, in order.
func (s *State) stepsLeft() []string {
	var list []string
	order, err := s.order("refit")
	if err != nil {
		return nil
	}
	for _, i := range order {
		if st := s.Steps[i]; st.State == "waiting" || st.State == "open" {
			list = append(list, st.Name)
		}
	}
	return list
}
