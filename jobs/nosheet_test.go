package jobs

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

func TestAJobWithoutASheetIsDictatedAsItGoes(t *testing.T) {
	m8 := &intent.Size{Said: "M8 by 25", Kind: intent.SizeThread, Designation: "M8", Length: mm(25)}
	s := newSession(t, nil)
	s.expect(intent.Next{}, "There are no steps. Say new step, or just tell me what you do.")
	s.expect(intent.Removed{Items: []intent.Fastener{tenMil(6), {Count: 2, Length: "long", At: "bottom"}}, Where: "front cover"},
		"Six tens and two long ones off the front cover.")
	require.Len(t, s.b.View(s.now).Groups, 2, "the long ones are others")
	s.expect(intent.Removed{Items: []intent.Fastener{{Count: 4, Size: m8}}, Where: "thermostat housing"}, "Four M8 by 25 bolts off the thermostat housing.")
	s.expect(intent.Removed{Items: bolts(2)}, "Two thermostat housing M8 by 25 bolts off. Six out now.")
	s.expect(intent.SetSpec{Name: "thermostat housing", Torque: nm(25)}, "Thermostat housing M8 by 25 bolts, 25 N·m.")
	s.expect(intent.SetSpec{Name: "thermostat housing", Class: "10.9"}, "Thermostat housing M8 by 25 bolts, 10.9.")
	s.expect(intent.SetSpec{Name: "front cover tens", Count: 8}, "Front cover tens, eight.")
	s.expect(intent.AskCount{Name: "front cover tens"}, "Front cover tens: eight, six out, dictated just now.")
	s.expect(intent.SetSpec{Name: "front cover tens", RenewRule: "always"}, "Front cover tens, renew always.")
	s.expect(intent.InsertStep{Text: "drain the block"}, "New step: drain the block.")
	s.expect(intent.Next{}, "Next: drain the block.")
	s.expect(intent.Done{}, "Drain the block done. Stripping is through: fourteen out in three groups. Not all counted: six of eight front cover tens. Putting back now?")
	// What came off last goes back first.
	s.expect(intent.Yes{}, "Putting back. Three steps to go. First: put back the thermostat housing M8 by 25 bolts. 25 N·m.")
	s.expect(intent.Refitted{Items: bolts(5), Where: "thermostat housing"}, "Five thermostat housing M8 by 25 bolts back. One still out.")
	s.expect(intent.Tighten{Name: "thermostat housing"}, "One of the thermostat housing M8 by 25 bolts is still out. Tighten all the same?")
	s.expect(intent.No{}, "Waiting.")
	s.expect(intent.Tighten{Name: "front cover tens"}, "There is no torque for the front cover tens. Dictate one, or say they are tight by feel.")
}
