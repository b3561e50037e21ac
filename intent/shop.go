package intent

import (
	"embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

//go:embed grammar/*.jsgf
var ownGrammars embed.FS

// Shop compiles what can be said at the bench with the names of the job at hand.
// Make it anew when the names change; it takes tens of milliseconds. The call word may come first ([Reading].Addressed).
//
// Each public rule is named after its intent; [FromReading] makes the intent.
func Shop(v Vocabulary) (*Automaton, error) {
	base, err := ownGrammar()
	if err != nil {
		return nil, err
	}
	a, err := base.with(v, false)
	if err != nil {
		return nil, fmt.Errorf("compile the grammar of the shop: %w", err)
	}
	a.meaning = meaningOf
	return a, nil
}

var ownOnce = sync.OnceValues(func() (map[string][]byte, error) {
	files := map[string][]byte{}
	for _, name := range []string{"spoken", "shop"} {
		src, err := ownGrammars.ReadFile("grammar/" + name + ".jsgf")
		if err != nil {
			return nil, fmt.Errorf("read the built-in grammar %s: %w", name, err)
		}
		files[name] = src
	}
	return files, nil
})

// shopSource is the parsed grammar and the vocabulary's place in it. It is
// parsed once; the vocabulary is put in for the time of one compilation.
type shopSource struct {
	g   *Grammar
	job *Grammar
	mu  sync.Mutex
}

var ownGrammar = sync.OnceValues(func() (*shopSource, error) {
	files, err := ownOnce()
	if err != nil {
		return nil, err
	}
	lib := &library{byName: map[string]*Grammar{}}
	job := jobGrammar()
	lib.add(job)
	if _, err := lib.parse("spoken.jsgf", files["spoken"]); err != nil {
		return nil, err
	}
	g, err := lib.parse("shop.jsgf", files["shop"])
	if err != nil {
		return nil, err
	}
	if err := lib.resolve(); err != nil {
		return nil, err
	}
	return &shopSource{g: g, job: job}, nil
})

// jobRules are the rules that the job at hand fills.
var jobRules = []string{"group", "part", "step", "place", "fluid", "sealant", "limit", "wrench", "suspect", "word", "callWord", "stepIs", "deed"}

func jobGrammar() *Grammar {
	g := &Grammar{Name: "job", File: "the job's names", byName: map[string]*Rule{}}
	for _, n := range jobRules {
		r := &Rule{Name: n, Public: true, grammar: g, Pos: Pos{File: g.File, Line: 1, Column: 1}}
		g.rules = append(g.rules, r)
		g.byName[n] = r
	}
	return g
}

// with makes the automaton of what can be said, or of [Loose], with the job's names.
func (s *shopSource) with(v Vocabulary, loose bool) (*Automaton, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	call := v.CallWord
	if strings.TrimSpace(call) == "" {
		call = "toolbox"
	}
	for name, names := range map[string][]string{
		"group": v.Groups, "part": v.Parts, "step": v.Steps, "place": v.Places, "fluid": v.Fluids, "sealant": v.Sealants,
		"limit": v.Limits, "wrench": v.Wrenches, "suspect": v.Suspects,
	} {
		s.job.byName[name].native = namesRule(names, true)
	}
	s.job.byName["word"].native = namesRule(v.Words, false)
	s.job.byName["stepIs"].native = stateRule(v.Steps)
	s.job.byName["deed"].native = deedsRule(v.Deeds)
	calls := []string{call, "hey " + call, "okay " + call}
	s.job.byName["callWord"].native = namesRule(calls, false)
	var public []*Rule
	for _, r := range s.g.rules {
		if r.Public {
			public = append(public, r)
		}
	}
	if loose {
		return compile([]*Rule{s.g.byName["loose"]}, s.job.byName["callWord"], nil, nil)
	}
	return compile(public, s.job.byName["callWord"], s.g.byName["opener"], s.g.byName["closer"])
}

// phrase is one way to say a name, with what it costs against the full name.
type phrase struct {
	words []string
	cost  float64
	last  string // what the last word stands for when it is said in the other number; else ""
}

// A part of a name is less likely meant than a whole name of the same words.
const (
	partCost  = 0.7 // for leaving out anything
	wordCost  = 0.3 // for each word left out
	orderCost = 0.5 // for turning the words round
)

// maxNameWords bounds what is offered in parts: a longer name is said whole.
const maxNameWords = 8

// phrases gives the ways to say a name: whole, with its last word first ("short
// front cover"), and in parts that single something out.
func phrases(name string, parts bool) []phrase {
	words := nameWords(name)
	if len(words) == 0 {
		return nil
	}
	list := []phrase{{words: words}}
	if !parts || len(words) > maxNameWords {
		return list
	}
	n := len(words)
	if n > 2 {
		turned := append([]string{words[n-1]}, words[:n-1]...)
		list = append(list, phrase{words: turned, cost: orderCost})
	}
	for size := n - 1; size > 0; size-- {
		for from := 0; from+size <= n; from++ {
			part := words[from : from+size]
			if slices.ContainsFunc(part, distinctive) {
				list = append(list, phrase{words: part, cost: partCost + wordCost*float64(n-size)})
			}
		}
	}
	return list
}

// nameWords parts a name into words as the grammar spells them.
func nameWords(name string) []string {
	clean := strings.Map(func(r rune) rune {
		switch r {
		case ',', ';', ':', '(', ')', '"', '!', '?', '{', '}', '[', ']', '<', '>', '|', '\n', '\r', '\t', '_':
			return ' '
		}
		return r
	}, strings.ToLower(name))
	var words []string
	for _, w := range strings.Fields(clean) {
		if w = strings.Trim(w, ".-'/"); w != "" {
			words = append(words, w)
		}
	}
	return words
}

// commonWords single nothing out by themselves.
var commonWords = func() map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(`the a an of to and or for in on at off out up down with by from number no
		short long front rear back upper lower left right top bottom inner outer small big large little side middle centre center new old main
		bolt bolts nut nuts screw screws stud studs washer washers clip clips fasteners set pair one two three four five six seven eight nine ten
		first second third last hand all each part parts step cup tray bag box drawer shelf yes no next done stop fit remove take put`) {
		m[w] = true
	}
	return m
}()

func distinctive(word string) bool {
	return !commonWords[word] && len(word) > 1 && strings.IndexFunc(word, func(r rune) bool { return r < '0' || r > '9' }) >= 0
}

// namesRule is a rule of names, as a trie over words so that common beginnings
// are followed once.
func namesRule(names []string, parts bool) func(*builder) fragment {
	return func(b *builder) fragment {
		f := fragment{b.node(), b.node()}
		t := wordTrie{b: b, out: f.out, kids: map[trieStep]int32{}, best: map[int32]float64{}}
		for _, name := range names {
			for _, p := range phrases(name, parts) {
				t.add(f.in, p)
			}
		}
		if parts { // after all names, so that a name of its own comes first
			for _, name := range names {
				for _, p := range phrases(name, parts) {
					t.add(f.in, otherNumber(p))
				}
			}
		}
		t.finish()
		return f
	}
}

// stateRule is a rule of the steps said as what then is so: "the sea cock's
// shut" for the step "sea cock shut".
func stateRule(steps []string) func(*builder) fragment {
	return func(b *builder) fragment {
		f := fragment{b.node(), b.node()}
		mute, unmute := b.sym(symbol{kind: symMute}), b.sym(symbol{kind: symUnmute})
		heads, kids := map[string]int32{}, map[trieStep]int32{}
		for _, name := range steps {
			words := nameWords(name)
			n := len(words) - 1
			if n < 1 || n > maxNameWords || words[n] == "is" {
				continue
			}
			head := strings.Join(words[:n], " ")
			at, ok := heads[head]
			if !ok {
				at = f.in
				for _, w := range words[:n] {
					step := trieStep{at, w}
					if kids[step] == 0 {
						kids[step] = b.node()
						b.spoken(w, at, kids[step])
					}
					at = kids[step]
				}
				before, after, last := b.node(), b.node(), b.node()
				b.link(at, before, mute, 0)
				for _, is := range []string{"is", "'s", "are"} {
					b.spoken(is, before, after)
				}
				b.link(after, last, unmute, 0)
				at = last
				heads[head] = at
			}
			if step := (trieStep{at, words[n]}); kids[step] == 0 {
				kids[step] = f.out
				b.spoken(words[n], at, f.out)
			}
		}
		return f
	}
}

// numberCost is for saying one where the name has many, or many for one.
const numberCost = 0.4

// otherNumber is the phrase with its last word in the plural, or in the
// singular where it stands in the plural.
func otherNumber(p phrase) phrase {
	last := p.words[len(p.words)-1]
	switch {
	case len(last) < 3 || strings.HasSuffix(last, "ss") || strings.IndexFunc(last, func(r rune) bool { return r < 'a' || r > 'z' }) >= 0:
		return p
	case strings.HasSuffix(last, "s"):
		last = strings.TrimSuffix(last, "s")
	default:
		last += "s"
	}
	words := append(slices.Clone(p.words[:len(p.words)-1]), last)
	return phrase{words, p.cost + numberCost, p.words[len(p.words)-1]}
}

type trieStep struct {
	from int32
	word string
}

type wordTrie struct {
	b    *builder
	out  int32
	kids map[trieStep]int32
	ends []int32
	best map[int32]float64 // of the ends
}

func (t *wordTrie) add(at int32, p phrase) {
	before := int32(-1)
	for i, w := range p.words {
		step := trieStep{at, w}
		next, ok := t.kids[step]
		if !ok {
			next = t.b.node()
			t.kids[step] = next
			if p.last != "" && i == len(p.words)-1 {
				t.b.spokenFor(w, p.last, at, next)
			} else {
				t.b.spoken(w, at, next)
			}
			if before >= 0 {
				t.b.joined(p.words[i-1], w, before, next)
			}
		}
		before, at = at, next
	}
	old, ok := t.best[at]
	if !ok {
		t.ends = append(t.ends, at)
		old = math.Inf(1)
	}
	t.best[at] = min(old, p.cost)
}

func (t *wordTrie) finish() {
	for _, at := range t.ends {
		t.b.link(at, t.out, noSym, t.best[at])
	}
}
