package main

import (
	"fmt"
	"regexp"
	"strings"
)

// phrase is a piece of a grammar, for the peers only: the product reads JSGF in
// package intent. What the peers need is small: rules, alternatives, groups,
// optionals and slot tags.
type phrase struct {
	word string     // one word, or
	rule string     // a reference to a rule, or
	any  [][]phrase // alternatives, each a sequence
	opt  bool       // any may be left out
	slot string     // the slot that this piece fills, "" for none
}

// orders is a grammar of the data set's kind.
type orders struct {
	root  string
	names []string // in the order of the file
	rules map[string][][]phrase
}

var jsgfToken = regexp.MustCompile(`<[^>]*>|\{[^}]*\}|[()\[\]|;=]|[^\s()\[\]|;={}<>]+`)

// parseOrders reads the text of a JSGF file. The error names what it cannot read.
func parseOrders(source string) (*orders, error) {
	source = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*|#JSGF[^;]*;`).ReplaceAllString(source, " ")
	g := &orders{rules: map[string][][]phrase{}}
	p := &orderParser{tokens: jsgfToken.FindAllString(source, -1)}
	if p.peek() == "grammar" {
		p.at += 3
	}
	for p.at < len(p.tokens) {
		public := p.peek() == "public"
		if public {
			p.at++
		}
		name := p.next()
		if !strings.HasPrefix(name, "<") || p.next() != "=" {
			return nil, fmt.Errorf("reading the grammar for the peers: %q is not the beginning of a rule", name)
		}
		body, err := p.alternatives()
		if err != nil {
			return nil, err
		}
		if end := p.next(); end != ";" {
			return nil, fmt.Errorf("reading the grammar for the peers: rule %s ends in %q, a semicolon is wanted", name, end)
		}
		name = strings.Trim(name, "<>")
		g.names = append(g.names, name)
		g.rules[name] = body
		if public && g.root == "" {
			g.root = name
		}
	}
	if g.root == "" {
		return nil, fmt.Errorf("reading the grammar for the peers: it has no public rule")
	}
	for _, n := range g.names {
		if err := g.known(g.rules[n]); err != nil {
			return nil, fmt.Errorf("reading the grammar for the peers: rule <%s>: %w", n, err)
		}
	}
	return g, nil
}

func (g *orders) known(body [][]phrase) error {
	for _, seq := range body {
		for _, p := range seq {
			if _, ok := g.rules[p.rule]; p.rule != "" && !ok {
				return fmt.Errorf("<%s> is not defined", p.rule)
			}
			if err := g.known(p.any); err != nil {
				return err
			}
		}
	}
	return nil
}

type orderParser struct {
	tokens []string
	at     int
}

func (p *orderParser) peek() string {
	if p.at >= len(p.tokens) {
		return ""
	}
	return p.tokens[p.at]
}

func (p *orderParser) next() string {
	t := p.peek()
	p.at++
	return t
}

func (p *orderParser) alternatives() ([][]phrase, error) {
	all := [][]phrase{nil}
	for {
		last := len(all) - 1
		switch t := p.peek(); {
		case t == "|":
			p.at++
			all = append(all, nil)
			continue
		case t == "" || t == ";" || t == ")" || t == "]":
			return all, nil
		case t == "(" || t == "[":
			p.at++
			inner, err := p.alternatives()
			if err != nil {
				return nil, err
			}
			if end := p.next(); end != map[string]string{"(": ")", "[": "]"}[t] {
				return nil, fmt.Errorf("reading the grammar for the peers: %q is closed by %q", t, end)
			}
			all[last] = append(all[last], phrase{any: inner, opt: t == "["})
		case t[0] == '{':
			n := len(all[last])
			name := strings.TrimSpace(strings.Trim(t, "{}"))
			if n == 0 || strings.Contains(name, "=") {
				return nil, fmt.Errorf("reading the grammar for the peers: the tag %s is of a kind they cannot be given", t)
			}
			all[last][n-1].slot = name
			p.at++
		case t[0] == '<':
			p.at++
			all[last] = append(all[last], phrase{rule: strings.Trim(t, "<>")})
		case strings.ContainsAny(t, "=/*+"):
			return nil, fmt.Errorf("reading the grammar for the peers: %q is not understood here", t)
		default:
			p.at++
			all[last] = append(all[last], phrase{word: strings.ToLower(t)})
		}
	}
}

// texts are all the word strings of alternatives; groups of the data set's size are meant.
func (g *orders) texts(body [][]phrase) []string {
	var out []string
	for _, seq := range body {
		heads := []string{""}
		for _, p := range seq {
			var tails []string
			switch {
			case p.word != "":
				tails = []string{p.word}
			case p.rule != "":
				tails = g.texts(g.rules[p.rule])
			default:
				tails = g.texts(p.any)
			}
			if p.opt {
				tails = append(tails, "")
			}
			var longer []string
			for _, h := range heads {
				for _, t := range tails {
					longer = append(longer, strings.TrimSpace(h+" "+t))
				}
			}
			heads = longer
		}
		out = append(out, heads...)
	}
	return out
}

// slots are the texts that fill each slot.
func (g *orders) slots() map[string][]string {
	all := map[string][]string{}
	var walk func(body [][]phrase)
	walk = func(body [][]phrase) {
		for _, seq := range body {
			for _, p := range seq {
				if p.slot != "" {
					plain := p
					plain.slot = ""
					all[p.slot] = append(all[p.slot], g.texts([][]phrase{{plain}})...)
				}
				walk(p.any)
			}
		}
	}
	for _, n := range g.names {
		walk(g.rules[n])
	}
	return all
}
