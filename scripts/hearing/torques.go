package main

import (
	"fmt"
	"strings"
)

// torqueFigures are torques as they are set on wrenches, in each unit, from the
// smallest screw to the crank pulley; the sound-alikes are all among them.
var torqueFigures = []struct{ said, unit, figures string }{
	{"newton metres", "N·m", `1.5 2.5 3 3.5 4.5 5 6 7.5 8 8.5 9 10 12 12.5 13 14 15 16 17 18 19 20 22 23 24 25 27 28 30 32 35 38 40 42 45 48 50 54 55 60
		65 66 70 75 80 85 90 95 100 110 115 120 130 135 140 150 160 180 200 210 220 250`},
	{"inch pounds", "lbf·in", `18 20 35 40 53 55 62 66 70 75 80 84 88 90 96 100 106 110 115 120 130 144 150 180 210`},
	{"foot pounds", "lbf·ft", `7 8 9 10 11 13 14 15 16 17 18 19 20 22 25 26 30 33 35 37 40 43 50 52 55 60 66 70 73 80 90 95 100 110 120 150`},
}

// torqueForms are the ways a torque is told.
var torqueForms = []struct{ said, want string }{
	{"set torque for the %s to %s", `SetSpec Name="%s" Torque=%s`},
	{"torque for the %s is %s", `SetSpec Name="%s" Torque=%s`},
	{"torqued the %s to %s", `Torqued Items=[All] Where="%s" Torque=%s How="wrench"`},
}

var torqueGroups = []string{"pump bolts", "exchanger nuts", "alternator bolts", "crank pulley bolt", "end cap bolts", "sump front bolts", "tensioner bolt"}

// torqueCommands tells every figure in two of the ways.
func torqueCommands() []command {
	var list []command
	for _, unit := range torqueFigures {
		for _, figure := range strings.Fields(unit.figures) {
			for range 2 {
				n := len(list)
				form, group := torqueForms[n%len(torqueForms)], torqueGroups[n/2%len(torqueGroups)]
				list = append(list, command{
					fmt.Sprintf(form.said, group, figure+" "+unit.said),
					fmt.Sprintf(form.want, group, figure+" "+unit.unit),
				})
			}
		}
	}
	return list
}
