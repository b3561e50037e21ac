package intent

import (
	"math"
	"slices"
	"strings"
)

// small are words that a sentence can do without and mean the same: how somebody
// turns to what they want to say. What leaving them out costs is in parts of a word.
var small = func() map[string]float64 {
	m := map[string]float64{}
	for _, w := range strings.Fields(`a ah alright actually all also and basically bit erm hey i'd i'm i've just kind
		let's like lovely me my of oh ok okay one's please pretty quick quickly real really right so some sort
		that's the then there there's this thing to too us very we we've well whoa yeah yep you`) {
		m[w] = 0.25
	}
	for _, w := range strings.Fields(`about at been by for from got here in it it's mate now on our out over
		she she's that these those up with your`) {
		m[w] = 0.5
	}
	return m
}()

// weighty are words that turn a sentence into another one when they are left out:
// what is denied, planned, wondered about, told of others, or when.
var weighty = func() map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(`not no never nothing none neither nor without except only but if unless until
		when while once before after as soon later tomorrow tonight yesterday maybe perhaps might may could would should shall will
		going gonna want wants need needs must try trying tried thought supposed almost nearly half he he's they they're
		his her their hers left other another again more less than`) {
		m[w] = true
	}
	return m
}()

// mostLeftOut is the greatest cost of what is left out: a word or two in a
// sentence of six.
const mostLeftOut = 2.0

// fewestKept is the number of words that must be left of a sentence.
const fewestKept = 3

// Nearest is what is left of text when as little as possible is left out to make
// it a sentence of the language: "how many nuts are off" without its nuts is "how
// many are off". "" when too much would go, a number, or a word that would make it
// another sentence, and for one that is of the language already. It is to be asked
// about, never to be taken as said.
func (a *Automaton) Nearest(text string) string {
	words := strings.Fields(strings.NewReplacer(",", " ", ";", " ", "—", " ", "–", " ").Replace(text))
	for i, w := range words {
		words[i] = strings.Trim(w, ".!?:…")
	}
	words = slices.DeleteFunc(words, func(w string) bool { return w == "" })
	if len(words) < fewestKept || len(words) > longestNearest {
		return ""
	}
	ways := map[int32]omission{a.Start(): {}}
	for i, w := range words {
		next := map[int32]omission{}
		reach := func(state int32, to omission) {
			if have, ok := next[state]; !ok || to.before(have) {
				next[state] = to
			}
		}
		skip := costOf(w)
		for state, from := range ways {
			if from.cost+skip <= mostLeftOut {
				reach(state, omission{from.cost + skip, from.kept})
			}
			if to := a.say(state, w, from.kept != 0); to >= 0 {
				reach(to, omission{from.cost, from.kept | 1<<i})
			}
		}
		ways = next
	}
	best := omission{cost: math.Inf(1)}
	for state, w := range ways {
		if a.Accepts(state) && w.before(best) {
			best = w
		}
	}
	var kept []string
	for i, w := range words {
		if best.kept&(1<<i) != 0 {
			kept = append(kept, w)
		}
	}
	if len(kept) == len(words) || len(kept) < fewestKept || best.cost > float64(len(kept))/fewestKept {
		return ""
	}
	return strings.Join(kept, " ")
}

// omission is a way to have come to a state: what was left out costs, and the words
// kept, bit i for word i.
type omission struct {
	cost float64
	kept uint64
}

// before orders ways to one state, so that the same text always gives the same.
func (w omission) before(o omission) bool {
	return w.cost < o.cost || w.cost == o.cost && w.kept > o.kept
}

// longestNearest is the most words of a sentence that is looked at.
const longestNearest = 24

// costOf is what leaving a word out costs, +Inf for what must not be left out.
func costOf(word string) float64 {
	word = strings.ToLower(word)
	switch {
	case weighty[word], numeral(word), strings.HasSuffix(word, "n't"), strings.HasSuffix(word, "'ll"), strings.HasSuffix(word, "'d") && word != "i'd":
		return math.Inf(1)
	case small[word] > 0:
		return small[word]
	}
	return 1
}

// say steps over a word, with a space in front where it is not the first; -1 when
// the language does not go on so.
func (a *Automaton) say(state int32, word string, spaced bool) int32 {
	if spaced {
		word = " " + word
	}
	for _, b := range []byte(word) {
		if state = a.Step(state, b); state < 0 {
			return state
		}
	}
	return state
}

// Guess makes a question of the sentence that is [Automaton.Nearest] to text, or of
// the several things it tells, see [InRow]; nil when it is neither or tells a
// torque: no figure that breaks a bolt is guessed at.
func Guess(a *Automaton, text string) *Unclear {
	if row := a.guessRow(text); row != nil {
		return row
	}
	near := a.Nearest(text)
	readings := a.Parse(near)
	if weighty, _ := a.Weighty(near); weighty || len(readings) == 0 {
		return nil
	}
	if asksFor(text) && !readings[0].Asks() {
		return nil // a question is never offered as a change
	}
	in, err := FromReading(readings[0])
	if err != nil || !fitsRow(in) {
		return nil // an answer, or about what was said: of a whole sentence it is only left over
	}
	if readings[0].Addressed {
		near = a.withoutCall(near, readings[0])
	}
	return &Unclear{Heard: text, Question: "Did you mean: " + near + "?", Then: []Intent{in}, Nearest: true}
}

// asksFor: do the words ask for something? A verb that can stand at the beginning
// of a report as well, "did up the nuts", must have somebody behind it.
func asksFor(text string) bool {
	if strings.HasSuffix(strings.TrimSpace(text), "?") {
		return true
	}
	words := strings.Fields(strings.ToLower(strings.NewReplacer(",", " ", ";", " ").Replace(text)))
	for len(words) > 0 && (leadIns[words[0]] || hesitations[words[0]]) {
		words = words[1:]
	}
	if len(words) < 2 {
		return false
	}
	first, _, _ := strings.Cut(words[0], "'")
	return askWords[first] || askVerbs[first] && askedOf[words[1]]
}

var (
	leadIns  = setOf("so and okay ok well right now then hey but oh sorry wait")
	askWords = setOf("when what which why how where who whose whereabouts")
	askVerbs = setOf("do does did is are was were can could should shall would will have has am must may")
	askedOf  = setOf("i you we it he she they there the that this these those my any all anything everything both some a an")
)

// guessRow makes a question of several things said in one breath, nil when text
// is not that.
func (a *Automaton) guessRow(text string) *Unclear {
	weighty := false
	row := InRow(text, false, func(piece string) Intent {
		readings := a.Parse(piece)
		if len(readings) == 0 {
			return nil
		}
		in, err := FromReading(readings[0])
		if err != nil {
			return nil
		}
		w, _ := a.Weighty(piece)
		weighty = weighty || w
		return in
	})
	if row == nil || weighty {
		return nil
	}
	said := slices.Clone(row.Said)
	if r := a.Parse(said[0]); len(r) > 0 && r[0].Addressed {
		said[0] = a.withoutCall(said[0], r[0])
	}
	return &Unclear{Heard: text, Question: "Did you mean: " + strings.Join(said, ", and ") + "?", Then: []Intent{*row}, Nearest: true}
}

// withoutCall is what follows the call word in a text of reading r.
func (a *Automaton) withoutCall(text string, r Reading) string {
	for rest := text; ; {
		var found bool
		if _, rest, found = strings.Cut(rest, " "); !found {
			return text
		}
		if again := a.Parse(rest); len(again) > 0 && !again[0].Addressed && again[0].Key() == r.Key() {
			return rest
		}
	}
}
