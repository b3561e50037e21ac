package intent

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// kind is the kind of a lexical element of a JSGF file.
type kind uint8

const (
	kindEnd    kind = iota
	kindWord        // a bare token
	kindQuoted      // a token in quotes, escapes resolved
	kindRule        // <name>
	kindTag         // {text}, escapes resolved
	kindWeight      // /number/
	kindPunct       // one of ; = | * + ( ) [ ]
)

type lexeme struct {
	kind kind
	text string
	pos  Pos
	doc  string // documentation comment just before it
}

// scanner cuts a JSGF file into lexemes. It reads one ahead on demand, so that
// the parser can ask for a weight where only a weight may stand.
type scanner struct {
	src       string
	off       int
	line, col int
	file      string
}

func (s *scanner) pos() Pos { return Pos{File: s.file, Line: s.line, Column: s.col} }

func (s *scanner) fail(p Pos, msg string) error { return &SyntaxError{Pos: p, Msg: msg} }

func (s *scanner) peek() rune {
	if s.off >= len(s.src) {
		return -1
	}
	r, _ := utf8.DecodeRuneInString(s.src[s.off:])
	return r
}

func (s *scanner) take() rune {
	r, n := utf8.DecodeRuneInString(s.src[s.off:])
	s.off += n
	switch r {
	case '\n':
		s.line++
		s.col = 1
	default:
		s.col++
	}
	return r
}

func (s *scanner) starts(prefix string) bool { return strings.HasPrefix(s.src[s.off:], prefix) }

// space skips white space and comments and returns the last documentation
// comment it passed.
func (s *scanner) space() (doc string, err error) {
	for {
		switch {
		case s.off >= len(s.src):
			return doc, nil
		case unicode.IsSpace(s.peek()):
			s.take()
		case s.starts("//"):
			for s.off < len(s.src) && s.peek() != '\n' {
				s.take()
			}
		case s.starts("/*"):
			at, start := s.pos(), s.off
			for !s.starts("*/") {
				if s.off >= len(s.src) {
					return "", s.fail(at, "this comment never ends; close it with */")
				}
				s.take()
			}
			s.take()
			s.take()
			if text := s.src[start:s.off]; strings.HasPrefix(text, "/**") && len(text) > 4 {
				doc = docText(text)
			} else {
				doc = ""
			}
		default:
			return doc, nil
		}
	}
}

// docText strips the stars of a documentation comment.
func docText(comment string) string {
	var lines []string
	for _, l := range strings.Split(comment[3:len(comment)-2], "\n") {
		lines = append(lines, strings.TrimSpace(strings.TrimLeft(strings.TrimSpace(l), "*")))
	}
	return strings.TrimSpace(strings.Join(lines, "\n"))
}

// isTokenRune reports whether r may stand in a bare token.
func isTokenRune(r rune) bool {
	return !unicode.IsSpace(r) && !strings.ContainsRune(`;=|*+<>()[]{}"\`, r) && r != -1 && r != utf8.RuneError
}

// weightAhead reports whether a weight stands at the next place that is not
// space; the parser asks only where an alternative begins.
func (s *scanner) next(alternative bool) (lexeme, error) {
	doc, err := s.space()
	if err != nil {
		return lexeme{}, err
	}
	at := s.pos()
	lx := lexeme{pos: at, doc: doc}
	switch r := s.peek(); {
	case r == -1:
		lx.kind = kindEnd
		return lx, nil
	case r == '<':
		s.take()
		start := s.off
		for s.peek() != '>' {
			if r := s.peek(); r == -1 || r == '\n' || r == '<' || r == ';' && strings.TrimSpace(s.src[start:s.off]) == "" {
				return lx, s.fail(at, "this rule name is not closed; write <name>")
			}
			s.take()
		}
		lx.kind, lx.text = kindRule, strings.TrimSpace(s.src[start:s.off])
		s.take()
		return lx, checkRuleName(lx.text, at)
	case r == '"':
		text, err := s.delimited('"', at, "this quoted token is not closed; end it with a quote")
		if err == nil && strings.TrimSpace(text) == "" {
			err = s.fail(at, "this quoted token is empty; for nothing write <NULL>")
		}
		lx.kind, lx.text = kindQuoted, text
		return lx, err
	case r == '{':
		text, err := s.delimited('}', at, "this tag is not closed; end it with }, or write \\} for a brace in the tag")
		lx.kind, lx.text = kindTag, text
		return lx, err
	case r == '/' && alternative:
		s.take()
		start := s.off
		for s.peek() != '/' {
			if r := s.peek(); r == -1 || r == '\n' {
				return lx, s.fail(at, "this weight is not closed; write it as /0.5/")
			}
			s.take()
		}
		lx.kind, lx.text = kindWeight, strings.TrimSpace(s.src[start:s.off])
		s.take()
		return lx, nil
	case strings.ContainsRune(";=|*+()[]", r):
		s.take()
		lx.kind, lx.text = kindPunct, string(r)
		return lx, nil
	case isTokenRune(r):
		start := s.off
		for isTokenRune(s.peek()) && !s.starts("//") && !s.starts("/*") {
			s.take()
		}
		lx.kind, lx.text = kindWord, s.src[start:s.off]
		return lx, nil
	default:
		return lx, s.fail(at, "unexpected "+quoteRune(r)+"; put it in quotes if it is to be spoken")
	}
}

// delimited reads up to the closing rune; a backslash takes the rune after it
// as it is.
func (s *scanner) delimited(end rune, at Pos, unclosed string) (string, error) {
	s.take()
	var b strings.Builder
	for {
		switch r := s.peek(); r {
		case -1:
			return "", s.fail(at, unclosed)
		case end:
			s.take()
			return b.String(), nil
		case '\\':
			s.take()
			if s.peek() == -1 {
				return "", s.fail(at, unclosed)
			}
			b.WriteRune(s.take())
		default:
			b.WriteRune(s.take())
		}
	}
}

func quoteRune(r rune) string {
	if r == utf8.RuneError {
		return "a byte that is not UTF-8"
	}
	return "'" + string(r) + "'"
}

// checkRuleName holds a rule name to section 2.1 of the note: letters, digits
// and a list of signs; dots part it from its grammar's name.
func checkRuleName(name string, at Pos) error {
	bad := func(msg string) error { return &SyntaxError{Pos: at, Msg: msg} }
	if name == "" {
		return bad("a rule name is empty; write <name>")
	}
	for _, part := range strings.Split(name, ".") {
		if part == "" {
			return bad("the rule name <" + name + "> has an empty part between its dots")
		}
	}
	for _, r := range name {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) && !strings.ContainsRune(`.$_+-:;,=|/\()[]@#%!^&~*`, r) {
			return bad("the rule name <" + name + "> may not contain " + quoteRune(r))
		}
	}
	return nil
}
