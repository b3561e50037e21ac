package intent

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"putback/jobs/measure"
)

// Understand reads a text and gives its intents, likeliest first; none when the
// text is not of the language.
func Understand(a *Automaton, text string) []Intent {
	var list []Intent
	for _, r := range a.Parse(text) {
		if in, err := FromReading(r); err == nil {
			list = append(list, in)
		}
	}
	return list
}

// FromReading makes the intent of a reading of the [Shop] grammar. A quantity
// that must be asked about makes it an [Unclear] with the question, the choices
// and the intent each leads to. The error names the rule and the words that
// could not be read; with a reading of the Shop automaton there is none.
func FromReading(r Reading) (Intent, error) {
	d := &decoder{r: r}
	in, err := d.intent()
	var ask *measure.AskError
	switch {
	case err == nil:
		return in, nil
	case errors.As(err, &ask):
		return unclear(r, ask), nil
	case errors.Is(err, errVague):
		return Unclear{Heard: d.doubt, Question: "How many? Say it with the number."}, nil
	case errors.Is(err, errGrunt):
		return Unclear{Heard: d.doubt, Question: "How much is that? Say the figure and the unit."}, nil
	}
	return nil, fmt.Errorf("read %q as %s: %w", r.Text, r.Rule, err)
}

var (
	errVague = errors.New("no number was said")
	errGrunt = errors.New("no figure was said")
	errHalf  = errors.New("the sentence stops before it says anything")
)

// unclear makes the question of an AskError and decodes the reading once for
// each choice.
func unclear(r Reading, ask *measure.AskError) Intent {
	u := Unclear{Heard: ask.Heard, Question: ask.Question}
	for _, c := range ask.Choices {
		u.Choices = append(u.Choices, c.Unit.Words(2))
		d := &decoder{r: r, settled: &c}
		if in, err := d.intent(); err == nil {
			u.Then = append(u.Then, in)
		}
	}
	if len(ask.Choices) == 0 {
		for _, unit := range ask.Units {
			u.Choices = append(u.Choices, unit.Words(2))
		}
	}
	if len(u.Then) != len(u.Choices) {
		u.Then = nil
	}
	return u
}

// meaningOf is the key of a reading's meaning: its intent, so that two ways of
// words to the same intent are one. The words of free speech are left out: a note
// heard in several spellings is one note, of which the likeliest is taken.
func meaningOf(r Reading) (string, bool) {
	if _, err := FromReading(r); err != nil {
		return "", false
	}
	r.Slots = slices.Clone(r.Slots)
	for i, s := range r.Slots {
		if dictated(r.Rule, s.Name) {
			r.Slots[i].Value = "… …"
		}
	}
	in, err := FromReading(r)
	if err != nil {
		return "", false
	}
	body, err := json.Marshal(in)
	if err != nil {
		return "", false
	}
	key := strings.TrimPrefix(fmt.Sprintf("%T", in), "intent.") + string(body)
	if r.Addressed {
		key += " addressed"
	}
	return key, true
}

// dictated tells whether a slot of a rule of the shop holds free speech.
func dictated(rule, slot string) bool {
	switch slot {
	case "reason", "label":
		return true
	case "how":
		return rule == "settle" // of a torque it is by wrench or by feel
	case "text":
		return rule != "choice" // there it is one of the job's names
	}
	return false
}

// decoder turns slots into an intent.
type decoder struct {
	r       Reading
	settled *measure.Quantity // stands in for the first quantity that must be asked about
	doubt   string
}

func (d *decoder) get(name string) string { return d.r.Get(name) }

// words gives a slot of free speech; what the grammar itself spells of it is in
// lower case, but for the word I.
func (d *decoder) words(name string) string {
	words := strings.Fields(d.get(name))
	for i, w := range words {
		if w == "i" || strings.HasPrefix(w, "i'") {
			words[i] = "I" + w[1:]
		}
	}
	return strings.ReplaceAll(strings.Join(words, " "), " '", "'")
}

// doubtLeads are the words of doubt before what is doubted, which would read as
// its contrary without them.
var doubtLeads = []struct{ said, keep string }{
	{"not sure i like", "not sure I like"}, {"not sure about", "not sure about"}, {"not sure", "not sure"}, {"unsure", "not sure"}, {"not convinced", "not convinced"}, {"in two minds", "in two minds about"},
	{"not too happy", "not happy with"}, {"not happy", "not happy with"}, {"not keen", "not keen on"}, {"worried", "worried about"},
	{"doubts about", "doubts about"}, {"i don't like", "don't like"}, {"not right with", "not right:"}, {"wrong with", "something wrong with"},
	{"remember if", "can't remember if"}, {"remember whether", "can't remember if"}, {"can't say if", "can't say if"}, {"say whether", "can't say if"}, {"don't know if", "can't say if"}, {"don't know whether", "can't say if"},
	{"back to", "come back to"}, {"keep an eye on", "keep an eye on"}, {"watch the", "watch"},
}

// doubted is the text of a doubt with its words of doubt.
func (d *decoder) doubted() string {
	text := d.words("text")
	if strings.Contains(strings.ToLower(text), "not ") && strings.HasPrefix(strings.ToLower(text), "not ") {
		return text
	}
	said := strings.ToLower(d.r.Text)
	lead, _, found := strings.Cut(said, strings.ToLower(text))
	if !found { // a name ends as the job spells it: "that end cap bolts"
		words := strings.Fields(strings.ToLower(text))
		lead, _, found = strings.Cut(said, strings.Join(words[:len(words)-1], " ")+" ")
	}
	if !found {
		return text
	}
	for _, l := range doubtLeads {
		if strings.Contains(lead, l.said) {
			return l.keep + " " + text
		}
	}
	return text
}

// reasons joins what is said as a reason: "missing" and why.
func (d *decoder) reasons() string {
	var list []string
	for _, s := range d.r.Slots {
		if s.Name == "reason" {
			one := decoder{r: Reading{Slots: []Slot{s}}}
			list = append(list, one.words("reason"))
		}
	}
	return strings.Join(list, ", ")
}

func (d *decoder) has(name string) bool { return d.r.Has(name) }

// quantity reads a slot; nil when it is not there.
func (d *decoder) quantity(slot string, dim measure.Dimension) (*measure.Quantity, error) {
	if !d.has(slot) {
		return nil, nil
	}
	text := d.get(slot)
	if strings.Contains(text, "grunt") {
		d.doubt = text
		return nil, errGrunt
	}
	q, err := measure.ParseAs(dim, text)
	var ask *measure.AskError
	if errors.As(err, &ask) && d.settled != nil {
		q = *d.settled
		q.Said = text
		d.settled = nil
		return &q, nil
	}
	if err != nil {
		return nil, err
	}
	return &q, nil
}

// onlyNames reports whether words just name what a tip would be about: "for the
// pump bolts".
func onlyNames(text string) bool {
	words := strings.Fields(text)
	return len(words) > 0 && len(words) < 6 && (words[0] == "for" || words[0] == "on" || words[0] == "about")
}

// torque reads the torque slot; a figure without its unit must be asked about.
func (d *decoder) torque() (*measure.Quantity, error) {
	if !d.has("bareTorque") {
		return d.quantity("torque", measure.Torque)
	}
	text := d.get("bareTorque")
	if d.settled != nil {
		q := *d.settled
		d.settled = nil
		return &q, nil
	}
	v, err := measure.ParseNumber(text)
	if err != nil {
		return nil, err
	}
	ask := &measure.AskError{Heard: text, Question: text + " what? Say the unit."}
	for _, u := range []measure.Unit{measure.NewtonMetre, measure.FootPound, measure.InchPound} {
		ask.Choices = append(ask.Choices, measure.Quantity{Amount: v, Unit: u, Said: text})
		ask.Units = append(ask.Units, u)
	}
	return nil, ask
}

// adapterLength reads a length of a wrench or an adapter; "mil" is millimetres
// there, and a bare figure is of the unit like.
func adapterLength(text string, like measure.Unit) (measure.Quantity, error) {
	if v, err := measure.ParseNumber(text); err == nil {
		return measure.Quantity{Amount: v, Unit: like, Said: text}, nil
	}
	return measure.Habits{Prefer: []measure.Unit{measure.Millimetre}}.ParseAs(measure.Length, text)
}

func (d *decoder) count(slot string) (int, error) {
	if !d.has(slot) {
		return 0, nil
	}
	if d.get(slot) == "?" {
		d.doubt = d.r.Text
		return 0, errVague
	}
	return strconv.Atoi(d.get(slot))
}

// items reads the descriptions of fasteners; each begins with its item slot.
func (d *decoder) items() ([]Fastener, error) {
	var list []Fastener
	marks := d.r.marksOf("item")
	for i, s := range d.r.Slots {
		for len(marks) > 0 && marks[0] <= i {
			list, marks = append(list, Fastener{}), marks[1:]
		}
		if len(list) == 0 {
			continue
		}
		f := &list[len(list)-1]
		switch s.Name {
		case "count":
			if s.Value == "?" {
				d.doubt = d.r.Text
				return nil, errVague
			}
			n, err := strconv.Atoi(s.Value)
			if err != nil {
				return nil, fmt.Errorf("read the count %q: %w", s.Value, err)
			}
			f.Count = n
		case "all":
			f.All = true
		case "kind":
			f.Kind = s.Value
		case "length":
			f.Length = s.Value
		case "left":
			f.LeftHand = true
		case "at":
			f.At = s.Value
		case "wrench", "thread", "hexkey", "drive":
			size, err := sizeOf(s.Name, s.Value)
			if err != nil {
				return nil, err
			}
			f.Size = size
		}
	}
	return narrowed(saidOnce(list, d.r.Text)), nil
}

// saidOnce drops what was said over: "took six tens, er, six tens" is no twelve.
// With a word that adds before the second number, or "more" after it, they are two
// batches.
func saidOnce(list []Fastener, text string) []Fastener {
	words := strings.Fields(strings.ToLower(text))
	for i, w := range words {
		adds := slices.Contains([]string{"and", "&", "plus", "another"}, w) && slices.ContainsFunc(words[i+1:min(i+3, len(words))], numeral)
		if adds || w == "more" {
			return list
		}
	}
	return slices.CompactFunc(list, func(a, b Fastener) bool { return reflect.DeepEqual(a, b) })
}

// narrowed drops "all" where it was told after it how many, or which: "the
// exchanger nuts are off, all six", "took off the housing, three thirteens".
func narrowed(list []Fastener) []Fastener {
	if len(list) > 1 && list[0] == (Fastener{All: true}) {
		list = list[1:]
	}
	for i := range list {
		list[i].All = list[i].All && list[i].Count == 0
	}
	return list
}

// timerName is what a timer is for; "the timer" says nothing.
func timerName(said string) string {
	if said == "timer" {
		return ""
	}
	return said
}

// placeName spells a place one way: "the cup 4" and "cup number four" are "cup
// four".
func placeName(said string) string {
	var words []string
	for _, w := range strings.Fields(said) {
		switch w {
		case "the", "that", "those", "these", "this", "my", "number":
			continue
		}
		if n, err := strconv.Atoi(w); err == nil && n > 0 && n < 100 {
			w = cardinals(n)[0]
		}
		words = append(words, w)
	}
	return strings.Join(words, " ")
}

func (d *decoder) size() (Size, error) {
	for _, s := range d.r.Slots {
		switch s.Name {
		case "wrench", "thread", "hexkey", "drive":
			size, err := sizeOf(s.Name, s.Value)
			if err != nil {
				return Size{}, err
			}
			return *size, nil
		}
	}
	return Size{}, errors.New("the size is missing")
}

// sizeIfSaid is the size, the zero Size when none was said: it will be asked for.
func (d *decoder) sizeIfSaid() (Size, error) {
	for _, slot := range []string{"wrench", "thread", "hexkey", "drive"} {
		if d.has(slot) {
			return d.size()
		}
	}
	return Size{}, nil
}

func (d *decoder) intent() (Intent, error) {
	if in, ok := plainIntents[d.r.Rule]; ok {
		return in, nil
	}
	if f, ok := namedIntents[d.r.Rule]; ok {
		return f(d.get("name")), nil
	}
	f, ok := decoders[d.r.Rule]
	if !ok {
		return nil, errors.New("this is no rule of the shop grammar")
	}
	return f(d)
}

// plainIntents are those without slots.
var plainIntents = map[string]Intent{
	"call": Call{}, "next": Next{}, "back": Back{}, "backOne": BackOne{}, "pause": Pause{}, "resume": Resume{},
	"whereWasI": WhereWasI{}, "sayAgain": SayAgain{}, "slower": Slower{}, "stop": Stop{}, "quiet": Quiet{}, "listen": Listen{},
	"help": Help{}, "yes": Yes{}, "no": No{}, "askDoubts": AskDoubts{}, "askNotes": AskNotes{}, "askLast": AskLast{},
	"askFaults": AskFaults{}, "startCheck": StartCheck{}, "handOver": HandOver{},
}

// namedIntents are those with a name and nothing else.
var namedIntents = map[string]func(string) Intent{
	"askTorque": func(n string) Intent { return AskTorque{n} },
	"askSize":   func(n string) Intent { return AskSize{n} },
	"askCount":  func(n string) Intent { return AskCount{n} },
	"askPlace":  func(n string) Intent { return AskPlace{n} },
	"askPart":   func(n string) Intent { return AskPart{n} },
	"askRenew":  func(n string) Intent { return AskRenew{n} },
	"askFluid":  func(n string) Intent { return AskFluid{n} },
	"askLimit":  func(n string) Intent { return AskLimit{n} },
	"askOut":    func(n string) Intent { return AskOut{n} },
	"goStep":    func(n string) Intent { return GoStep{n} },
	"wrench":    func(n string) Intent { return Wrench{n} },
	"suspect":   func(n string) Intent { return Suspect{n} },
	"culprit":   func(n string) Intent { return Culprit{n} },
	"timerOff":  func(n string) Intent { return TimerOff{timerName(n)} },
}

var decoders = map[string]func(*decoder) (Intent, error){
	"askHeld": func(d *decoder) (Intent, error) { return AskHeld{placeName(d.get("stow"))}, nil },
	"askLeft": func(d *decoder) (Intent, error) { return AskLeft{Name: d.get("name"), Of: d.get("of")}, nil },
	"askTimers": func(d *decoder) (Intent, error) {
		return AskTimers{Name: timerName(d.get("name")), Fluid: d.get("fluid")}, nil
	},
	"askDetail": func(d *decoder) (Intent, error) { return AskDetail{Name: d.get("name"), What: d.get("what")}, nil },
	"askWhy": func(d *decoder) (Intent, error) {
		// "Why can't the impeller go in": the step that puts it in.
		return AskWhy{strings.TrimSpace(d.get("name") + " " + d.get("way"))}, nil
	},
	"strike": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		return Strike{n}, err
	},
	"done": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		if err != nil {
			return nil, err
		}
		in := Done{Pass: d.has("pass"), Step: d.get("step"), Count: n}
		if d.has("bareTorque") {
			v, err := measure.ParseNumber(d.get("bareTorque"))
			if err != nil {
				return nil, err
			}
			in.Torque = &measure.Quantity{Amount: v, Said: d.get("bareTorque")} // the run knows the unit
		} else if in.Torque, err = d.quantity("torque", measure.Torque); err != nil {
			return nil, err
		}
		return in, nil
	},
	"choice": func(d *decoder) (Intent, error) {
		if d.has("number") {
			v, err := measure.ParseNumber(d.get("number"))
			return Choice{Text: d.get("number"), Quantity: &measure.Quantity{Amount: v, Said: d.get("number")}}, err
		}
		q, err := d.quantity("quantity", "")
		if q == nil || err != nil {
			text := d.get("text")
			if words := strings.Fields(text); len(words) > 1 && strings.Trim(words[len(words)-1], "0123456789") == "" {
				text = placeName(text) // "cup 3"
			}
			return Choice{Text: text}, err
		}
		return Choice{Text: q.String(), Quantity: q}, nil
	},
	"removed": func(d *decoder) (Intent, error) {
		items, err := d.items()
		if err != nil {
			return nil, err
		}
		bad, err := d.count("bad")
		return Removed{Items: items, Where: d.get("where"), Stow: placeName(d.get("stow")), Condition: d.get("condition"), Bad: bad}, err
	},
	"loosened": func(d *decoder) (Intent, error) {
		items, err := d.items()
		return Loosened{Items: items, Where: d.get("where")}, err
	},
	"refitted": func(d *decoder) (Intent, error) {
		items, err := d.items()
		return Refitted{Items: items, Where: d.get("where"), Snug: d.has("snug"), New: d.has("new")}, err
	},
	"torqued": func(d *decoder) (Intent, error) {
		items, err := d.items()
		if err != nil {
			return nil, err
		}
		torque, err := d.torque()
		if err != nil {
			return nil, err
		}
		how := d.get("how")
		switch {
		case how != "":
		case torque != nil, strings.Contains(strings.ToLower(d.r.Text), "torqu"):
			how = "wrench"
		default:
			how = "unknown"
		}
		return Torqued{Items: items, Where: d.get("where"), Torque: torque, How: how, With: d.get("tool")}, nil
	},
	"discarded": func(d *decoder) (Intent, error) {
		items, err := d.items()
		return Discarded{Items: items, Where: d.get("where"), New: d.has("new")}, err
	},
	"condition": func(d *decoder) (Intent, error) {
		items, err := d.items()
		return Condition{Items: items, Where: d.get("where"), What: d.get("what")}, err
	},
	"stowed": func(d *decoder) (Intent, error) {
		items, err := d.items()
		name := d.get("name")
		if name == "" {
			name = d.get("where") // "the four pump bolts"
		}
		return Stowed{Items: items, Name: name, Stow: placeName(d.get("stow"))}, err
	},
	"tip": func(d *decoder) (Intent, error) {
		t := Tip{Name: d.get("name"), Text: d.words("text")}
		if t.Name == "" && onlyNames(t.Text) || t.Name != "" && !strings.Contains(t.Text, " ") {
			return nil, errHalf
		}
		return t, nil
	},
	"excuse": func(d *decoder) (Intent, error) {
		return Excuse{Where: d.get("where"), Reason: d.reasons()}, nil
	},
	"setSpec": func(d *decoder) (Intent, error) {
		s := SetSpec{Name: d.get("name"), Oiled: d.has("oiled"), Thread: d.get("thread"), Class: d.get("class"), RenewRule: d.get("renew")}
		var err error
		if s.Torque, err = d.torque(); err != nil {
			return nil, err
		}
		if s.Angle, err = d.angle(); err != nil {
			return nil, err
		}
		if s.Count, err = d.count("count"); err != nil {
			return nil, err
		}
		return d.fastenerFacts(s)
	},
	"setPattern": func(d *decoder) (Intent, error) {
		rows, err := d.count("rows")
		return SetPattern{Name: d.get("name"), Pattern: d.get("pattern"), Rows: rows}, err
	},
	"setTool": func(d *decoder) (Intent, error) { return d.tool() },
	"setCaution": func(d *decoder) (Intent, error) {
		return SetCaution{Step: d.get("step"), Text: d.words("text")}, nil
	},
	"setUses":  func(d *decoder) (Intent, error) { return SetUses{Step: d.get("step"), Name: d.get("name")}, nil },
	"setCheck": func(d *decoder) (Intent, error) { return SetCheck{d.words("text")}, nil },
	"convert": func(d *decoder) (Intent, error) {
		to, err := measure.ParseUnit(d.get("to"))
		var ask *measure.AskError
		if errors.As(err, &ask) && d.has("from") {
			to, err = d.unitLike(ask)
		}
		if err != nil {
			return nil, err
		}
		from, err := d.quantity("from", to.Dimension())
		if from == nil || err != nil { // "what's that in foot-pounds"
			return Convert{To: to}, err
		}
		return Convert{From: *from, To: to}, nil
	},
	"askJudge": func(d *decoder) (Intent, error) {
		torque, err := d.quantity("torque", measure.Torque)
		if err != nil {
			return nil, err
		}
		size, err := d.size()
		return AskJudge{Torque: *torque, Size: size, Class: d.get("class"), Oiled: d.has("oiled"), Into: d.get("material")}, err
	},
	"askGuide": func(d *decoder) (Intent, error) {
		size, err := d.size()
		return AskGuide{Size: size, Class: d.get("class"), Oiled: d.has("oiled"), Into: d.get("material")}, err
	},
	"askTake": func(d *decoder) (Intent, error) {
		size, err := d.size()
		guide := AskGuide{Size: size, Class: d.get("class"), Oiled: d.has("oiled"), Into: d.get("material")}
		return Unclear{Heard: d.r.Text, Question: "The torque or the wrench?", Choices: []string{"the torque", "the wrench"}, Then: []Intent{guide, AskHead{size}}}, err
	},
	"askStrength": func(d *decoder) (Intent, error) {
		size, err := d.size()
		return AskStrength{Size: size, Class: d.get("class")}, err
	},
	"askPreload": func(d *decoder) (Intent, error) {
		torque, err := d.quantity("torque", measure.Torque)
		if err != nil {
			return nil, err
		}
		size, err := d.size()
		return AskPreload{Torque: *torque, Size: size, Class: d.get("class"), Oiled: d.has("oiled")}, err
	},
	"askDesignation": func(d *decoder) (Intent, error) {
		size, err := d.size()
		return AskDesignation{size}, err
	},
	"askWrench": func(d *decoder) (Intent, error) {
		torque, err := d.quantity("torque", measure.Torque)
		if err != nil {
			return nil, err
		}
		return AskWrench{*torque}, nil
	},
	"askLocker": func(*decoder) (Intent, error) { return AskLocker{}, nil },
	"askThread": func(d *decoder) (Intent, error) {
		size, err := d.sizeIfSaid()
		return AskThread{size}, err
	},
	"askHead": func(d *decoder) (Intent, error) {
		size, err := d.sizeIfSaid()
		return AskHead{size}, err
	},
	"askSetting": func(d *decoder) (Intent, error) {
		var s AskSetting
		torque, err := d.quantity("torque", measure.Torque)
		if err != nil {
			return nil, err
		}
		s.Torque = *torque
		if s.Adapter, err = adapterLength(d.get("adapter"), measure.Millimetre); err != nil {
			return nil, err
		}
		if d.has("lever") {
			if s.Lever, err = adapterLength(d.get("lever"), s.Adapter.Unit); err != nil {
				return nil, err
			}
		}
		if n := d.get("leverNumber"); n != "" {
			// "50 mm crowfoot on 400": in the unit of the adapter.
			length, err := measure.ParseNumber(n)
			if err != nil {
				return nil, err
			}
			s.Lever = measure.Quantity{Amount: length, Unit: s.Adapter.Unit, Said: n + " " + s.Adapter.Unit.String()}
		}
		angle, err := d.angle()
		if angle != nil {
			s.Angle = *angle
		}
		return s, err
	},
	"askPattern": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		return AskPattern{Count: n, Loosen: d.get("loosen") == "yes"}, err
	},
	"askEngage": func(d *decoder) (Intent, error) {
		size, err := d.sizeIfSaid()
		if err != nil {
			return nil, err
		}
		e := AskEngage{Size: size, Material: d.get("material")}
		if d.has("turns") {
			if e.Turns, err = measure.ParseNumber(d.get("turns")); err != nil {
				return nil, err
			}
		}
		e.Depth, err = d.quantity("depth", measure.Length)
		return e, err
	},
	"skipStep": func(d *decoder) (Intent, error) {
		return SkipStep{Name: d.get("name"), Reason: d.words("reason")}, nil
	},
	"insertStep": func(d *decoder) (Intent, error) {
		s := InsertStep{Text: d.words("text"), After: d.get("after")}
		if s.After == "" {
			s.placed()
		}
		return s, nil
	},
	"constrain": func(d *decoder) (Intent, error) {
		return Constrain{Step: d.get("step"), After: d.get("after")}, nil
	},
	"stage":   func(d *decoder) (Intent, error) { return Stage{d.get("to")}, nil },
	"tighten": func(d *decoder) (Intent, error) { return Tighten{Name: d.get("name"), Check: d.has("check")}, nil },
	"partAside": func(d *decoder) (Intent, error) {
		return PartAside{Name: d.get("name"), Where: placeName(d.get("where"))}, nil
	},
	"partHave": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		return PartHave{Name: d.get("name"), Count: n, More: d.has("more")}, err
	},
	"partFitted": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		return PartFitted{Name: d.get("name"), Count: n, New: d.has("new")}, err
	},
	"partNeeded": func(d *decoder) (Intent, error) {
		n, err := d.count("count")
		return PartNeeded{Name: d.get("name"), Count: n}, err
	},
	"drained": func(d *decoder) (Intent, error) {
		q, err := d.quantity("amount", measure.Volume)
		return Drained{Fluid: d.get("fluid"), Amount: q}, err
	},
	"filled": func(d *decoder) (Intent, error) {
		q, err := d.quantity("amount", measure.Volume)
		return Filled{Fluid: d.get("fluid"), Amount: q, ToMark: d.has("mark")}, err
	},
	"sealed": func(d *decoder) (Intent, error) {
		return Sealed{Sealant: d.get("sealant"), Where: d.get("where")}, nil
	},
	"timer": func(d *decoder) (Intent, error) {
		t := Timer{Name: timerName(d.get("name"))}
		if d.has("time") {
			q, err := measure.ParseAs(measure.Time, d.get("time"))
			if err != nil {
				return nil, err
			}
			t.For = time.Duration(q.SI() * float64(time.Second)).Round(time.Second)
		}
		return t, nil
	},
	"setLimit":  func(d *decoder) (Intent, error) { return d.limit() },
	"setOrder":  func(d *decoder) (Intent, error) { return d.order() },
	"setStages": func(d *decoder) (Intent, error) { return d.stages() },
	"setFill": func(d *decoder) (Intent, error) {
		q, err := d.quantity("amount", measure.Volume)
		if err != nil {
			return nil, err
		}
		f := SetFill{Fluid: d.get("fluid"), Is: d.get("is")}
		if q != nil {
			f.Amount = *q
		}
		return f, nil
	},
	"setTime": func(d *decoder) (Intent, error) {
		q, err := measure.ParseAs(measure.Time, d.get("time"))
		if err != nil {
			return nil, err
		}
		return SetTime{Sealant: d.get("sealant"), What: d.get("what"), For: time.Duration(q.SI() * float64(time.Second)).Round(time.Second)}, nil
	},
	"note": func(d *decoder) (Intent, error) { return Note{d.words("text")}, nil },
	"flag": func(d *decoder) (Intent, error) { return Flag{d.doubted()}, nil },
	"settle": func(d *decoder) (Intent, error) {
		return Settle{Name: d.get("name"), How: d.words("how")}, nil
	},
	"mark": func(d *decoder) (Intent, error) { return Mark{d.get("label")}, nil },
	"leftOver": func(d *decoder) (Intent, error) {
		items, err := d.items()
		return LeftOver{items}, err
	},
	"measure": func(d *decoder) (Intent, error) {
		if d.has("bare") {
			// The unit is that of the measurement's limit; the job knows it.
			v, err := measure.ParseNumber(d.get("bare"))
			return Measure{Name: d.get("name"), Value: measure.Quantity{Amount: v, Said: d.get("bare")}}, err
		}
		q, err := d.quantity("value", "")
		if err != nil {
			return nil, err
		}
		return Measure{Name: d.get("name"), Value: *q}, nil
	},
	"evidence": func(d *decoder) (Intent, error) {
		return Evidence{For: d.get("for") == "yes", Name: d.get("name"), Text: d.words("text")}, nil
	},
	"ruleOut": func(d *decoder) (Intent, error) {
		return RuleOut{Name: d.get("name"), Reason: d.words("reason")}, nil
	},
}

// angle reads an added turn; a bare number is degrees.
func (d *decoder) angle() (*measure.Quantity, error) {
	if !d.has("angle") {
		return nil, nil
	}
	text := d.get("angle")
	if v, err := measure.ParseNumber(text); err == nil {
		return &measure.Quantity{Amount: v, Unit: measure.Degree, Said: text}, nil
	}
	q, err := measure.ParseAs(measure.Angle, text)
	return &q, err
}

// unitLike picks the unit that has the dimension of the quantity to be
// converted, when only one has.
func (d *decoder) unitLike(ask *measure.AskError) (measure.Unit, error) {
	from, err := measure.Parse(d.get("from"))
	if err != nil {
		return measure.Unit{}, err
	}
	var fit []measure.Unit
	for _, u := range ask.Units {
		if u.Dimension() == from.Unit.Dimension() {
			fit = append(fit, u)
		}
	}
	if len(fit) == 1 {
		return fit[0], nil
	}
	return measure.Unit{}, ask
}

// placed takes where the step goes out of its text: "clean the strainer, goes
// before opening the sea cock".
func (s *InsertStep) placed() {
	words := strings.Fields(s.Text)
	for i := len(words) - 2; i > 0; i-- {
		word := strings.ToLower(words[i])
		if word != "before" && word != "after" {
			continue
		}
		end := i
		for end > 0 && placing[strings.ToLower(strings.Trim(words[end-1], ",;"))] {
			end--
		}
		comma := end > 0 && strings.ContainsAny(words[end-1][len(words[end-1])-1:], ",;")
		if end == 0 || end == i && !comma {
			continue // "look at it before it is shut" is all of it the step
		}
		where := strings.Trim(strings.Join(words[i+1:], " "), " .,;!")
		s.Text = strings.Trim(strings.Join(words[:end], " "), " ,;")
		if word == "before" {
			s.Before = where
		} else {
			s.After = where
		}
		return
	}
}

// placing are the words with which somebody says where a step goes.
var placing = setOf("goes go comes come that it this should must has to be in which is put straight just right needs")
