package jobs

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

// decide turns an intent into events and a reply. It only reads the bench: what
// is to change stands in the draft.
func (b *Bench) decide(d *draft, in intent.Intent) {
	if d.st.Quiet {
		switch in.(type) {
		case intent.Listen, intent.Stop:
		default:
			d.keep = true
			return
		}
	}
	if !d.answers { // an answer can lead to another intent
		d.answers = true
		if b.answer(d, in) {
			return
		}
		d.answers = false
		defer d.dropped(b.question)
	}
	if v, ok := in.(intent.Suspect); ok && strings.Contains(normal(d.heard.Text), "what about") {
		if asked := b.askedOf(d, v.Name); asked != nil {
			in = asked // of a question just answered, and no suspect
		}
	}
	switch v := in.(type) {
	case intent.Call:
		d.keep = true
		d.say(ReplyAnswer, "Yes?")
	case intent.SayAgain:
		b.again(d, false)
	case intent.Slower:
		b.again(d, true)
	case intent.Stop:
		d.keep = true
	case intent.Quiet:
		d.auto = true // no change of the job: a strike passes over it
		d.add(KindQuiet, quietSet{On: true})
		d.say(ReplyReadBack, "Quiet now. Say %s, listen.", b.callWord)
	case intent.Listen:
		if d.st.Quiet {
			d.auto = true
			d.add(KindQuiet, quietSet{})
		}
		d.say(ReplyReadBack, "Listening.")
	case intent.Strike:
		b.strike(d)
	case intent.Help:
		d.keep = true
		d.help()
	case intent.Choice:
		if asked := b.askedOf(d, v.Text); asked != nil {
			b.decide(d, asked)
			return
		}
		d.say(ReplyAnswer, "I had asked nothing.")
	case intent.Yes, intent.No:
		d.say(ReplyAnswer, "I had asked nothing.")
	case intent.Unclear:
		d.unclear(b, v)
	case intent.Row:
		d.answers = true // each of them by itself is no answer
		b.row(d, v.Of)

	case intent.Removed:
		d.move(move{kind: KindRemoved, items: v.Items, where: v.Where, stow: v.Stow, condition: v.Condition, bad: v.Bad})
	case intent.Loosened:
		d.move(move{kind: KindLoosened, items: v.Items, where: v.Where})
	case intent.Refitted:
		d.move(move{kind: KindRefitted, items: v.Items, where: v.Where, snug: v.Snug, renewed: v.New})
	case intent.Torqued:
		how := v.How
		if how == "" {
			how = "wrench"
			if v.Torque == nil {
				how = "unknown"
			}
		}
		d.move(move{kind: KindTorqued, items: v.Items, where: v.Where, torque: v.Torque, how: how, tool: v.With})
	case intent.Discarded:
		d.move(move{kind: KindDiscarded, items: v.Items, where: v.Where, renewed: v.New})
	case intent.Condition:
		d.condition(v)
	case intent.Stowed:
		d.stow(v)
	case intent.Tip:
		d.keepTip(v)
	case intent.Excuse:
		d.excuse(v)

	default:
		if !d.lookUp(in) && !d.calculate(in) && !d.work(in) {
			d.err = fmt.Errorf("the job cannot do %T", in)
		}
	}
}

// askedOf is what was looked up last, asked of another name: "and the lid screws".
// Nil when nothing was just looked up, or the name is none of the job's.
func (b *Bench) askedOf(d *draft, name string) intent.Intent {
	if b.asked == nil || d.now.Before(b.askedAt) || d.now.Sub(b.askedAt) > QuestionTime {
		return nil
	}
	name = bare(name)
	known := d.findPart(name) != "" || slices.ContainsFunc(d.st.Limits, func(l *limit) bool { return normal(l.Name) == normal(name) })
	if name == "" || !known && len(d.st.lookGroups(name, nil, nil)) == 0 {
		return nil
	}
	again, _ := intent.AskedOf(b.asked, name)
	return again
}

// again repeats the last reply; slowly, with its numbers digit by digit.
func (b *Bench) again(d *draft, slow bool) {
	d.keep = true
	if b.last.Text == "" {
		d.say(ReplyAnswer, "I have said nothing yet.")
		return
	}
	r := b.last
	r.Kind = ReplyRepeat
	if slow {
		r.Slow, r.Digits = true, true
	}
	d.reply = r
}

// strike takes the last change back; the journal keeps both.
func (b *Bench) strike(d *draft) {
	turn, events, err := b.lastChange()
	if err == errNothingToStrike {
		d.say(ReplyAnswer, "Nothing to strike.")
		return
	}
	if err != nil {
		d.err = err
		return
	}
	d.add(KindStrike, strike{Turn: turn})
	d.say(ReplyReadBack, "Struck: %s.", spoken(events))
	if events[0].Kind != KindAmend {
		return
	}
	old, err := b.uncorrected(events[0])
	if err != nil {
		d.err = err
		return
	}
	d.more("Back to: %s.", spoken(old))
}

// spoken says a turn for the ear; a correction by what it says.
func spoken(events []Event) string {
	if events[0].Kind == KindAmend {
		if a, err := read[amend](events[0]); err == nil {
			events = a.in(events[0])
		}
	}
	return strings.TrimSuffix(short(inWords(events)), ".")
}

func (d *draft) help() {
	switch {
	case d.bench.question != nil:
		d.say(ReplyAnswer, "I asked: %s", d.bench.question.reply.Text)
	case d.st.Run != nil && !d.st.Run.Paused:
		d.say(ReplyAnswer, "Say done, back one, hold on, or what's left.")
	case d.st.open() != nil:
		d.say(ReplyAnswer, "Say what came off and how many, done, what's next, why, note, or strike that.")
	default:
		d.say(ReplyAnswer, "Say what's next, where was I, what's left, or tell me what you took off.")
	}
}

// unclear asks back what the grammar itself could not decide.
func (d *draft) unclear(b *Bench, v intent.Unclear) {
	if len(v.Choices) == 0 && len(v.Then) == 1 {
		d.likely(b, v)
		return
	}
	if meant := d.st.byRecord(v.Then); meant != nil {
		b.decide(d, meant)
		return
	}
	d.ask = &question{holds: true}
	d.reply = Reply{Kind: ReplyQuestion, Text: v.Question, Choices: v.Choices}
	for i, c := range v.Choices {
		if n, err := strconv.ParseFloat(c, 64); err == nil {
			d.numbers = append(d.numbers, n)
		}
		if i < len(v.Then) && v.Then[i] != nil {
			then := v.Then[i]
			d.ask.choices = append(d.ask.choices, choice{c, func(d *draft) { b.decide(d, then) }})
		}
	}
	if len(d.ask.choices) == 0 {
		// Nothing hangs on the answer: the whole is to be said again, clearer.
		d.ask = nil
	}
}

// likely asks whether v.Then was meant, by what would be said back: a yes is
// quicker than the whole sentence again. Where nothing would be said back, or
// another question would come of it, the sentence is to be said again; a guess is
// asked about in its own words then.
func (d *draft) likely(b *Bench, v intent.Unclear) {
	then := v.Then[0]
	trial := b.draft(d.now, d.heard)
	trial.answers = true
	b.decide(trial, then)
	back, _, _ := strings.Cut(trial.reply.Text, ". ")
	back = strings.TrimSuffix(back, ".")
	_, several := then.(intent.Row)
	change := !several && trial.err == nil && trial.ask == nil && trial.reply.Kind == ReplyReadBack && len(trial.events) > 0
	ask := back + ", right?"
	if v.Part {
		ask = "Only this: " + strings.ToLower(ask[:1]) + ask[1:]
	}
	switch {
	case change && words(back) <= longestLikely:
	case v.Nearest && trial.err == nil:
		ask = v.Question
	default:
		d.keep = true
		d.say(ReplyQuestion, "%s", v.Question)
		return
	}
	d.ask = &question{holds: true, again: true, yes: func(d *draft) { b.decide(d, then) }, no: func(d *draft) {
		d.tell(ReplyAnswer, "Then say it again.")
	}}
	d.reply = Reply{Kind: ReplyQuestion, Text: ask}
}

// longestLikely is the most words of a sentence that is asked about whole.
const longestLikely = 14

// byRecord is the one meaning whose figure the record bears out: the torque the
// group is to have, or a measurement that its limit can be about. Nil where none
// or several do. The figure is read back with its unit.
func (s *State) byRecord(meanings []intent.Intent) intent.Intent {
	var meant intent.Intent
	for _, in := range meanings {
		fits := false
		switch v := in.(type) {
		case intent.Torqued:
			name := v.Where
			if name == "" {
				name = s.Last
			}
			list := s.lookGroups(name, nil, nil)
			fits = v.Torque != nil && len(list) == 1 && list[0].Torque.Given() && near(v.Torque.SI(), list[0].Torque.SI(), 0.005)
		case intent.Measure:
			hits := find(v.Name, len(s.Limits), func(i int) []string { return []string{s.Limits[i].Name} })
			if len(hits) == 1 {
				for _, bound := range []measure.Quantity{s.Limits[hits[0]].Min, s.Limits[hits[0]].Max} {
					fits = fits || bound.Given() && bound.Unit == v.Value.Unit
				}
			}
		}
		if fits && meant != nil {
			return nil
		}
		if fits {
			meant = in
		}
	}
	return meant
}

func near(a, b, part float64) bool { return math.Abs(a-b) <= part*math.Abs(b) }

// eitherCracked is said of fasteners that were loosened and of broken ones.
var eitherCracked = regexp.MustCompile(`(?i)(\b(is|are|been)|'s|'re) (all |both |just |only )?cracked( now| already)?\W*$`)

func (d *draft) condition(v intent.Condition) {
	var f *intent.Fastener
	n := 0
	if len(v.Items) > 0 {
		f = &v.Items[0]
		n = f.Count
	}
	if f != nil && v.Where == "" && *f == (intent.Fastener{Count: f.Count, All: f.All}) || f == nil && v.Where == "" {
		v.Where = d.st.Last // "one of them has a rounded head"
		if v.Where == "" {
			d.say(ReplyAnswer, "Of which bolts?")
			return
		}
	}
	list := d.st.lookGroups(v.Where, f, nil)
	if name := d.findPart(v.Where); name != "" && (len(list) == 0 || f == nil && normal(name) == normal(bare(v.Where))) {
		d.add(KindNote, named{Text: name + ": " + v.What})
		d.say(ReplyReadBack, "Noted, %s: %s.", name, v.What)
		if _, p := d.st.part(name); p.Renew == "if damaged" {
			d.add(KindPartNeed, partCount{Part: name, N: max(p.Need, 1)})
			if p.Have > 0 {
				d.more("It wants renewing; %s at hand.", spell(p.Have))
			} else {
				d.more("It wants renewing; none at hand, it is on the list.")
			}
		}
		return
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "I do not know %s.", the(v.Where))
		return
	}
	one := func(d *draft, name string) {
		d.add(KindCondition, groupCondition{Group: name, What: v.What, N: n})
		if n > 0 {
			d.say(ReplyReadBack, "Noted, %s of the %s: %s.", d.count(n), name, v.What)
		} else {
			d.say(ReplyReadBack, "Noted, %s: %s.", name, v.What)
		}
	}
	if eitherCracked.MatchString(d.heard.Text) {
		items := v.Items
		if n == 0 {
			items = []intent.Fastener{{All: true}}
		}
		note := func(d *draft) {
			if len(list) > 1 {
				d.whichGroup(list, one)
				return
			}
			one(d, list[0].Name)
		}
		d.choose(ReplyQuestion, "Cracked loose, or cracked through?", true,
			choice{"loose", func(d *draft) { d.move(move{kind: KindLoosened, items: items, where: v.Where}) }}, choice{"through", note})
		return
	}
	if len(list) > 1 {
		d.whichGroup(list, one)
		return
	}
	one(d, list[0].Name)
}

// oneThing tells that a name said with "is", and without a word for fasteners,
// means a part and not the bolts that hold it: "the thermostat is on the bench".
func (d *draft) oneThing(name string) bool {
	if d.st.group(bare(name)) != nil {
		return false
	}
	is := false
	for _, w := range strings.Fields(strings.ToLower(d.heard.Text)) {
		is = is || w == "is" || strings.HasSuffix(w, "'s") && w != "that's" && w != "it's"
	}
	for _, w := range keyWords(d.heard.Text) {
		if slices.Contains(fastenerWords, w) {
			return false
		}
	}
	return is
}

// stow records where fasteners or a part are kept.
func (d *draft) stow(v intent.Stowed) {
	if v.Stow = d.sameStow(bare(v.Stow)); v.Stow == "" {
		d.say(ReplyAnswer, "Which place?")
		return
	}
	var f *intent.Fastener
	if len(v.Items) > 0 {
		f = &v.Items[0]
	}
	part := ""
	if f == nil && v.Name != "" {
		part = d.findPart(v.Name)
	}
	d.fixStow(v)
	if part == "" && f == nil && v.Name != "" && d.oneThing(v.Name) {
		part = bare(v.Name)
	}
	if part != "" && (len(d.st.lookGroups(v.Name, nil, nil)) == 0 || normal(part) == normal(bare(v.Name)) && !d.saidFasteners()) {
		d.add(KindPartAside, partCount{Part: part, Where: v.Stow})
		d.say(ReplyReadBack, "%s: %s.", capital(part), v.Stow)
		return
	}
	var list []*group
	if f == nil && v.Name == "" {
		if g := d.st.group(d.st.Last); g != nil {
			list = []*group{g}
		}
	} else {
		list = d.st.lookGroups(v.Name, f, func(g *group) bool { return g.out() > 0 })
	}
	one := func(d *draft, name string) {
		d.add(KindStowed, stowed{Group: name, Stow: v.Stow})
		d.say(ReplyReadBack, "%s %s.", capital(name), lying(v.Stow))
	}
	switch {
	case len(list) == 1:
		one(d, list[0].Name)
	case len(list) > 1:
		d.whichGroup(list, one)
	case v.Name != "":
		d.add(KindPartAside, partCount{Part: v.Name, Where: v.Stow})
		d.say(ReplyReadBack, "%s: %s.", capital(v.Name), v.Stow)
	default:
		d.say(ReplyAnswer, "What is in %s?", the(v.Stow))
	}
}

// oneGroup finds the group a name means and goes on with it, asking where two fit.
func (d *draft) oneGroup(name string, then func(d *draft, g *group)) {
	if name == "" {
		if r := d.st.Run; r != nil {
			name = r.Group
		} else if st := d.st.open(); st != nil && len(st.Fasteners) == 1 {
			name = st.Fasteners[0]
		} else {
			name = d.st.Last
		}
		if name == "" {
			d.say(ReplyAnswer, "Of which bolts?")
			return
		}
	}
	list := d.st.lookGroups(name, nil, nil)
	switch len(list) {
	case 0:
		d.say(ReplyAnswer, "I do not know %s.", the(name))
	case 1:
		then(d, list[0])
	default:
		d.whichGroup(list, func(d *draft, name string) { then(d, d.st.group(name)) })
		d.ask.holds = false
	}
}

// leadingGroup parts a text that begins with the name of a group: "for the
// pump bolts a flex-head ratchet gets the back one".
func (s *State) leadingGroup(text string) (name, rest string) {
	said := text
	for _, p := range []string{"for ", "on ", "about ", "the "} {
		said = strings.TrimPrefix(said, p)
	}
	for _, g := range s.Groups {
		if tail, ok := strings.CutPrefix(normal(said), normal(g.Name)+" "); ok && len(g.Name) > len(name) {
			f := strings.Fields(said)
			name, rest = g.Name, strings.Join(f[len(f)-len(strings.Fields(tail)):], " ")
		}
	}
	return name, rest
}

func (d *draft) keepTip(v intent.Tip) {
	if v.Name == "" {
		if name, rest := d.st.leadingGroup(v.Text); name != "" {
			v.Name, v.Text = name, rest
		}
	}
	d.oneGroup(v.Name, func(d *draft, g *group) {
		d.add(KindTip, named{Name: g.Name, Text: v.Text})
		d.say(ReplyReadBack, "Tip kept for the %s.", g.Name)
	})
}

func (d *draft) excuse(v intent.Excuse) {
	d.oneGroup(v.Where, func(d *draft, g *group) {
		d.add(KindExcuse, named{Name: g.Name, Text: v.Reason})
		if g.holes() == 0 {
			d.say(ReplyReadBack, "Noted, %s: %s.", g.Name, v.Reason)
			return
		}
		d.say(ReplyReadBack, "%s may stay short by %s: %s.", capital(g.Name), d.count(g.holes()), v.Reason)
	})
}

func (d *draft) findPart(name string) string {
	if name == "" {
		return ""
	}
	hits := findThing(name, len(d.st.Parts), func(i int) []string { return []string{d.st.Parts[i].Name} })
	if len(hits) == 0 {
		return ""
	}
	return d.st.Parts[hits[0]].Name
}
