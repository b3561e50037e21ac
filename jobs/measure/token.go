package measure

import (
	"fmt"
	"strings"
	"unicode"
)

// token is one piece of a printed or spoken figure.
type token struct {
	text   string // lower case, normalised
	number bool   // digits with at most one decimal mark
	spaced bool   // white space stood before it
}

// maxText bounds a figure with its unit. Nobody says or prints a longer one, and
// the parsers try many splits.
const maxText = 200

func checkLength(text string) error {
	if len(text) > maxText {
		return fmt.Errorf("read a figure of %d bytes: longer than %d, that is no figure", len(text), maxText)
	}
	return nil
}

// joiners are marks inside a compound unit that carry no meaning of their own.
const joiners = "·⋅∙•*_."

var sameSign = strings.NewReplacer(
	"+/-", "±", "+-", "±", "–", "-", "—", "-", "−", "-", "‑", "-",
	"μ", "µ", "º", "°", "˚", "°", "²", "2", "³", "3",
	"¼", " 1/4", "½", " 1/2", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"⁄", "/", "’", "′", "'", "′", "″", "″", "”", "″", "“", "″", `"`, "″", "…", "..",
)

// tokens cuts text into words, numbers and marks. Case is dropped; marks inside
// compound units and hyphens between letters are word breaks.
func tokens(text string) []token {
	rs := []rune(sameSign.Replace(strings.ToLower(text)))
	at := func(i int) rune {
		if i < 0 || i >= len(rs) {
			return ' '
		}
		return rs[i]
	}
	var out []token
	spaced := false
	add := func(s string, number bool) {
		out = append(out, token{s, number, spaced})
		spaced = false
	}
	for i := 0; i < len(rs); {
		r := rs[i]
		switch {
		case unicode.IsSpace(r):
			spaced = true
			i++
		case isDigit(r) || (r == '.' && isDigit(at(i+1)) && !isDigit(at(i-1))):
			j, mark := i, false
			for isDigit(at(j)) || (at(j) == '.' && isDigit(at(j+1)) && !mark) ||
				(at(j) == ',' && isDigit(at(j+1))) {
				mark = mark || at(j) == '.'
				j++
			}
			add(string(rs[i:j]), true)
			i = j
		case r == '°':
			i++
			if c := at(i); (c == 'c' || c == 'f') && !unicode.IsLetter(at(i+1)) {
				add("°"+string(c), false)
				i++
			} else {
				add("°", false)
			}
		case unicode.IsLetter(r) || r == '′' || r == '″':
			j := i + 1
			if unicode.IsLetter(r) {
				for unicode.IsLetter(at(j)) || isDigit(at(j)) {
					j++
				}
			}
			add(string(rs[i:j]), false)
			i = j
		case r == '.' && at(i+1) == '.':
			for at(i) == '.' {
				i++
			}
			add("..", false)
		case strings.ContainsRune(joiners, r):
			i++
		case (r == '-' || r == '/') && !isDigit(at(i-1)) && unicode.IsLetter(at(i+1)):
			i++ // "ft-lbs", "ft/lbs", "twenty-five"
		case r == '/' && !isDigit(at(i+1)):
			i++
		case r == '-' && unicode.IsLetter(at(i+1)):
			i++ // "1-in"
		default:
			add(string(r), false)
			i++
		}
	}
	return out
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// key joins tokens to the form the unit table is looked up by.
func key(ts []token) string {
	var b strings.Builder
	for i, t := range ts {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(t.text)
	}
	return b.String()
}

func unitKey(text string) string { return key(tokens(text)) }
