package intent

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A plain recogniser over words, written without regard to speed and sharing
// nothing with the automaton: it matches a tree, not a network.

type plain struct {
	kind string // word, seq, alt, opt, star, plus, slot, const, ref, null, void
	text string
	kids []*plain
}

var plainWords = []string{"alpha", "bravo", "charlie", "delta", "al", "pha", "colour", "flywheel", "what's", "left-hand", "twelve", "eight", "half"}

// written are the ways to write a word beside its own, set down by hand.
var written = map[string][]string{
	"colour": {"color"}, "flywheel": {"fly wheel", "fly-wheel"}, "what's": {"whats", "what’s"},
	"left-hand": {"left hand", "lefthand"}, "twelve": {"12"}, "eight": {"8"}, "half": {"1/2", "½"},
}

// jsgf writes the tree as a right-hand side.
func (p *plain) jsgf() string {
	each := func(sep string) string {
		var parts []string
		for _, k := range p.kids {
			parts = append(parts, k.jsgf())
		}
		return strings.Join(parts, sep)
	}
	switch p.kind {
	case "word":
		return p.text
	case "seq":
		return "(" + each(" ") + ")"
	case "alt":
		return "(" + each(" | ") + ")"
	case "opt":
		return "[" + p.kids[0].jsgf() + "]"
	case "star":
		return "(" + p.kids[0].jsgf() + ")*"
	case "plus":
		return "(" + p.kids[0].jsgf() + ")+"
	case "slot", "const":
		return "(" + p.kids[0].jsgf() + "){" + p.text + "}"
	case "ref":
		return "<" + p.text + ">"
	case "null":
		return "<NULL>"
	}
	return "<VOID>"
}

// match is what was read up to a place: the slots so far, and what the open
// ones hold.
type match struct {
	at    int
	slots string
	words string
}

const plainLimit = 4000

type plainRecogniser struct {
	rules map[string]*plain
	words []string
	steps int
}

// run gives every match of p from m on; nil when the work grows too large.
func (r *plainRecogniser) run(p *plain, from []match, depth int) []match {
	if r.steps++; r.steps > plainLimit || depth > 60 {
		r.steps = plainLimit + 1
		return nil
	}
	var out []match
	put := func(ms ...match) {
		for _, m := range ms {
			if !slices.Contains(out, m) {
				out = append(out, m)
			}
		}
	}
	switch p.kind {
	case "word":
		for _, m := range from {
			if m.at < len(r.words) && r.words[m.at] == p.text {
				put(match{m.at + 1, m.slots, m.words + " " + p.text})
			}
		}
	case "seq":
		out = from
		for _, k := range p.kids {
			out = r.run(k, out, depth+1)
		}
	case "alt":
		for _, k := range p.kids {
			put(r.run(k, from, depth+1)...)
		}
	case "opt":
		put(from...)
		put(r.run(p.kids[0], from, depth+1)...)
	case "star", "plus":
		if p.kind == "star" {
			put(from...)
		}
		now := from
		for range len(r.words) + 1 {
			now = r.run(p.kids[0], now, depth+1)
			put(now...)
		}
	case "slot":
		for _, m := range from {
			for _, e := range r.run(p.kids[0], []match{{m.at, "", ""}}, depth+1) {
				put(match{e.at, m.slots + fmt.Sprintf("%s=%s;", p.text, strings.TrimSpace(e.words)) + e.slots, m.words + e.words})
			}
		}
	case "const":
		for _, e := range r.run(p.kids[0], from, depth+1) {
			put(match{e.at, e.slots + p.text + ";", e.words})
		}
	case "ref":
		if len(from) > 0 {
			out = r.run(r.rules[p.text], from, depth+1)
		}
	case "null":
		out = from
	}
	return out
}

// readings gives the distinct slot lists of a sentence.
func (r *plainRecogniser) readings(rule string, words []string) (list []string, ok bool) {
	r.words, r.steps = words, 0
	for _, m := range r.run(r.rules[rule], []match{{}}, 0) {
		if m.at == len(words) && !slices.Contains(list, m.slots) {
			list = append(list, m.slots)
		}
	}
	slices.Sort(list)
	return list, r.steps <= plainLimit
}

// drawPlain draws a tree. Inside a slot no rule is called, so that slots nest
// only as written; a rule may call the later ones anywhere and itself last.
func drawPlain(t *rapid.T, depth int, refs []string, inLoop bool) *plain {
	kinds := []string{"word", "word", "word", "seq", "alt", "opt", "slot", "const", "null"}
	if !inLoop {
		kinds = append(kinds, "star", "plus")
	}
	if len(refs) > 0 {
		kinds = append(kinds, "ref", "ref")
	}
	if depth == 0 {
		kinds = []string{"word"}
	}
	p := &plain{kind: rapid.SampledFrom(kinds).Draw(t, "kind")}
	kid := func(loop bool) { p.kids = append(p.kids, drawPlain(t, depth-1, refs, loop)) }
	switch p.kind {
	case "word":
		p.text = rapid.SampledFrom(plainWords).Draw(t, "word")
	case "seq", "alt":
		for range rapid.IntRange(2, 3).Draw(t, "kids") {
			kid(inLoop)
		}
	case "opt":
		kid(inLoop)
	case "star", "plus":
		// What repeats begins with a word, so that a round always reads something.
		p.kids = []*plain{{kind: "seq", kids: []*plain{
			{kind: "word", text: rapid.SampledFrom(plainWords).Draw(t, "word")},
			drawPlain(t, depth-1, refs, true)}}}
	case "slot":
		p.text = rapid.SampledFrom([]string{"s", "t"}).Draw(t, "slot")
		kid(inLoop)
	case "const":
		p.text = rapid.SampledFrom([]string{"c=1", "d=two"}).Draw(t, "value")
		kid(inLoop)
	case "ref":
		p.text = rapid.SampledFrom(refs).Draw(t, "ref")
	}
	return p
}

// drawGrammar draws rules r0, r1, r2; r0 is public.
func drawGrammar(t *rapid.T) (map[string]*plain, string) {
	rules := map[string]*plain{}
	src := "#JSGF V1.0;\ngrammar random;\n"
	for i := range 3 {
		var later []string
		for j := i + 1; j < 3; j++ {
			later = append(later, fmt.Sprintf("r%d", j))
		}
		name := fmt.Sprintf("r%d", i)
		p := drawPlain(t, 3, later, false)
		if rapid.IntRange(0, 3).Draw(t, "recursive") == 0 {
			again := &plain{kind: "seq", kids: []*plain{{kind: "word", text: "delta"}, {kind: "ref", text: name}}}
			p = &plain{kind: "seq", kids: []*plain{p, {kind: "opt", kids: []*plain{again}}}}
		}
		rules[name] = p
		if i == 0 {
			src += "public "
		}
		src += fmt.Sprintf("<%s> = %s;\n", name, p.jsgf())
	}
	return rules, src
}

// drawSentence draws words that have a fair chance to be of the language: a
// walk through the tree, then perhaps a slip.
func drawSentence(t *rapid.T, rules map[string]*plain) []string {
	var words []string
	var walk func(p *plain, depth int)
	walk = func(p *plain, depth int) {
		if depth > 12 || len(words) > 8 {
			return
		}
		switch p.kind {
		case "word":
			words = append(words, p.text)
		case "alt":
			walk(p.kids[rapid.IntRange(0, len(p.kids)-1).Draw(t, "way")], depth+1)
		case "opt":
			if rapid.Bool().Draw(t, "taken") {
				walk(p.kids[0], depth+1)
			}
		case "star", "plus":
			for n := rapid.IntRange(0, 2).Draw(t, "rounds"); n >= 0; n-- {
				if n > 0 || p.kind == "plus" {
					walk(p.kids[0], depth+1)
				}
			}
		case "ref":
			walk(rules[p.text], depth+1)
		default:
			for _, k := range p.kids {
				walk(k, depth+1)
			}
		}
	}
	walk(rules["r0"], 0)
	switch i := rapid.IntRange(0, 5).Draw(t, "slip"); {
	case i == 0 && len(words) > 0:
		words[rapid.IntRange(0, len(words)-1).Draw(t, "place")] = rapid.SampledFrom(plainWords).Draw(t, "word")
	case i == 1:
		words = append(words, rapid.SampledFrom(plainWords).Draw(t, "word"))
	case i == 2 && len(words) > 0:
		words = words[:len(words)-1]
	}
	return words
}

// drawText writes words the ways the automaton allows.
func drawText(t *rapid.T, words []string) string {
	var b strings.Builder
	b.WriteString(rapid.SampledFrom([]string{"", " "}).Draw(t, "lead"))
	for i, w := range words {
		if i > 0 {
			b.WriteString(rapid.SampledFrom([]string{" ", "-", ", ", ". "}).Draw(t, "gap"))
		}
		w = rapid.SampledFrom(append([]string{w}, written[w]...)).Draw(t, "written")
		if rapid.Bool().Draw(t, "capital") && w[0] < 0x80 {
			w = strings.ToUpper(w[:1]) + w[1:]
		}
		b.WriteString(w)
	}
	b.WriteString(rapid.SampledFrom([]string{"", ".", "?", "!"}).Draw(t, "end"))
	return b.String()
}

func TestTheAutomatonAgreesWithAPlainRecogniser(t *testing.T) {
	accepted := 0
	rapid.Check(t, func(t *rapid.T) {
		rules, src := drawGrammar(t)
		g, err := ParseGrammar("random.jsgf", []byte(src), nil)
		require.NoError(t, err, src)
		a, err := g.Compile()
		require.NoError(t, err, src)
		for range 8 {
			words := drawSentence(t, rules)
			r := &plainRecogniser{rules: rules}
			want, ok := r.readings("r0", words)
			if !ok || len(want) > 20 {
				continue
			}
			text := drawText(t, words)
			if len(words) == 0 {
				want = nil // silence is never a sentence
			} else if len(want) > 0 {
				accepted++
			}
			at := a.Start()
			for i := 0; i < len(text); i++ {
				at = a.Step(at, text[i])
			}
			require.Equal(t, len(want) > 0, a.Accepts(at), "%q in\n%s", text, src)
			var got []string
			for _, reading := range a.Parse(text) {
				s := ""
				for _, slot := range reading.Slots {
					s += slot.Name + "=" + slot.Value + ";"
				}
				got = append(got, s)
			}
			slices.Sort(got)
			require.Equal(t, want, got, "%q in\n%s", text, src)
		}
	})
	require.Greater(t, accepted, 50, "too few drawn sentences are of their language to prove anything")
}

func TestEveryPrefixOfASentenceIsAliveAndNoOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rules, src := drawGrammar(t)
		g, err := ParseGrammar("random.jsgf", []byte(src), nil)
		require.NoError(t, err)
		a, err := g.Compile()
		require.NoError(t, err)
		text := drawText(t, drawSentence(t, rules))
		at := a.Start()
		for i := 0; i < len(text); i++ {
			if at = a.Step(at, text[i]); at < 0 {
				require.Equal(t, int32(-1), a.Step(at, 'x'), "nothing follows a dead end")
				return
			}
			if a.Extends(at) {
				continue
			}
			require.True(t, a.Accepts(at), "%q can neither end nor go on in\n%s", text[:i+1], src)
		}
	})
}
