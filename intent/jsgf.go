package intent

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Grammar is one JSGF grammar (JSpeech Grammar Format, W3C Note of 5 June
// 2000) with everything it imports, ready to be compiled.
//
// Two conventions go beyond the note. A tag makes a slot: {name} takes the
// words its expansion matched, in the grammar's own spelling and lower case,
// and {name=value} takes the value. {=value} puts the value into the slot around
// it in place of the words it matched; {.name=} marks a place between slots and
// makes none. The rule <dictation>, unless the grammar
// defines it, is free speech up to the end of the utterance.
type Grammar struct {
	Name     string // full name, as declared
	Version  string // "V1.0" when the header says so
	Encoding string // "" when the header names none: UTF-8
	Locale   string // "" when the header names none
	File     string // the file it came from, for messages

	rules   []*Rule
	byName  map[string]*Rule
	imports []importDecl
	library *library
}

// Rule is one rule of a grammar.
type Rule struct {
	Name   string
	Public bool
	Doc    string // the documentation comment before it, or ""
	Pos    Pos

	body    *expansion
	grammar *Grammar
	native  func(*builder) fragment // built in Go instead of JSGF
}

// Pos is a place in a grammar file. Line and column count from 1, the column in
// characters.
type Pos struct {
	File         string
	Line, Column int
}

// String prints file:line:column.
func (p Pos) String() string { return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column) }

// SyntaxError is a fault in a grammar file. Its text begins with
// file:line:column and says the way out.
type SyntaxError struct {
	Pos Pos
	Msg string
}

func (e *SyntaxError) Error() string { return e.Pos.String() + ": " + e.Msg }

// The limits of a grammar, so that a hostile or damaged file fails with a
// message instead of exhausting memory.
const (
	maxGrammarBytes = 8 << 20
	maxNesting      = 200
	maxImports      = 64
	maxCallDepth    = 64 // of rules that refer to themselves other than at their end
)

// op is the kind of an expansion.
type op uint8

const (
	opWord     op = iota // word
	opRef                // a rule
	opNull               // <NULL>
	opVoid               // <VOID>
	opDictate            // <dictation>
	opSequence           // kids one after the other
	opChoice             // one of kids, weights beside them
	opOptional           // kids[0] or nothing
	opStar               // kids[0] any number of times
	opPlus               // kids[0] at least once
	opTag                // kids[0], then the tag
)

// expansion is one node of a rule's right-hand side.
type expansion struct {
	op      op
	pos     Pos
	word    string // opWord: the token; opRef: the name; opTag: the tag's text
	kids    []*expansion
	weights []float64 // opChoice: nil when none is given
	rule    *Rule     // opRef after resolving
}

// LoadGrammar reads a JSGF file. Imported grammars are looked for beside it.
// Faults come back as *SyntaxError with file, line and column.
func LoadGrammar(path string) (*Grammar, error) {
	src, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the grammar: %w", err)
	}
	return ParseGrammar(path, src, os.DirFS(filepath.Dir(path)))
}

// ParseGrammar reads a JSGF grammar from src. name is used in messages; imports
// are read from fsys, which may be nil when there are none. A grammar
// com.example.units is looked for as com.example.units.jsgf, units.jsgf and
// com/example/units.jsgf, then the same with .gram.
func ParseGrammar(name string, src []byte, fsys fs.FS) (*Grammar, error) {
	lib := &library{fsys: fsys, byName: map[string]*Grammar{}}
	g, err := lib.parse(name, src)
	if err != nil {
		return nil, err
	}
	if err := lib.resolve(); err != nil {
		return nil, err
	}
	return g, nil
}

// Public lists the names of the public rules in the order of the file. A
// reading's Rule is one of them.
func (g *Grammar) Public() []string {
	var names []string
	for _, r := range g.rules {
		if r.Public {
			names = append(names, r.Name)
		}
	}
	return names
}

// Rules lists the names of all rules of the grammar's own file in their order.
func (g *Grammar) Rules() []string {
	names := make([]string, len(g.rules))
	for i, r := range g.rules {
		names[i] = r.Name
	}
	return names
}
