package fastening

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/jobs/measure"
)

func TestQuestionsAreAnsweredInSentences(t *testing.T) {
	crow := Adapter{Lever: mustRead(t, "400 mm"), Length: mustRead(t, "50 mm")}
	depth := mustRead(t, "16 mm")
	m8 := Known{Thread: "M8"}
	for name, c := range map[string]struct {
		answer func() (Answer, error)
		want   []string
	}{
		"inch-pounds to newton metres": {func() (Answer, error) { return AnswerConvert(mustRead(t, "66 in-lb"), measure.NewtonMetre) },
			[]string{"66 lbf·in is 7.46 N·m."}},
		"fractions to millimetres": {func() (Answer, error) { return AnswerConvert(mustRead(t, "nine sixteenths"), measure.Millimetre) },
			[]string{"9/16 in is 14.29 mm.", "14 mm wrench is close, but it rounds the head off"}},
		"a near fit that fits": {func() (Answer, error) { return AnswerConvert(mustRead(t, "19 mm"), measure.Inch) },
			[]string{"0.748 in", "3/4 in wrench does fit"}},
		"tolerances": {func() (Answer, error) { return AnswerConvert(mustRead(t, "24 ± 4 N·m"), measure.FootPound) },
			[]string{"24 ± 4 N·m is 17.7 ± 2.95 lbf·ft."}},
		"too much for an M6": {func() (Answer, error) { return AnswerJudge(Known{Thread: "M6"}, mustRead(t, "70 foot-pounds")) },
			[]string{"70 lbf·ft cannot be right for an M6 8.8", "in inch-pounds it would be normal", "Class 8.8 taken", "Guide figure, your manual decides."}},
		"right for an M8": {func() (Answer, error) { return AnswerJudge(Known{Thread: "M8", Class: "8.8"}, mustRead(t, "25 N·m")) },
			[]string{"25 N·m is reasonable for an M8 8.8, 74 % of its proof load.", "Guide figure, your manual decides."}},
		"ten mil bolt": {func() (Answer, error) {
			return AnswerJudge(Known{Said: "ten", Size: mustRead(t, "10 mm")}, mustRead(t, "70 N·m"))
		},
			[]string{"wrong for M6 or M8 and fine for M10", "Is the thread M6, M8 or M10?"}},
		"guide torque": {func() (Answer, error) { return AnswerGuide(Known{Thread: "M8", Class: "8.8", Lubrication: LubeOiled}) },
			[]string{"About 19.1 N·m, 169 lbf·in, for M8 8.8: oiled, 75 % of proof load. Guide figure, your manual decides."}},
		"guide torque of a class in the designation": {func() (Answer, error) { return AnswerGuide(Known{Thread: "quarter twenty grade 8"}) },
			[]string{"1/4-20 grade 8", "dry"}},
		"guide torque for a wrench size": {func() (Answer, error) { return AnswerGuide(Known{Size: mustRead(t, "10 mm")}) },
			[]string{"Is the thread M6, M8 or M10?"}},
		// ISO 898-1, tables of minimum loads: M8 10.9 proof 30 400 N, breaking 38 100 N.
		"strength": {func() (Answer, error) { return AnswerStrength(Known{Thread: "M8", Class: "10.9"}) },
			[]string{"M8 10.9: proof load 30.4 kN, yields at 34.4 kN, breaks at 38.1 kN; stress area 36.6 mm².", "Guide figure, your manual decides."}},
		"strength without a class": {func() (Answer, error) { return AnswerStrength(Known{Thread: "M8"}) },
			[]string{"M8 8.8: proof load 21.2 kN", "Class 8.8 taken"}},
		"strength of a wrench size": {func() (Answer, error) { return AnswerStrength(Known{Size: mustRead(t, "10 mm"), Kind: KindWrench}) },
			[]string{"Is the thread M6 or M8?"}},
		"strength of nothing": {func() (Answer, error) { return AnswerStrength(Known{}) }, []string{"Of which thread?"}},
		// F = T/(K·d), Shigley eq. 8-27: 80 / (0.20 · 0.012) = 33.3 kN; proof 84.3 mm² · 580 MPa = 48.9 kN.
		"preload": {func() (Answer, error) {
			return AnswerPreload(Known{Thread: "M12", Class: "8.8"}, mustRead(t, "80 N·m"))
		},
			[]string{"about 33.3 kN, 68 % of its proof load", "Dry thread taken", "give or take a quarter"}},
		"preload past the proof load": {func() (Answer, error) {
			return AnswerPreload(Known{Thread: "M6", Class: "8.8"}, mustRead(t, "70 ft-lb"))
		},
			[]string{"past the proof load of M6 8.8", "your manual decides"}},
		// ASME B1.1: 1/4-20 UNC is 0.250 in across, 20 threads to the inch.
		"designation": {func() (Answer, error) { return AnswerDesignation(Known{Thread: "quarter twenty"}) },
			[]string{"1/4-20: 6.35 mm across the thread, 20 threads to the inch, that is 1.27 mm.", "Wrench: 7/16 inch hexagon."}},
		"designation of nothing": {func() (Answer, error) { return AnswerDesignation(Known{}) }, []string{"Which thread?"}},
		"loosening is tightening backwards": {func() (Answer, error) { return AnswerLoosening(8) },
			[]string{"8, 4, 6, 2, 7, 3, 5, 1.", "your manual wins"}},
		"locker":        {func() (Answer, error) { return AnswerLocker(), nil }, []string{"your manual's choice", "degrease"}},
		"sealant times": {func() (Answer, error) { return AnswerSealantTimes(), nil }, []string{"close within 3 min to 15 min", "cure 24 h", "The label of yours decides."}},
		// Twice the diameter in aluminium, see EngagementRules; 16 mm at 1.25 mm a turn is 12.8 turns.
		"engagement wanted": {func() (Answer, error) { return AnswerEngage(m8, 0, nil, Aluminium) },
			[]string{"M8 wants 16 mm of thread in aluminium, 13 turns."}},
		"guide torque for nothing": {func() (Answer, error) { return AnswerGuide(Known{}) }, []string{"For which thread?"}},
		"what takes a 12": {func() (Answer, error) { return AnswerThread(Known{Size: mustRead(t, "12 mm")}) },
			[]string{"A 12 mm head is M8 (small JIS hexagon)."}},
		"what takes a 13": {func() (Answer, error) { return AnswerThread(Known{Size: mustRead(t, "13 mm")}) },
			[]string{"M8 (ISO hexagon, old DIN hexagon) or M10 (small flange)", "13 mm and 1/2 in are close but do not fit each other"}},
		"what takes a 20": {func() (Answer, error) { return AnswerThread(Known{Size: mustRead(t, "20 mm")}) }, []string{"No thread in the tables has a 20 mm head."}},
		"hex key":         {func() (Answer, error) { return AnswerThread(Known{Kind: KindHexKey, Size: mustRead(t, "5 mm")}) }, []string{"A 5 mm hex key is M6 (socket head)."}},
		"wrench for an M10": {func() (Answer, error) { return AnswerHead(Known{Thread: "M10"}) },
			[]string{"M10: 16 mm ISO hexagon or flange nut, 17 mm old DIN hexagon, 14 mm small JIS hexagon, 13 mm small flange, 15 mm flange nut, 8 mm hex key."}},
		"wrench for three eighths": {func() (Answer, error) { return AnswerHead(Known{Thread: "3/8-16"}) }, []string{"3/8: 9/16 inch hexagon."}},
		"setting": {func() (Answer, error) { return AnswerSetting(mustRead(t, "50 N·m"), crow, nil) },
			[]string{"Set 44.4 N·m for 50 N·m at the fastener", "adapter straight ahead, 400 mm from grip to drive", "Guide figure, your manual decides."}},
		"setting on a wrench of the user's": {func() (Answer, error) { return AnswerSetting(mustRead(t, "50 N·m"), crow, demoWrenches(t)) },
			[]string{"Take long click, set 44 N·m for 50 N·m at the fastener, 1.0 % under the exact 44.4 N·m"}},
		"setting below the range": {func() (Answer, error) { return AnswerSetting(mustRead(t, "3 N·m"), Adapter{}, demoWrenches(t)) }, []string{"Careful, 3 N·m is under 20 %"}},
		"setting without the length": {func() (Answer, error) {
			return AnswerSetting(mustRead(t, "50 N·m"), Adapter{Length: mustRead(t, "50 mm")}, nil)
		}, []string{"How long is your wrench"}},
		"pattern":               {func() (Answer, error) { return AnswerPattern(12) }, []string{"1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12.", "30, 60 and 100 %", "printed in your manual wins"}},
		"engagement":            {func() (Answer, error) { return AnswerEngage(m8, 7, nil, Aluminium) }, []string{"7 turns are 8.75 mm of M8, 1.1 diameters: not enough for aluminium, which wants 16 mm.", "your manual decides"}},
		"engagement depth":      {func() (Answer, error) { return AnswerEngage(m8, 0, &depth, "") }, []string{"2 diameters: enough for aluminium", "Aluminium taken"}},
		"engagement of nothing": {func() (Answer, error) { return AnswerEngage(m8, 0, nil, "") }, []string{"M8 wants 16 mm of thread in aluminium, 13 turns. Aluminium taken, as no material was given."}},
	} {
		a, err := c.answer()
		require.NoError(t, err, name)
		for _, w := range c.want {
			require.Contains(t, a.Spoken(), w, name)
		}
		require.LessOrEqual(t, len(strings.Fields(a.Spoken())), 50, "%s: short enough for the ear", name)
	}
}

func TestQuestionsWithoutAnAnswerAreErrors(t *testing.T) {
	_, err := AnswerConvert(mustRead(t, "5 N·m"), measure.Millimetre)
	require.Error(t, err)
	_, err = AnswerPattern(0)
	require.Error(t, err)
	_, err = AnswerHead(Known{Thread: "M99"})
	require.Error(t, err)
	_, err = AnswerGuide(Known{Thread: "M8", Class: "7.7"})
	require.Error(t, err)
}

// Every thread and every head can be asked about without an error.
func TestEveryRowOfTheTablesCanBeAskedAbout(t *testing.T) {
	for _, th := range Threads() {
		a, err := AnswerGuide(Known{Thread: th.Designation})
		require.NoError(t, err, th.Designation)
		require.Contains(t, a.Text, manualDecides)
		_, err = AnswerHead(Known{Thread: th.Designation})
		require.NoError(t, err, th.Designation)
	}
	for _, h := range Heads() {
		a, err := AnswerThread(Known{Kind: map[bool]Kind{true: KindHexKey, false: KindWrench}[h.Kind == HeadSocket], Size: h.Across})
		require.NoError(t, err)
		require.Contains(t, a.Text, h.Nominal)
	}
}

func ExampleJudge() {
	q, err := measure.Parse("70 foot-pounds")
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := Judge(Known{Thread: "M6", Class: "8.8"}, q)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(v.Level)
	fmt.Println(v.Reason)
	fmt.Println(v.Likely.Ask)
	// Output:
	// impossible
	// 70 lbf·ft cannot be right for an M6 8.8: it is 4.9 times what breaks it; in inch-pounds it would be normal.
	// Did you mean 70 lbf·in?
}
