package intent

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

// The section numbers are those of the JSpeech Grammar Format, W3C Note of 5
// June 2000.

const jsgfHead = "#JSGF V1.0;\ngrammar test;\n"

func fault(t testing.TB, src string, fsys fstest.MapFS) *SyntaxError {
	t.Helper()
	g, err := ParseGrammar("test.jsgf", []byte(src), fsys)
	if err == nil {
		_, err = g.Compile()
	}
	var f *SyntaxError
	require.True(t, errors.As(err, &f), "%q gives %v", src, err)
	return f
}

func TestEveryFaultNamesItsLineAndColumn(t *testing.T) {
	for src, want := range map[string]string{
		"":                                                  "1:1: ",
		"grammar a;":                                        "1:1: ",
		" #JSGF V1.0;":                                      "1:1: ",
		"#JSGF V1.0\ngrammar a;":                            "1:1: ",
		"#JSGF V2.0;\ngrammar a;":                           "1:1: ",
		"#JSGF V1.0 EBCDIC;\n":                              "1:1: the encoding EBCDIC",
		"#JSGF V1.0;\n<a> = b;":                             "2:1: after the header comes",
		"#JSGF V1.0;\ngrammar a..b;":                        "2:9: ",
		jsgfHead:                                            "3:1: the grammar has no rules",
		jsgfHead + "<a> = b":                                "3:8: expected ';'",
		jsgfHead + "<a> b;":                                 "3:5: expected '='",
		jsgfHead + "public a = b;":                          "3:8: a rule begins with",
		jsgfHead + "<a> = (b | c;":                          "3:13: expected ')' to close the group opened at line 3, column 7",
		jsgfHead + "<a> = [b\n| c;":                         "4:4: expected ']'",
		jsgfHead + "<a> = b |;":                             "3:10: something to say is missing",
		jsgfHead + "<a> = ;":                                "3:7: something to say is missing",
		jsgfHead + "<a> = <b>;":                             "3:7: the rule <b> is not defined",
		jsgfHead + "<a> = b;\n<a> = c;":                     "4:1: <a> is already defined at line 3",
		jsgfHead + "<NULL> = b;":                            "3:1: <NULL> is defined by the format",
		jsgfHead + "<t.a> = b;":                             "3:1: define the rule by its own name",
		jsgfHead + "<a> = b**;":                             "3:9: '*' must follow what it repeats",
		jsgfHead + "<a> = *;":                               "3:7: something to say is missing",
		jsgfHead + "<a> = /1/ b | c;":                       "3:15: either every alternative has a weight or none",
		jsgfHead + "<a> = /x/ b;":                           "3:7: a weight is a number",
		jsgfHead + "<a> = /-1/ b;":                          "3:7: a weight is a number",
		jsgfHead + "<a> = /0/ b;":                           "3:7: at least one alternative needs a weight above zero",
		jsgfHead + "<a> = /1 b;":                            "3:7: this weight is not closed",
		jsgfHead + "<a> = b {c;":                            "3:9: this tag is not closed",
		jsgfHead + "<a> = \"b;":                             "3:7: this quoted token is not closed",
		jsgfHead + "<a> = \"\";":                            "3:7: this quoted token is empty",
		jsgfHead + "<a> = <b;":                              "3:7: this rule name is not closed",
		jsgfHead + "<a> = <>;":                              "3:7: ",
		jsgfHead + "/* open":                                "3:1: this comment never ends",
		jsgfHead + "<a> = b }":                              "3:9: unexpected '}'",
		jsgfHead + "<a> = é <b>;":                           "3:9: the rule <b> is not defined", // columns count characters
		jsgfHead + "<a> = b\xff;":                           "3:8: a byte here is not UTF-8",
		jsgfHead + "<a> = b;":                               "1:1: no rule is public",
		jsgfHead + "public <a> = <a> b;":                    "3:14: <a> comes back to itself",
		jsgfHead + "public <a> = [x] <b>;\n<b> = y* <a> z;": "4:10: <a> comes back to itself",
		jsgfHead + "public <a> = (<dictation>) now;":        "3:28: nothing can follow <dictation>",
		jsgfHead + "public <a> = <n> now;\n<n> = note <dictation>;":      "3:18: nothing can follow <dictation>",
		jsgfHead + "<a> = b;\nimport <c.d>;":                             "4:1: imports stand before the first rule",
		jsgfHead + "import <c>;\n<a> = b;":                               "3:8: import takes",
		jsgfHead + "import <c.d>;\n<a> = b;":                             "3:8: the grammar c was not found",
		jsgfHead + "import <units.secret>;\npublic <a> = b;":             "3:8: the rule <secret> of units is not public",
		jsgfHead + "import <units.none>;\npublic <a> = b;":               "3:8: the grammar units has no rule <none>",
		jsgfHead + "import <units.*>;\npublic <a> = <secret>;":           "4:14: the rule <secret> is not defined here and not imported",
		jsgfHead + "import <units.*>;\npublic <a> = <units.no>;":         "4:14: the grammar units has no rule <no>",
		jsgfHead + "import <wrong.*>;\npublic <a> = b;":                  "3:8: the file wrong.jsgf holds the grammar other, not wrong",
		jsgfHead + "import <broken.*>;\npublic <a> = b;":                 "broken.jsgf:3:7: something to say is missing",
		jsgfHead + "import <one.*>;\nimport <two.*>;\npublic <a> = <x>;": "5:14: <x> is imported from one and from two",
	} {
		f := fault(t, src, fstest.MapFS{
			"units.jsgf":  {Data: []byte("#JSGF V1.0;\ngrammar units;\npublic <u> = mm;\n<secret> = x;")},
			"wrong.jsgf":  {Data: []byte("#JSGF V1.0;\ngrammar other;\npublic <u> = mm;")},
			"broken.jsgf": {Data: []byte("#JSGF V1.0;\ngrammar broken;\n<a> = ;")},
			"one.jsgf":    {Data: []byte("#JSGF V1.0;\ngrammar one;\npublic <x> = a;")},
			"two.jsgf":    {Data: []byte("#JSGF V1.0;\ngrammar two;\npublic <x> = b;")},
		})
		if !strings.HasPrefix(want, "broken") {
			want = "test.jsgf:" + want
		}
		require.True(t, strings.HasPrefix(f.Error(), want), "%q gives %q, wanted %q", src, f.Error(), want)
	}
}

// Section 3: grammars import rules by name or all at once, and from packages.
func TestImportedRulesAreFound(t *testing.T) {
	files := fstest.MapFS{
		"com/shop/units.jsgf": {Data: []byte("#JSGF V1.0;\ngrammar com.shop.units;\nimport <sizes.*>;\npublic <unit> = (mm | inch) {u};\npublic <sized> = <size> <unit>;")},
		"sizes.gram":          {Data: []byte("#JSGF V1.0;\ngrammar sizes;\npublic <size> = (ten | twelve) {n};")},
		"self.jsgf":           {Data: []byte("#JSGF V1.0;\ngrammar self;\nimport <test.*>;\npublic <s> = round | <say>;")},
	}
	for src, text := range map[string]string{
		"import <com.shop.units.unit>;\npublic <say> = set <unit>;":              "set mm",
		"import <com.shop.units.*>;\npublic <say> = set <sized>;":                "set ten inch",
		"import <com.shop.units.*>;\npublic <say> = set <units.unit>;":           "set inch",
		"public <say> = set <com.shop.units.unit>;":                              "set mm", // fully qualified, no import
		"import <sizes.*>;\npublic <say> = set <size> <test.tail>;\n<tail> = x;": "set twelve x",
		"import <self.s>;\npublic <say> = go <s>;":                               "go go round", // they import each other
	} {
		g, err := ParseGrammar("test.jsgf", []byte(jsgfHead+src), files)
		require.NoError(t, err, src)
		require.Equal(t, []string{"say"}, g.Public(), src)
		a, err := g.Compile()
		require.NoError(t, err, src)
		require.NotEmpty(t, a.Parse(text), src)
	}
}

// Section 2.2: the header names version, encoding and locale.
func TestTheHeaderSaysHowTheFileIsEncoded(t *testing.T) {
	for src, word := range map[string]string{
		"#JSGF V1.0;\ngrammar a; public <x> = café;":                            "café",
		"\ufeff#JSGF V1.0;\ngrammar a; public <x> = café;":                      "café", // byte order mark
		"#JSGF V1.0 UTF-8;\ngrammar a; public <x> = ½ größe;":                   "½ größe",
		"#JSGF V1.0 ISO8859-1 en;\ngrammar a; public <x> = caf\xe9;":            "café",
		"#JSGF V1.0 ISO-8859-1 fr-FR;\r\ngrammar a;\r\npublic <x> = \xe9t\xe9;": "été",
		"#JSGF V1.0 US-ASCII en-GB;\ngrammar a; public <x> = plain;":            "plain",
	} {
		g, err := ParseGrammar("a.jsgf", []byte(src), nil)
		require.NoError(t, err, "%q", src)
		require.Equal(t, "V1.0", g.Version)
		a, err := g.Compile()
		require.NoError(t, err)
		require.NotEmpty(t, a.Parse(word), "%q", src)
		require.NotEmpty(t, a.Parse(strings.ToUpper(word)), "%q in capitals", src)
	}
	g, err := ParseGrammar("a.jsgf", []byte("#JSGF V1.0 ISO8859-1 fr-CA;\ngrammar a; public <x> = y;"), nil)
	require.NoError(t, err)
	require.Equal(t, "ISO8859-1", g.Encoding)
	require.Equal(t, "fr-CA", g.Locale)
}

// Section 4.3: weights make one alternative likelier than another, and only
// their ratio counts.
func TestTheHeavierAlternativeComesFirst(t *testing.T) {
	for _, c := range []struct{ a, b, first string }{
		{"1", "2", "two"}, {"2", "1", "one"}, {"0.1", "0.2", "two"}, {"10.0f", "5.0F", "one"}, {"1e-3", "1e-2", "two"}, {".5", "3d", "two"},
	} {
		a := compiled(t, fmt.Sprintf("public <x> = /%s/ now {n=one} | /%s/ now {n=two};", c.a, c.b))
		r := a.Parse("now")
		require.Len(t, r, 2)
		require.Equal(t, c.first, r[0].Get("n"), "%s against %s", c.a, c.b)
	}
	a := compiled(t, "public <x> = /3/ a {n=3} | /1/ a {n=1};")
	r := a.Parse("a")
	require.InDelta(t, 1.0986, r[1].Cost-r[0].Cost, 1e-3, "ln 3")
	require.Empty(t, compiled(t, "public <x> = /1/ yes | /0/ no;").Parse("no"), "an alternative of weight zero is never said")
}

// Section 4.6: tags hold any text, braces escaped, and stick to what is before.
func TestTagsMakeSlots(t *testing.T) {
	for src, want := range map[string][]Slot{
		"public <x> = go {a} home {b};":                       {{"a", "go"}, {"b", "home"}},
		"public <x> = (go home) {a};":                         {{"a", "go home"}},
		"public <x> = go home {a=1};":                         {{"a", "1"}},
		"public <x> = go home {a} {b=2};":                     {{"a", "home"}, {"b", "2"}},
		"public <x> = go home {a = \"two words\"};":           {{"a", "two words"}},
		"public <x> = go home {a=b=c};":                       {{"a", "b=c"}},
		"public <x> = go home {a\\}b=1\\\\2};":                {{"a}b", `1\2`}},
		"public <x> = go home {};":                            nil,
		"public <x> = (go (home {in}) {=away}) {out};":        {{"out", "go away"}, {"in", "home"}},
		"public <x> = (go {=1} home {=~2}) {n};":              {{"n", "12"}},
		"public <x> = go <NULL> {.here=} home {a};":           {{"a", "home"}},
		"public <x> = <y> {a}; <y> = go <z> {b}; <z> = home;": {{"a", "go home"}, {"b", "home"}},
		"public <x> = (go | home)+ {a};":                      {{"a", "go home"}},
		"public <x> = (go {w} | home {w})*;":                  {{"w", "go"}, {"w", "home"}},
	} {
		a := compiled(t, src)
		r := a.Parse("go home")
		require.Len(t, r, 1, src)
		require.Equal(t, want, r[0].Slots, src)
	}
}

// Section 4.5 and 4.2: repetition, optional groups, <NULL> and <VOID>.
func TestOperatorsMatchWhatTheNoteSays(t *testing.T) {
	for src, c := range map[string]struct{ in, out string }{
		"public <x> = a [b] c;":                           {"a c|a b c", "a b|a b b c|b c"},
		"public <x> = a b* c;":                            {"a c|a b c|a b b b c", "a b|b c"},
		"public <x> = a b+ c;":                            {"a b c|a b b c", "a c"},
		"public <x> = a (b | c)+;":                        {"a b|a c b", "a"},
		"public <x> = a | b c;":                           {"a|b c", "a c|b"},
		"public <x> = a <NULL> b;":                        {"a b", "a"},
		"public <x> = a <VOID> b | c;":                    {"c", "a b|a|b"},
		"public <x> = \"New York\" now;":                  {"New York now|new york NOW", "new now"},
		"public <x> = a // comment\n b /* c */;":          {"a b", "a|a c"},
		"public <x> = (a b | c) [(d | e)*] f;":            {"a b f|c d e d f", "a f|d f"},
		"public <x> = can't o'clock;":                     {"can't o'clock|cant oclock", "can t"},
		"public <x> = <dictation>;":                       {"anything at all, 12 or more!", "..."},
		"public <x> = say [<dictation>];":                 {"say|say it", "sa|it"},
		"<dictation> = x;\npublic <x> = say <dictation>;": {"say x", "say y"},
		"public <größe> = a;":                             {"a", "b"},
	} {
		a := compiled(t, src)
		for _, s := range strings.Split(c.in, "|") {
			require.NotEmpty(t, a.Parse(s), "%q in %s", s, src)
		}
		for _, s := range strings.Split(c.out, "|") {
			require.Empty(t, a.Parse(s), "%q in %s", s, src)
		}
	}
}

// Section 4.4: right recursion is allowed without limit.
func TestRulesMayReferToThemselves(t *testing.T) {
	a := compiled(t, "public <x> = go | go <x>;")
	require.NotEmpty(t, a.Parse(strings.TrimSpace(strings.Repeat("go ", 600))))
	at := a.Start()
	for range 5000 {
		for _, b := range []byte("go ") {
			at = a.Step(at, b)
			require.GreaterOrEqual(t, at, int32(0))
		}
	}
	require.Less(t, a.States(), 20, "a loop needs no new states")

	// In the middle it is followed to a stated depth.
	a = compiled(t, "public <x> = ha | go <x> home;")
	say := func(n int) string {
		return strings.Repeat("go ", n) + "ha" + strings.Repeat(" home", n)
	}
	require.NotEmpty(t, a.Parse(say(1)))
	require.NotEmpty(t, a.Parse(say(maxCallDepth-2)))
	require.Empty(t, a.Parse(say(maxCallDepth+2)))
	require.Empty(t, a.Parse("go ha home home"))
	a = compiled(t, "public <x> = <y> | stop; <y> = go <x>;")
	require.NotEmpty(t, a.Parse("go go go stop"))
}

func TestDeepNestingEndsInAMessage(t *testing.T) {
	for _, open := range []string{"(", "["} {
		closing := map[string]string{"(": ")", "[": "]"}[open]
		ok := jsgfHead + "public <a> = " + strings.Repeat(open, maxNesting-1) + "b" + strings.Repeat(closing, maxNesting-1) + ";"
		_, err := ParseGrammar("test.jsgf", []byte(ok), nil)
		require.NoError(t, err)
		f := fault(t, jsgfHead+"public <a> = "+strings.Repeat(open, 100000)+"b", nil)
		require.Contains(t, f.Error(), "nested more than 200 deep")
		require.Equal(t, 3, f.Pos.Line)
	}
	// A long chain of rules is no nesting.
	var b strings.Builder
	b.WriteString(jsgfHead + "public <r0> = <r1>;\n")
	for i := 1; i < 20000; i++ {
		fmt.Fprintf(&b, "<r%d> = <r%d>;\n", i, i+1)
	}
	b.WriteString("<r20000> = deep;")
	g, err := ParseGrammar("test.jsgf", []byte(b.String()), nil)
	require.NoError(t, err)
	a, err := g.Compile()
	require.NoError(t, err)
	require.NotEmpty(t, a.Parse("deep"))
	require.Contains(t, fault(t, jsgfHead+strings.Repeat("// filling a file up\n", maxGrammarBytes/20), nil).Error(), "split it by imports")
}

func TestDocumentationCommentsAreKept(t *testing.T) {
	g, err := ParseGrammar("a.jsgf", []byte(jsgfHead+"/** What to do.\n * @example go home\n */\npublic <x> = go;\n/* not this */ <y> = z;"), nil)
	require.NoError(t, err)
	require.Equal(t, "What to do.\n@example go home", g.byName["x"].Doc)
	require.Empty(t, g.byName["y"].Doc)
	require.Equal(t, Pos{"a.jsgf", 6, 1}, g.byName["x"].Pos)
	require.Equal(t, []string{"x", "y"}, g.Rules())
}
