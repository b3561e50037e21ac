package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func TestAKnownNameWithANumberOrAPluralIsTheKnownName(t *testing.T) {
	s := newSession(t, DemoSheet())
	tens := []intent.Fastener{{Count: 6, Size: &intent.Size{Said: "tens", Kind: intent.SizeWrench, Across: measure.Quantity{Amount: 10, Unit: measure.Millimetre}}}}
	before := len(s.b.View(s.now).Groups)
	for _, name := range []string{"front cover 2", "front covers", "the front cover 2"} {
		s.expect(intent.Removed{Items: tens, Where: name}, "Six tens off the front cover. Six still to come.")
		s.do(intent.Strike{})
	}
	s.expect(intent.AskTorque{Name: "exchanger bracket 2"}, "Exchanger bracket bolts: 45 N·m, from your sheet.")
	s.expect(intent.Removed{Items: tens, Where: "front cover lines"}, "I know the front cover, not the front cover lines. A new group?")
	s.expect(intent.No{}, "Nothing written down.")
	require.Len(t, s.b.View(s.now).Groups, before)
	s.do(intent.Removed{Items: tens, Where: "front cover lines"})
	s.expect(intent.Yes{}, "Six tens off the front cover lines.")
}

func TestNamesWithNumbersStayApart(t *testing.T) {
	s := newSession(t, nil)
	s.expect(intent.Removed{Items: bolts(2), Where: "main cap 1"}, "Two main cap 1 bolts off.")
	s.expect(intent.Removed{Items: bolts(2), Where: "main cap 2"}, "Two main cap 2 bolts off.")
	s.expect(intent.Removed{Items: bolts(2), Where: "number 3 main cap"}, "Two number 3 main cap bolts off.")
	require.Len(t, s.b.View(s.now).Groups, 3)
}

func TestTheLongOnesAreThoseCalledSoAndNotTheStepsBolts(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.GoStep{Name: "end caps off"})
	s.expect(intent.Removed{Items: []intent.Fastener{{Count: 4, Length: "long"}}}, "Four long ones off the front cover. That's all of them.")
}

// The thing of that name, not another that has the name in its own; its bolts
// where bolts were said; a step by its whole name at any stage.
func TestANameIsTheThingTheBoltsOrTheStepThatWasSaid(t *testing.T) {
	s := newSession(t, DemoSheet())
	all := []intent.Fastener{{All: true}}
	s.heard("that's the pump off, it's on the top shelf", intent.Removed{Items: all, Where: "pump", Stow: "top shelf"}, "Raw-water pump: top shelf.")
	s.heard("the cover's in the blue tray", intent.Stowed{Name: "front cover", Stow: "blue tray"}, "Front cover: blue tray.")
	s.do(intent.Strike{})
	s.heard("I've stuck the front cover bolts in the blue tray", intent.Stowed{Name: "front cover", Stow: "blue tray"}, "Short or long?")
	s.do(intent.Stop{})
	s.heard("have I got a spare o-ring for the pump", intent.AskPart{Name: "o-ring for the pump"}, "Pump o-ring: one needed, one at hand, from your sheet. Once-only.")
	s.heard("why can't I put the seal in yet", intent.AskWhy{Name: "seal in"}, "Seal in waits for pump on.")
}
