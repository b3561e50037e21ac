package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const drinks = `#JSGF V1.0;
grammar drinks;
public <order> = (i want | get me) [a] [<size>] <drink> [with <milk>];
<size>  = (small | (eight | twelve) ounce) {size};
<drink> = (coffee | iced coffee) {drink};
<milk>  = ([a bit of | some] milk) {milk};
`

func TestThePeersGrammarHoldsWhatTheFileHolds(t *testing.T) {
	g, err := parseOrders(drinks)
	require.NoError(t, err)
	require.Equal(t, "order", g.root)
	require.ElementsMatch(t, []string{"small", "eight ounce", "twelve ounce"}, g.slots()["size"])
	require.ElementsMatch(t, []string{"milk", "some milk", "a bit of milk"}, g.slots()["milk"])
	require.Len(t, g.texts(g.rules["order"]), 2*2*4*2*4)
	require.Contains(t, g.texts(g.rules["order"]), "get me a twelve ounce iced coffee with some milk")
}

func TestAGrammarThePeersCannotHaveIsRefused(t *testing.T) {
	for text, why := range map[string]string{
		"public <a> = b <c>;":    "<c> is not defined",
		"<a> = b;":               "no public rule",
		"public <a> = (b;":       "is closed by",
		"public <a> = b+;":       "not understood",
		"public <a> = b {x=y};":  "cannot be given",
		"public <a> = b | c ) ;": "a semicolon is wanted",
	} {
		_, err := parseOrders(text)
		require.ErrorContains(t, err, why, text)
	}
}

// The form is that of whisper.cpp's examples/grammar-parser.h.
func TestTheGrammarIsWrittenInWhispersOwnForm(t *testing.T) {
	g, err := parseOrders("public <a> = i'd <b> [twelve];\n<b> = x | yes sir;")
	require.NoError(t, err)
	require.Equal(t, strings.Join([]string{
		`root ::= r-a [.?!]?`,
		`r-a ::= gap [Ii] "'d" r-b (gap ([Tt] "welve" | "12"))?`,
		`r-b ::= gap [Xx] | gap [Yy] "es" gap [Ss] "ir"`,
		`gap ::= [,]? " " | "-"`, ``,
	}, "\n"), g.gbnf())
}

func TestSlotsAreSpottedInFreeText(t *testing.T) {
	g, err := parseOrders(drinks)
	require.NoError(t, err)
	s := newSpotter(g)
	require.Equal(t, map[string]string{"size": "twelve ounce", "drink": "iced coffee", "milk": "a bit of milk"},
		s.spot(" Get me a 12-ounce, iced coffee with a bit of milk."))
	require.Equal(t, map[string]string{"size": "eight ounce", "drink": "coffee"}, s.spot("I want 8oz of coffee"))
	require.Nil(t, s.spot("I want 8 pounds of coffeecake"))
}
