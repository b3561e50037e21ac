package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func compiled(t testing.TB, src string) *Automaton {
	t.Helper()
	g, err := ParseGrammar("test.jsgf", []byte("#JSGF V1.0;\ngrammar test;\n"+src), nil)
	require.NoError(t, err)
	a, err := g.Compile()
	require.NoError(t, err)
	return a
}

const cardinal = `
<unit> = one | two | three | four | five | six | seven | eight | nine;
<teen> = ten | eleven | twelve | thirteen | fourteen | fifteen | sixteen | seventeen | eighteen | nineteen;
<ten> = twenty | thirty | forty | fifty | sixty | seventy | eighty | ninety;
<below> = <unit> | <teen> | <ten> [<unit>];
<hundreds> = (<unit> | a) hundred [[and] <below>];
<short> = <unit> (oh <unit> | <teen> | <ten> [<unit>]);
<thousands> = <unit> thousand [<hundreds> | and <below>];
`

func TestNumberWordsAreReadFromDigits(t *testing.T) {
	a := compiled(t, cardinal+`public <n> = (<below> | <hundreds> | <thousands>) {n};
public <s> = <short> {n};
public <d> = (<below> point (oh | zero | <unit>)+) {n};
public <f> = (<below> (half | quarter | quarters | eighth | eighths | sixteenths | thirty-seconds)) {n};
public <m> = (<below> and (a half | a quarter | three quarters | an eighth)) {n};
public <b> = M <below> {d} by (<below> {l});
public <digits> = code (zero | <unit>)+ {n};
`)
	for text, want := range map[string]string{
		"8": "eight", "13": "thirteen", "20": "twenty", "21": "twenty one", "twenty-one": "twenty one", "99": "ninety nine",
		"100": "one hundred", "120": "one hundred twenty", "107": "one hundred seven",
		"1000": "one thousand", "1,000": "one thousand", "1250": "one thousand two hundred fifty", "1,250": "one thousand two hundred fifty", "5007": "five thousand and seven",
		"1.25": "one point two five", "4.1": "four point one", "10.05": "ten point oh five",
		"9/16": "nine sixteenths", "3/8": "three eighths", "1/4": "one quarter", "5/32": "five thirty-seconds",
		"4 1/2": "four and a half", "4.5": "four and a half", "4½": "four and a half", "1-1/8": "one and an eighth", "2 3/4": "two and three quarters", "4-1/2": "four and a half",
		"code 1234": "one two three four", "code 1 2 3 4": "one two three four", "code 0": "zero",
	} {
		found := false
		var all []string
		for _, r := range a.Parse(text) {
			all = append(all, r.Get("n"))
			found = found || r.Get("n") == want
		}
		require.True(t, found, "%s gives %q, wanted %q", text, all, want)
	}
	require.Equal(t, []Slot{{"d", "eight"}, {"l", "twenty five"}}, a.Parse("M8x25")[0].Slots)
	require.Equal(t, []Slot{{"d", "eight"}, {"l", "twenty five"}}, a.Parse("M8 by 25.")[0].Slots)
	for _, text := range []string{".", "9/", "/16", "9/17", "2/4", "4/8", "5/4", "3/2", "17/16", "4 1/", "08", "M825", "2 1 4"} {
		for _, r := range a.Parse(text) {
			require.NotContains(t, []string{"n", "d", "f", "m", "b"}, r.Rule, "%s was read as %v", text, r.Slots)
		}
	}
}

func TestTokensWithDigitsAreReadFromWords(t *testing.T) {
	a := compiled(t, `public <x> = (set | go) (8 | 135 | 1.25 | 3/8 | M8 | "cup 4" | A2-70 | 1.2.0 | 1.5/2) {v};`)
	for text, want := range map[string]string{
		"set eight": "8", "set 8": "8", "go one thirty-five": "135", "go a hundred and thirty five": "135", "set one hundred thirty five": "135",
		"set one point two five": "1.25", "set three eighths": "3/8", "set M 8": "m8", "set m eight": "m8", "set M-8": "m8", "set cup four": "cup 4",
		"set A2 70": "a2-70", "set A 2 70": "a2-70", "set a two seventy": "a2-70",
		"set one point two point zero": "1.2.0", "set one point five over two": "1.5/2", // a version crashed the compiler, found by fuzzing
	} {
		r := a.Parse(text)
		require.Len(t, r, 1, text)
		require.Equal(t, want, r[0].Get("v"), text)
	}
}

func TestWordsAreReadInAnySpelling(t *testing.T) {
	a := compiled(t, `public <x> = (colour | centre | what's it | left-hand | flywheel | gear box | N·m | ft-lbs | inch pounds | aluminium | twelve ounces | ten percent | café) {v};`)
	for text, want := range map[string]string{
		"color": "colour", "COLOUR": "colour", "center.": "centre", "whats it": "what's it", "What’s it?": "what's it",
		"left hand": "left-hand", "lefthand": "left-hand", "Left-Hand": "left-hand", "fly wheel": "flywheel", "fly-wheel": "flywheel",
		"gearbox": "gear box", "gear-box": "gear box", "Nm": "n·m", "N·m": "n·m", "N-m": "n·m", "ft lbs": "ft-lbs", "ft-lbs": "ft-lbs", "ftlbs": "ft-lbs",
		"inch-pounds": "inch pounds", "inchpounds": "inch pounds", "in. lbs": "inch pounds", "aluminum": "aluminium", "12oz": "twelve ounces", "12 oz.": "twelve ounces", "10%": "ten percent",
		"CAFÉ": "café", "  café  ": "café",
	} {
		r := a.Parse(text)
		require.Len(t, r, 1, text)
		require.Equal(t, want, r[0].Get("v"), text)
	}
}
