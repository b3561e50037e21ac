package jobs

import (
	"testing"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

func offAll(where string) intent.Removed {
	return intent.Removed{Items: []intent.Fastener{{All: true}}, Where: where}
}

// What is said of "one of them" is said of what was told just before.
func TestAConditionIsOfWhatWasToldOfLast(t *testing.T) {
	s := newSession(t, DemoSheet())
	one := intent.Condition{Items: []intent.Fastener{{Count: 1}}, What: "rounded"}
	s.expect(one, "Of which bolts?")
	s.do(offAll("end cap bolts"))
	s.expect(one, "Noted, one of the end cap bolts: rounded.")
}

func TestHowManyAreBackIsCountedFromWhatCameOff(t *testing.T) {
	s := newSession(t, DemoSheet())
	back := intent.AskLeft{Name: "pump bolts", Of: "back"}
	s.expect(back, "None of the pump bolts came off by the record.")
	s.do(offAll("pump bolts"))
	s.do(intent.Refitted{Items: []intent.Fastener{{Count: 2}}, Where: "pump bolts"})
	s.expect(back, "No: only two of four pump bolts back, two out.")
	s.expect(intent.LeftOver{}, "By the record still out: two pump bolts.")
	s.do(intent.Refitted{Items: []intent.Fastener{{Count: 2}}, Where: "pump bolts"})
	s.expect(back, "Yes, all four pump bolts are back.")
	s.expect(intent.AskLeft{Of: "torque"}, "Not torqued: four pump bolts.")
	s.expect(intent.LeftOver{}, "Nothing should be: by the record all that came off is back.")
}

// A detail that is asked for changes nothing.
func TestDetailsOfAGroupAreLookedUp(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.AskDetail{Name: "pump pulley bolts", What: "locker"}, "Pump pulley bolts: blue locker, from your sheet.")
	s.expect(intent.AskDetail{Name: "pump bolts", What: "locker"}, "Pump bolts: no locker on record, your manual decides.")
	s.expect(intent.AskDetail{Name: "crank pulley bolt", What: "oiled"}, "Crank pulley bolt: oiled, from your sheet.")
	s.expect(intent.AskDetail{Name: "exchanger nuts", What: "pattern"}, "Exchanger nuts: crosswise: 1, 4, 2, 5, 3, 6, from your sheet.")
	s.expect(intent.AskDetail{Name: "pump bolts", What: "pattern"}, "Pump bolts: in the printed order: 1, 3, 2, 4, from your sheet.")
	s.expect(intent.Strike{}, "Nothing to strike.")
}

func TestWhereAThingGoesTellsWhichStepWaits(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.AskWhy{Name: "impeller in"}, "Impeller in waits for seal in.")
	s.expect(intent.AskWhy{Name: "exchanger on"}, "Exchanger on waits for bracket on.")
	s.expect(intent.AskWhy{Name: "impeller out"}, "Nothing holds impeller out up.")
}

func TestAStepGoesInBeforeAnother(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.InsertStep{Text: "clean the sea strainer", Before: "opening the sea cock"}, "New step before sea cock open: clean the sea strainer.")
	s.expect(intent.AskWhy{Name: "sea cock open"}, "Sea cock open waits for hoses on, lid on and clean the sea strainer.")
	s.expect(intent.InsertStep{Text: "check the hoses", Before: "you drain the coolant"}, "New step before drain coolant: check the hoses.")
	s.expect(intent.InsertStep{Text: "tie the hoses back", After: "you take the hoses off"}, "New step after hoses off: tie the hoses back.")
	s.expect(intent.InsertStep{Text: "check the oil seal", Before: "the impeller goes in"}, "New step before impeller in: check the oil seal.")
}

// The checks before the first start are ticked when they are told as done, and
// not before their time.
func TestChecksBeforeTheFirstStartAreTickedByTellingThem(t *testing.T) {
	s := newSession(t, DemoSheet())
	oil := intent.Filled{Fluid: "oil", ToMark: true}
	s.expect(oil, "Oil to the mark is for the first start: I ask for it then.")
	s.expect(intent.StartCheck{}, "Nothing open in the record. Five checks. Oil to the mark?")
	s.expect(intent.Done{Step: "count tools"}, "Tools counted: checked. Oil to the mark?")
	s.expect(oil, "Oil to the mark: checked. Coolant bled?")
	s.expect(intent.Done{Step: "two turns by hand"}, "Two turns by hand: checked. Coolant bled?")
	s.expect(intent.Done{Step: "two turns by hand"}, "Two turns by hand is checked already.")
}

// Somebody's own figure ticks no bolt off that belongs to another pass.
func TestABoltIsCountedByItsFigure(t *testing.T) {
	s := newSession(t, DemoSheet())
	forty := intent.Done{Torque: &measure.Quantity{Amount: 40}}
	s.expect(forty, "No tightening run is on.")
	s.do(intent.Tighten{Name: "tensioner bolt"})
	s.expect(intent.Done{Torque: &measure.Quantity{Amount: 44}}, "This pass is 40 N·m. Was it that?")
	s.expect(intent.No{}, "Not counted.")
	s.expect(forty, "First pass done. Turn 90°. Turn it by an angle gauge or a paint mark, not by the torque wrench.")
	s.expect(forty, "It is turn 90° now, no torque. Not counted.")
}

func TestSeveralBoltsAreCountedAtOnce(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Tighten{Name: "pump bolts"})
	s.expect(intent.Done{Count: 5}, "Only four left in this pass. Not counted.")
	s.expect(intent.Done{Count: 3}, "Bolt 4.")
	s.do(intent.Strike{})
	s.expect(intent.AskLeft{}, "Four to go in this pass, then two passes.")
}

func TestTheWrenchThatWasNamedMustReadTheTorque(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(offAll("pump bolts"))
	torqued := func(tool string) intent.Torqued {
		return intent.Torqued{Items: []intent.Fastener{{Count: 4}}, Where: "pump bolts", Torque: nm(22), How: "wrench", With: tool}
	}
	s.expect(torqued("torque screwdriver"), "The torque screwdriver reads 1 to 6 N·m, not 22 N·m. Write it down all the same?")
	s.do(intent.No{})
	s.expect(torqued("small click"), "Four pump bolts torqued, 22 N·m. That's all of them. Small click in hand.")
}

func TestAnEntryIsCorrectedInItsPlaceAndItsKind(t *testing.T) {
	s := newSession(t, DemoSheet())
	say := func(in intent.Choice, text, reply string) {
		t.Helper()
		out, err := s.b.Do(s.now.Add(time.Second), in, Heard{Text: text, Confidence: 1})
		if err != nil || out.Reply.Text != reply {
			t.Errorf("%q: %q, %v", text, out.Reply.Text, err)
		}
	}
	s.do(offAll("alternator bolts"))
	say(intent.Choice{Text: "loosened"}, "actually they're only loosened", "Two alternator bolts loosened.")
	s.do(offAll("pump bolts"))
	s.do(intent.Stowed{Name: "pump bolts", Stow: "cup two"})
	say(intent.Choice{Text: "cup three"}, "no wait, cup three", "Pump bolts in cup three.")
	s.do(intent.PartAside{Name: "alternator", Where: "top shelf"})
	say(intent.Choice{Text: "blue tray"}, "no wait, blue tray", "Alternator: blue tray.")
	s.expect(intent.Strike{Count: 2}, "Struck: alternator set aside, blue tray. Back to: alternator set aside, top shelf. Struck: alternator set aside, top shelf.")
}

func TestOilWaitsForTheSealantThatWasPutOn(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Sealed{})
	s.expect(intent.AskTimers{Fluid: "oil"}, "2 hours after the grey silicone is closed up, by the tube. 10 minutes left to close it.")
}

func TestNotesAreReadBackNewestFirst(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.AskNotes{}, "No note is written down.")
	s.do(intent.Note{Text: "the clip is bent"})
	s.do(intent.Note{Text: "white tape goes on top"})
	s.expect(intent.AskNotes{}, "Two notes: white tape goes on top; the clip is bent.")
}

func TestWhatWasSaidLastIsConverted(t *testing.T) {
	s := newSession(t, DemoSheet())
	to := intent.Convert{To: measure.FootPound}
	s.expect(to, "I said no figure of that kind last. Say it with its number.")
	s.do(intent.AskTorque{Name: "exchanger bracket bolts"})
	s.expect(to, "45 N·m is 33.2 lbf·ft.") // 45 / 1.3558179 (NIST SP 811, appendix B.8) = 33.19
}

// "Not the pump, the sump" rules nothing out where nothing is suspected.
func TestWhereNothingIsSuspectedAnotherGroupIsMeant(t *testing.T) {
	s := newSession(t, DemoSheet())
	not := intent.RuleOut{Name: "pump", Reason: "the sump"}
	s.do(offAll("pump bolts"))
	s.expect(not, "Four sump front bolts off. That's all of them.")
	s.do(intent.Suspect{Name: "pump"})
	s.expect(not, "Pump ruled out: the sump.")
}
