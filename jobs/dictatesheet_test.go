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
