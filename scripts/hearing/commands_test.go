package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

func TestTheShopsCommandsMeanWhatTheirLinesSay(t *testing.T) {
	commands, err := shopCommands()
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(commands), 200)
	langs, err := loadLanguages("no-such-folder")
	require.NoError(t, err)
	withTorque := 0
	for _, c := range commands {
		readings := langs[shopSet].Parse(c.said)
		if !assertSaid(t, c, readings) {
			continue
		}
		in, err := intent.FromReading(readings[0])
		require.NoError(t, err, c.said)
		if got := describe(in); !meant(got, c.want) {
			t.Errorf("%q\n  must mean %s\n  and means %s", c.said, c.want, got)
		}
		if len(torques(c.want)) > 0 {
			withTorque++
		}
	}
	require.GreaterOrEqual(t, withTorque, 50, "numbers are where a wrong reading hurts")
}

func TestTheTorquesMeanWhatTheirLinesSay(t *testing.T) {
	langs, err := loadLanguages("no-such-folder")
	require.NoError(t, err)
	seen := map[string]bool{}
	commands := torqueCommands()
	require.GreaterOrEqual(t, len(commands), 200)
	for _, c := range commands {
		require.False(t, seen[c.said], "%q is there twice", c.said)
		seen[c.said] = true
		readings := langs[torqueSet].Parse(c.said)
		if !assertSaid(t, c, readings) {
			continue
		}
		in, err := intent.FromReading(readings[0])
		require.NoError(t, err, c.said)
		require.Equal(t, c.want, describe(in), c.said)
		require.Len(t, torques(c.want), 1, c.said)
	}
}

func assertSaid(t *testing.T, c command, readings []intent.Reading) bool {
	if len(readings) == 0 {
		t.Errorf("%q is not of the shop's language; it must mean %s", c.said, c.want)
	}
	return len(readings) > 0
}

func TestADescriptionKeepsWhatMattersAndNothingElse(t *testing.T) {
	mm := func(n float64) measure.Quantity {
		return measure.Quantity{Amount: n, Unit: measure.Millimetre, Said: "whatever"}
	}
	torque := measure.Quantity{Amount: 25, Unit: measure.NewtonMetre, Tolerance: 3}
	for want, in := range map[string]intent.Intent{
		`Next`: intent.Next{},
		`Removed Items=[Count=6 Size=[wrench 10 mm]] + [Count=2 Length="long" At="bottom"] Where="front cover"`: intent.Removed{
			Items: []intent.Fastener{{Count: 6, Size: &intent.Size{Said: "tens", Kind: intent.SizeWrench, Across: mm(10)}}, {Count: 2, Length: "long", At: "bottom"}}, Where: "front cover"},
		`SetSpec Name="pump bolts" Torque=25 N·m ±3 Oiled`: intent.SetSpec{Name: "pump bolts", Torque: &torque, Oiled: true},
		`AskHead Size=[thread M8 25 mm long]`:              intent.AskHead{Size: intent.Size{Kind: intent.SizeThread, Designation: "M8", Length: mm(25)}},
		`Unclear "foot-pounds" "inch-pounds"`:              intent.Unclear{Question: "Which?", Choices: []string{"foot-pounds", "inch-pounds"}},
	} {
		require.Equal(t, want, describe(in))
	}
	require.True(t, same(`Note Text="the hose, it leaks"`, `Note Text="The hose it leaks."`))
	require.True(t, same(`Stowed Stow="the top shelf"`, `Stowed Stow="top shelf"`))
	require.True(t, meant(`AskTimers`, `AskTimers || AskTimers Name="timer"`))
	require.False(t, meant(`AskDoubts`, `AskTimers || AskTimers Name="timer"`))
	require.False(t, same(`SetSpec Torque=2.5 N·m`, `SetSpec Torque=25 N·m`))
	require.False(t, same(`SetSpec Torque=25 N·m ±3`, `SetSpec Torque=25 N·m`))
	require.False(t, same(`Removed Items=[Count=6]`, `Removed Items=[Count=6 Size=[wrench 10 mm]]`))
	require.Equal(t, []string{"18 lbf·ft"}, torques(`SetSpec Name="a 3 N" Torque=18 lbf·ft`))
	require.Equal(t, []string{"25 N·m ±3"}, torques(`SetSpec Torque=25 N·m ±3 Angle=90 °`))
	require.Empty(t, torques(`Measure Value=25 mm`))
}
