package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSlipsOfTheTongueAreTakenOut(t *testing.T) {
	for text, want := range map[string]string{
		"just took, er, took all six clips off the coolant hoses":       "just took all six clips off the coolant hoses",
		"um, could you tell me the torque for the, er, the lid screws":  "could you tell me the torque for the lid screws",
		"might be the thermostat erm stuck shut":                        "might be the thermostat stuck shut",
		"I took, no, I put back two of the pump bolts":                  "I put back two of the pump bolts",
		"took four, no, five tens off the front cover":                  "took five tens off the front cover",
		"took five tens off the pump, sorry, the sump":                  "took five tens off the sump",
		"took two tens off the cover, no, three thirteens off the pump": "three thirteens off the pump",
		"torqued the pump bolts to twenty one, no, twenty two newton":   "torqued the pump bolts to twenty two newton",
		"the pump, the pump bolts are in cup two":                       "the pump bolts are in cup two",
		"four tens off the front cover":                                 "",
		"no, five":                                                      "",
		"took four tens off the front cover, no, five":                  "", // five of what?
		"no, the other one":                                             "",
		"wait, that's wrong":                                            "",
		"it clicked, no bother":                                         "",
		"oh, I forgot the drip tray, put that in after drain oil":       "new step, the drip tray, goes after drain oil",
		"we forgot to grease the seal, do that right before seal in":    "new step, grease the seal, goes right before seal in",
		"I forgot the drip tray":                                        "",
		"six six":                                                       "",
		"the impeller clearance is point two two":                       "",
		"": "",
	} {
		require.Equal(t, want, Straighten(text), text)
	}
}

// Without its slips a sentence means what the same sentence without them means.
func TestASentenceWithSlipsIsUnderstood(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"just took, er, took all six clips off the coolant hoses":                      "Removed items=6 clip; where=coolant hoses",
		"um, could you tell me the torque for the, er, the lid screws":                 "AskTorque name=lid screws",
		"I took, no, I put back two of the pump bolts":                                 "Refitted items=2; where=pump bolts",
		"took four, no, five tens off the front cover":                                 "Removed items=5 tens; where=front cover",
		"um, took six tens, er, six tens off the front cover and put them in cup four": "Removed items=6 tens; where=front cover; stow=cup four",
	} {
		got := Understand(a, Straighten(text))
		require.NotEmpty(t, got, text)
		name, slots := describe(got[0])
		require.Equal(t, want, name+" "+slots, text)
	}
}

func TestTalkStraightenedIsNoCommandEither(t *testing.T) {
	a, err := Shop(demoVocabulary)
	require.NoError(t, err)
	straightened := 0
	for _, u := range corpus(t) {
		if u.intent != "" {
			continue
		}
		if text := Straighten(u.text); text != "" {
			straightened++
			require.Empty(t, Understand(a, text), "corpus.txt:%d: %q", u.line, text)
		}
	}
	require.Positive(t, straightened, "no talk of the corpus has a slip")
}
