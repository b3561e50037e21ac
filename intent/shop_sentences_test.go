package intent

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/jobs/measure"
)

func TestSentencesOfTheShopGiveTheirIntents(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	six := &Size{Said: "tens", Kind: SizeWrench, Across: measure.Quantity{Amount: 10, Unit: measure.Millimetre, Said: "10 mm"}}
	for text, want := range map[string]Intent{
		"toolbox":       Call{},
		"what's next":   Next{},
		"Where was I?":  WhereWasI{},
		"strike that":   Strike{},
		"say again":     SayAgain{},
		"how many out?": AskOut{},
		"took six tens off the front cover, two long at the bottom": Removed{Items: []Fastener{{Count: 6, Size: six}, {Count: 2, Length: "long", At: "bottom"}}, Where: "front cover"},
		"6 10s off the sump in cup four":                            Removed{Items: []Fastener{{Count: 6, Size: six}}, Where: "sump", Stow: "cup four"},
		"took four M8 by 25 out of the thermostat housing": Removed{Items: []Fastener{{Count: 4, Size: &Size{Said: "M8 by 25", Kind: SizeThread, Designation: "M8",
			Length: measure.Quantity{Amount: 25, Unit: measure.Millimetre}}}}, Where: "thermostat housing"},
		"took four M ten by one twenty five studs off the manifold": Removed{Items: []Fastener{{Count: 4, Kind: "stud", Size: &Size{Said: "M10x1.25", Kind: SizeThread, Designation: "M10x1.25"}}}, Where: "manifold"},
		"took four long, two short off the front cover":             Removed{Items: []Fastener{{Count: 4, Length: "long"}, {Count: 2, Length: "short"}}, Where: "front cover"},
		"torque for the front cover short":                          AskTorque{"front cover short"},
		"what's left on the front cover":                            AskLeft{Name: "front cover"},
		"66 in-lb in Nm":                                            Convert{measure.Quantity{Amount: 66, Unit: measure.InchPound, Said: "66 lbf·in"}, measure.NewtonMetre},
		"impeller clearance is point one five millimetres":          Measure{"impeller clearance", measure.Quantity{Amount: 0.15, Unit: measure.Millimetre, Said: "0.15 mm"}},
		"ruled out worn impeller because it's new":                  RuleOut{"worn impeller", "it's new"},
		"note that the dowel is loose":                              Note{"the dowel is loose"},
	} {
		got := Understand(a, text)
		require.NotEmpty(t, got, text)
		require.Equal(t, want, got[0], text)
	}
	for _, text := range []string{"the weather is nice today", "six", "took", "pass me a beer", "and then she said", ""} {
		for _, in := range Understand(a, text) {
			require.IsType(t, Choice{}, in, "%q", text) // a bare number may answer a question
		}
	}
}

func TestWhatMustBeAskedIsAsked(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for text, question := range map[string]string{
		"set torque for the pump bolts to thirty pounds": "Foot-pounds or inch-pounds?",
		"drained four and a half quarts of coolant":      "US quarts or imperial quarts?",
		"took a few tens off the front cover":            "How many? Say it with the number.",
		"torqued the pump bolts to one grunt":            "How much is that? Say the figure and the unit.",
		"impeller clearance is three tenths":             "Tenths of a millimetre, of a thou or of an inch?",
	} {
		got := Understand(a, text)
		require.NotEmpty(t, got, text)
		u, ok := got[0].(Unclear)
		require.True(t, ok, "%s gives %#v", text, got[0])
		require.Equal(t, question, u.Question, text)
		require.True(t, len(u.Then) == 0 || len(u.Then) == len(u.Choices), text)
	}
	readings := a.Parse("Toolbox, what's next?")
	require.Len(t, readings, 1)
	require.True(t, readings[0].Addressed)
}

func TestSpellingsOfFreeSpeechAreOneMeaning(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	one := a.Meanings("note the lower hose is cracked")
	require.NotEmpty(t, one)
	require.Equal(t, one[0], a.Meanings("note the lower hose as cracked")[0])
	require.NotEqual(t, one[0], a.Meanings("flag the lower hose is cracked")[0])
	require.NotEqual(t, a.Meanings("tightened the hose clips by feel")[0], a.Meanings("tightened the hose clips with the wrench")[0])
	require.Equal(t, a.Meanings("ruled out worn impeller because it's new"), a.Meanings("ruled out worn impeller because its new"))
}

func TestFiguresAreBoundedAndKeepTheirPlaces(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"pump bolts are 1999 foot pounds":                        "1999 lbf·ft",
		"pump bolts are one thirty five newton metres":           "135 N·m",
		"pump bolts are 9000 inch pounds":                        "9000 lbf·in",
		"pump bolts are nine and a half foot pounds":             "9.5 lbf·ft",
		"shaft diameter is point oh oh oh five inches":           "0.0005 in",
		"shaft diameter is one point two three four five inches": "1.2345 in",
		"shaft diameter is 9/16 inch":                            "9/16 in",
	} {
		got := Understand(a, text)
		require.NotEmpty(t, got, text)
		switch in := got[0].(type) {
		case SetSpec:
			require.Equal(t, want, in.Torque.String(), text)
		case Measure:
			require.Equal(t, want, in.Value.String(), text)
		default:
			t.Errorf("%q is %T", text, in)
		}
	}
	for _, text := range []string{
		"pump bolts are 11110 foot pounds", "pump bolts are 2500 newton metres", "pump bolts are 12000 inch pounds",
		"shaft diameter is point one two three four five inches", "is 20000 newton metres too much for an M eight",
	} {
		require.Empty(t, Understand(a, text), text)
	}
}

func TestASentenceWithATorqueIsWeighty(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	const weighty, told = true, true
	for text, want := range map[string][2]bool{
		"set torque for the front cover at 22 newton metres": {weighty, told},
		"torqued the front cover to ten newton metres":       {weighty, told},
		"is seventy foot pounds too much for an M six":       {weighty, false},
		"66 inch-pounds in newton metres":                    {weighty, false},
		"seventy pounds for the front cover":                 {weighty, told},
		"took four tens off the front cover":                 {false, false},
		"impeller clearance is 0.25 mm":                      {false, false},
		"no such sentence":                                   {false, false},
	} {
		w, by := a.Weighty(text)
		require.Equal(t, want, [2]bool{w, by}, text)
	}
}
