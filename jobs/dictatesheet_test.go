package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func figures(v ...float64) []measure.Tightening {
	var list []measure.Tightening
	for _, x := range v {
		list = append(list, measure.Tightening{Torque: *nm(x)})
	}
	return list
}

func TestWhatASheetHoldsCanBeDictatedAndIsReadBack(t *testing.T) {
	s := newSession(t, DemoSheet())
	for _, c := range []struct {
		in   intent.Intent
		want string
	}{
		{intent.SetLimit{Name: "impeller clearance", Max: mm(0.25)}, "Impeller clearance: at most 0.25 mm."},
		{intent.AskLimit{Name: "impeller clearance"}, "Impeller clearance: at most 0.25 mm, dictated just now."},
		{intent.SetLimit{Name: "belt deflection", Min: measure.Quantity{Amount: 9, Said: "9"}}, "Belt deflection: at least 9 mm."},
		{intent.SetLimit{Name: "valve lash", Min: mm(0.15), Max: mm(0.25)}, "Valve lash: 0.15 to 0.25 mm."},
		{intent.SetLimit{Name: "end float", Max: measure.Quantity{Amount: 9, Said: "9"}}, "In what unit? Say it with the unit."},
		{intent.SetLimit{Name: "end float", Min: mm(2), Max: mm(1)}, "2 mm to 1 mm is no range. Nothing written down."},
		{intent.Measure{Name: "valve lash", Value: mm(0.3)}, "Valve lash 0.3 mm, 0.05 mm over the limit of 0.25 mm."},
		{intent.SetFill{Fluid: "coolant", Amount: *litres(5)}, "Coolant takes 5 L."},
		{intent.AskFluid{Name: "coolant"}, "Coolant: 5 L, half and half, dictated just now."},
		{intent.SetOrder{Name: "alternator bolts", Bolts: []int{2, 1}}, "Alternator bolts in the order 2, 1."},
		{intent.SetOrder{Name: "exchanger nuts", Bolts: []int{1, 2, 3}}, "That order cannot be: bolt 4 is missing. Nothing written down."},
		{intent.SetStages{Name: "pump bolts", Stages: figures(10, 22)}, "Pump bolts in two stages: 10 N·m, then 22 N·m."},
		{intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 22 N·m, dictated just now."},
		{intent.SetStages{Name: "pump bolts", Stages: figures(22, 10)}, "Stages go up: 10 N·m comes after 22 N·m. Nothing written down."},
		// M8 8.8 breaks at 800 MPa × 36.6 mm² = 29.3 kN. Source: ISO 898-1.
		{intent.SetStages{Name: "pump bolts", Stages: figures(30, 95)}, "95 N·m cannot be right for an M8 8.8: it is twice what breaks it; in foot-pounds it would be normal. Keep 95 N·m all the same?"},
	} {
		got := s.do(c.in).Text
		if v, ok := c.in.(intent.SetStages); ok && v.Stages[0].Torque.Amount == 30 {
			require.Contains(t, got, "95 N·m cannot be right for an M8 8.8")
			require.Contains(t, got, "Keep 95 N·m all the same?")
			s.expect(intent.No{}, "Nothing written down.")
			continue
		}
		require.Equal(t, c.want, got, "%#v", c.in)
	}
	s.do(intent.Removed{Items: all(), Where: "pump bolts"})
	s.do(intent.Refitted{Items: all(), Where: "pump bolts"})
	s.expect(intent.Tighten{Name: "pump bolts"}, "Four pump bolts, two passes. With the small click. First pass, 10 N·m, bolt 1.")
}

func TestDictatedTimesOfALabelRunTheTimer(t *testing.T) {
	s := newSession(t, nil)
	s.expect(intent.SetTime{Sealant: "black sealer", What: "close", For: 5 * time.Minute}, "Black sealer: close within 5 minutes.")
	s.expect(intent.SetTime{Sealant: "black sealer", What: "oil", For: time.Hour}, "Black sealer: no oil or coolant for 1 hour.")
	s.expect(intent.Sealed{Sealant: "black sealer"}, "Black sealer on. 5 minutes to close it, by your word.")
	s.restart()
	s.wait(4 * time.Minute)
	require.Equal(t, []string{"Black sealer: 1 minute left, by your word."}, s.tick()[:1])
	require.Contains(t, s.b.Vocabulary().Sealants, "black sealer")
}

func TestASheetEditDoesNotLoseWhatWasDictated(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.SetLimit{Name: "impeller clearance", Max: mm(0.25)})
	s.do(intent.SetFill{Fluid: "coolant", Amount: *litres(5)})
	s.do(intent.SetSpec{Name: "pump bolts", Torque: nm(21), Count: 4})
	require.NoError(t, s.b.Close())
	edited := DemoSheet()
	edited.Job = "edited"
	s.open(edited)
	s.expect(intent.AskLimit{Name: "impeller clearance"}, "Impeller clearance: at most 0.25 mm, dictated just now.")
	s.expect(intent.AskFluid{Name: "coolant"}, "Coolant: 5 L, half and half, dictated just now.")
	s.expect(intent.AskTorque{Name: "pump bolts"}, "Pump bolts: 21 N·m, dictated just now.")
}

func TestTheRestOfTheSheetCanBeDictatedAndIsReadBack(t *testing.T) {
	s := newSession(t, DemoSheet())
	for _, c := range []struct {
		in   intent.Intent
		want string
	}{
		{intent.SetTool{Name: "small click", Low: *nm(4), High: *nm(20), Marks: *nm(0.25)}, "Small click: 4 to 20 N·m, marks every 0.25 N·m."},
		{intent.SetTool{Name: "beam wrench", Low: *nm(10), High: *nm(60)}, "Beam wrench: 10 to 60 N·m."},
		{intent.SetTool{Name: "beam wrench", Low: *nm(60), High: *nm(10)}, "60 N·m to 10 N·m is no range. Nothing written down."},
		{intent.SetTool{Name: "beam wrench", Marks: *nm(50)}, "Marks every 50 N·m do not go with 60 N·m. Nothing written down."},
		{intent.Wrench{Name: "beam wrench"}, "Beam wrench, 10 to 60 N·m."},
		{intent.SetCaution{Step: "bracket off", Text: "it swings down"}, "Caution at bracket off: it swings down."},
		{intent.SetCaution{Text: "it swings down"}, "No step is open. Say the step with it."},
		{intent.SetUses{Step: "belt off", Name: "hose clips"}, "Hose clips: at belt off."},
		{intent.SetUses{Step: "belt off", Name: "anode"}, "Anode belongs to belt off."},
		{intent.SetSpec{Name: "drive belt", RenewRule: "always"}, "Drive belt: renew always."},
		{intent.SetSpec{Name: "pump bolts", Head: mm(12), Length: mm(35), Into: "aluminium", Locker: "blue locker", Again: true},
			"Pump bolts, 12 mm head, 35 mm long, into aluminium, blue locker on the threads, a last pass at the full torque."},
		{intent.SetFill{Fluid: "engine oil", Is: "15W-40"}, "Engine oil: 15W-40."},
		{intent.SetCheck{Text: "belt guard on"}, "Before the first start: belt guard on."},
		{intent.SetPattern{Name: "end cap bolts", Pattern: "cross"}, "End cap bolts: crosswise."},
		{intent.SetPattern{Name: "end cap bolts", Rows: 3}, "Eight end cap bolts do not stand in three equal rows. Nothing written down."},
		{intent.SetPattern{Name: "sump front bolts", Pattern: "centre-out"}, "In how many rows do the sump front bolts stand?"},
		// From the middle of four in a row: 2 and 3, then the ends. Common practice, no source.
		{intent.Choice{Text: "one", Quantity: &measure.Quantity{Amount: 1}}, "Sump front bolts: from the centre out, one row of four. Number them along each row. Order 2, 3, 1, 4."},
	} {
		require.Equal(t, c.want, s.do(c.in).Text, "%#v", c.in)
	}
	edited := DemoSheet()
	edited.Job = "edited"
	require.NoError(t, s.b.Close())
	s.open(edited)
	v := s.b.View(s.now)
	for _, want := range []string{
		"small click, 4..20 N·m, marks every 0.25 N·m", "beam wrench, 10..60 N·m", "caution at bracket off: it swings down", "belt off uses hose clips and anode",
		"drive belt: renew always", "pump bolts: 12 mm head, 35 mm long, into aluminium, blue locker, a last pass", "engine oil: 15W-40",
		"before the first start: belt guard on", "end cap bolts: crosswise", "sump front bolts: from the centre out, one row of four",
	} {
		require.Contains(t, v.Dictated, want, "a sheet edit does not take back what was said")
	}
	s.do(intent.GoStep{Name: "sump loose"})
	s.do(intent.Removed{Items: all(), Where: "sump front bolts"})
	s.do(intent.Refitted{Items: all(), Where: "sump front bolts"})
	require.Contains(t, s.do(intent.Tighten{Name: "sump front bolts"}).Text, "Number them along each row; a printed order beats mine. First pass, 2.75 N·m, bolt 2.")
	s.expect(intent.GoStep{Name: "bracket off"}, "Bracket off: take the exchanger bracket off. It swings down. Three 16 mm bolts.")
}
