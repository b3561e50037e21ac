package intent

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// importDecl is one import: a rule of another grammar, or "*" for all its
// public rules.
type importDecl struct {
	pos     Pos
	grammar string
	rule    string
	from    *Grammar // after resolving
}

// library holds the grammars that belong together, each read once.
type library struct {
	fsys   fs.FS
	byName map[string]*Grammar
	all    []*Grammar
}

func (l *library) parse(file string, src []byte) (*Grammar, error) {
	g, err := parseSource(file, src)
	if err != nil {
		return nil, err
	}
	l.add(g)
	return g, nil
}

func (l *library) add(g *Grammar) {
	g.library = l
	if _, twice := l.byName[g.Name]; !twice {
		l.byName[g.Name] = g
	}
	l.all = append(l.all, g)
}

// load finds the grammar of that full name among those read, then beside the
// first one.
func (l *library) load(name string, at Pos) (*Grammar, error) {
	if g := l.byName[name]; g != nil {
		return g, nil
	}
	if len(l.all) > maxImports {
		return nil, &SyntaxError{at, fmt.Sprintf("more than %d grammars import each other", maxImports)}
	}
	simple := name[strings.LastIndexByte(name, '.')+1:]
	var tried []string
	for _, ext := range []string{".jsgf", ".gram"} {
		for _, file := range []string{name + ext, simple + ext, strings.ReplaceAll(name, ".", "/") + ext} {
			if !fs.ValidPath(file) || l.fsys == nil {
				continue
			}
			src, err := fs.ReadFile(l.fsys, file)
			if errors.Is(err, fs.ErrNotExist) {
				tried = append(tried, file)
				continue
			}
			if err != nil {
				return nil, &SyntaxError{at, fmt.Sprintf("read the imported grammar %s: %v", name, err)}
			}
			g, err := l.parse(file, src)
			if err != nil {
				return nil, err
			}
			if g.Name != name {
				return nil, &SyntaxError{at, fmt.Sprintf("the file %s holds the grammar %s, not %s; correct the import or the name", file, g.Name, name)}
			}
			return g, nil
		}
	}
	if l.fsys == nil {
		return nil, &SyntaxError{at, "the grammar " + name + " is not known here, and this grammar has no folder to look in"}
	}
	return nil, &SyntaxError{at, "the grammar " + name + " was not found; looked for " + strings.Join(dedup(tried), ", ") + " beside this file"}
}

func dedup(list []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, s := range list {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// resolve follows every import and reference of every grammar, also of those
// that it reads on the way.
func (l *library) resolve() error {
	for i := 0; i < len(l.all); i++ {
		g := l.all[i]
		for j := range g.imports {
			if err := g.resolveImport(&g.imports[j]); err != nil {
				return err
			}
		}
		for _, r := range g.rules {
			if r.body != nil {
				if err := g.resolveRefs(r.body); err != nil {
					return err
				}
			}
		}
	}
	free := freeRules(l.all)
	for _, g := range l.all {
		for _, r := range g.rules {
			if r.body != nil {
				if err := free.last(r.body); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (g *Grammar) resolveImport(d *importDecl) error {
	from, err := g.library.load(d.grammar, d.pos)
	if err != nil {
		return err
	}
	d.from = from
	if d.rule == "*" {
		return nil
	}
	r := from.byName[d.rule]
	if r == nil {
		return &SyntaxError{d.pos, "the grammar " + d.grammar + " has no rule <" + d.rule + ">"}
	}
	if !r.Public {
		return &SyntaxError{d.pos, "the rule <" + d.rule + "> of " + d.grammar + " is not public; declare it public there"}
	}
	return nil
}

func (g *Grammar) resolveRefs(e *expansion) error {
	if e.op == opRef {
		r, err := g.lookup(e.word, e.pos)
		if err != nil {
			return err
		}
		if r == nil || r.body != nil && e.word == dictationRule && (r.body.op == opNull || r.body.op == opVoid) {
			e.op = opDictate
			return nil
		}
		e.rule = r
	}
	for _, k := range e.kids {
		if err := g.resolveRefs(k); err != nil {
			return err
		}
	}
	return nil
}

// dictationRule is the name of the rule for free speech.
const dictationRule = "dictation"

// lookup finds the rule a reference means; nil without error is free speech.
func (g *Grammar) lookup(name string, at Pos) (*Rule, error) {
	dot := strings.LastIndexByte(name, '.')
	if dot < 0 {
		if r := g.byName[name]; r != nil {
			return r, nil
		}
		var found *Rule
		for _, d := range g.imports {
			if d.from == nil || d.rule != "*" && d.rule != name {
				continue
			}
			r := d.from.byName[name]
			if r == nil || !r.Public || r == found {
				continue
			}
			if found != nil {
				return nil, &SyntaxError{at, fmt.Sprintf("<%s> is imported from %s and from %s; write which: <%s.%s>", name, found.grammar.Name, r.grammar.Name, r.grammar.Name, name)}
			}
			found = r
		}
		if found == nil && name != dictationRule {
			return nil, &SyntaxError{at, "the rule <" + name + "> is not defined here and not imported"}
		}
		return found, nil
	}
	of, simple := name[:dot], name[dot+1:]
	if of == g.Name || of == g.Name[strings.LastIndexByte(g.Name, '.')+1:] {
		if r := g.byName[simple]; r != nil {
			return r, nil
		}
		return nil, &SyntaxError{at, "this grammar has no rule <" + simple + ">"}
	}
	var from *Grammar
	for _, d := range g.imports {
		if d.grammar == of || strings.HasSuffix(d.grammar, "."+of) {
			from = d.from
		}
	}
	if from == nil {
		var err error
		if from, err = g.library.load(of, at); err != nil {
			return nil, err
		}
	}
	r := from.byName[simple]
	if r == nil {
		return nil, &SyntaxError{at, "the grammar " + of + " has no rule <" + simple + ">"}
	}
	if !r.Public {
		return nil, &SyntaxError{at, "the rule <" + simple + "> of " + of + " is not public; declare it public there"}
	}
	return r, nil
}

// freeEnds are the rules that end in free speech whichever way they are said.
type freeEnds map[*Rule]bool

func freeRules(all []*Grammar) freeEnds {
	free := freeEnds{}
	for changed := true; changed; {
		changed = false
		for _, g := range all {
			for _, r := range g.rules {
				if r.body != nil && !free[r] && free.ends(r.body) {
					free[r], changed = true, true
				}
			}
		}
	}
	return free
}

// last refuses words after free speech in one sequence: free speech goes on to
// the end of the utterance, so they could never be heard.
func (f freeEnds) last(e *expansion) error {
	if e.op == opSequence {
		free := false
		for _, k := range e.kids {
			if free && !emptyBody(k) {
				return &SyntaxError{k.pos, "nothing can follow <dictation>: free speech lasts to the end of the utterance"}
			}
			free = free || f.ends(k)
		}
	}
	for _, k := range e.kids {
		if err := f.last(k); err != nil {
			return err
		}
	}
	return nil
}

// ends reports whether every way through e ends in free speech.
func (f freeEnds) ends(e *expansion) bool {
	switch e.op {
	case opDictate:
		return true
	case opRef:
		return f[e.rule]
	case opTag, opPlus:
		return f.ends(e.kids[0])
	case opSequence:
		return f.ends(e.kids[len(e.kids)-1])
	case opChoice:
		for _, k := range e.kids {
			if !f.ends(k) {
				return false
			}
		}
		return true
	}
	return false
}

// emptyBody reports whether e matches nothing without following references.
func emptyBody(e *expansion) bool {
	switch e.op {
	case opNull, opOptional, opStar:
		return true
	case opTag, opPlus:
		return emptyBody(e.kids[0])
	case opSequence:
		for _, k := range e.kids {
			if !emptyBody(k) {
				return false
			}
		}
		return true
	case opChoice:
		for _, k := range e.kids {
			if emptyBody(k) {
				return true
			}
		}
	}
	return false
}
