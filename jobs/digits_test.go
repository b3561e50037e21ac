package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// 13 and 30, 15 and 50, 16 and 60 are taken for each other in noise.
// Source: the project's trade facts, common practice.
func TestNumbersThatSoundAlikeAreSaidDigitByDigit(t *testing.T) {
	for _, c := range []struct {
		in     intent.Intent
		digits bool
	}{
		{intent.Removed{Items: bolts(13), Where: "mast step"}, true},
		{intent.Removed{Items: bolts(30), Where: "mast step"}, true},
		{intent.Removed{Items: bolts(4), Where: "mast step"}, false},
		{intent.SetSpec{Name: "alternator", Torque: nm(16)}, true},
		{intent.SetSpec{Name: "alternator", Torque: nm(24)}, false},
		{intent.AskTorque{Name: "alternator"}, false},
		{intent.AskTorque{Name: "fifteen"}, true},
		{intent.Torqued{Items: all(), Where: "fifteen", Torque: nm(15), How: "wrench"}, true},
		{intent.Tighten{Name: "fifteen"}, true},
		{intent.Filled{Fluid: "gear oil", Amount: litres(1.5)}, false},
		{intent.Measure{Name: "end float", Value: mm(15)}, true},
		{intent.AskOut{}, false},
	} {
		sheet := DemoSheet()
		sheet.Fasteners = append(sheet.Fasteners, SheetGroup{Name: "fifteen", Thread: "M8", Class: "8.8", Count: 2, Torque: *nm(15)})
		s := newSession(t, sheet)
		require.Equal(t, c.digits, s.do(c.in).Digits, "%#v", c.in)
	}
}
