package jobs

import (
	"testing"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

func TestEveryAnswerNamesItsSource(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(4), Where: "front cover long", Stow: "cup four"})
	s.do(intent.PartAside{Name: "raw-water pump", Where: "top shelf"})
	s.do(intent.SetSpec{Name: "pump bolts", Torque: nm(21)})
	s.do(intent.Drained{Fluid: "coolant", Amount: litres(4)})
	s.do(intent.Measure{Name: "impeller clearance", Value: mm(0.25)})
	s.wait(24 * time.Hour)
	for _, c := range []struct {
		ask  intent.Intent
		want string
	}{
		{intent.AskTorque{Name: "front cover long"}, "Front cover long: 25 ± 3 N·m, from your sheet."},
		{intent.AskTorque{Name: "front cover"}, "Front cover short 10 N·m; front cover long 25 ± 3 N·m, from your sheet."},
		{intent.AskTorque{Name: "tensioner"}, "Tensioner bolt: 40 N·m + 90°, from your sheet."},
		{intent.AskTorque{Name: "crank pulley"}, "Crank pulley bolt: 150 N·m, oiled, from your sheet."},
		{intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 21 N·m, dictated yesterday."},
		{intent.AskTorque{Name: "hose clips"}, "Hose clips: no torque on record; your manual has it."},
		{intent.AskTorque{Name: "gearbox"}, "I do not know the gearbox."},
		{intent.AskSize{Name: "pump bolts"}, "Pump bolts: 13 mm head, M8, 8.8, 30 mm long, from your sheet."},
		{intent.AskCount{Name: "front cover"}, "Front cover short twelve; front cover long four, four out, from your sheet."},
		{intent.AskPlace{Name: "front cover long"}, "Front cover long: cup four, dictated yesterday."},
		{intent.AskPlace{Name: "raw-water pump"}, "Raw-water pump: top shelf, dictated yesterday."},
		{intent.AskPlace{Name: "sump front bolts"}, "Sump front bolts: still on the machine."},
		{intent.AskPart{Name: "shaft seal"}, "Shaft seal: one needed, two at hand, one of them spare, from your sheet. Once-only."},
		{intent.AskPart{}, "Every new part is at hand or fitted."},
		{intent.AskFluid{Name: "engine oil"}, "Engine oil: 3.2 L, 15W-40, from your sheet."},
		{intent.AskFluid{Name: "coolant"}, "Coolant: 4.5 L, half and half, from your sheet. 4 L came out."},
		{intent.AskFluid{}, "Coolant 4.5 L and engine oil 3.2 L, from your sheet."},
		{intent.AskLimit{Name: "impeller clearance"}, "Impeller clearance: at most 0.3 mm, by the pump's leaflet. You measured 0.25 mm yesterday."},
		{intent.AskLimit{Name: "belt deflection"}, "Belt deflection: 8 to 12 mm, from your sheet."},
		{intent.AskLimit{Name: "valve lash"}, "I have no limit for the valve lash."},
		{intent.AskOut{}, "Four out: four front cover long."},
		{intent.AskOut{Name: "front cover"}, "Four front cover long out."},
		{intent.AskOut{Name: "exchanger nuts"}, "None of the exchanger nuts is out."},
		{intent.AskLeft{Name: "front cover"}, "Front cover short all twelve still on."},
		{intent.AskLast{}, "Impeller clearance: 0.25 mm, yesterday."},
	} {
		s.expect(c.ask, c.want)
	}
}

func TestATorqueNobodyGaveIsAnsweredByAGuideFigureExceptWhereOnlyTheManualCounts(t *testing.T) {
	s := newSession(t, &Sheet{Job: "test", Fasteners: []SheetGroup{
		{Name: "bracket bolts", Thread: "M8", Class: "8.8", Count: 3},
		{Name: "brake bracket bolts", Thread: "M8", Class: "8.8", Count: 2},
	}})
	// Guide figure: T = K·d·F, K 0.20, 75 % of proof; 0.20 × 8 mm × 0.75 × 36.6 mm² × 580 MPa = 25.5 N·m.
	// Source: Shigley 9th ed. tables 8-15 and eq. 8-31, ISO 898-1.
	s.expect(intent.AskTorque{Name: "bracket bolts"},
		"Bracket bolts: no torque on record. Guide figure for M8: about 25 N·m, your manual decides.")
	s.expect(intent.AskTorque{Name: "brake bracket"},
		"Brake bracket bolts: no torque on record. For brakes only the maker's manual counts: I give no guide figure.")
}

func TestAnswersUseTheUnitsOfTheWrenchInHand(t *testing.T) {
	sheet := DemoSheet()
	sheet.Wrenches = append(sheet.Wrenches, SheetWrench{Name: "foot-pound clicker",
		Low: measure.Quantity{Amount: 5, Unit: measure.FootPound}, High: measure.Quantity{Amount: 80, Unit: measure.FootPound},
		Marks: measure.Quantity{Amount: 1, Unit: measure.FootPound}})
	s := newSession(t, sheet)
	s.expect(intent.Wrench{Name: "long click"}, "Long click, 20 to 110 N·m.")
	s.expect(intent.AskTorque{Name: "alternator"}, "Alternator bolts: 25 N·m, from your sheet.")
	s.expect(intent.Wrench{Name: "foot-pound clicker"}, "Foot-pound clicker, 5 to 80 lbf·ft.")
	// 25 N·m / 1.3558179483 = 18.4 lbf·ft. Source: NIST SP 811 App. B.
	s.expect(intent.AskTorque{Name: "alternator"}, "Alternator bolts: 18.4 lbf·ft on the foot-pound clicker, from your sheet, there 25 N·m.")
	s.expect(intent.Wrench{Name: "click"}, "Small click, long click or big click?")
	s.expect(intent.Choice{Text: "small click"}, "Small click, 5 to 25 N·m.")
	s.expect(intent.Wrench{Name: "borrowed beam wrench"}, "Borrowed beam wrench in hand. Its range is not on your sheet.")
}

func TestAQuestionOfAnAnswerWaitsForItsAnswer(t *testing.T) {
	s := newSession(t, DemoSheet())
	ten := intent.Size{Said: "ten", Kind: intent.SizeWrench, Across: mm(10)}
	r := s.do(intent.AskGuide{Size: ten})
	if r.Kind != ReplyQuestion || len(r.Choices) < 2 {
		t.Fatalf("no question is asked: %+v", r)
	}
	// M6 8.8: 0.20 × 6 mm × 0.75 × 20.1 mm² × 580 MPa = 10.5 N·m. Source: Shigley eq. 8-31, ISO 898-1.
	r = s.do(intent.Choice{Text: "M6"})
	if want := "About 10.5 N·m"; len(r.Text) < len(want) || r.Text[:len(want)] != want {
		t.Fatalf("the answer is %q", r.Text)
	}
	r = s.do(intent.AskSetting{Torque: *nm(50), Adapter: mm(50)})
	if r.Kind != ReplyQuestion {
		t.Fatalf("the length of the wrench is not asked for: %+v", r)
	}
	lever := measure.Quantity{Amount: 400, Unit: measure.Millimetre, Said: "400 mm"}
	// 50 N·m × 400/(400 + 50) = 44.44 N·m, on marks of 1 N·m. Source: US Army TM 1-1500-204-23-9.
	s.expect(intent.Choice{Text: "400 mm", Quantity: &lever},
		"Take long click, set 44 N·m for 50 N·m at the fastener, 1.0 % under the exact 44.4 N·m: adapter straight ahead, 400 mm from grip to drive. Guide figure, your manual decides.")
}

func TestAPlaceTellsWhatLiesThere(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: all(), Where: "front cover short", Stow: "cup two"})
	s.expect(intent.AskHeld{Place: "cup two"}, "In cup two: twelve front cover short, dictated just now.")
	s.do(intent.Removed{Items: bolts(3), Where: "pump pulley bolts", Stow: "cup two"})
	s.do(intent.PartAside{Name: "impeller", Where: "cup two"})
	s.expect(intent.AskHeld{Place: "cup two"}, "In cup two: twelve front cover short, three pump pulley bolts and impeller.")
	s.do(intent.PartAside{Name: "front cover", Where: "bench"})
	s.do(intent.Removed{Items: bolts(4), Where: "pump bolts"})
	s.do(intent.Stowed{Name: "pump bolts", Stow: "old tin"})
	s.do(intent.Removed{Items: bolts(2), Where: "exchanger nuts"})
	s.expect(intent.AskHeld{Place: "bench"}, "On the bench: front cover, dictated just now. Out with no place said: two exchanger nuts.")
	s.expect(intent.AskHeld{Place: "tin"}, "In the old tin: four pump bolts, dictated just now.")
	s.do(intent.Refitted{Items: bolts(4), Where: "pump bolts"})
	s.expect(intent.AskHeld{Place: "old tin"}, "Nothing in the old tin now. It is the place of the pump bolts.")
	s.expect(intent.AskHeld{Place: "blue tray"}, "Nothing is noted in the blue tray.")
}
