package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

// heard carries an intent out as heard in words: some decisions read them.
func (s *session) heard(text string, in intent.Intent, want string) {
	s.t.Helper()
	s.now = s.now.Add(2 * time.Second)
	out, err := s.b.Do(s.now, in, Heard{Text: text, Confidence: 1})
	require.NoError(s.t, err)
	require.Equal(s.t, want, out.Reply.Text, "%q", text)
}

func TestOneSentenceMayTellTheCountThePlaceAndWhatIsSpoilt(t *testing.T) {
	s := newSession(t, nil)
	s.heard("the lower pan bolts are out, all eighteen, cup four, and two of them were seized",
		intent.Removed{Items: []intent.Fastener{{Count: 18}}, Where: "lower pan", Stow: "cup four", Condition: "seized", Bad: 2},
		"Eighteen lower pan bolts off. In cup four. Noted: two seized.")
	g := s.b.state.Groups[0]
	require.Equal(t, 18, g.Removed)
	require.Equal(t, "cup four", g.Stow)
	require.Equal(t, []string{"2 seized"}, g.Conditions)
	s.expect(intent.Choice{Text: "17", Quantity: &measure.Quantity{Amount: 17}}, "Seventeen lower pan bolts off. In cup four. Noted: two seized.")
	require.Equal(t, []string{"2 seized"}, s.b.state.Groups[0].Conditions, "a corrected count leaves the spoilt ones")
	s.do(intent.Strike{})
	s.do(intent.Strike{})
	require.Empty(t, s.b.state.Groups, "one sentence is one change")
}

func TestTheSameCupIsThatOfTheGroupOrOfTheLastSpokenOf(t *testing.T) {
	s := newSession(t, nil)
	s.do(intent.Removed{Items: []intent.Fastener{{Count: 4, Length: "short"}}, Where: "front cover", Stow: "cup one"})
	s.heard("two long ones off the front cover, same cup",
		intent.Removed{Items: []intent.Fastener{{Count: 2, Length: "long"}}, Where: "front cover", Stow: "same"},
		"Two long ones off the front cover. In cup one.")
}

func TestASingleThingWithNoNameYetIsAPart(t *testing.T) {
	s := newSession(t, nil)
	s.heard("pulled the thermostat housing, it's on the top shelf",
		intent.Removed{Items: []intent.Fastener{{All: true}}, Where: "thermostat housing", Stow: "top shelf"},
		"Thermostat housing: top shelf.")
	s.heard("took the thermostat housing bolts off",
		intent.Removed{Items: []intent.Fastener{{All: true}}, Where: "thermostat housing"}, "How many?")
}

func TestEvidenceWaitsForTheNameOfItsSuspect(t *testing.T) {
	s := newSession(t, nil)
	s.expect(intent.Evidence{For: true, Text: "salt below the weep hole"}, "For what suspect?")
	require.Empty(t, s.b.state.Suspects)
	s.expect(intent.Choice{Text: "shaft seal"}, "For shaft seal: salt below the weep hole.")
	require.Len(t, s.b.state.Suspects, 1)
	require.Len(t, s.b.state.Suspects[0].For, 1)
}

func TestABareFigureIsTakenInTheUnitThatTheRecordBearsOut(t *testing.T) {
	s := newSession(t, refitSheet())
	g := s.b.state.Groups[0]
	require.True(t, g.Torque.Given())
	in := func(u measure.Unit, f float64) intent.Intent {
		return intent.Torqued{Items: []intent.Fastener{{All: true}}, Where: g.Name, How: "wrench", Torque: &measure.Quantity{Amount: g.Torque.Amount * f, Unit: u}}
	}
	meanings := func(f float64) []intent.Intent {
		return []intent.Intent{in(measure.NewtonMetre, f), in(measure.FootPound, f), in(measure.InchPound, f)}
	}
	require.Equal(t, in(measure.NewtonMetre, 1), s.b.state.byRecord(meanings(1)))
	require.Nil(t, s.b.state.byRecord(meanings(1.1)), "another figure than the record's is asked about")
}
