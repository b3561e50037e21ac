package fastening

import "strings"

// manualOnly are the words of what is tightened from the maker's manual alone.
// A guide figure for any of it would be a danger. Source: the project's trade
// facts, common practice.
var manualOnly = []struct {
	words []string
	what  string
}{
	{[]string{"brake", "caliper", "calliper"}, "brakes"},
	{[]string{"steering", "tie rod", "track rod", "drag link"}, "steering"},
	{[]string{"airbag", "air bag", "seat belt", "seatbelt"}, "restraints"},
	{[]string{"lifting", "hoist", "sling", "lifting eye", "crane"}, "lifting gear"},
	{[]string{"aircraft", "propeller blade", "rotor blade"}, "aircraft"},
}

// ManualOnly tells whether the name of a group or a part belongs to what is
// tightened from the maker's manual and by licensed practice only, and gives
// the sentence to say instead of a guide figure.
func ManualOnly(name string) (sentence string, yes bool) {
	low := strings.ToLower(name)
	for _, m := range manualOnly {
		for _, w := range m.words {
			if strings.Contains(low, w) {
				return "For " + m.what + " only the maker's manual counts: I give no guide figure.", true
			}
		}
	}
	return "", false
}
