package jobs

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

// move is one spoken movement of fasteners on its way into the ledger. Answers
// to questions are put into the maps, by the number of the batch, and the whole
// is decided again; nothing is recorded before every batch is clear.
type move struct {
	kind      string // an event kind, KindRefitted also for renewed
	items     []intent.Fastener
	where     string
	stow      string
	condition string
	bad       int // how many have the condition; 0: all
	renewed   bool
	snug      bool
	torque    *measure.Quantity
	how       string
	tool      string // the wrench they were tightened with, where it was said
	objection string // what was said against the torque before it was confirmed

	fixed  map[int]string // the group meant
	number map[int]int    // how many
	sure   map[int]bool   // a count beyond what is known is right
	fresh  map[int]bool   // a new group is right
	isNew  map[int]bool   // they are new
	old    map[int]bool   // the old ones, against the rule
	some   map[int]int    // so many of them are new, for damaged ones
}

func (m move) with(i int, set func(m *move, i int)) move {
	m.fixed, m.number, m.sure = own(m.fixed), own(m.number), own(m.sure)
	m.fresh, m.isNew, m.old, m.some = own(m.fresh), own(m.isNew), own(m.old), own(m.some)
	set(&m, i)
	return m
}

func own[K comparable, V any](m map[K]V) map[K]V {
	if m == nil {
		return map[K]V{}
	}
	return maps.Clone(m)
}

// batch is one clear part of a move.
type batch struct {
	group string
	n     int
	item  *intent.Fastener
}

// move decides a movement of fasteners.
func (d *draft) move(m move) {
	m.stow = bare(m.stow)
	if len(m.items) == 0 {
		m.items = []intent.Fastener{{All: true}}
	}
	if d.movePart(m) {
		return
	}
	if m.kind == KindTorqued && m.torque != nil && d.judgeMove(m) {
		return
	}
	if m.kind == KindTorqued && m.tool != "" && d.outOfRange(m) {
		return
	}
	var batches []batch
	for i := range m.items {
		list, ok := d.resolve(m, i)
		if !ok {
			return
		}
		for _, b := range list {
			if !d.allowed(m, i, b) {
				return
			}
			d.record(m, i, b)
		}
		batches = append(batches, list...)
	}
	if d.err != nil {
		return
	}
	if len(batches) == 0 {
		d.events = nil
		d.tell(ReplyAnswer, d.nothingTo(m))
		return
	}
	d.readBack(m, batches)
	if w := d.st.toolSaid(m.tool); w != nil && w.Name != d.st.Wrench {
		d.add(KindWrench, named{Name: w.Name})
		d.room("%s in hand.", capital(w.Name))
	}
}

// toolSaid is the wrench of a name, nil when none is meant for certain.
func (s *State) toolSaid(name string) *SheetWrench {
	if name == "" {
		return nil
	}
	list := s.wrenches()
	if hits := find(bare(name), len(list), func(i int) []string { return []string{list[i].Name} }); len(hits) == 1 {
		return &list[hits[0]]
	}
	return nil
}

// outOfRange objects to a torque that the wrench it was pulled with does not
// read; true: the objection is put first.
func (d *draft) outOfRange(m move) bool {
	w := d.st.toolSaid(m.tool)
	if w == nil || m.torque == nil || m.sure[-2] || !w.High.Given() {
		return false
	}
	own := torqueWrenches([]SheetWrench{*w})
	if len(own) == 0 || suits(own[0], *m.torque) {
		return false
	}
	text := fmt.Sprintf("The %s reads %s to %s, not %s.", w.Name, strings.Fields(w.Low.String())[0], w.High, m.torque)
	d.confirm(ReplyObjection, text+" Write it down all the same?", func(d *draft) {
		d.move(m.with(-2, func(m *move, i int) { m.sure[i], m.objection = true, text }))
	}, nil)
	return true
}

// able tells whether a group can take part in a move.
func (m move) able(g *group) bool {
	switch m.kind {
	case KindRemoved:
		return g.Count == 0 || g.Count > g.holes()
	case KindLoosened:
		return g.Count == 0 || g.Count > g.holes()+g.Loose
	case KindRefitted:
		return g.holes() > 0 || m.snug && g.Back+g.Loose > 0
	case KindTorqued:
		return g.holes()+g.Back+g.Snug+g.Loose > 0
	case KindDiscarded:
		return g.out() > 0
	}
	return true
}

// allOf is what "all of them" means for a group, -1 unknown.
func (m move) allOf(g *group) int {
	switch m.kind {
	case KindRemoved:
		if g.Count == 0 {
			if g.Loose > 0 {
				return g.Loose
			}
			return -1
		}
		return g.Count - g.holes()
	case KindLoosened:
		if g.Count == 0 {
			return -1
		}
		return g.Count - g.holes() - g.Loose
	case KindRefitted:
		if m.snug {
			return g.holes() + g.Back + g.Loose
		}
		if m.renewed {
			return g.holes()
		}
		return g.holes()
	case KindTorqued:
		if n := g.holes() + g.Back + g.Snug + g.Loose + g.Unsure + g.ByFeel; n > 0 {
			return n
		}
		if m.how == "wrench" && g.touched() == 0 {
			return g.Count // never off, gone over with the wrench
		}
	case KindDiscarded:
		return g.out()
	}
	return 0
}

// resolve finds the group and the number of one batch; false: a question is asked instead.
func (d *draft) resolve(m move, i int) ([]batch, bool) {
	f := &m.items[i]
	var list []*group
	if name := m.fixed[i]; name != "" {
		if g := d.st.group(name); g != nil {
			list = []*group{g}
		}
	} else {
		list = d.st.lookGroups(m.where, f, m.able)
	}
	n := f.Count
	if m.number[i] > 0 {
		n = m.number[i]
	}
	if len(list) > 1 && n > 0 {
		// Four are of the group that has four.
		if enough := slices.DeleteFunc(slices.Clone(list), func(g *group) bool { k := m.allOf(g); return k >= 0 && k < n }); len(enough) > 0 {
			list = enough
		}
	}
	switch {
	case len(list) == 0:
		return d.newGroup(m, i, n)
	case len(list) > 1 && f.All && n == 0 && f.Size == nil && f.Length == "":
		// All off the front cover: every group there.
		var out []batch
		for _, g := range list {
			k := m.allOf(g)
			if k < 0 {
				d.howMany(m.with(i, func(m *move, i int) { m.fixed[i] = g.Name }), i, g)
				return nil, false
			}
			if k > 0 {
				out = append(out, batch{g.Name, k, f})
			}
		}
		return out, true
	case len(list) > 1:
		d.whichGroup(list, func(d *draft, name string) {
			d.move(m.with(i, func(m *move, i int) { m.fixed[i] = name }))
		})
		return nil, false
	}
	g := list[0]
	if n == 0 {
		n = m.allOf(g)
		if !f.All && m.kind == KindRemoved && g.Count > 0 {
			n = g.Count - g.holes()
		}
		if n < 0 {
			d.howMany(m.with(i, func(m *move, i int) { m.fixed[i] = g.Name }), i, g)
			return nil, false
		}
		if n == 0 {
			return nil, true
		}
	}
	return []batch{{g.Name, n, f}}, true
}

// whichGroup asks which of several groups is meant.
func (d *draft) whichGroup(list []*group, then func(d *draft, name string)) {
	if len(list) > 4 {
		d.events = nil
		d.ask = &question{holds: true, other: func(d *draft, text string, _ *measure.Quantity) bool {
			found := d.st.lookGroups(text, nil, nil)
			if len(found) == 0 {
				return false
			}
			if len(found) > 1 {
				d.whichGroup(found, then)
				return true
			}
			then(d, found[0].Name)
			return true
		}}
		d.say(ReplyQuestion, "Which ones? I know %s that fit.", spell(len(list)))
		return
	}
	short := told(list)
	var choices []choice
	for i, g := range list {
		choices = append(choices, choice{say: short[i], do: func(d *draft) { then(d, g.Name) }})
	}
	d.events = nil
	d.choose(ReplyQuestion, capital(orList(short))+"?", true, choices...)
}

func (d *draft) howMany(m move, i int, g *group) {
	d.events = nil
	d.ask = &question{holds: true, other: func(d *draft, text string, q *measure.Quantity) bool {
		n, err := measure.ParseNumber(text)
		if err != nil && q != nil && q.Unit == (measure.Unit{}) {
			n, err = q.Amount, nil
		}
		if err != nil || n < 1 || n != float64(int(n)) || n > 100_000 {
			return false
		}
		d.move(m.with(i, func(m *move, i int) { m.number[i] = int(n) }))
		return true
	}}
	d.say(ReplyQuestion, "How many?")
}

// newGroup makes a group by its being named, asking first where the sheet knows the place.
func (d *draft) newGroup(m move, i, n int) ([]batch, bool) {
	f := &m.items[i]
	if m.kind != KindRemoved && m.kind != KindLoosened && len(d.st.Groups) > 0 {
		d.events = nil
		where := ""
		if m.where != "" {
			where = " on " + the(m.where)
		}
		d.say(ReplyAnswer, "I have no %s%s.", describe(f), where)
		return nil, false
	}
	if m.where == "" {
		d.events = nil
		d.ask = &question{holds: true, other: func(d *draft, text string, _ *measure.Quantity) bool {
			if normal(text) == "" {
				return false
			}
			m.where = text
			d.move(m)
			return true
		}}
		d.say(ReplyQuestion, "Off what?")
		return nil, false
	}
	place := m.where
	onSheet := false
	for _, k := range find(m.where, len(d.st.Groups), func(i int) []string { return groupNames(d.st.Groups[i]) }) {
		g := d.st.Groups[k]
		if g.Place != "" {
			place = g.Place
		}
		onSheet = onSheet || g.FromSheet
	}
	if onSheet && !m.fresh[i] {
		d.events = nil
		d.confirm(ReplyQuestion, "The sheet has no "+describe(f)+" on "+the(place)+". A new group?",
			func(d *draft) { d.move(m.with(i, func(m *move, i int) { m.fresh[i] = true })) },
			func(d *draft) { d.say(ReplyAnswer, "Nothing written down.") })
		return nil, false
	}
	if near := d.st.nearName(place); near != "" && !onSheet && !m.fresh[i] {
		d.events = nil
		d.confirm(ReplyQuestion, "I know "+the(near)+", not "+the(bare(place))+". A new group?",
			func(d *draft) { d.move(m.with(i, func(m *move, i int) { m.fresh[i] = true })) },
			func(d *draft) { d.tell(ReplyAnswer, nothingWritten) })
		return nil, false
	}
	if n == 0 && len(m.items) == 1 && d.singleThing(m) {
		d.events = nil
		d.partAside(intent.PartAside{Name: m.where, Where: d.sameStow(m.stow)})
		return nil, false
	}
	if n == 0 {
		d.events = nil
		d.howMany(m, i, nil)
		return nil, false
	}
	g := groupNamed{Place: strings.TrimPrefix(place, "the "), Kind: f.Kind, LeftHand: f.LeftHand}
	tail := describe(f)
	if f.Size != nil {
		g.Size, g.SizeKind, g.Length = f.Size.Said, string(f.Size.Kind), f.Size.Length
		if f.Size.Kind == intent.SizeThread {
			g.Thread = f.Size.Designation
		} else if f.Size.Kind != intent.SizeDrive {
			g.Wrench = f.Size.Across
		}
	}
	g.Name = g.Place + " " + tail
	for d.st.group(g.Name) != nil {
		g.Name += " again"
	}
	d.add(KindGroup, g)
	return []batch{{g.Name, n, f}}, true
}

// describe says what a batch is made of, without its number: "tens", "long bolts".
func describe(f *intent.Fastener) string {
	var w []string
	if f.At != "" {
		w = append(w, f.At)
	}
	if f.Length != "" {
		w = append(w, f.Length)
	}
	if f.LeftHand {
		w = append(w, "left-hand")
	}
	kind := f.Kind
	if f.Size != nil && f.Size.Said != "" {
		w = append(w, f.Size.Said)
		if kind == "" && !strings.HasSuffix(f.Size.Said, "s") {
			kind = "bolt"
		}
	} else if kind == "" {
		kind = "bolt"
	}
	if kind != "" {
		w = append(w, kindWord(kind, 2))
	}
	return strings.Join(w, " ")
}

// allowed checks a batch against the ledger and the renew rule; false: a
// question or an objection stands in its place.
func (d *draft) allowed(m move, i int, b batch) bool {
	g := d.st.group(b.group)
	again := func(set func(m *move, i int)) func(d *draft) {
		m := m.with(i, func(m *move, i int) { m.fixed[i], m.number[i] = b.group, b.n; set(m, i) })
		return func(d *draft) { d.move(m) }
	}
	nothing := func(d *draft) { d.say(ReplyAnswer, "Nothing written down.") }
	switch m.kind {
	case KindRemoved:
		if g.Count == 0 || b.n <= g.Count-g.holes() || m.sure[i] {
			return true
		}
		d.events = nil
		if g.Count > 0 && g.holes() == g.Count {
			d.confirm(ReplyQuestion, "All "+d.count(g.Count)+" are out already. "+capital(d.count(b.n))+" more?",
				again(func(m *move, i int) { m.sure[i] = true }), nothing)
			return false
		}
		who := "The sheet has "
		if !g.FromSheet {
			who = "I know of "
		}
		extra := g.holes() + b.n - g.Count
		d.ask = &question{holds: true, yes: again(func(m *move, i int) { m.sure[i] = true }), no: nothing,
			other: func(d *draft, text string, _ *measure.Quantity) bool { return d.splitExtra(m, i, b, extra, text) }}
		d.say(ReplyQuestion, "%s%s, that makes %s: where %s the %s?", who, d.count(g.Count), d.count(g.holes()+b.n), plural(extra, "was", "were"), plural(extra, "odd one", spell(extra)))
		return false
	case KindLoosened:
		if have := g.Count - g.holes() - g.Loose; g.Count > 0 && b.n > have {
			d.events = nil
			d.say(ReplyAnswer, "Only %s of the %s %s still tight. Nothing written down.", spell(have), g.Name, isAre(have))
			return false
		}
	case KindDiscarded:
		if b.n > g.out() {
			d.events = nil
			d.say(ReplyAnswer, "%s of the %s %s out. Nothing written down.", capital(onlyNone(g.out())), g.Name, isAre(g.out()))
			return false
		}
	case KindRefitted, KindTorqued:
		need := b.n
		if m.kind == KindTorqued {
			if free := g.toTighten(m.how); g.Count > 0 && b.n > free && b.n <= g.Count {
				d.events = nil
				d.say(ReplyAnswer, "%s of the %s %s still to be tightened. Nothing written down.", capital(onlyNone(free)), g.Name, isAre(free))
				return false
			}
			need = max(b.n-g.Back-g.Snug-g.Loose, 0)
			if g.holes() == 0 {
				free := g.touched()
				if g.Count > 0 {
					free = g.Count
				} else if g.Removed == 0 {
					free = b.n
				}
				if b.n > free {
					d.events = nil
					d.say(ReplyAnswer, "There %s only %s in the %s. Nothing written down.", isAre(free), spell(free), g.Name)
					return false
				}
				return true
			}
		} else if m.snug {
			need = max(b.n-g.Back-g.Loose, 0)
		}
		if need == 0 {
			return true
		}
		if need > g.holes() && !m.sure[i] {
			d.events = nil
			if g.holes() == 0 && g.Removed > 0 && g.Count > 0 && g.touched() >= g.Count {
				d.say(ReplyAnswer, "All %s of the %s are back already. Nothing written down.", spell(g.Count), g.Name)
				return false
			}
			extra := need - g.holes()
			d.confirm(ReplyQuestion, capital(onlyNone(g.holes()))+" "+isAre(g.holes())+" out, that makes "+d.count(need)+". "+
				plural(extra, "Did one more come off?", "Did "+spell(extra)+" more come off?"),
				again(func(m *move, i int) { m.sure[i] = true }), nothing)
			return false
		}
		if m.renewed || m.isNew[i] || m.old[i] {
			return true
		}
		if need > g.out() && g.Discarded > 0 && need <= g.holes() {
			d.events = nil
			d.confirm(ReplyQuestion, capital(spell(g.Discarded))+" of them "+plural(g.Discarded, "was", "were")+" thrown away. Are these new ones?",
				again(func(m *move, i int) { m.isNew[i] = true }),
				func(d *draft) { d.say(ReplyAnswer, "Nothing written down.") })
			return false
		}
		if bad := g.Damaged; bad > 0 && g.Renew != "always" && need > g.out()-bad && m.some[i] == 0 {
			d.events = nil
			bad = min(bad, need)
			d.ask = &question{holds: true, yes: again(func(m *move, i int) { m.some[i] = bad }),
				no: func(d *draft) {
					d.say(ReplyAnswer, "Then renew %s first. Nothing written down.", plural(bad, "it", "them"))
				},
				choices: []choice{{"old", again(func(m *move, i int) { m.old[i] = true })}}}
			d.say(ReplyObjection, "%s of them %s noted as %s. Renewed?", capital(spell(bad)), plural(bad, "was", "were"), g.damage())
			d.reply.Choices = []string{"yes", "no", "old"}
			return false
		}
		if g.Renew == "always" {
			d.events = nil
			d.ask = &question{holds: true, yes: again(func(m *move, i int) { m.isNew[i] = true }),
				no:      func(d *draft) { d.say(ReplyAnswer, "Then fit a new one. Nothing written down.") },
				choices: []choice{{"old", again(func(m *move, i int) { m.old[i] = true })}}}
			d.say(ReplyObjection, "%s once-only: %s new?", plural(need, "That one is", "Those are"), plural(need, "is this one", "are these"))
			d.reply.Choices = []string{"yes", "no", "old"}
			return false
		}
	}
	return true
}

// toTighten is how many a report of tightening can be about: what is in place
// and not yet tight in a way that is known better.
func (g *group) toTighten(how string) int {
	n := g.Count - g.tight()
	switch how {
	case "wrench":
		n += g.tight()
	case "feel":
		n += g.Unsure
	}
	return n
}

// damage says what is wrong with the spoilt ones: "stretched".
func (g *group) damage() string {
	for _, c := range g.Conditions {
		f := strings.Fields(c)
		if spoilt[f[len(f)-1]] {
			return f[len(f)-1]
		}
	}
	return "damaged"
}

func onlyNone(n int) string {
	if n == 0 {
		return "none"
	}
	return "only " + spell(n)
}

// splitExtra puts what is too many for one group to another place.
func (d *draft) splitExtra(m move, i int, b batch, extra int, place string) bool {
	if normal(place) == "" {
		return false
	}
	rest := b.n - extra
	f := m.items[i]
	f.Count, f.All = extra, false
	other := move{kind: m.kind, where: place, items: []intent.Fastener{f}}
	if found := d.st.lookGroups(place, &f, other.able); len(found) == 1 && found[0].Name == b.group {
		return false
	}
	if rest > 0 {
		d.record(m, i, batch{b.group, rest, b.item})
	}
	other.fresh = map[int]bool{0: true}
	d.moveRest(other, batch{b.group, rest, b.item})
	return true
}

// moveRest records the second half of a split batch, if it is clear without another question.
func (d *draft) moveRest(m move, done batch) {
	list, ok := d.resolve(m, 0)
	if !ok || len(list) != 1 {
		d.events, d.st = nil, d.before.clone()
		if d.ask == nil {
			d.say(ReplyAnswer, "I cannot place them. Nothing written down.")
		}
		return
	}
	if !d.allowed(m, 0, list[0]) {
		d.st = d.before.clone()
		return
	}
	d.record(m, 0, list[0])
	all := list
	if done.n > 0 {
		all = append([]batch{done}, all...)
	}
	d.readBack(m, all)
}

// record writes the events of a clear batch.
func (d *draft) record(m move, i int, b batch) {
	g := d.st.group(b.group)
	at := ""
	if b.item != nil {
		at = b.item.At
	}
	one := func(kind string, n int) {
		if n > 0 {
			d.add(kind, groupCount{Group: b.group, N: n, At: at})
		}
	}
	switch m.kind {
	case KindRemoved:
		if g.Count > 0 && g.holes()+b.n > g.Count {
			one(KindCounted, g.holes()+b.n)
		}
		one(KindRemoved, b.n)
	case KindLoosened, KindDiscarded:
		one(m.kind, b.n)
		if m.kind == KindDiscarded && m.renewed {
			one(KindRenewed, b.n)
			return
		}
	case KindRefitted:
		need := b.n
		if m.snug {
			need = max(b.n-g.Back-g.Loose, 0)
		}
		d.putBack(m, i, b, need)
		if m.snug {
			one(KindSnugged, b.n)
		}
	case KindTorqued:
		if g.holes() > 0 {
			d.putBack(m, i, b, max(b.n-g.Back-g.Snug-g.Loose, 0))
		}
		t := groupTorqued{Group: b.group, N: b.n, How: m.how, Objection: m.objection}
		if m.torque != nil {
			t.Torque = *m.torque
		}
		d.add(KindTorqued, t)
	}
	if m.stow != "" && !(m.stow == "same" && g.Stow != "") {
		if stow := d.sameStow(m.stow); stow != "" {
			d.add(KindStowed, stowed{Group: b.group, Stow: stow})
		}
	}
	switch {
	case m.condition == "":
	case m.bad == 0:
		d.add(KindCondition, groupCondition{Group: b.group, What: m.condition, N: b.n})
	case i == len(m.items)-1: // said of the last ones named
		d.add(KindCondition, groupCondition{Group: b.group, What: m.condition, N: min(m.bad, b.n)})
	}
	if b.item != nil && b.item.LeftHand && !d.st.group(b.group).LeftHand {
		d.add(KindCondition, groupCondition{Group: b.group, What: "left-hand"})
	}
}

// sameStow is the place meant by "the same cup": where the fasteners last spoken
// of are kept. Any other place is itself.
func (d *draft) sameStow(stow string) string {
	if stow != "same" {
		return stow
	}
	if g := d.before.group(d.before.Last); g != nil {
		return g.Stow
	}
	return ""
}

// putBack fills n holes, with old or new ones.
func (d *draft) putBack(m move, i int, b batch, n int) {
	if n == 0 {
		return
	}
	g := d.st.group(b.group)
	if n > g.holes() {
		// Confirmed: more came off than was said at the time.
		extra := n - g.holes()
		if g.Count > 0 && g.holes()+g.touched()+extra > g.Count {
			d.add(KindCounted, groupCount{Group: b.group, N: g.holes() + g.touched() + extra})
		}
		d.add(KindRemoved, groupCount{Group: b.group, N: extra})
	}
	if m.renewed || m.isNew[i] {
		d.add(KindRenewed, groupCount{Group: b.group, N: n})
		return
	}
	if k := min(m.some[i], n); k > 0 {
		d.add(KindRenewed, groupCount{Group: b.group, N: k})
		if n -= k; n == 0 {
			return
		}
	}
	d.add(KindRefitted, groupCount{Group: b.group, N: n})
	if m.old[i] {
		d.add(KindCondition, groupCondition{Group: b.group, What: "old put back against its renew rule", N: n})
	}
}

// subject says what was moved: "four tens" with the place apart, or the
// group's own name where nothing tells more.
func (d *draft) subject(b batch, where string) (what, place string) {
	g := d.st.group(b.group)
	f := b.item
	if g.FromSheet && g.Place != "" && likeness(where, g.Name) > likeness(where, g.Place) {
		f = nil
	}
	place = g.Place
	if g.Count == 1 && b.n == 1 {
		return g.Name, ""
	}
	if f != nil && (f.Size != nil || f.Length != "") && place != "" {
		return d.item(b.n, f, g), place
	}
	if strings.HasSuffix(normal(g.Name), "s") && !strings.HasSuffix(normal(g.Name), "ss") {
		name := g.Name
		if b.n == 1 {
			name = strings.TrimSuffix(name, "s")
		}
		return d.count(b.n) + " " + name, ""
	}
	return d.item(b.n, f, g), g.Name
}

// readBack says what was recorded: at most two batches by name, then what is left.
func (d *draft) readBack(m move, batches []batch) {
	verb, prep := "", ""
	switch m.kind {
	case KindRemoved:
		verb, prep = "off", "off"
	case KindLoosened:
		verb, prep = "loosened", "loosened on"
	case KindRefitted:
		verb, prep = "back", "back on"
		if m.snug {
			verb, prep = "snug", "snug on"
		} else if m.renewed || len(m.isNew) > 0 {
			verb, prep = "new in", "new in"
		}
	case KindTorqued:
		verb, prep = "tight", "tight on"
		if m.how == "wrench" {
			verb, prep = "torqued", "torqued on"
		}
	case KindDiscarded:
		verb, prep = "thrown away", "thrown away off"
		if m.renewed {
			verb, prep = "replaced by new", "replaced by new on"
		}
	}
	var parts, apart []string
	place, same := "", true
	for k, b := range batches {
		if k == 2 {
			break
		}
		what, p := d.subject(b, m.where)
		same = same && (k == 0 || p == place)
		parts = append(parts, what)
		place = p
		if p != "" {
			what += " " + prep + " " + the(p)
		} else {
			what += " " + verb
		}
		apart = append(apart, what)
	}
	text := andList(parts)
	if len(batches) > 2 {
		text = "all " + d.count(moved(batches))
		place, same = d.st.group(batches[0].group).Place, true
	}
	if !same {
		text = strings.Join(apart, ", ")
	} else if place != "" {
		text += " " + prep + " " + the(place)
	} else {
		text += " " + verb
	}
	d.say(ReplyReadBack, "%s.", text)
	d.fixMove(m)
	if m.torque != nil {
		d.reply.Text = strings.TrimSuffix(d.reply.Text, ".") + ", " + d.figure(*m.torque) + "."
	}
	if m.kind == KindTorqued && m.how == "feel" {
		d.reply.Text = strings.TrimSuffix(d.reply.Text, ".") + " by feel."
	}
	d.leftAfter(m, batches)
	switch stow := d.st.group(batches[len(batches)-1].group).Stow; {
	case m.stow == "same" && stow == "":
		d.more("Which place?")
	case m.stow == "same":
		d.more("%s.", capital(lying(stow)))
	case m.stow != "":
		d.more("%s.", capital(lying(m.stow)))
	}
	switch {
	case m.condition == "":
	case m.bad > 0:
		d.more("Noted: %s %s.", spell(m.bad), m.condition)
	default:
		d.more("Noted: %s.", m.condition)
	}
	if m.kind == KindRefitted {
		for _, b := range batches {
			d.tip(b.group)
			d.locker(d.st.group(b.group))
		}
	}
	if m.kind == KindTorqued {
		if g := d.st.group(batches[0].group); m.how != "wrench" && len(batches) == 1 && g.figure() != "" {
			d.more("Wanted: %s.", g.figure())
		}
		d.closed()
	}
}

// leftAfter says how many are still to be moved.
func (d *draft) leftAfter(m move, batches []batch) {
	left, out, known := 0, 0, true
	var seen, short []string
	for _, b := range batches {
		if slices.Contains(seen, b.group) {
			continue
		}
		seen = append(seen, b.group)
		g := d.st.group(b.group)
		before := left
		out += g.out()
		known = known && g.Count > 0
		switch m.kind {
		case KindRemoved:
			left += g.Count - g.holes()
		case KindLoosened:
			left += g.Count - g.holes() - g.Loose
		case KindRefitted:
			left += g.holes()
			if m.snug && g.holes() == 0 {
				left += g.Back + g.Loose
			}
		case KindTorqued:
			left += g.holes() + g.Back + g.Snug + g.Loose
		case KindDiscarded:
			left += g.out()
		}
		if left > before {
			short = append(short, g.Name)
		}
	}
	switch m.kind {
	case KindRemoved:
		switch {
		case known && len(seen) > 1 && len(short) == 1:
			d.more("%s %s still to come.", capital(d.count(left)), short[0])
		case !known:
			if out != moved(batches) {
				d.more("%s out now.", capital(d.count(out)))
			}
		case left == 0 && out == 1 && len(batches) == 1:
			// One thing, and it is out: there is nothing to add.
		case left == 0:
			d.more("That's all of them.")
		default:
			d.more("%s still to come.", capital(d.count(left)))
		}
	case KindLoosened:
		if known && left > 0 {
			d.more("%s still tight.", capital(d.count(left)))
		}
	case KindRefitted:
		switch {
		case left == 0 && len(batches) == 1 && d.st.group(batches[0].group).Count == 1:
		case left == 0 && m.snug:
			d.more("All snug.")
		case left == 0:
			d.more("All back.")
		case m.snug:
			d.more("%s still to go.", capital(d.count(left)))
		default:
			d.more("%s still out.", capital(d.count(left)))
		}
	case KindTorqued:
		if single := len(batches) == 1 && d.st.group(batches[0].group).Count == 1; left == 0 && !single {
			d.more("That's all of them.")
		} else if left > 0 {
			d.more("%s to go.", capital(d.count(left)))
		}
	case KindDiscarded:
		if !m.renewed {
			d.more("%s needed.", plural(moved(batches), "A new one is", "New ones"))
		}
	}
}

// moved is how many were moved altogether.
func moved(batches []batch) int {
	n := 0
	for _, b := range batches {
		n += b.n
	}
	return n
}

// nothingTo says why a move of "all" moved nothing.
func (d *draft) nothingTo(m move) string {
	switch m.kind {
	case KindRemoved:
		return "They are all out already."
	case KindLoosened:
		return "None of them is tight."
	case KindRefitted:
		return "None of them is out."
	case KindDiscarded:
		return "None of them is out."
	}
	return "None of them is waiting for the wrench."
}

// tip repeats the advice kept for a group at its first refit, unless it was
// said when the step was opened.
func (d *draft) tip(name string) {
	g := d.st.group(name)
	old := d.before.group(name)
	if g == nil || len(g.Tips) == 0 || g.TipSaid || old != nil && old.Refitted+old.Renewed > 0 {
		return
	}
	d.more("Tip: %s.", strings.TrimSuffix(g.Tips[len(g.Tips)-1], "."))
}
