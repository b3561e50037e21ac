package intent

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// parser reads one grammar file by recursive descent.
type parser struct {
	*scanner
	tok   lexeme
	err   error
	depth int
	g     *Grammar
}

// parseSource reads the text of one grammar; imports and references are
// resolved afterwards.
func parseSource(file string, src []byte) (*Grammar, error) {
	start := Pos{File: file, Line: 1, Column: 1}
	if len(src) > maxGrammarBytes {
		return nil, &SyntaxError{start, fmt.Sprintf("the grammar is %d bytes long; at most %d are read, split it by imports", len(src), maxGrammarBytes)}
	}
	g := &Grammar{File: file, byName: map[string]*Rule{}}
	text := strings.TrimPrefix(string(src), "\ufeff")
	rest, err := g.header(text, start)
	if err != nil {
		return nil, err
	}
	body := text[rest:]
	if strings.EqualFold(g.Encoding, "iso-8859-1") || strings.EqualFold(g.Encoding, "iso8859-1") || strings.EqualFold(g.Encoding, "latin1") {
		body = latin1(body)
	}
	line := 1 + strings.Count(text[:rest], "\n")
	col := 1 + utf8.RuneCountInString(text[strings.LastIndexByte(text[:rest], '\n')+1:rest])
	p := &parser{scanner: &scanner{src: body, line: line, col: col, file: file}, g: g}
	if at := firstInvalid(body); at >= 0 {
		for p.off < at {
			p.take()
		}
		return nil, p.fail(p.pos(), "a byte here is not UTF-8; save the file as UTF-8 or name its encoding in the header")
	}
	p.grammar()
	if p.err != nil {
		return nil, p.err
	}
	return g, nil
}

func firstInvalid(s string) int {
	for i, r := range s {
		if r == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(s[i:]); n == 1 {
				return i
			}
		}
	}
	return -1
}

func latin1(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		b.WriteRune(rune(s[i]))
	}
	return b.String()
}

// header reads the self-identifying line "#JSGF V1.0 encoding locale;" and
// returns the offset after its semicolon.
func (g *Grammar) header(text string, start Pos) (int, error) {
	const form = "a JSGF file begins with \"#JSGF V1.0;\" as its very first characters"
	if !strings.HasPrefix(text, "#JSGF") {
		return 0, &SyntaxError{start, form}
	}
	end := strings.IndexAny(text, ";\n")
	if end < 0 || text[end] != ';' {
		return 0, &SyntaxError{start, "the header line lacks its semicolon; " + form}
	}
	f := strings.Fields(text[len("#JSGF"):end])
	if len(f) == 0 || len(f) > 3 || !strings.HasPrefix(text[len("#JSGF"):], " ") && !strings.HasPrefix(text[len("#JSGF"):], "\t") {
		return 0, &SyntaxError{start, "the header reads #JSGF version encoding locale; the last two may be left out"}
	}
	g.Version = f[0]
	if !strings.EqualFold(g.Version, "V1.0") {
		return 0, &SyntaxError{start, "the grammar is of version " + g.Version + "; only V1.0 exists, write #JSGF V1.0;"}
	}
	if len(f) > 1 {
		g.Encoding = f[1]
		switch strings.ToLower(g.Encoding) {
		case "utf-8", "utf8", "us-ascii", "ascii", "iso-8859-1", "iso8859-1", "latin1":
		default:
			return 0, &SyntaxError{start, "the encoding " + g.Encoding + " is not read; save the file as UTF-8 and say so in the header"}
		}
	}
	if len(f) > 2 {
		g.Locale = f[2]
	}
	return end + 1, nil
}

// advance moves to the next lexeme; alternative is true where a weight may stand.
func (p *parser) advance(alternative bool) {
	if p.err != nil {
		p.tok = lexeme{kind: kindEnd, pos: p.tok.pos}
		return
	}
	lx, err := p.next(alternative)
	if err != nil {
		p.err = err
		lx = lexeme{kind: kindEnd, pos: lx.pos}
	}
	p.tok = lx
}

func (p *parser) failf(at Pos, format string, args ...any) {
	if p.err == nil {
		p.err = &SyntaxError{Pos: at, Msg: fmt.Sprintf(format, args...)}
	}
	p.tok = lexeme{kind: kindEnd, pos: at}
}

func (p *parser) is(punct string) bool { return p.tok.kind == kindPunct && p.tok.text == punct }

func (p *parser) expect(punct, after string) {
	if !p.is(punct) {
		p.failf(p.tok.pos, "expected '%s' %s, found %s", punct, after, p.tok)
	}
}

// String describes a lexeme in a message.
func (l lexeme) String() string {
	switch l.kind {
	case kindEnd:
		return "the end of the file"
	case kindRule:
		return "<" + l.text + ">"
	case kindTag:
		return "the tag {" + l.text + "}"
	case kindWeight:
		return "the weight /" + l.text + "/"
	case kindQuoted:
		return strconv.Quote(l.text)
	}
	return "'" + l.text + "'"
}

// grammar reads the name declaration, the imports and the rules.
func (p *parser) grammar() {
	p.advance(false)
	if p.tok.kind != kindWord || p.tok.text != "grammar" {
		p.failf(p.tok.pos, "after the header comes \"grammar NAME;\", found %s", p.tok)
		return
	}
	p.advance(false)
	if p.tok.kind != kindWord {
		p.failf(p.tok.pos, "the grammar has no name; write \"grammar NAME;\"")
		return
	}
	if err := checkRuleName(p.tok.text, p.tok.pos); err != nil {
		p.failf(p.tok.pos, "%q cannot name a grammar; use letters and digits, parts joined by dots", p.tok.text)
		return
	}
	p.g.Name = p.tok.text
	p.advance(false)
	p.expect(";", "after the grammar's name")
	for p.err == nil {
		p.advance(false)
		switch {
		case p.tok.kind == kindEnd:
			if p.err == nil && len(p.g.rules) == 0 {
				p.failf(p.tok.pos, "the grammar has no rules; write public <name> = ...;")
			}
			return
		case p.tok.kind == kindWord && p.tok.text == "import":
			if len(p.g.rules) > 0 {
				p.failf(p.tok.pos, "imports stand before the first rule")
				return
			}
			p.importDecl()
		default:
			p.ruleDecl()
		}
	}
}

func (p *parser) importDecl() {
	p.advance(false)
	if p.tok.kind != kindRule || !strings.Contains(p.tok.text, ".") {
		p.failf(p.tok.pos, "import takes <grammar.rule> or <grammar.*>, found %s", p.tok)
		return
	}
	dot := strings.LastIndexByte(p.tok.text, '.')
	p.g.imports = append(p.g.imports, importDecl{pos: p.tok.pos, grammar: p.tok.text[:dot], rule: p.tok.text[dot+1:]})
	if len(p.g.imports) > maxImports {
		p.failf(p.tok.pos, "more than %d imports", maxImports)
		return
	}
	p.advance(false)
	p.expect(";", "after the import")
}

func (p *parser) ruleDecl() {
	r := &Rule{Pos: p.tok.pos, Doc: p.tok.doc, grammar: p.g}
	if p.tok.kind == kindWord && p.tok.text == "public" {
		r.Public = true
		p.advance(false)
	}
	if p.tok.kind != kindRule {
		p.failf(p.tok.pos, "a rule begins with [public] <name> =, found %s", p.tok)
		return
	}
	r.Name = p.tok.text
	switch {
	case r.Name == "NULL" || r.Name == "VOID":
		p.failf(p.tok.pos, "<%s> is defined by the format; give the rule another name", r.Name)
		return
	case strings.HasSuffix(r.Name, "*"):
		p.failf(p.tok.pos, "<%s> cannot name a rule; the star is for imports", r.Name)
		return
	case strings.Contains(r.Name, "."):
		p.failf(p.tok.pos, "define the rule by its own name, without its grammar's: <%s>", r.Name[strings.LastIndexByte(r.Name, '.')+1:])
		return
	}
	if old := p.g.byName[r.Name]; old != nil {
		p.failf(p.tok.pos, "<%s> is already defined at line %d", r.Name, old.Pos.Line)
		return
	}
	p.advance(false)
	p.expect("=", "after <"+r.Name+">")
	r.body = p.choice(true)
	if p.err != nil {
		return
	}
	p.expect(";", "at the end of <"+r.Name+">")
	p.g.rules = append(p.g.rules, r)
	p.g.byName[r.Name] = r
}

// choice reads alternatives. The current lexeme is the one before them; on
// return it is the one after.
func (p *parser) choice(alternative bool) *expansion {
	p.depth++
	defer func() { p.depth-- }()
	if p.depth > maxNesting {
		p.failf(p.tok.pos, "groups are nested more than %d deep; name the inner ones as rules", maxNesting)
		return nil
	}
	c := &expansion{op: opChoice}
	weighted := 0
	for p.err == nil {
		p.advance(alternative)
		if c.pos.Line == 0 {
			c.pos = p.tok.pos
		}
		w, at := 1.0, p.tok.pos
		if p.tok.kind == kindWeight {
			w = p.weight()
			weighted++
			p.advance(false)
		}
		seq := p.sequence()
		if p.err != nil {
			return nil
		}
		c.kids, c.weights = append(c.kids, seq), append(c.weights, w)
		if weighted != 0 && weighted != len(c.kids) {
			p.failf(at, "either every alternative has a weight or none has")
			return nil
		}
		if !p.is("|") {
			break
		}
	}
	if p.err != nil {
		return nil
	}
	if weighted == 0 {
		if len(c.kids) == 1 {
			return c.kids[0]
		}
		c.weights = nil
	} else {
		sum := 0.0
		for _, w := range c.weights {
			sum += w
		}
		if sum == 0 {
			p.failf(c.pos, "at least one alternative needs a weight above zero")
			return nil
		}
	}
	return c
}

// weight reads a non-negative number, with the Java suffixes f and d that the
// note shows.
func (p *parser) weight() float64 {
	w, err := strconv.ParseFloat(strings.TrimRight(p.tok.text, "fFdD"), 64)
	if err != nil || w < 0 || math.IsInf(w, 0) || math.IsNaN(w) {
		p.failf(p.tok.pos, "a weight is a number from 0 up, like /0.5/, not /%s/", p.tok.text)
		return 0
	}
	return w
}

// sequence reads expansions up to | ; ) or ]. The current lexeme is its first.
func (p *parser) sequence() *expansion {
	seq := &expansion{op: opSequence, pos: p.tok.pos}
	for p.err == nil {
		var e *expansion
		at := p.tok.pos
		switch {
		case p.tok.kind == kindWord, p.tok.kind == kindQuoted:
			e = &expansion{op: opWord, pos: at, word: p.tok.text}
			p.advance(false)
		case p.tok.kind == kindRule:
			switch p.tok.text {
			case "NULL":
				e = &expansion{op: opNull, pos: at}
			case "VOID":
				e = &expansion{op: opVoid, pos: at}
			default:
				if strings.HasSuffix(p.tok.text, "*") {
					p.failf(at, "<%s> stands for all rules of a grammar only in an import", p.tok.text)
					return nil
				}
				e = &expansion{op: opRef, pos: at, word: p.tok.text}
			}
			p.advance(false)
		case p.is("("):
			e = p.choice(true)
			if p.err != nil {
				return nil
			}
			p.expect(")", "to close the group opened at line "+strconv.Itoa(at.Line)+", column "+strconv.Itoa(at.Column))
			p.advance(false)
		case p.is("["):
			inner := p.choice(true)
			if p.err != nil {
				return nil
			}
			p.expect("]", "to close the optional group opened at line "+strconv.Itoa(at.Line)+", column "+strconv.Itoa(at.Column))
			e = &expansion{op: opOptional, pos: at, kids: []*expansion{inner}}
			p.advance(false)
		default:
			if len(seq.kids) == 0 {
				p.failf(at, "something to say is missing before %s; for nothing write <NULL>", p.tok)
				return nil
			}
			if len(seq.kids) == 1 {
				return seq.kids[0]
			}
			return seq
		}
		seq.kids = append(seq.kids, p.suffix(e))
	}
	return nil
}

// suffix reads the unary operators after e: one * or +, then any number of tags.
func (p *parser) suffix(e *expansion) *expansion {
	tagged, repeated := false, false
	for p.err == nil {
		switch {
		case p.is("*"), p.is("+"):
			if repeated || tagged {
				p.failf(p.tok.pos, "'%s' must follow what it repeats; put that in parentheses", p.tok.text)
				return nil
			}
			repeated = true
			o := opStar
			if p.is("+") {
				o = opPlus
			}
			e = &expansion{op: o, pos: p.tok.pos, kids: []*expansion{e}}
		case p.tok.kind == kindTag:
			tagged = true
			if strings.TrimSpace(p.tok.text) != "" {
				e = &expansion{op: opTag, pos: p.tok.pos, word: p.tok.text, kids: []*expansion{e}}
			}
		default:
			return e
		}
		p.advance(false)
	}
	return nil
}
