package intent

import (
	"errors"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzGrammar: no file crashes the reader or the compiler, and every fault names
// its place.
func FuzzGrammar(f *testing.F) {
	for _, s := range []string{
		"#JSGF V1.0;\ngrammar a;\npublic <x> = /2/ one {n=1} | /1/ (two | [three])* {m\\}} \"four five\";",
		"#JSGF V1.0 UTF-8 en;\ngrammar a.b;\nimport <c.*>;\n/** doc */ public <x> = <NULL> | <VOID> | <x>;",
		"#JSGF V1.0;\ngrammar a;\npublic <x> = note <dictation> {text};",
		"#JSGF V1.0;\ngrammar a;\npublic <x> = a <x> b | c;",
		"#JSGF V1.0 ISO-8859-1 fr;\r\ngrammar a.b;\r\npublic <x> = caf\xe9 {=~1} ('s | don't) {.m=};",
		"#JSGF V1.0;\ngrammar a;\n<dictation> = <VOID>;\npublic <x> = /0/ a | /1e9/ \"b c\"* {x=\"y\"} <a.x>;",
		"#JSGF V1.0;\ngrammar a;\npublic <x> = and <x> b | one hundred and <x>;",
		"#JSGF V1.0;\ngrammar a;\npublic <x> = twenty <y>+; <y> = one | 135 | M8x1.25 | (<NULL>)*;",
		"#JSGF V1.0;\ngrammar a;\npublic <x> = pump 7.0.0000 | 1.2.0 | 1.5/2;",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		g, err := ParseGrammar("f.jsgf", []byte(src), nil)
		if err == nil {
			var a *Automaton
			if a, err = g.Compile(); err == nil {
				at := a.Start()
				for _, c := range []byte(" one two, 135 note x.") {
					if at = a.Step(at, c); at < 0 {
						break
					}
				}
				return
			}
		}
		var fault *SyntaxError
		require.True(t, errors.As(err, &fault), "%v", err)
		require.True(t, strings.HasPrefix(err.Error(), "f.jsgf:"), "%v", err)
		require.Positive(t, fault.Pos.Line)
		require.Positive(t, fault.Pos.Column)
	})
}

// FuzzParse: a text is accepted if and only if it has a reading.
func FuzzParse(f *testing.F) {
	a := compiled(f, cardinal+`
public <take> = took (<below> | a) {count} (bolts | tens) off [the] (front cover | raw-water pump) {where};
public <say> = note [that] <dictation> {text};
public <number> = (<hundreds> | <short> | <thousands> | <below> [point <unit>+]) {n};`)
	for _, s := range []string{"took 6 tens off the front cover", "Note that it leaks.", "1,250", "twenty-five point 5", " took a bolts off raw water pump!"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		text = tidy(text)
		if len(text) > maxText {
			return
		}
		require.Equal(t, a.contains(text), len(a.Parse(text)) > 0, "%q", text)
	})
}

func TestTheAutomatonIsSafeForConcurrentUse(t *testing.T) {
	a := compiled(t, cardinal+`public <n> = (<below> | <hundreds> | <short> | <thousands>) {n};`)
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			for n := range 1000 {
				for _, s := range cardinals(n + 1) {
					if !a.contains(s) && !strings.Contains(s, "zero") && !strings.HasPrefix(s, "a ") {
						t.Errorf("%q is not accepted", s)
					}
				}
			}
		})
	}
	group.Wait()
}

// FuzzShop: no text upsets the grammar of the shop; what has a reading is of its
// language, and every reading makes an intent.
func FuzzShop(f *testing.F) {
	a, err := Shop(demoVocabulary)
	if err != nil {
		f.Fatal(err)
	}
	for _, u := range corpus(f) {
		f.Add(u.text)
	}
	f.Add("it's 1.1 1 1 1 1 1")
	f.Add("took 12 1/2 13s off the sump, 1/2-13 8 M8x1.25x30")
	f.Fuzz(func(t *testing.T, text string) {
		readings := a.Parse(text)
		require.True(t, len(readings) == 0 || a.contains(tidy(text)), "%q", text)
		for _, r := range readings {
			_, err := FromReading(r)
			require.NoError(t, err, "%q", text)
		}
	})
}

// FuzzSpellings: a name of a sheet can be said and written in some ways, whatever is in it.
func FuzzSpellings(f *testing.F) {
	for _, s := range []string{"pump", "M8x1.25", "3/8", "1.2.0", "1.5/2", "A2-70", "½", "café", "o-ring", "N·m", "0007", "10000000000000000000"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, token string) {
		if token = tidy(token); token == "" || len(token) > maxText {
			return
		}
		require.LessOrEqual(t, len(spellings(token)), 1000, "%q", token)
	})
}
