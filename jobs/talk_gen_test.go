package jobs

import (
	"time"

	"pgregory.net/rapid"

	"putback/intent"
	"putback/jobs/measure"
)

// Names as they are said: of the sheet, half said, unknown, of two things at once.
var (
	saidGroups   = []string{"front cover short", "front cover long", "front cover", "front cover tens", "pump bolts", "pump lid screws", "raw-water pump", "the exchanger nuts", "tensioner bolt", "hose clips", "crank pulley bolt", "alternator", "gearbox", "dipstick tube", ""}
	saidParts    = []string{"shaft seal", "impeller", "exchanger o-rings", "anode", "raw-water pump", "front cover", "new hose", "o-ring"}
	saidSteps    = []string{"drain", "front cover off", "pump", "belt", "seal", "paint the frame", "exchanger on"}
	saidFluids   = []string{"coolant", "engine oil", "oil", "gear oil"}
	saidSuspects = []string{"impeller", "thermostat", "blocked strainer", ""}
	saidLimits   = []string{"impeller clearance", "shaft wear", "belt", "pulley run-out"}
	saidTexts    = []string{"not sure the housing sits flush", "scratch on the shaft", "looks worn", "yes", "4", "front cover", "first", "old", "loose", "flex-head ratchet"}
	saidTimers   = []string{"", "locker", "soak", "grey silicone", "cooling"}
	saidStows    = []string{"", "", "cup four", "top shelf"}
	saidTorques  = []string{"10 N·m", "5 N·m", "25 N·m", "70 lbf·ft", "90 lbf·in", "150 N·m", "18 N·m"}
)

func pick(t *rapid.T, what string, list []string) string {
	return rapid.SampledFrom(list).Draw(t, what)
}

func quantity(t *rapid.T, list ...string) *measure.Quantity {
	q, err := measure.Parse(pick(t, "quantity", list))
	if err != nil {
		t.Fatal(err)
	}
	return &q
}

func maybe(t *rapid.T, what string) bool { return rapid.Bool().Draw(t, what) }

// saidItems draws what a sentence says of the fasteners.
func saidItems(t *rapid.T) []intent.Fastener {
	var list []intent.Fastener
	for range rapid.SampledFrom([]int{1, 1, 1, 1, 0, 2}).Draw(t, "batches") {
		f := intent.Fastener{Count: rapid.IntRange(0, 6).Draw(t, "n"), All: rapid.IntRange(0, 5).Draw(t, "all") == 0}
		switch rapid.IntRange(0, 7).Draw(t, "size") {
		case 0:
			f.Size = &intent.Size{Said: "tens", Kind: intent.SizeWrench, Across: measure.Quantity{Amount: 10, Unit: measure.Millimetre}}
		case 1:
			f.Size = &intent.Size{Said: "M8", Kind: intent.SizeThread, Designation: "M8"}
		case 2:
			f.Length = "long"
		case 3:
			f.Kind = "nut"
		case 4:
			f.LeftHand = true
		case 5:
			f.At = "bottom"
		}
		list = append(list, f)
	}
	return list
}

// saidMix draws what a session is about: everything, or a few things only that
// then meet each other often.
func saidMix(t *rapid.T) []int {
	n := len(saidMakers(t))
	return rapid.OneOf(rapid.Just([]int(nil)), rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 2, 8, rapid.ID[int])).Draw(t, "mix")
}

// saidIntent draws one thing of the mix.
func saidIntent(t *rapid.T, mix []int) intent.Intent {
	makers := saidMakers(t)
	if mix == nil {
		return makers[rapid.IntRange(0, len(makers)-1).Draw(t, "intent")]()
	}
	return makers[rapid.SampledFrom(mix).Draw(t, "intent")]()
}

// saidMakers make one thing each that a person might ask for, sensible or not;
// heavy on what changes the record.
func saidMakers(t *rapid.T) []func() intent.Intent {
	where := func() string { return pick(t, "where", saidGroups) }
	text := func() string { return pick(t, "text", saidTexts) }
	return []func() intent.Intent{
		func() intent.Intent {
			return intent.Removed{Items: saidItems(t), Where: where(), Stow: pick(t, "stow", saidStows)}
		},
		func() intent.Intent { return intent.Removed{Items: saidItems(t), Where: where()} },
		func() intent.Intent {
			return intent.Refitted{Items: saidItems(t), Where: where(), Snug: maybe(t, "snug"), New: maybe(t, "new")}
		},
		func() intent.Intent {
			v := intent.Torqued{Items: saidItems(t), Where: where(), How: pick(t, "how", []string{"", "wrench", "feel", "unknown"})}
			if maybe(t, "figure") {
				v.Torque = quantity(t, saidTorques...)
			}
			return v
		},
		func() intent.Intent { return intent.Loosened{Items: saidItems(t), Where: where()} },
		func() intent.Intent {
			return intent.Discarded{Items: saidItems(t), Where: where(), New: maybe(t, "new")}
		},
		func() intent.Intent {
			return intent.Condition{Items: saidItems(t), Where: where(), What: pick(t, "what", []string{"seized", "damaged", "left-hand"})}
		},
		func() intent.Intent { return intent.Stowed{Name: where(), Stow: "cup two"} },
		func() intent.Intent { return intent.Tip{Name: where(), Text: text()} },
		func() intent.Intent { return intent.Excuse{Where: where(), Reason: text()} },
		func() intent.Intent {
			v := intent.SetSpec{Name: where(), Torque: quantity(t, saidTorques...), Oiled: maybe(t, "oiled"), Count: rapid.SampledFrom([]int{0, 0, 2, 8}).Draw(t, "count")}
			return v
		},
		func() intent.Intent { return intent.Next{} },
		func() intent.Intent { return intent.Done{Pass: rapid.IntRange(0, 2).Draw(t, "pass") == 0} },
		func() intent.Intent { return intent.Done{} },
		func() intent.Intent { return intent.Back{} },
		func() intent.Intent { return intent.BackOne{} },
		func() intent.Intent { return intent.Pause{} },
		func() intent.Intent { return intent.Resume{} },
		func() intent.Intent { return intent.GoStep{Name: pick(t, "step", saidSteps)} },
		func() intent.Intent {
			return intent.SkipStep{Name: pick(t, "step", append([]string{""}, saidSteps...)), Reason: pick(t, "why", []string{"", "done last year"})}
		},
		func() intent.Intent {
			return intent.InsertStep{Text: text(), After: pick(t, "step", append([]string{""}, saidSteps...))}
		},
		func() intent.Intent {
			return intent.Constrain{Step: pick(t, "step", saidSteps), After: pick(t, "after", saidSteps)}
		},
		func() intent.Intent {
			return intent.Stage{To: pick(t, "stage", []string{"fault", "strip", "clean", "refit", "refit", "start"})}
		},
		func() intent.Intent { return intent.Tighten{Name: where(), Check: maybe(t, "check")} },
		func() intent.Intent { return intent.Tighten{Name: "pump bolts"} },
		func() intent.Intent {
			return intent.Wrench{Name: pick(t, "wrench", []string{"small click", "long click", "hammer"})}
		},
		func() intent.Intent {
			return intent.PartAside{Name: pick(t, "part", saidParts), Where: pick(t, "stow", saidStows)}
		},
		func() intent.Intent {
			return intent.PartHave{Name: pick(t, "part", saidParts), Count: rapid.IntRange(0, 4).Draw(t, "n")}
		},
		func() intent.Intent {
			return intent.PartFitted{Name: pick(t, "part", saidParts), Count: rapid.IntRange(0, 3).Draw(t, "n"), New: maybe(t, "new")}
		},
		func() intent.Intent {
			return intent.PartNeeded{Name: pick(t, "part", saidParts), Count: rapid.IntRange(0, 3).Draw(t, "n")}
		},
		func() intent.Intent { return intent.Drained{Fluid: pick(t, "fluid", saidFluids)} },
		func() intent.Intent {
			return intent.Filled{Fluid: pick(t, "fluid", saidFluids), Amount: quantity(t, "3.2 L", "1 L", "7 L")}
		},
		func() intent.Intent {
			return intent.Sealed{Sealant: pick(t, "sealant", []string{"grey silicone", "blue locker", "glue"}), Where: where()}
		},
		func() intent.Intent {
			return intent.Timer{Name: pick(t, "timer", saidTimers), For: time.Duration(rapid.IntRange(0, 90).Draw(t, "minutes")) * time.Minute}
		},
		func() intent.Intent { return intent.TimerOff{Name: pick(t, "timer", saidTimers)} },
		func() intent.Intent { return intent.Note{Text: text()} },
		func() intent.Intent { return intent.Flag{Text: text()} },
		func() intent.Intent {
			return intent.Settle{Name: pick(t, "doubt", []string{"", "housing", "shaft"}), How: "looked again"}
		},
		func() intent.Intent { return intent.Mark{Label: text()} },
		func() intent.Intent {
			return intent.Measure{Name: pick(t, "limit", saidLimits), Value: *quantity(t, "0.1 mm", "0.5 mm", "12 mm")}
		},
		func() intent.Intent { return intent.Suspect{Name: pick(t, "suspect", saidSuspects)} },
		func() intent.Intent {
			return intent.Evidence{For: maybe(t, "for"), Name: pick(t, "suspect", saidSuspects), Text: text()}
		},
		func() intent.Intent {
			return intent.RuleOut{Name: pick(t, "suspect", saidSuspects), Reason: text()}
		},
		func() intent.Intent { return intent.Culprit{Name: pick(t, "suspect", saidSuspects)} },
		func() intent.Intent { return intent.Quiet{} },
		func() intent.Intent { return intent.Listen{} },
		func() intent.Intent { return intent.StartCheck{} },
		func() intent.Intent { return intent.HandOver{} },
		func() intent.Intent { return intent.WhereWasI{} },
		func() intent.Intent { return intent.SayAgain{} },
		func() intent.Intent { return intent.Slower{} },
		func() intent.Intent { return intent.Help{} },
		func() intent.Intent { return intent.AskTorque{Name: where()} },
		func() intent.Intent { return intent.AskSize{Name: where()} },
		func() intent.Intent { return intent.AskCount{Name: where()} },
		func() intent.Intent { return intent.AskPlace{Name: where()} },
		func() intent.Intent {
			return intent.AskHeld{Place: pick(t, "place", append([]string{"bench"}, saidStows...))}
		},
		func() intent.Intent {
			return intent.SetTool{Name: pick(t, "tool", []string{"small click", "click", "beam wrench"}), Low: *quantity(t, "5 N·m", "20 N·m", "10 lbf·ft"), High: *quantity(t, "25 N·m", "110 N·m", "60 lbf·ft")}
		},
		func() intent.Intent {
			return intent.SetCaution{Step: pick(t, "step", append([]string{""}, saidSteps...)), Text: pick(t, "text", saidTexts)}
		},
		func() intent.Intent { return intent.SetUses{Step: pick(t, "step", saidSteps), Name: where()} },
		func() intent.Intent { return intent.SetCheck{Text: pick(t, "text", saidTexts)} },
		func() intent.Intent {
			return intent.SetPattern{Name: where(), Pattern: pick(t, "pattern", []string{"", "cross", "centre-out", "round", "spiral"}), Rows: rapid.IntRange(0, 3).Draw(t, "rows")}
		},
		func() intent.Intent { return intent.AskPart{Name: pick(t, "part", append([]string{""}, saidParts...))} },
		func() intent.Intent { return intent.AskFluid{Name: pick(t, "fluid", saidFluids)} },
		func() intent.Intent { return intent.AskLimit{Name: pick(t, "limit", saidLimits)} },
		func() intent.Intent { return intent.AskOut{Name: where()} },
		func() intent.Intent { return intent.AskLeft{Name: where()} },
		func() intent.Intent { return intent.AskDoubts{} },
		func() intent.Intent { return intent.AskTimers{} },
		func() intent.Intent { return intent.AskWhy{Name: pick(t, "step", append([]string{""}, saidSteps...))} },
		func() intent.Intent { return intent.AskLast{} },
		func() intent.Intent { return intent.AskFaults{} },
	}
}

// saidAnswer draws an answer to a question, fitting or not.
func saidAnswer(t *rapid.T, q *Reply) intent.Intent {
	switch rapid.IntRange(0, 5).Draw(t, "answer") {
	case 0, 1:
		return intent.Yes{}
	case 2:
		return intent.No{}
	case 3:
		if len(q.Choices) > 0 {
			return intent.Choice{Text: pick(t, "choice", q.Choices)}
		}
		return intent.Choice{Text: "3"}
	}
	return intent.Choice{Text: pick(t, "text", saidTexts)}
}

// saidCorrection draws what takes the last entry up again: "make that five".
func saidCorrection(t *rapid.T) intent.Intent {
	if maybe(t, "a number") {
		n := rapid.IntRange(1, 7).Draw(t, "n")
		return intent.Choice{Text: spell(n), Quantity: &measure.Quantity{Amount: float64(n)}}
	}
	return intent.Choice{Text: pick(t, "correction", append([]string{"long", "short"}, saidGroups...))}
}
