package intent

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
)

// Reading is one way to understand a text: the public rule it is a sentence of
// and the slots its tags made, in the order they were spoken.
type Reading struct {
	Rule  string
	Slots []Slot
	Text  string  // the text as it was given
	Cost  float64 // −ln of the weights on the way, and what free speech costs; smaller is likelier
	// Addressed reports whether the call word came first.
	Addressed bool

	marks []mark
	free  float64 // the part of Cost that is due to free speech
}

// mark is a tag whose name begins with a dot: it stands at a place between the
// slots and is none itself.
type mark struct {
	name string
	at   int // the number of slots before it
}

// marksOf gives the places of the marks of that name.
func (r Reading) marksOf(name string) []int {
	var at []int
	for _, m := range r.marks {
		if m.name == name {
			at = append(at, m.at)
		}
	}
	return at
}

// Slot is one tagged piece of a sentence: what the grammar says it is, in the
// grammar's own spelling and lower case.
type Slot struct {
	Name, Value string
}

// Get gives the value of the first slot of that name, "" when there is none.
func (r Reading) Get(name string) string {
	for _, s := range r.Slots {
		if s.Name == name {
			return s.Value
		}
	}
	return ""
}

// Has reports whether there is a slot of that name.
func (r Reading) Has(name string) bool {
	for _, s := range r.Slots {
		if s.Name == name {
			return true
		}
	}
	return false
}

// Map gives the slots by name; of several with one name the last spoken counts.
func (r Reading) Map() map[string]string {
	m := map[string]string{}
	for _, s := range r.Slots {
		m[s.Name] = s.Value
	}
	return m
}

// Key names the meaning: two readings with the same key mean the same.
func (r Reading) Key() string {
	var b strings.Builder
	b.WriteString(r.Rule)
	for _, s := range r.Slots {
		b.WriteByte(' ')
		b.WriteString(s.Name)
		b.WriteByte('=')
		b.WriteString(strconv.Quote(s.Value))
	}
	return b.String()
}

// maxText is the longest text that is read, in bytes; nobody speaks longer
// without a pause.
const maxText = 2000

// contains runs the automaton over a text.
func (a *Automaton) contains(text string) bool {
	at := a.Start()
	for i := 0; i < len(text) && at >= 0; i++ {
		at = a.Step(at, text[i])
	}
	return a.Accepts(at)
}

// Meanings gives the keys of the distinct meanings of a whole text, likeliest
// first; two texts with an equal key mean the same.
func (a *Automaton) Meanings(text string) []string {
	readings := a.Parse(text)
	keys := make([]string, len(readings))
	for i, r := range readings {
		keys[i], _ = a.keyOf(r)
	}
	return keys
}

// Meaning is the likeliest of the meanings, with the natural logarithm of its
// weights, free speech left out; ok is false for a text that is not of the language.
func (a *Automaton) Meaning(text string) (key string, weight float64, ok bool) {
	readings := a.Parse(text)
	if len(readings) == 0 {
		return "", 0, false
	}
	key, _ = a.keyOf(readings[0])
	return key, readings[0].free - readings[0].Cost, true
}

// Weighty reports whether a text has a torque in it, which breaks a bolt when it is
// misheard, and whether it tells it or only asks about it.
func (a *Automaton) Weighty(text string) (weighty, told bool) {
	readings := a.Parse(text)
	if len(readings) == 0 {
		return false, false
	}
	weighty = slices.ContainsFunc(readings[0].Slots, func(s Slot) bool {
		return slices.ContainsFunc([]string{"N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm", " pounds"}, func(unit string) bool {
			return strings.Contains(s.Value, unit)
		})
	})
	return weighty, weighty && !readings[0].Asks()
}

// Asks: does the sentence only ask for something? Its answer changes nothing.
func (r Reading) Asks() bool {
	return strings.HasPrefix(r.Rule, "ask") || slices.Contains([]string{"next", "whereWasI", "sayAgain", "slower", "stop", "listen", "help", "convert", "startCheck", "handOver"}, r.Rule)
}

func (a *Automaton) keyOf(r Reading) (string, bool) {
	if a.meaning != nil {
		return a.meaning(r)
	}
	return r.Key(), true
}

// distinct sorts readings by cost and keeps the first of each meaning.
func (a *Automaton) distinct(readings []Reading) []Reading {
	keys := make(map[string]bool, len(readings))
	slices.SortStableFunc(readings, func(x, y Reading) int { return cmp.Compare(x.Cost, y.Cost) })
	out := readings[:0]
	for _, r := range readings {
		if k, ok := a.keyOf(r); ok && !keys[k] {
			keys[k] = true
			out = append(out, r)
		}
	}
	return out
}

// render reads an output from its root.
func (n *network) render(outs *outputs, leaf int32, text string) Reading {
	var path []output
	for at := leaf; at != 0; at = outs.nodes[at].parent {
		path = append(path, outs.nodes[at])
	}
	slices.Reverse(path)
	var r Reading
	// Slots that are open: which, and how many replacements were open before.
	type openSlot struct{ index, mute int }
	var open []openSlot
	mute := 0
	say := func(word string, glue bool) {
		for _, o := range open {
			if o.mute != mute {
				continue // a value stands for these words there
			}
			v := &r.Slots[o.index].Value
			// An empty piece that joins begins a number: it parts it from a word before.
			if *v != "" && (!glue || word == "") && !strings.HasSuffix(*v, " ") {
				*v += " "
			}
			*v += word
		}
	}
	for _, o := range path {
		switch s := n.syms[o.sym]; s.kind {
		case symRule:
			r.Rule = s.text
		case symAddressed:
			r.Addressed = true
		case symOpen:
			open = append(open, openSlot{len(r.Slots), mute})
			r.Slots = append(r.Slots, Slot{Name: s.text})
		case symClose:
			open = open[:len(open)-1]
		case symMute:
			mute++
		case symUnmute:
			mute--
		case symValue:
			if name, ok := strings.CutPrefix(s.text, "."); ok {
				r.marks = append(r.marks, mark{name, len(r.Slots)})
				continue
			}
			r.Slots = append(r.Slots, Slot{s.text, s.more})
		case symWord:
			say(s.text, false)
		case symGlue:
			say(s.text, true)
		case symFree:
			say(strings.TrimRight(text[o.at:], " .,;:?!"), false)
		}
	}
	return r
}

// tidy makes white space single and writes dashes and quotes the plain way.
func tidy(text string) string {
	text = strings.NewReplacer("—", ", ", "–", "-", "“", "", "”", "", "\"", "\"", "‘", "'", "…", "...").Replace(text)
	return strings.Join(strings.Fields(text), " ")
}
