package speech

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

func TestFiguresAreFoundInDigitsAndWords(t *testing.T) {
	for text, want := range map[string][]string{
		"Torqued six tens to 17 newton meters":       {"6", "10", "17"},
		"forty-five, twenty five and seventy":        {"45", "25", "70"},
		"two thirteens, 3.25 mm, an ½ inch and 9/16": {"2", "13", "3.25", "½", "9/16"},
		"M8 at forties":                  {"8", "40"},
		"what's left on the front cover": nil,
		"twenty tens":                    {"20", "10"},
		"thirty, then five":              {"30", "5"},
		"one hundred and fifty, a hundred and five, two hundred ten": {"150", "105", "210"},
		"200 and 10 inch pounds, 200 10s, a hundred and a half":      {"210", "200", "10", "100"},
		"four, five hundred and sixty-two":                           {"4", "562"},
	} {
		require.Equal(t, want, values(figures(text)), text)
	}
}

func TestAFigureThatMayBeAnotherIsDoubted(t *testing.T) {
	grammar, err := intent.ParseGrammar("torque.jsgf", []byte("#JSGF V1.0;\ngrammar torque;\npublic <a> = bolts to (seventeen | seventy | sixteen | eighty | eight) [inch] pounds;\n"), nil)
	require.NoError(t, err)
	lang, err := grammar.Compile()
	require.NoError(t, err)
	result := func(free string, hypotheses ...Hypothesis) Result {
		return Result{FreeText: free, Hypotheses: hypotheses}
	}
	sure := Hypothesis{Text: "Bolts to 17 pounds", Posterior: 0.99}

	require.Nil(t, doubt(result("bolts to 17 pounds", sure), lang))
	require.Nil(t, doubt(Result{}, lang))
	require.Nil(t, doubt(result("bolts to 17 pounds", sure, Hypothesis{Text: "Bolts to 70 pounds", Posterior: 0.01}), lang))

	near := doubt(result("", Hypothesis{Text: "Bolts to 80 inch pounds", Posterior: 0.75}, Hypothesis{Text: "Bolts to eight inch pounds", Posterior: 0.2}), lang)
	require.Equal(t, &Doubt{Text: "Bolts to eight inch pounds", Best: "80", Other: "8"}, near)

	more := Hypothesis{Text: "Bolts to 17, 8 pounds", Posterior: 0.15}
	require.Nil(t, doubt(result("", sure, more), lang), "one figure more, and unlikely")
	more.Posterior = 0.25
	require.Equal(t, &Doubt{Text: more.Text}, doubt(result("", sure, more), lang))

	// The unrestricted reading has the sound-alike, and the language has it too.
	require.Equal(t, &Doubt{Text: "Bolts to 70 pounds", Best: "17", Other: "70"}, doubt(result("bowls to 70 pounds", sure), lang))
	require.Equal(t, &Doubt{Text: "Bolts to 17 pounds", Best: "70", Other: "17"},
		doubt(result("both to seventeen pounds", Hypothesis{Text: "Bolts to seventy pounds", Posterior: 1}), lang))
	require.Equal(t, &Doubt{Text: "Bolts to 80 pounds", Best: "17", Other: "80"},
		doubt(result("bowls to 80 pounds", sure), lang), "no sound-alike, but in its place and allowed there")
	require.Nil(t, doubt(result("2 bolts to 80 pounds", sure), lang), "not in its place")
	require.Nil(t, doubt(result("bolts to 19 pounds", sure), lang), "nobody can say nineteen here")
	require.Nil(t, doubt(result("bolts to 60 pounds", Hypothesis{Text: "Bolts to sixteen pounds", Posterior: 1}), lang), "nobody can say sixty here")
	require.Nil(t, doubt(result("bolts to 17 or 70 pounds", sure), lang), "the figure itself was heard")
}

func TestReadingsThatDifferByMoreThanAFigureHaveNoPairOfThem(t *testing.T) {
	require.Equal(t, &Doubt{Text: "took 810s"}, newDoubt("took eight tens", "took 810s"))
	require.Equal(t, &Doubt{Text: "five of 13"}, newDoubt("four of 30", "five of 13"))
}

// Found by scripts/soak: forty acted on as fourteen at 0.87.
func TestOneOfTwoSoundAlikesIsAskedAboutWhereItWeighs(t *testing.T) {
	grammar, err := intent.ParseGrammar("torque.jsgf", []byte("#JSGF V1.0;\ngrammar torque;\npublic <a> = (fourteen | forty | sixteen) [newton] metres;\n"), nil)
	require.NoError(t, err)
	lang, err := grammar.Compile()
	require.NoError(t, err)
	for text, want := range map[string]*Doubt{
		"14 newton meters": {Text: "40 newton meters", Best: "14", Other: "40"},
		"forty meters":     {Text: "14 meters", Best: "40", Other: "14"},
		"16 meters":        nil, // nobody can say sixty here
	} {
		res := Result{Hypotheses: []Hypothesis{{Text: text}}, Verdict: Act}
		res.askAlike(lang)
		require.Equal(t, want, res.Doubt, text)
		require.Equal(t, want != nil, res.Verdict == Ask, text)
	}
}
