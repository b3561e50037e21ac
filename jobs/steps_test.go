package jobs

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// refitSheet is a small job: a cover, a pump on it, a seal in the pump.
func refitSheet() *Sheet {
	return &Sheet{
		Job: "test",
		Fasteners: []SheetGroup{
			{Name: "cover bolts", Thread: "M6", Class: "8.8", Count: 6, Torque: *nm(10)},
			{Name: "pump bolts", Thread: "M8", Class: "8.8", Count: 4, Torque: *nm(22), Tips: []string{"the back one by hand"}},
			{Name: "hose clips", Kind: "clip", Count: 2},
			{Name: "stretch bolt", Count: 1, Torque: *nm(40), Renew: "always"},
		},
		Parts: []SheetPart{{Name: "shaft seal", Count: 1, Renew: "always"}, {Name: "cover", Count: 1}, {Name: "pump", Count: 1}, {Name: "anode", Count: 1, Renew: "if damaged", Have: 1}},
		Strip: []SheetStep{
			{Name: "pump off", Do: "take the pump off", Fasteners: []string{"pump bolts"}, Parts: []string{"pump"}, Caution: "It is heavy; hold it."},
			{Name: "cover off", Do: "take the cover off", Fasteners: []string{"cover bolts"}, Parts: []string{"cover"}},
		},
		Refit: []SheetStep{
			{Name: "cover on", Do: "fit the cover", Fasteners: []string{"cover bolts"}, Parts: []string{"cover"}},
			{Name: "seal in", Do: "press the seal in", Parts: []string{"shaft seal"}, After: []string{"pump on"}},
			{Name: "pump on", Do: "fit the pump", Fasteners: []string{"pump bolts"}, Parts: []string{"pump"}},
		},
		FirstStart: []string{"oil to the mark", "tools counted"},
	}
}

// stripped is the small job with both steps of stripping done.
func stripped(t *testing.T) *session {
	s := newSession(t, refitSheet())
	s.do(intent.Removed{Items: all(), Where: "pump bolts", Stow: "cup four"})
	s.do(intent.Removed{Items: all(), Where: "cover bolts"})
	for _, in := range []intent.Intent{intent.Next{}, intent.Done{}, intent.Done{}} {
		s.do(in)
	}
	return s
}

func TestTheNextStepComesInOneBreath(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.Next{}, "Next: take the pump off. It is heavy; hold it. Four pump bolts.")
	s.expect(intent.Next{}, "After pump off: take the cover off. Six cover bolts.")
	s.expect(intent.Done{}, "Not counted yet: four pump bolts. All out?")
	s.expect(intent.Yes{}, "Pump off done. Next: take the cover off. Six cover bolts.")
	s.expect(intent.Back{}, "Back to pump off: take the pump off. Four pump bolts.")
	s.expect(intent.Done{}, "Pump off done. Next: take the cover off. Six cover bolts.")
	s.expect(intent.Done{}, "Not counted yet: six cover bolts. All out?")
	s.expect(intent.No{}, "Cover off done. Stripping is through: four out in one group. Not all counted: none of six cover bolts. Putting back now?")
}

func TestTheRefitGoesBackwardsAndSaysWhyAStepWaits(t *testing.T) {
	s := stripped(t)
	s.expect(intent.Yes{}, "Putting back. Three steps to go. First: fit the cover. Cover bolts 10 N·m.")
	s.expect(intent.GoStep{Name: "seal"}, "Seal in waits for pump on.")
	s.expect(intent.AskWhy{Name: "seal"}, "Seal in waits for pump on.")
	s.expect(intent.Constrain{Step: "pump on", After: "seal in"}, "That would be a ring: seal in, then pump on, then seal in. Nothing written down.")
	s.expect(intent.InsertStep{Text: "clean the pump face"}, "New step after cover on: clean the pump face.")
	s.do(intent.Refitted{Items: all(), Where: "cover bolts"})
	s.expect(intent.Done{}, "Not torqued yet: cover bolts, 10 N·m. Torqued, by feel, or later?")
	s.expect(intent.Yes{}, "Which one: torqued, by feel or later?")
	s.expect(intent.Choice{Text: "torqued"}, "Cover on done. Next: clean the pump face.")
	s.expect(intent.SkipStep{}, "Why skip clean the pump face?")
	s.expect(intent.Choice{Text: "it is clean"}, "Skipped clean the pump face: it is clean. Next: fit the pump. Pump bolts 22 N·m, from cup four. Tip: the back one by hand. For the step after you need shaft seal.")
	require.Equal(t, 6, s.b.View(s.now).Groups[0].Torqued)
}

func TestEveryAnswerOnTheWayToAStepsEndIsKept(t *testing.T) {
	s := stripped(t)
	s.do(intent.Stage{To: "refit"})
	s.expect(intent.Done{}, "Still out: six cover bolts. All back?")
	s.expect(intent.Yes{}, "Not torqued yet: cover bolts, 10 N·m. Torqued, by feel, or later?")
	require.Equal(t, 6, s.b.View(s.now).Groups[0].Refitted)
	s.wait(time.Minute) // the question expires, what was answered stands
	s.tick()
	require.Equal(t, 6, s.b.View(s.now).Groups[0].Refitted)
	s.expect(intent.Done{}, "Not torqued yet: cover bolts, 10 N·m. Torqued, by feel, or later?")
	s.do(intent.Choice{Text: "by feel"})
	require.Equal(t, 6, s.b.View(s.now).Groups[0].ByFeel)
}

func TestATipComesBackOnceAtTheRefitOfItsGroup(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.Tip{Text: "for the cover bolts start at the dowel"}, "Tip kept for the cover bolts.")
	s.do(intent.Removed{Items: all(), Where: "cover bolts"})
	s.expect(intent.Refitted{Items: bolts(2), Where: "cover bolts"}, "Two cover bolts back. Four still out. Tip: start at the dowel.")
	s.expect(intent.Refitted{Items: bolts(1), Where: "cover bolts"}, "One cover bolt back. Three still out.")
}

func TestRenewRulesAreEnforced(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.PartFitted{Name: "shaft seal"}, "The shaft seal is once-only: is this the new one?")
	s.expect(intent.No{}, "Then fit a new one. Nothing written down.")
	s.expect(intent.AskPart{}, "Still to get: one shaft seal.")
	s.expect(intent.PartHave{Name: "shaft seal"}, "Shaft seal: one at hand.")
	s.expect(intent.PartFitted{Name: "shaft seal", New: true}, "New shaft seal fitted.")
	s.expect(intent.Removed{Items: all(), Where: "stretch bolt"}, "Stretch bolt off.")
	s.expect(intent.AskPart{}, "Still to get: one stretch bolt.")
	s.expect(intent.Refitted{Items: all(), Where: "stretch bolt"}, "That one is once-only: is this one new?")
	s.expect(intent.Yes{}, "Stretch bolt new in.")
	s.expect(intent.Condition{Where: "anode", What: "corroded"}, "Noted, anode: corroded. It wants renewing; one at hand.")
	s.do(intent.Removed{Items: all(), Where: "pump bolts"})
	s.do(intent.Condition{Items: bolts(1), Where: "pump bolts", What: "stretched"})
	s.expect(intent.Refitted{Items: all(), Where: "pump bolts"}, "One of them was noted as stretched. Renewed?")
	s.expect(intent.Yes{}, "Four pump bolts back. All back. Tip: the back one by hand.")
	g := s.b.View(s.now).Groups[1]
	require.Equal(t, []int{3, 1}, []int{g.Refitted, g.Renewed})
}

func TestADoubtIsAskedAboutAtItsStepAndBeforeTheFirstStart(t *testing.T) {
	s := newSession(t, refitSheet())
	s.do(intent.Next{})
	s.expect(intent.Flag{Text: "not sure the pump sits flush"}, "Flagged: not sure the pump sits flush.")
	s.expect(intent.AskDoubts{}, "One doubt: not sure the pump sits flush.")
	s.do(intent.Stage{To: "refit"})
	r := s.do(intent.GoStep{Name: "pump on"})
	require.Contains(t, r.Text, "Your doubt: not sure the pump sits flush.")
	s.expect(intent.Done{}, "You doubted: not sure the pump sits flush. Settled?")
	s.do(intent.No{})
	require.Len(t, s.b.View(s.now).Doubts, 1)
	require.True(t, s.b.View(s.now).Doubts[0].Open)
	s.expect(intent.StartCheck{}, "You doubted: not sure the pump sits flush. Settled?")
	s.expect(intent.No{}, "Not yet: doubt: not sure the pump sits flush.")
	s.do(intent.StartCheck{})
	s.expect(intent.Yes{}, "Nothing open in the record. Two checks. Oil to the mark?")
	require.False(t, s.b.View(s.now).Doubts[0].Open)
}

func TestTheChecklistIsTickedOffAndSurvivesAPause(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.StartCheck{}, "Nothing open in the record. Two checks. Oil to the mark?")
	s.expect(intent.Yes{}, "Tools counted?")
	s.wait(10 * time.Minute)
	require.Empty(t, s.tick(), "a check takes its time")
	s.restart()
	s.expect(intent.StartCheck{}, "Tools counted?")
	s.expect(intent.No{}, "Do that first, then say done.")
	s.expect(intent.Done{}, "All checked, nothing open in the record. Steps left: cover on, pump on and seal in. Your manual decides.")
	require.Equal(t, []CheckView{{"oil to the mark", true}, {"tools counted", true}}, s.b.View(s.now).Checks)
}

func TestWhatIsOpenStandsBeforeTheFirstStart(t *testing.T) {
	out := intent.Removed{Items: all(), Where: "pump bolts"}
	back := intent.Refitted{Items: all(), Where: "pump bolts"}
	for name, c := range map[string]struct {
		do   []intent.Intent
		want string
	}{
		"bolts out":          {[]intent.Intent{out}, "Not yet: four pump bolts out."},
		"not torqued":        {[]intent.Intent{out, back}, "Not yet: pump bolts not torqued."},
		"a part on the side": {[]intent.Intent{intent.PartAside{Name: "pump", Where: "bench"}}, "Not yet: pump not in."},
		"a fluid":            {[]intent.Intent{intent.Drained{Fluid: "coolant"}}, "Not yet: coolant not filled."},
		"loose clips":        {[]intent.Intent{intent.Loosened{Items: all(), Where: "hose clips"}}, "Not yet: two hose clips loose."},
		"by feel":            {[]intent.Intent{out, back, intent.Torqued{Items: all(), Where: "pump bolts", How: "feel"}}, "Pump bolts: four tight by feel, 22 N·m wanted. Leave them so?"},
		"not said how":       {[]intent.Intent{out, back, intent.Torqued{Items: all(), Where: "pump bolts", How: "unknown"}}, "Pump bolts: four tight but nobody said how, 22 N·m wanted. Leave them so?"},
		"excused":            {[]intent.Intent{out, intent.Excuse{Where: "pump bolts", Reason: "studs on order"}}, "Nothing open in the record. Two checks. Oil to the mark?"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSession(t, refitSheet())
			for _, in := range c.do {
				s.do(in)
			}
			s.expect(intent.StartCheck{}, c.want)
		})
	}
}

func TestAPartIsNotTakenForTheBoltsThatHoldIt(t *testing.T) {
	s := newSession(t, refitSheet())
	s.expect(intent.Removed{Items: all(), Where: "pump"}, "Pump set aside.")
	require.Zero(t, s.b.View(s.now).Groups[1].Removed)
	s.expect(intent.Removed{Items: all(), Where: "pump bolts"}, "Four pump bolts off. That's all of them.")
	s.expect(intent.Refitted{Items: all(), Where: "pump"}, "Pump fitted.")
	require.Equal(t, 4, s.b.View(s.now).Groups[1].Out)
}

func TestSomethingLeftOverIsTracedToWhereItCanBelong(t *testing.T) {
	s := newSession(t, DemoSheet())
	ten := []intent.Fastener{{Count: 1, Size: tenMil(1).Size}}
	s.expect(intent.LeftOver{Items: ten}, "Nothing like it came off by the record.")
	s.do(intent.Removed{Items: bolts(4), Where: "sump front bolts"})
	s.expect(intent.LeftOver{Items: ten}, "By the record still out: four sump front bolts.")
	s.do(intent.Refitted{Items: all(), Where: "sump front bolts"})
	s.expect(intent.LeftOver{Items: ten}, "By the record they are all back. It could be off the sump front bolts: count there.")
}

func TestMoreThanTheSheetSaysIsAskedAbout(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.Removed{Items: bolts(14), Where: "front cover short"}, "The sheet has twelve, that makes fourteen: where were the two?")
	s.expect(intent.Choice{Text: "sump"}, "Twelve bolts off the front cover short, two sump front bolts off. Two sump front bolts still to come.")
	v := s.b.View(s.now)
	require.Equal(t, []int{12, 2}, []int{v.Groups[0].Out, v.Groups[2].Out})
	s.expect(intent.Removed{Items: bolts(2), Where: "sump front bolts"}, "Two sump front bolts off. That's all of them.")
	s.expect(intent.Removed{Items: bolts(1), Where: "sump front bolts"}, "All four are out already. One more?")
	s.expect(intent.Yes{}, "One sump front bolt off. That's all of them.")
	require.Equal(t, 5, s.b.View(s.now).Groups[2].Count)
}

func TestGroupsAreFoundByPartialReorderedAndSimilarNames(t *testing.T) {
	for said, want := range map[string]string{
		"front cover long":    "Front cover long: 25 ± 3 N·m, from your sheet.",
		"long front cover":    "Front cover long: 25 ± 3 N·m, from your sheet.",
		"sump":                "Sump front bolts: 9 N·m, from your sheet.",
		"the alternater":      "Alternator bolts: 25 N·m, from your sheet.",
		"exchanger nut":       "Exchanger nuts: 18 N·m, from your sheet.",
		"tensioner":           "Tensioner bolt: 40 N·m + 90°, from your sheet.",
		"raw-water pump":      "Pump bolts 22 N·m; pump lid screws 3 N·m, from your sheet.",
		"gearbox drain plug":  "I do not know the gearbox drain plug.",
		"exchanger bracket":   "Exchanger bracket bolts: 45 N·m, from your sheet.",
		"crank pulley's bolt": "Crank pulley bolt: 150 N·m, oiled, from your sheet.",
	} {
		s := newSession(t, DemoSheet())
		s.expect(intent.AskTorque{Name: said}, want)
	}
	s := newSession(t, DemoSheet())
	s.expect(intent.Removed{Items: bolts(2), Where: "front cover"}, "Short or long?")
	s.expect(intent.Choice{Text: "long"}, "Two bolts off the front cover long. Two still to come.")
	s.expect(intent.Removed{Items: bolts(1)}, "One bolt off the front cover long. One still to come.")
}

func TestWhereWasITellsAllInAQuarterOfAMinute(t *testing.T) {
	s := stripped(t)
	s.do(intent.No{})
	s.do(intent.Flag{Text: "not sure whether the pump sits quite flush on the cover all the way round its lower edge"})
	s.do(intent.Timer{Name: "soak", For: 30 * 24 * time.Hour})
	s.wait(21 * 24 * time.Hour)
	r := s.do(intent.WhereWasI{})
	for _, part := range []string{"Last worked three weeks ago, after cover off.", "Ten out in two groups.", "One doubt: ", "Next: putting back."} {
		require.Contains(t, r.Text, part)
	}
	require.LessOrEqual(t, len(strings.Fields(r.Text)), maxWords)
}

func TestWhoLeavesTheProcedureIsNotSentBackToWhatIsOff(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Stage{To: "strip"})
	s.do(intent.Drained{Fluid: "coolant"})
	s.do(intent.Drained{Fluid: "engine oil"})
	s.do(intent.Loosened{Items: bolts(2), Where: "alternator bolts"})
	s.expect(intent.Done{Step: "engine cold"}, "Engine cold done. Done by the record: drain coolant, drain oil and alternator loose. Next: battery negative off.")
	s.expect(intent.Next{}, "After power off: shut the sea cock and hang the tag on the key.")
	s.do(intent.Strike{})
	s.expect(intent.Done{Step: "sea cock shut"}, "Sea cock shut done. Done by the record: drain coolant, drain oil and alternator loose. Next: battery negative off.")
	s.expect(intent.Done{Step: "sea cock shut"}, "Sea cock shut is done already.")
}

func TestAWordThatFitsAnotherStepIsAskedAbout(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Stage{To: "strip"})
	s.heard("marked it", intent.Done{}, "Belt marks, you mean?")
	s.expect(intent.No{}, "Power off is still in hand.")
	s.heard("marked it", intent.Done{}, "Belt marks, you mean?")
	require.Contains(t, s.do(intent.Yes{}).Text, "Belt marks done.")
	require.Equal(t, "power off", s.b.state.open().Name, "power off is still to be done")
}

func TestARefitStepIsDoneByWhatIsBackAndTight(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.do(intent.Removed{Items: bolts(3), Where: "exchanger bracket bolts"})
	s.do(intent.Removed{Items: bolts(6), Where: "pump lid screws"})
	s.do(intent.Stage{To: "refit"})
	state := func(name string) string { _, st := s.b.state.step(name); return st.State }
	s.do(intent.Torqued{Items: bolts(3), Where: "exchanger bracket bolts", Torque: nm(45), How: "wrench"})
	s.do(intent.Refitted{Items: bolts(6), Where: "pump lid screws", Snug: true})
	s.expect(intent.AskPart{Name: "lid gasket"}, "Lid gasket: one needed, one at hand, from your sheet. Once-only.")
	s.heard("did I put the lid gasket in", intent.AskPart{Name: "lid gasket"}, "Not by the record: none of one fitted.")
	_, lid := s.b.state.step("lid on")
	require.False(t, s.b.state.covered(lid), "the screws are not tight, and nobody said the gasket is new")
	s.do(intent.Torqued{Items: bolts(6), Where: "pump lid screws", Torque: nm(3), How: "wrench"})
	require.False(t, s.b.state.covered(lid), "nobody said the gasket is new")
	s.do(intent.PartFitted{Name: "lid gasket", New: true})
	require.True(t, s.b.state.covered(lid))
	s.heard("did I put the lid gasket in", intent.AskPart{Name: "lid gasket"}, "Yes, the lid gasket fitted, new.")
	require.Equal(t, "waiting", state("bracket on"))
	require.Contains(t, s.do(intent.Done{}).Text, "Done by the record: bracket on")
	require.Equal(t, "done", state("bracket on"))
	require.Equal(t, "waiting", state("lid on"), "it waits for the impeller")
}
