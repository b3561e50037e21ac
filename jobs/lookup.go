package jobs

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// tellMost is how many groups one answer tells of before it asks which is meant.
const tellMost = 3

// lookUp answers what is asked of the record; false: in asks nothing of it. An
// answer names its source and leaves a pending question open.
func (d *draft) lookUp(in intent.Intent) bool {
	d.keep = true
	switch v := in.(type) {
	case intent.AskTorque:
		d.tellGroups(v.Name, d.torqueOf)
	case intent.AskSize:
		d.tellGroups(v.Name, d.sizeOf)
	case intent.AskCount:
		d.tellGroups(v.Name, d.countOf)
	case intent.AskPlace:
		d.tellPlace(v.Name)
	case intent.AskHeld:
		d.tellHeld(v.Place)
	case intent.AskPart:
		d.tellPart(v.Name)
	case intent.AskRenew:
		d.tellRenew(v.Name)
	case intent.AskFluid:
		d.tellFluid(v.Name)
	case intent.AskLimit:
		d.tellLimit(v.Name)
	case intent.AskOut:
		d.tellOut(v.Name)
	case intent.AskLeft:
		d.tellLeft(v)
	case intent.LeftOver:
		d.leftOver(v.Items)
	case intent.AskDoubts:
		d.doubts()
	case intent.AskTimers:
		if v.Fluid != "" {
			d.fluidWhen(v.Fluid)
			return true
		}
		d.timers(v.Name)
	case intent.AskDetail:
		d.tellDetail(v)
	case intent.AskNotes:
		d.tellNotes()
	case intent.AskWhy:
		d.why(v.Name)
	case intent.AskLast:
		d.tellLast()
	case intent.AskFaults:
		d.faults()
	case intent.WhereWasI:
		d.whereWasI(d.before.Worked)
	case intent.HandOver:
		d.handOver()
	default:
		d.keep = false
		return false
	}
	return true
}

// from says where something comes from: the sheet, or when it was dictated.
func (d *draft) from(at time.Time) string {
	if at.IsZero() {
		return "from your sheet"
	}
	return "dictated " + ago(at, d.now)
}

// known says that a name leads nowhere.
func (d *draft) unknown(name string) {
	if name == "" {
		d.say(ReplyAnswer, "Of which bolts?")
		return
	}
	d.say(ReplyAnswer, "I do not know %s.", the(name))
}

// tellGroups answers about the groups a name can mean: up to three in one
// breath, sharing the source, else it asks which. Tell gives what is said of
// one group, without its name, and the source.
func (d *draft) tellGroups(name string, tell func(g *group) (text, source string)) {
	if name == "" {
		d.oneGroup("", func(d *draft, g *group) { d.tellOne(g, tell) })
		return
	}
	list := d.st.lookGroups(name, nil, nil)
	switch {
	case len(list) == 0:
		d.unknown(name)
	case len(list) == 1:
		d.tellOne(list[0], tell)
	case len(list) <= tellMost:
		var parts []string
		shared := ""
		for i, g := range list {
			text, source := tell(g)
			if i == 0 {
				shared = source
			} else if source != shared {
				shared = ""
			}
			parts = append(parts, g.Name+" "+text)
		}
		if shared != "" {
			shared = ", " + shared
		}
		d.say(ReplyAnswer, "%s%s.", capital(strings.Join(parts, "; ")), shared)
	default:
		d.keep = false
		d.whichGroup(list, func(d *draft, name string) { d.tellOne(d.st.group(name), tell) })
		d.ask.holds = false
	}
}

func (d *draft) tellOne(g *group, tell func(g *group) (text, source string)) {
	text, source := tell(g)
	if source != "" {
		text += ", " + source
	}
	d.say(ReplyAnswer, "%s: %s.", capital(g.Name), text)
}

// torqueOf gives the torque in the units of the wrench in hand; without one on
// record a guide figure, except where only the maker's manual counts.
func (d *draft) torqueOf(g *group) (text, source string) {
	f := g.figure()
	if f == "" {
		return d.guideOf(g), ""
	}
	q := g.full()
	source = d.st.source(g, d.now)
	text = f
	// A torque that is heard wrong is tightened wrong.
	d.numbers = append(d.numbers, q.Amount)
	if hand, tool, ok := d.onWrench(q); ok {
		text = hand.String() + " on the " + tool
		source += ", there " + f
	}
	if g.Oiled {
		text += ", oiled"
	}
	if g.Objection != "" {
		source += ", kept against an objection"
	}
	return text, source
}

// guideOf is what to say of a group without a torque on record.
func (d *draft) guideOf(g *group) string {
	if why, only := fastening.ManualOnly(g.Name + " " + g.Place + " " + d.st.Job); only {
		return "no torque on record. " + strings.TrimSuffix(why, ".")
	}
	if g.Thread == "" {
		return "no torque on record; your manual has it"
	}
	a, err := fastening.AnswerGuide(g.known())
	if err != nil || a.Figure == nil {
		return "no torque on record; your manual has it"
	}
	q := *a.Figure
	if hand, _, ok := d.onWrench(q); ok {
		q = hand
	}
	return fmt.Sprintf("no torque on record. Guide figure for %s: about %s, your manual decides", g.Thread, q.Digits(2))
}

// onWrench gives a torque in the unit of the wrench in hand; false when that is
// its own unit or no wrench with a scale is in hand.
func (d *draft) onWrench(q measure.Quantity) (hand measure.Quantity, tool string, ok bool) {
	w := d.st.wrench(d.st.Wrench)
	if w == nil || !q.Given() || !w.High.Given() || w.High.Unit == q.Unit {
		return q, "", false
	}
	hand, err := q.In(w.High.Unit)
	if err != nil {
		return q, "", false
	}
	return hand.Digits(3), w.Name, true
}

// wrench finds a wrench that is known, by its full name.
func (s *State) wrench(name string) *SheetWrench {
	if name == "" {
		return nil
	}
	for _, w := range s.wrenches() {
		if normal(w.Name) == normal(name) {
			return &w
		}
	}
	return nil
}

func (d *draft) sizeOf(g *group) (text, source string) {
	var w []string
	switch {
	case g.Wrench.Given():
		w = append(w, g.Wrench.String()+" head")
	case g.Tool != "":
		w = append(w, g.Tool)
	case g.Size != "":
		w = append(w, g.Size)
	}
	if g.Thread != "" {
		w = append(w, g.Thread)
	}
	if g.Class != "" {
		w = append(w, g.Class)
	}
	if g.Length.Given() {
		w = append(w, g.Length.String()+" long")
	}
	if g.LeftHand {
		w = append(w, "left-hand")
	}
	if len(w) == 0 {
		return "nobody said the size", ""
	}
	if g.FromSheet {
		return strings.Join(w, ", "), "from your sheet"
	}
	return strings.Join(w, ", "), "as you said it"
}

func (d *draft) countOf(g *group) (text, source string) {
	if g.Count == 0 {
		return spell(g.Removed) + " taken off, the whole number was not said", ""
	}
	text = spell(g.Count)
	if g.out() > 0 {
		text += ", " + spell(g.out()) + " out"
	}
	return text, d.from(g.CountAt)
}

// tellPlace says where fasteners or a part are kept.
func (d *draft) tellPlace(name string) {
	part := d.findPart(name)
	groups := d.st.lookGroups(name, nil, nil)
	if part != "" && (name != "" && len(groups) == 0 || normal(part) == normal(name)) {
		_, p := d.st.part(part)
		switch {
		case p.Where == "" && p.Fitted > 0:
			d.say(ReplyAnswer, "%s is fitted.", capital(the(p.Name)))
		case p.Where == "":
			d.say(ReplyAnswer, "Nobody said where %s is.", the(p.Name))
		default:
			d.say(ReplyAnswer, "%s: %s, %s.", capital(p.Name), p.Where, d.from(p.WhereAt))
		}
		return
	}
	d.tellGroups(name, func(g *group) (string, string) {
		switch {
		case g.Stow != "" && g.out() > 0:
			return g.Stow, d.from(g.StowAt)
		case g.Stow != "":
			return g.Stow + ", none of them out now", d.from(g.StowAt)
		case g.Removed > 0:
			return "nobody said where", ""
		}
		return "still on the machine", ""
	})
}

// tellRenew says whether a part or a group's fastenings may be used again.
func (d *draft) tellRenew(name string) {
	if name == "" {
		d.tellRenewAll()
		return
	}
	_, p := d.st.part(d.findPart(name))
	if p != nil && (normal(p.Name) == normal(bare(name)) || len(d.st.lookGroups(name, nil, nil)) == 0) {
		text, source := again(p.Renew)
		d.say(ReplyAnswer, "%s: %s, %s.", capital(p.Name), text, source)
		return
	}
	d.tellGroups(name, func(g *group) (text, source string) { return again(g.Renew) })
}

// tellRenewAll names what is new every time, parts before bolts.
func (d *draft) tellRenewAll() {
	var list []string
	for _, p := range d.st.Parts {
		if p.mustBeNew() {
			list = append(list, p.Name)
		}
	}
	for _, g := range d.st.Groups {
		if g.Renew == "always" {
			list = append(list, g.Name)
		}
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "Nothing on record has to be new; your manual decides.")
		return
	}
	d.say(ReplyAnswer, "New: %s.", fewOf(list, 9))
}

// again says a renew rule as the answer to whether something is used again, and
// who decides.
func again(renew string) (text, source string) {
	switch renew {
	case "":
		return "no rule on record", "your manual decides"
	case "if damaged":
		return "only if undamaged", "your manual decides"
	}
	return "no, new every time", "by the rule on record"
}

// tellPart says how a part stands, or with no name what is still needed.
// didI is asked about what was done, not about what there is.
var didI = regexp.MustCompile(`(?i)\b(did|have) (I|we) (put|fit|fitted|change|changed|renew|renewed|replace|replaced)\b`)

func (d *draft) tellPart(name string) {
	if name == "" {
		var need []string
		for _, p := range d.st.Parts {
			if n := p.short(); n > 0 {
				need = append(need, spell(n)+" "+p.Name)
			}
		}
		for _, g := range d.st.Groups {
			if n := g.toRenew(); n > 0 {
				need = append(need, spell(n)+" "+g.Name)
			}
		}
		if len(need) == 0 {
			d.say(ReplyAnswer, "Every new part is at hand or fitted.")
			return
		}
		d.say(ReplyAnswer, "Still to get: %s.", fewOf(need, 5))
		return
	}
	_, p := d.st.part(d.findPart(name))
	if p == nil {
		d.unknown(name)
		return
	}
	if didI.MatchString(d.heard.Text) {
		switch {
		case p.Fitted >= max(p.Need, 1) && p.New > 0:
			d.say(ReplyAnswer, "Yes, %s fitted, new.", the(p.Name))
		case p.Fitted >= max(p.Need, 1):
			d.say(ReplyAnswer, "Yes, %s fitted.", the(p.Name))
		default:
			d.say(ReplyAnswer, "Not by the record: %s of %s fitted.", onlyNone(p.Fitted), spell(max(p.Need, 1)))
		}
		return
	}
	d.say(ReplyAnswer, "%s: %s needed, %s at hand", capital(p.Name), spell(max(p.Need, 1)), spell(p.Have))
	if p.Spare > 0 && p.Have > 0 {
		d.reply.Text += ", " + spell(min(p.Spare, p.Have)) + " of them spare"
	}
	if p.Fitted > 0 {
		d.reply.Text += ", " + spell(p.Fitted) + " fitted"
	}
	d.reply.Text += ", " + d.from(p.HaveAt) + "."
	switch p.Renew {
	case "always":
		d.more("Once-only.")
	case "":
	default:
		d.more("Renew %s.", p.Renew)
	}
}

// toRenew is how many new ones of a group are wanted: for those thrown away or
// spoilt, and for once-only ones that came off.
func (g *group) toRenew() int {
	n := g.Discarded + g.Damaged
	if g.Renew == "always" {
		n = max(n, g.holes())
	}
	return min(n, max(g.holes(), g.Damaged))
}

// mustBeNew tells whether the old one is not to go back.
func (p *part) mustBeNew() bool { return p.Renew == "always" || p.Asked }

// short is how many new ones of a part are still to be got: those that must be
// new, and those somebody asked for.
func (p *part) short() int {
	if !p.mustBeNew() {
		return 0
	}
	return max(max(p.Need, 1)-p.Have-p.New, 0)
}

func (d *draft) tellFluid(name string) {
	if name == "" {
		var list []string
		for _, f := range d.st.Fluids {
			if f.Fill.Given() {
				list = append(list, f.Name+" "+f.Fill.String())
			}
		}
		if len(list) == 0 {
			d.say(ReplyAnswer, "No fill is on record; your manual has it.")
			return
		}
		d.say(ReplyAnswer, "%s, from your sheet.", capital(fewOf(list, 4)))
		return
	}
	_, f := d.st.fluid(d.fluidName(name))
	if f == nil {
		d.unknown(name)
		return
	}
	var w []string
	if f.Fill.Given() {
		w = append(w, f.Fill.String())
	}
	if f.Is != "" {
		w = append(w, f.Is)
	}
	if len(w) > 0 {
		d.say(ReplyAnswer, "%s: %s, %s.", capital(f.Name), strings.Join(w, ", "), d.from(f.FillAt))
	} else {
		d.say(ReplyAnswer, "%s: how much is not on record.", capital(f.Name))
	}
	switch {
	case f.In && f.Filled.Given():
		d.more("%s is in.", capital(f.Filled.String()))
	case f.In:
		d.more("It is in.")
	case f.Out && f.Drained.Given():
		d.more("%s came out.", capital(f.Drained.String()))
	case f.Out:
		d.more("It is out.")
	}
}

func (d *draft) tellLimit(name string) {
	hits := find(name, len(d.st.Limits), func(i int) []string { return []string{d.st.Limits[i].Name} })
	if len(hits) == 0 {
		d.say(ReplyAnswer, "I have no limit for %s.", the(name))
		return
	}
	l := d.st.Limits[hits[0]]
	if l.print() == "" {
		d.say(ReplyAnswer, "%s has no limit on record.", capital(l.Name))
	} else {
		source := d.from(l.Dictated)
		if l.Source != "" {
			source = "by " + l.Source
		}
		d.say(ReplyAnswer, "%s: %s, %s.", capital(l.Name), strings.Replace(l.print(), "..", " to ", 1), source)
	}
	if l.Value.Given() {
		d.more("You measured %s %s.", l.Value, ago(l.At, d.now))
	}
}

// tellOut counts what is out, of a place or of all.
func (d *draft) tellOut(name string) {
	if name == "" {
		n, groups := d.st.totalOut()
		if n == 0 {
			d.say(ReplyAnswer, "Nothing is out.")
			return
		}
		d.say(ReplyAnswer, "%s out", capital(spell(n)))
		if groups > 1 {
			d.reply.Text += " in " + countOf(groups, "group", "groups")
		}
		d.reply.Text += ": " + fewOf(d.st.outList(), 3) + "."
		return
	}
	list := d.st.lookGroups(name, nil, nil)
	if len(list) == 0 {
		d.unknown(name)
		return
	}
	var parts []string
	total := 0
	for _, g := range list {
		if g.out() > 0 {
			total += g.out()
			text := spell(g.out())
			if g.Count > g.out() {
				text += " of " + spell(g.Count)
			}
			parts = append(parts, text+" "+g.Name)
		}
	}
	switch {
	case total == 0:
		d.say(ReplyAnswer, "None of the %s is out.", strings.TrimPrefix(name, "the "))
	case len(parts) == 1:
		d.say(ReplyAnswer, "%s out.", capital(parts[0]))
	default:
		d.say(ReplyAnswer, "%s out: %s.", capital(spell(total)), fewOf(parts, 4))
	}
}

// outList names the groups with something on the bench: "four front cover long".
func (s *State) outList() []string {
	var list []string
	for _, g := range s.Groups {
		if g.out() > 0 {
			list = append(list, spell(g.out())+" "+g.Name)
		}
	}
	return list
}

// tellLeft says what is still to be done: of a run, of a place, or of the job.
func (d *draft) tellLeft(v intent.AskLeft) {
	name := v.Name
	switch {
	case v.Of == "torque":
		d.tellUntorqued()
		return
	case v.Of == "back" && name != "":
		d.tellBack(name)
		return
	}
	if r := d.st.Run; r != nil && !r.Paused && name == "" {
		left := len(r.bolts(r.Pass)) - len(r.Done)
		d.say(ReplyAnswer, "%s to go in this pass", capital(spell(left)))
		if more := len(r.Passes) - r.Pass - 1; more > 0 {
			d.reply.Text += ", then " + countOf(more, "pass", "passes")
		}
		d.reply.Text += "."
		return
	}
	if name == "" {
		d.leftOfJob()
		return
	}
	list := d.st.lookGroups(name, nil, nil)
	if len(list) == 0 {
		d.unknown(name)
		return
	}
	var parts []string
	for _, g := range list {
		if text := d.st.leftOf(g); text != "" {
			parts = append(parts, g.Name+" "+text)
		}
	}
	if len(parts) == 0 {
		d.say(ReplyAnswer, "Nothing left on %s.", the(name))
		return
	}
	d.say(ReplyAnswer, "%s.", capital(bounded(parts, ";", maxWords-4)))
}

// tellBack says of groups that came off how many are back.
func (d *draft) tellBack(name string) {
	list := d.st.lookGroups(name, nil, nil)
	if len(list) == 0 {
		d.unknown(name)
		return
	}
	var parts, on []string
	for _, g := range list {
		switch n := g.holes(); {
		case n > 0 && g.Count > 0:
			parts = append(parts, fmt.Sprintf("%s of %s %s back, %s out", onlyNone(g.Count-n), spell(g.Count), g.Name, spell(n)))
		case n > 0:
			parts = append(parts, fmt.Sprintf("%s %s out", spell(n), g.Name))
		case g.Removed == 0:
			on = append(on, g.Name)
		}
	}
	switch {
	case len(parts) > 0:
		d.say(ReplyAnswer, "No: %s.", bounded(parts, ";", maxWords-4))
	case len(on) == len(list):
		d.say(ReplyAnswer, "None of the %s came off by the record.", orList(on[:min(len(on), 3)]))
	case len(list) == 1 && list[0].Count > 1:
		d.say(ReplyAnswer, "Yes, all %s %s are back.", spell(list[0].Count), list[0].Name)
	default:
		d.say(ReplyAnswer, "Yes, all that came off there is back.")
	}
}

// tellUntorqued names what is in and not torqued.
func (d *draft) tellUntorqued() {
	var list, out []string
	for _, g := range d.st.Groups {
		if n := g.Back + g.Snug + g.Loose; n > 0 && g.figure() != "" {
			list = append(list, spell(n)+" "+g.Name)
		}
		if n := g.holes(); n > 0 {
			out = append(out, spell(n)+" "+g.Name)
		}
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "All that went back is tight.")
	} else {
		d.say(ReplyAnswer, "Not torqued: %s.", fewOf(list, 4))
	}
	if len(out) > 0 {
		d.room("Still out: %s.", fewOf(out, 3))
	}
}

// tellDetail says what is on record of one thing of a group.
func (d *draft) tellDetail(v intent.AskDetail) {
	d.tellGroups(v.Name, func(g *group) (text, source string) {
		source = "your manual decides"
		if g.FromSheet {
			source = "from your sheet"
		}
		switch v.What {
		case "locker":
			if g.Locker == "" {
				return "no locker on record", "your manual decides"
			}
			return g.Locker, source
		case "oiled":
			if !g.Oiled {
				return "nothing about oil on record", "your manual decides"
			}
			return "oiled", source
		}
		o, err := g.patternOrder()
		if err != nil {
			return "no order on record", "your manual decides"
		}
		text = map[string]string{"centre-out": "from the centre out", "round": "one after the other", "spiral": "in a spiral", "cross": "crosswise"}[g.Order]
		switch {
		case len(g.Sequence) > 0:
			text = "in the printed order"
		case text == "":
			text, source = "crosswise is usual", "your manual decides"
		}
		if len(o.Sequence) <= 8 {
			var n []string
			for _, k := range o.Sequence {
				n = append(n, fmt.Sprint(k))
			}
			text += ": " + strings.Join(n, ", ")
		}
		return text, source
	})
}

// leftOf says what is still to be done to a group in the phase in hand, "" nothing.
func (s *State) leftOf(g *group) string {
	if s.stepPhase() == "strip" {
		on := g.Count - g.holes()
		switch {
		case g.Count == 0 && g.out() > 0:
			return spell(g.out()) + " out, the whole number was not said"
		case on > 0 && g.holes() > 0:
			return spell(on) + " still on"
		case on > 0:
			return "all " + spell(on) + " still on"
		}
		return ""
	}
	var w []string
	if n := g.holes(); n > 0 {
		w = append(w, spell(n)+" still out")
	}
	if n := g.Back + g.Snug + g.Loose; n > 0 && g.figure() != "" {
		w = append(w, spell(n)+" to torque")
	}
	return strings.Join(w, ", ")
}

func (d *draft) leftOfJob() {
	if st := d.st.open(); st != nil {
		var parts []string
		for _, name := range st.Fasteners {
			if g := d.st.group(name); g != nil {
				if text := d.st.leftOf(g); text != "" {
					parts = append(parts, name+" "+text)
				}
			}
		}
		if len(parts) > 0 {
			d.say(ReplyAnswer, "%s: %s.", capital(st.Name), bounded(parts, ";", maxWords-14))
		} else {
			d.say(ReplyAnswer, "%s.", capital(doing(st)))
		}
	}
	n := 0
	for _, st := range d.st.Steps {
		if st.Phase == d.st.stepPhase() && st.State == "waiting" && !d.st.covered(st) {
			n++
		}
	}
	if n > 0 {
		d.reply.Kind = ReplyAnswer
		word := "stripping"
		if d.st.stepPhase() == "refit" {
			word = "refit"
		}
		if d.st.open() != nil {
			word = "more " + word
		}
		d.more("%s.", capital(countOf(n, word+" step", word+" steps")))
	}
	if d.st.stepPhase() == "refit" || n == 0 {
		if open := d.st.unfinished(d.now); len(open) > 0 {
			d.reply.Kind = ReplyAnswer
			d.room("Open: %s.", bounded(open, ",", 16))
		}
	}
	if d.reply.Text == "" {
		d.say(ReplyAnswer, "Nothing is left.")
	}
}

// tellLast reads back the last thing written down.
func (d *draft) tellLast() {
	_, events, err := d.bench.lastChange()
	if err != nil {
		d.say(ReplyAnswer, "Nothing is written down yet.")
		return
	}
	d.say(ReplyAnswer, "%s, %s.", capital(spoken(events)), ago(events[0].At, d.now))
}
