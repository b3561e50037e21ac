package intent

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestASentenceOfSeveralThingsIsParted(t *testing.T) {
	shop, err := Shop(demoVocabulary)
	require.NoError(t, err)
	read := func(piece string) Intent {
		if r := shop.Parse(piece); len(r) > 0 {
			if in, err := FromReading(r[0]); err == nil {
				return in
			}
		}
		return nil
	}
	for said, want := range map[string][]string{
		"four thirteens off the pump, the back one needs a flex head":              {"removed", "note"},
		"drained the coolant, what's next":                                         {"drained", "next"},
		"the shaft seal is out and the shaft diameter is 15.99":                    {"removed", "measure"},
		"fitted the new shaft seal, no leaks":                                      {"partFitted", "note"},
		"fitted the new shaft seal, no, the old one":                               nil,
		"fitted the new shaft seal, no binding but not flush":                      nil,
		"it was the impeller, two vanes gone":                                      {"culprit", "note"},
		"what's the torque for the pump bolts, and where are they":                 {"askTorque", "askPlace"},
		"all the vanes are there so it's not the impeller":                         {"ruleOut"},
		"coolant's drained; belt's off; the sea cock's shut":                       {"drained", "removed", "done"},
		"took four off the pump, but one is still in":                              nil, // narrows what was said
		"took four off the pump, no, that was the lid":                             nil,
		"took four off the pump or maybe five":                                     nil,
		"he says it's done, took four off the pump":                                nil, // told by another
		"if it rains, took four off the pump":                                      nil,
		"where are the pump bolts, I can't see them":                               nil, // a question keeps no remark
		"the weather is fine, and the boat is dry":                                 nil,
		"took four off the pump, strike that":                                      nil, // what it is about would be unclear
		"I might go home, took four off the pump":                                  nil,
		"what do you think, took four off the pump":                                nil,
		"took four off the pump, isn't that lovely":                                nil,
		"took four off the pump, is the kettle on?":                                nil,
		"took four off the pump, we should do the other engine next year, I think": nil,
	} {
		row := InRow(said, true, read)
		if want == nil {
			require.Nil(t, row, "%q: %#v", said, row)
			continue
		}
		require.NotNil(t, row, said)
		var got []string
		for _, in := range row.Of {
			got = append(got, Name(in))
		}
		require.Equal(t, want, got, said)
		require.Len(t, row.Said, len(row.Of))
	}
	require.Nil(t, InRow("took four thirteens off the pump, the back one needs a flex head", false, read), "no remarks wanted")
	require.Nil(t, InRow("", true, read))
}
