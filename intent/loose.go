package intent

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// Loose is the language of typed sentences that are none of the shop's own: a
// row of what is told and asked at the bench, in any order. It is no language to
// hold a recogniser to. It holds no word that says not, if, will or should, so
// that what is planned, denied or told of others is never taken as done.
func Loose(v Vocabulary) (*Automaton, error) {
	base, err := ownGrammar()
	if err != nil {
		return nil, err
	}
	a, err := base.with(v, true)
	if err != nil {
		return nil, fmt.Errorf("compile the loose grammar of the shop: %w", err)
	}
	a.meaning = func(r Reading) (string, bool) {
		in, err := looseIntent(r)
		return fmt.Sprintf("%T %#v", in, in), err == nil
	}
	return a, nil
}

// UnderstandLoosely gives what a sentence of the [Loose] language means; nil
// when its words do not add up to one thing told or asked.
func UnderstandLoosely(a *Automaton, text string) Intent {
	var meant Intent
	best := 0.0
	for _, r := range a.Parse(text) {
		in, err := looseIntent(r)
		switch {
		case err != nil:
		case meant == nil:
			meant, best = in, r.Cost
		case r.Cost-best < looseMargin && reflect.TypeOf(in) != reflect.TypeOf(meant):
			return nil // "pulled" is taken off and is spoilt
		}
	}
	return meant
}

// looseMargin is how much likelier the likeliest kind of meaning must be.
const looseMargin = 3

var errLoose = errors.New("the words do not add up to one thing")

// looseIntent puts the pieces of a loose sentence together.
func looseIntent(r Reading) (Intent, error) {
	l, err := gather(r)
	if err != nil {
		return nil, err
	}
	if l.query != "" {
		return l.asked()
	}
	return l.told()
}

// pieces are the slots of a loose sentence, each kind by itself.
type pieces struct {
	names, acts, topics []string
	query               string
	items               []Fastener
	fluid, limit, stow  string
	what                string
	torque, volume      *measure.Quantity
	fresh, feel, put    bool
	sized, kind         bool
}

func gather(r Reading) (*pieces, error) {
	l := &pieces{}
	d := &decoder{r: r}
	var f Fastener
	said := func() bool { return f != (Fastener{}) }
	flush := func() {
		if f.Kind != "" && (f == Fastener{Kind: f.Kind}) {
			f = Fastener{} // only what the name ends in: "the sump bolts"
		}
		if said() {
			l.items, f = append(l.items, f), Fastener{}
		}
	}
	once := func(to *string, v string) error {
		if *to != "" && *to != v {
			return errLoose
		}
		*to = v
		return nil
	}
	for _, s := range r.Slots {
		var err error
		switch s.Name {
		case "name":
			if !slices.Contains(l.names, s.Value) {
				l.names = append(l.names, s.Value)
			}
		case "count":
			if s.Value == "?" {
				return nil, errLoose
			}
			if f.Count > 0 {
				flush()
			}
			f.Count, err = strconv.Atoi(s.Value)
		case "all":
			f.All = true
		case "bare":
			return nil, errLoose // a figure, and not in what unit
		case "kind":
			l.kind = true
			if f.Kind != "" {
				flush()
			}
			f.Kind = s.Value
		case "long":
			if f.Length != "" {
				flush()
			}
			f.Length = s.Value
		case "wrench", "thread":
			l.sized = true
			if f.Size != nil {
				flush()
			}
			f.Size, err = sizeOf(s.Name, s.Value)
		case "fluid":
			err = once(&l.fluid, s.Value)
		case "limit":
			err = once(&l.limit, s.Value)
		case "stow":
			err = once(&l.stow, placeName(s.Value))
		case "what":
			err = once(&l.what, s.Value)
		case "q":
			err = once(&l.query, s.Value)
		case "torque":
			l.torque, err = d.quantity("torque", measure.Torque)
		case "volume":
			l.volume, err = d.quantity("volume", measure.Volume)
		case "act":
			if !slices.Contains(l.acts, s.Value) {
				l.acts = append(l.acts, s.Value)
			}
		case "t":
			if !slices.Contains(l.topics, s.Value) {
				l.topics = append(l.topics, s.Value)
			}
		case "fresh":
			l.fresh = true
		case "feel":
			l.feel = true
		case "put":
			l.put = true
		}
		if err != nil {
			return nil, err
		}
	}
	flush()
	if len(l.items) > 1 && slices.ContainsFunc(l.items, func(f Fastener) bool { return f == (Fastener{Count: f.Count, All: f.All}) }) {
		return nil, errLoose // two numbers of the same things
	}
	for i := range l.items {
		l.items[i].All = l.items[i].All && l.items[i].Count == 0
	}
	return l, nil
}

func (l *pieces) name() string {
	if len(l.names) == 1 {
		return l.names[0]
	}
	return ""
}

func (l *pieces) has(list []string, only ...string) bool {
	return len(list) == len(only) && !slices.ContainsFunc(only, func(s string) bool { return !slices.Contains(list, s) })
}

// asked makes a question, when it is about one thing and names it.
func (l *pieces) asked() (Intent, error) {
	name := l.name()
	plain := l.torque == nil && l.volume == nil && l.what == "" && !l.fresh
	if len(l.names) > 1 || !plain {
		return nil, errLoose
	}
	topic := ""
	if len(l.topics) == 1 {
		topic = l.topics[0]
	}
	switch {
	case len(l.topics) > 1:
	case l.query == "where" && topic == "" && name != "":
		return AskPlace{name}, nil
	case l.fluid != "" && name == "" && (topic == "fill" || topic == "" && l.query == "what"):
		return AskFluid{l.fluid}, nil
	case l.limit != "" && name == "" && topic == "limit":
		return AskLimit{l.limit}, nil
	case l.stow != "" && name == "" && topic == "" && l.query == "what":
		return AskHeld{l.stow}, nil
	case name == "":
	case topic == "torque" && (l.query == "what" || l.query == "many") && !l.sized:
		return AskTorque{name}, nil
	case topic == "size" && l.query == "what" && !l.sized && name != "head":
		return AskSize{name}, nil
	case topic == "left" && (l.query == "what" || l.query == "many"):
		return AskLeft{Name: name}, nil
	case topic == "renew" && l.query == "is":
		return AskRenew{name}, nil
	case l.query == "many" && topic == "" && l.has(l.acts, "off"):
		return AskOut{name}, nil
	case l.query == "many" && topic == "" && len(l.acts) == 0 && l.kind:
		return AskCount{name}, nil
	case l.query == "why" && topic == "":
		return AskWhy{name}, nil
	}
	return nil, errLoose
}

// told makes a report, when one thing happened to one thing that is named.
func (l *pieces) told() (Intent, error) {
	where := l.name()
	if len(l.topics) > 0 || len(l.names) > 1 || l.limit != "" || l.what == "cracked" { // cracked loose or through?
		return nil, errLoose
	}
	if l.fluid != "" {
		return l.toldOfFluid()
	}
	if where == "" || l.volume != nil {
		return nil, errLoose
	}
	items := l.items
	if len(items) == 0 {
		items = []Fastener{{All: true}}
	}
	plain := l.torque == nil && !l.feel
	switch {
	case l.what != "" && len(l.acts) > 0 && len(l.items) > 0:
		return nil, errLoose // how many are off, or how many are spoilt?
	case l.has(l.acts, "off") && plain && !l.fresh:
		return Removed{Items: items, Where: where, Stow: l.stow, Condition: l.what}, nil
	case l.stow != "" && len(l.acts) == 0 && plain && !l.fresh && l.what == "" && len(l.items) == 0:
		return Stowed{Name: where, Stow: l.stow}, nil
	case l.stow != "":
	case l.has(l.acts, "bin") && plain && l.what == "":
		return Discarded{Items: items, Where: where, New: l.fresh}, nil
	case l.what != "" && len(l.acts) == 0 && len(l.items) < 2 && plain && !l.fresh:
		return Condition{Items: l.items, Where: where, What: l.what}, nil
	case l.what != "":
	case l.has(l.acts, "loose") && plain && !l.fresh:
		return Loosened{Items: items, Where: where}, nil
	case (l.has(l.acts, "on") || l.has(l.acts, "on", "snug") || l.has(l.acts, "snug")) && plain:
		return Refitted{Items: items, Where: where, Snug: slices.Contains(l.acts, "snug"), New: l.fresh}, nil
	case l.has(l.acts, "tight") || l.has(l.acts, "on", "tight"):
		if l.fresh {
			return nil, errLoose
		}
		how := "unknown"
		switch {
		case l.feel:
			how = "feel"
		case l.torque != nil:
			how = "wrench"
		}
		return Torqued{Items: items, Where: where, Torque: l.torque, How: how}, nil
	case l.has(l.acts, "have") && plain && len(l.items) < 2:
		h := PartHave{Name: where}
		if len(l.items) == 1 {
			h.Count = l.items[0].Count
		}
		return h, nil
	}
	return nil, errLoose
}

func (l *pieces) toldOfFluid() (Intent, error) {
	if len(l.items) == 1 && l.items[0] == (Fastener{All: true}) {
		l.items = nil // "all the coolant"
	}
	if len(l.names) > 0 || len(l.items) > 0 || l.torque != nil || l.what != "" || l.stow != "" {
		return nil, errLoose
	}
	switch {
	case l.has(l.acts, "drained") || l.has(l.acts, "off") || l.has(l.acts, "drained", "off"):
		return Drained{Fluid: l.fluid, Amount: l.volume}, nil
	case l.has(l.acts, "filled"):
		return Filled{Fluid: l.fluid, Amount: l.volume}, nil
	}
	return nil, errLoose
}

// Name is the name of an intent as its rule has it: "removed".
func Name(in Intent) string {
	name := strings.TrimPrefix(fmt.Sprintf("%T", in), "intent.")
	return strings.ToLower(name[:1]) + name[1:]
}
