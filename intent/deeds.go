package intent

import (
	"slices"
	"strings"
)

// Deed is something a step asks for, and how somebody tells that it was done:
// "mark the belt's running direction" is told as "marked the belt", "the belt's
// running direction is marked" and so on.
type Deed struct {
	// Key is the same for all its ways to be told; [Done.Step] carries it.
	Key string
	// Whole tells that with it the step is done: it is the last thing the step asks
	// for, or what it is called after.
	Whole bool

	past   []string   // "marked", "took"
	state  []string   // "marked", "off"
	things [][]string // the thing it is done to, from its full name to its shortest
	with   []string   // "off" of "took … off"
	plain  []string   // as past, said without it: "disconnected"
	tails  [][]string // what may follow
}

// Deeds are what a step's instruction asks for, clause by clause, and what its
// name says is then so ("sea cock shut"). None for words that are not understood.
func Deeds(name, do string) []Deed {
	var list []Deed
	clauses := clausesOf(do)
	for i, words := range clauses {
		if d, ok := deedOf(words); ok {
			d.Whole = i == len(clauses)-1
			list = append(list, d)
		}
	}
	if d, ok := deedOf(nameWords(name)); ok {
		d.Whole = true
		if i := slices.IndexFunc(list, func(o Deed) bool { return o.Key == d.Key }); i >= 0 {
			list[i].Whole = true // the step is called after it
			return list
		}
		list = append(list, d)
	}
	return list
}

// CheckDeeds are how a line of the checks before the first start is told as done:
// "coolant bled", "tools counted", "two turns by hand".
func CheckDeeds(item string) []Deed {
	words := nameWords(item)
	n := slices.Index(words, "turns")
	if n < 0 {
		n = slices.Index(words, "turn")
	}
	if n != 1 || !slices.Equal(words[n+1:], []string{"by", "hand"}) {
		return Deeds(item, "")
	}
	d := Deed{Key: strings.Join(words, " "), Whole: true, past: []string{"turned", "barred", "rolled", "wound"}, with: words[n+1:]}
	times := [][]string{{words[0], words[n]}, {words[0], "times"}}
	switch words[0] {
	case "two":
		times = append(times, []string{"twice"})
	case "one":
		times = append(times, []string{"once"})
	}
	for _, thing := range []string{"it", "her", "engine"} {
		for _, t := range times {
			d.things = append(d.things, append([]string{thing}, t...), append([]string{thing, "over"}, t...), append([]string{thing, "round"}, t...))
		}
	}
	return []Deed{d}
}

// clausesOf parts an instruction where another thing to do begins.
func clausesOf(do string) [][]string {
	var list [][]string
	for _, piece := range strings.FieldsFunc(do, func(r rune) bool { return strings.ContainsRune(",;.:()", r) }) {
		words := nameWords(piece)
		for len(words) > 0 && (words[0] == "and" || words[0] == "then") {
			words = words[1:]
		}
		from := 0
		for i := 1; i+1 < len(words); i++ {
			if next := words[i+1]; (words[i] == "and" || words[i] == "then") && isVerb(next) {
				list = append(list, words[from:i])
				from = i + 1
			}
		}
		if from < len(words) {
			list = append(list, words[from:])
		}
	}
	return list
}

// deedOf understands one clause: a verb and a thing, or a thing and its state.
func deedOf(words []string) (Deed, bool) {
	if len(words) < 2 {
		return Deed{}, false
	}
	if isVerb(words[0]) {
		return doneTo(words[0], words[1:])
	}
	last := words[len(words)-1]
	verbs, ok := madeSo[last]
	if !ok {
		return Deed{}, false
	}
	thing := words[:len(words)-1]
	key := last
	if len(verbs) > 0 && !strings.Contains(verbs[0], " ") {
		key = verbs[0]
	}
	d := Deed{Key: strings.Join(append([]string{key}, thing...), " "), state: append([]string{last}, sameState[last]...)}
	d.things = append(thingNames(thing), thing[:1])
	for _, v := range verbs {
		if verb, particle, ok := strings.Cut(v, " "); ok {
			if particle == last { // "took … off"; "off" ends the sentence
				d.with = []string{particle}
			}
			d.past = append(d.past, pastOf(verb))
		} else {
			d.plain = append(d.plain, pastOf(v))
		}
	}
	return d.trim(), true
}

// madeSo are the states a name may end in and how things come into them.
var madeSo = map[string][]string{
	"off": {"take off", "turn off", "switch off", "pull off", "disconnect"}, "on": {"put on", "turn on", "switch on"},
	"out": {"take out", "pull out", "get out"}, "shut": {"shut", "close", "turn"}, "closed": {"shut", "close"}, "open": {"open"},
	"clean": {"clean", "wipe"}, "dry": {"dry"}, "loose": {"loosen", "slacken"}, "tight": {"tighten"}, "cold": nil, "cool": nil,
	"marked": {"mark"}, "checked": {"check", "inspect"}, "cleaned": {"clean", "wipe"}, "drained": {"drain"}, "bled": {"bleed"}, "greased": {"grease"},
	"oiled": {"oil"}, "disconnected": {"disconnect", "unplug"}, "connected": {"connect", "plug"}, "locked": {"lock"}, "counted": {"count"}, "tagged": {"tag"},
}

var sameState = map[string][]string{"shut": {"closed"}, "closed": {"shut"}, "off": {"disconnected"}, "on": {"connected"}, "clean": {"cleaned"}, "cold": {"cool"}, "loose": {"slack", "loosened"}}

// Doing turns "opening the sea cock" into "open the sea cock"; "" when the words
// do not begin with something being done.
func Doing(text string) string {
	words := strings.Fields(strings.ToLower(text))
	if len(words) < 2 {
		return ""
	}
	stem, ok := strings.CutSuffix(words[0], "ing")
	if !ok {
		return ""
	}
	for _, verb := range []string{stem, stem + "e", strings.TrimSuffix(stem, stem[max(len(stem)-1, 0):])} {
		if isVerb(verb) {
			return strings.Join(append([]string{verb}, words[1:]...), " ")
		}
	}
	return ""
}

// doneTo understands what follows a verb.
func doneTo(verb string, rest []string) (Deed, bool) {
	var d Deed
	for _, v := range append([]string{verb}, sameVerb[verb]...) {
		d.past = append(d.past, pastOf(v))
		d.state = append(d.state, participleOf(v))
	}
	if particles[rest[0]] { // "press in the seal"
		d.with, rest = rest[:1], rest[1:]
	}
	var thing []string
	for len(rest) > 0 && !boundary[rest[0]] && !numeral(rest[0]) {
		if !articles[rest[0]] {
			thing = append(thing, rest[0])
		}
		rest = rest[1:]
	}
	if len(thing) == 0 || slices.Contains(thing, "what") {
		return Deed{}, false
	}
	if len(d.with) == 0 && len(rest) > 0 && particles[rest[0]] && moves[verb] {
		d.with, rest = rest[:1], rest[1:]
		d.state = d.with
	}
	d.Key = strings.Join(slices.Concat([]string{verb}, thing, d.with), " ")
	for len(rest) > 0 {
		n := 1
		for n < len(rest) && !boundary[rest[n]] {
			n++
		}
		d.tails = append(d.tails, rest[:n])
		rest = rest[n:]
	}
	d.things = thingNames(thing)
	return d.trim(), true
}

// trim keeps what is told apart.
func (d Deed) trim() Deed {
	seen := map[string]bool{}
	d.things = slices.DeleteFunc(d.things, func(t []string) bool {
		k := strings.Join(t, " ")
		drop := seen[k] || len(t) == 0 || k == "new" || k == "old"
		seen[k] = true
		return drop
	})
	slices.Sort(d.past)
	slices.Sort(d.state)
	d.past, d.state = slices.Compact(d.past), slices.Compact(d.state)
	return d
}

// thingNames are the ways to say a thing: whole, without the words before its
// last, and by whose it is ("belt" of "belt's running direction").
func thingNames(words []string) [][]string {
	list := [][]string{words}
	if slices.Contains(words, "and") {
		return list // one of two is not all of it
	}
	for i := 1; i < len(words); i++ {
		list = append(list, words[i:])
	}
	for i, w := range words {
		if whose, ok := strings.CutSuffix(w, "'s"); ok && i+1 < len(words) {
			list = append(list, append(slices.Clone(words[:i]), whose))
			break
		}
	}
	return list
}

var (
	particles = setOf("off out in on up down back away")
	articles  = setOf("the a an its her both all my your")
	// boundary are words behind which a thing's name is over.
	boundary = setOf("with into onto from for to at by off out in on up down back away against until till so that after before under over through again as per between without of")
	// moves are verbs that mean little without where to.
	moves = setOf("take put get lift pull set lay swing slide push press screw draw tap drive knock pop turn switch bring")
)

func setOf(words string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

// irregular are the past and the participle of the shop's irregular verbs.
var irregular = func() map[string][2]string {
	m := map[string][2]string{}
	for _, v := range strings.Split(`take took taken,put put put,lay laid laid,bleed bled bled,cut cut cut,set set set,hang hung hung,swing swung swung,hold held held,
		feel felt felt,undo undid undone,do did done,drive drove driven,shut shut shut,run ran run,let let let,leave left left,draw drew drawn,bring brought brought,
		blow blew blown,break broke broken,bend bent bent,grind ground ground,spin spun spun,wind wound wound,stick stuck stuck,keep kept kept,read read read,
		write wrote written,get got got,make made made,give gave given,find found found,split split split,slide slid slid,freeze froze frozen`, ",") {
		f := strings.Fields(v)
		m[f[0]] = [2]string{f[1], f[2]}
	}
	return m
}()

// regular are the shop's other verbs; those whose last letter doubles stand apart.
var (
	regular = setOf(`mark drain photograph slacken loosen lift unscrew press lock clean check count inspect measure fill open close tag oil grease turn
		look support tighten fit torque remove replace renew disconnect connect pull push wipe rinse flush degrease scrape brush dry mask label note record drop
		rotate crank bar jack lower raise start stop bolt nip crack tap apply smear coat dab seal wrap tie secure clamp clip unclip hook free ease work prise lever knock
		drift hammer heat cool soak test verify confirm compare adjust align centre slip pop screw install refit reconnect reattach attach detach unbolt plug unplug
		cap switch squeeze wash swap vacuum charge isolate chock block tension`)
	doubles = setOf("tag fit drop bar nip tap dab wrap clip unclip slip pop refit plug unplug cap swap stop")
)

// sameVerb are verbs that tell the same deed.
var sameVerb = map[string][]string{
	"shut": {"close"}, "close": {"shut"}, "slacken": {"loosen"}, "loosen": {"slacken"}, "check": {"inspect"}, "inspect": {"check"},
	"clean": {"wipe"}, "unscrew": {"undo"}, "undo": {"unscrew"}, "photograph": {"snap"}, "disconnect": {"unplug"}, "connect": {"plug"},
}

func isVerb(w string) bool {
	_, ok := irregular[w]
	return ok || regular[w]
}

func pastOf(verb string) string {
	if v, ok := irregular[verb]; ok {
		return v[0]
	}
	return regularPast(verb)
}

func participleOf(verb string) string {
	if v, ok := irregular[verb]; ok {
		return v[1]
	}
	return regularPast(verb)
}

func regularPast(verb string) string {
	switch n := len(verb); {
	case doubles[verb] || verb == "snap":
		return verb + verb[n-1:] + "ed"
	case strings.HasSuffix(verb, "e"):
		return verb + "d"
	case strings.HasSuffix(verb, "y") && !strings.ContainsRune("aeiou", rune(verb[n-2])):
		return verb[:n-1] + "ied"
	}
	return verb + "ed"
}

// deedsRule is a rule of what was done. In whatever way it is told, its key is
// what comes out.
func deedsRule(deeds []Deed) func(*builder) fragment {
	return func(b *builder) fragment {
		f := fragment{b.node(), b.node()}
		mute, unmute := b.sym(symbol{kind: symMute}), b.sym(symbol{kind: symUnmute})
		in, had := b.node(), b.node()
		b.link(f.in, in, mute, 0)
		b.link(in, had, noSym, 0)
		for _, who := range []string{"I", "we"} {
			at := b.node()
			b.spoken(who, in, at)
			b.link(at, had, noSym, 0)
			for _, have := range []string{"'ve", "have"} {
				b.spoken(have, at, had)
			}
		}
		keys := map[string]int32{} // where what is the deed's comes out
		said := map[string]bool{}
		for _, d := range deeds {
			end, ok := keys[d.Key]
			if !ok {
				end = b.node()
				last := b.node()
				keys[d.Key] = end
				b.link(end, last, unmute, 0)
				b.link(last, f.out, b.sym(symbol{kind: symWord, text: d.Key}), 0)
			}
			for _, thing := range d.things {
				if k := d.Key + "|" + strings.Join(thing, " "); said[k] {
					continue
				} else {
					said[k] = true
				}
				b.toldActive(d, thing, had, end)
				b.toldPassive(d, thing, in, end)
			}
		}
		return f
	}
}

// toldActive adds "took the end caps off the exchanger".
func (b *builder) toldActive(d Deed, thing []string, from, end int32) {
	tail := b.node()
	if len(d.plain) > 0 {
		verb, name := b.node(), b.node()
		for _, p := range d.plain {
			b.spoken(p, from, verb)
		}
		b.articled(verb, name)
		b.row(thing, name, tail)
	}
	verb, first := b.node(), b.node()
	for _, p := range d.past {
		b.spoken(p, from, verb)
	}
	b.link(verb, first, noSym, 0)
	if len(d.with) == 1 {
		early, name := b.node(), b.node() // "took off the end caps"
		b.spoken(d.with[0], verb, early)
		b.articled(early, name)
		b.row(thing, name, tail)
	}
	name := b.node()
	b.articled(first, name)
	b.row(append(slices.Clone(thing), d.with...), name, tail)
	b.tailed(d.tails, tail, end)
}

// toldPassive adds "the end caps are off the exchanger".
func (b *builder) toldPassive(d Deed, thing []string, from, end int32) {
	if len(d.state) == 0 || slices.Equal(thing, []string{"it"}) {
		return
	}
	name, is, so, tail := b.node(), b.node(), b.node(), b.node()
	b.articled(from, name)
	b.row(thing, name, is)
	for _, w := range []string{"is", "'s", "are", "'re"} {
		b.spoken(w, is, so)
	}
	b.link(is, so, noSym, 0)
	b.spoken("all", is, so)
	for _, w := range []string{"are", "'re"} {
		all := b.node()
		b.spoken(w, is, all)
		b.spoken("all", all, so)
	}
	for _, s := range d.state {
		b.row(append([]string{s}, withState(d, s)...), so, tail)
	}
	b.tailed(d.tails, tail, end)
}

// withState is what must follow a state: nothing after "off" itself.
func withState(d Deed, state string) []string {
	if len(d.with) == 0 || d.with[0] == state || madeSo[state] != nil || slices.ContainsFunc(d.state, func(s string) bool { return slices.Contains(sameState[d.with[0]], s) }) {
		return nil
	}
	return d.with
}

// articled adds what may stand before a thing.
func (b *builder) articled(from, to int32) {
	b.link(from, to, noSym, 0)
	for _, w := range []string{"the", "a", "that", "both", "my"} {
		b.spoken(w, from, to)
	}
}

// row adds words one after the other.
func (b *builder) row(words []string, from, to int32) {
	before := from
	for i, w := range words {
		next := to
		if i+1 < len(words) {
			next = b.node()
		}
		b.spoken(w, from, next)
		if i > 0 {
			b.joined(words[i-1], w, before, next)
		}
		before, from = from, next
	}
}

// tailed adds what may follow, each piece of it or none.
func (b *builder) tailed(tails [][]string, from, end int32) {
	for _, t := range tails {
		next := b.node()
		b.link(from, next, noSym, 0)
		b.row(t, from, next)
		from = next
	}
	b.link(from, end, noSym, 0)
}
