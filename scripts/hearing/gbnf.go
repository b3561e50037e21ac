package main

import (
	"fmt"
	"strings"
	"unicode"
)

// inDigits are the number words that whisper.cpp may also write in digits.
var inDigits = map[string]string{"two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
	"ten": "10", "eleven": "11", "twelve": "12", "sixteen": "16", "twenty": "20"}

// gbnf writes the grammar in whisper.cpp's own form. Each word may begin with
// either case, follow a space, a comma or a hyphen, and a number may be written
// in digits; the sentence may end in a stop or a question mark. Without that
// freedom the peer would be held to spellings the model does not use.
func (g *orders) gbnf() string {
	var b strings.Builder
	fmt.Fprintf(&b, "root ::= %s [.?!]?\n", ruleName(g.root))
	for _, n := range g.names {
		fmt.Fprintf(&b, "%s ::= %s\n", ruleName(n), g.gbnfOf(g.rules[n]))
	}
	b.WriteString("gap ::= [,]? \" \" | \"-\"\n")
	return b.String()
}

func ruleName(jsgf string) string {
	return "r-" + strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, jsgf)
}

func (g *orders) gbnfOf(body [][]phrase) string {
	var alternatives []string
	for _, seq := range body {
		var parts []string
		for _, p := range seq {
			var s string
			switch {
			case p.word != "":
				s = "gap " + gbnfWord(p.word)
			case p.rule != "":
				s = ruleName(p.rule)
			default:
				s = "(" + g.gbnfOf(p.any) + ")"
			}
			if p.opt {
				s += "?"
			}
			parts = append(parts, s)
		}
		if len(parts) == 0 {
			parts = []string{`""`}
		}
		alternatives = append(alternatives, strings.Join(parts, " "))
	}
	return strings.Join(alternatives, " | ")
}

func gbnfWord(word string) string {
	first, rest := word[:1], word[1:]
	s := fmt.Sprintf("[%s%s]", strings.ToUpper(first), first)
	if strings.ToUpper(first) == first {
		s = fmt.Sprintf("%q", first)
	}
	if rest != "" {
		s += fmt.Sprintf(" %q", rest)
	}
	if d := inDigits[word]; d != "" {
		s = fmt.Sprintf("(%s | %q)", s, d)
	}
	return s
}
