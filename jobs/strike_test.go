package jobs

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
)

// bare is a state without what belongs to the journal: its length and what was struck.
func bareState(t *testing.T, b *Bench) string {
	t.Helper()
	st := b.state.clone()
	st.Seq, st.Struck = 0, nil
	raw, err := json.Marshal(st)
	require.NoError(t, err)
	return string(raw)
}

// kindsOfEvent reads the names of all kinds out of event.go, so that a new
// one without a strike in the table fails the test.
func kindsOfEvent(t *testing.T) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "event.go", nil, 0)
	require.NoError(t, err)
	var list []string
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST {
			continue
		}
		for _, s := range g.Specs {
			if v, ok := s.(*ast.ValueSpec); ok {
				lit, ok := v.Values[0].(*ast.BasicLit)
				require.True(t, ok)
				kind, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				list = append(list, kind)
			}
		}
	}
	return list
}

func TestStrikeThatTakesBackEachKindOfEvent(t *testing.T) {
	yes := intent.Yes{}
	pump := "pump bolts"
	off := intent.Removed{Items: bolts(4), Where: pump}
	on := intent.Refitted{Items: bolts(4), Where: pump, Snug: true}
	run := intent.Tighten{Name: pump}
	refit := intent.Stage{To: "refit"}
	for _, c := range []struct {
		kinds  []string // what the last intent records, among others
		before []intent.Intent
		do     intent.Intent
	}{
		{[]string{KindGroup, KindRemoved}, nil, intent.Removed{Items: bolts(3), Where: "mast step"}},
		{[]string{KindCounted, KindRemoved}, []intent.Intent{intent.Removed{Items: bolts(6), Where: pump}}, yes},
		{[]string{KindLoosened}, nil, intent.Loosened{Items: bolts(2), Where: pump}},
		{[]string{KindRefitted, KindSnugged}, []intent.Intent{off}, on},
		{[]string{KindRenewed}, []intent.Intent{off}, intent.Refitted{Items: bolts(4), Where: pump, New: true}},
		{[]string{KindTorqued}, []intent.Intent{off, on}, intent.Torqued{Items: bolts(4), Where: pump, Torque: nm(22), How: "wrench"}},
		{[]string{KindDiscarded}, []intent.Intent{off}, intent.Discarded{Items: bolts(1), Where: pump}},
		{[]string{KindCondition}, nil, intent.Condition{Items: bolts(1), Where: pump, What: "stretched"}},
		{[]string{KindStowed}, []intent.Intent{off}, intent.Stowed{Stow: "cup four"}},
		{[]string{KindTip}, nil, intent.Tip{Name: pump, Text: "the back one first"}},
		{[]string{KindExcuse}, []intent.Intent{off}, intent.Excuse{Where: pump, Reason: "lost in the bilge"}},
		{[]string{KindSpec}, nil, intent.SetSpec{Name: pump, Torque: nm(20)}},
		{[]string{KindSpec}, nil, intent.SetOrder{Name: pump, Bolts: []int{4, 3, 2, 1}}},
		{[]string{KindSpec}, nil, intent.SetStages{Name: pump, Stages: figures(10, 22)}},
		{[]string{KindLimit}, nil, intent.SetLimit{Name: "impeller clearance", Max: mm(0.2)}},
		{[]string{KindFill}, nil, intent.SetFill{Fluid: "coolant", Amount: *litres(5)}},
		{[]string{KindSealant}, nil, intent.SetTime{Sealant: "grey silicone", What: "close", For: 5 * time.Minute}},
		{[]string{KindSpec}, nil, intent.SetPattern{Name: pump, Pattern: "cross", Rows: 2}},
		{[]string{KindTool}, nil, intent.SetTool{Name: "small click", Marks: *nm(1)}},
		{[]string{KindCaution}, nil, intent.SetCaution{Step: "cover off", Text: "keep two in"}},
		{[]string{KindUses}, nil, intent.SetUses{Step: "cover off", Name: "hose clips"}},
		{[]string{KindPartRule}, nil, intent.SetSpec{Name: "drive belt", RenewRule: "always"}},
		{[]string{KindStartLine}, nil, intent.SetCheck{Text: "belt guard on"}},
		{[]string{KindStep}, nil, intent.Next{}},
		{[]string{KindStep, KindPartAside}, []intent.Intent{intent.GoStep{Name: "belt off"}}, intent.Done{}},
		{[]string{KindStep, KindDrained}, []intent.Intent{intent.GoStep{Name: "drain coolant"}}, intent.Done{}},
		{[]string{KindInsert}, nil, intent.InsertStep{Text: "photograph the hoses"}},
		{[]string{KindConstrain}, nil, intent.Constrain{Step: "sump back", After: "seal in"}},
		{[]string{KindStage}, nil, refit},
		{[]string{KindRun}, []intent.Intent{off, on}, run},
		{[]string{KindRunBolt}, []intent.Intent{off, on, run}, intent.Done{}},
		{[]string{KindRunBack}, []intent.Intent{off, on, run, intent.Done{}}, intent.BackOne{}},
		{[]string{KindRunPause}, []intent.Intent{off, on, run}, intent.Pause{}},
		{[]string{KindRunResume}, []intent.Intent{off, on, run, intent.Pause{}}, intent.Resume{}},
		{[]string{KindRunEnd, KindTorqued}, []intent.Intent{off, on, run, intent.Done{Pass: true}, intent.Done{Pass: true}}, intent.Done{Pass: true}},
		{[]string{KindWrench}, nil, intent.Wrench{Name: "long click"}},
		{[]string{KindPartAside}, nil, intent.PartAside{Name: "impeller", Where: "blue tray"}},
		{[]string{KindPartHave}, nil, intent.PartHave{Name: "impeller", Count: 2}},
		{[]string{KindPartFitted}, nil, intent.PartFitted{Name: "impeller", New: true}},
		{[]string{KindPartNeed}, nil, intent.PartNeeded{Name: "drive belt", Count: 1}},
		{[]string{KindDrained}, nil, intent.Drained{Fluid: "coolant", Amount: litres(4)}},
		{[]string{KindFilled}, nil, intent.Filled{Fluid: "coolant", Amount: litres(4.5)}},
		{[]string{KindTimer}, nil, intent.Timer{Name: "soak", For: 20 * time.Minute}},
		{[]string{KindTimerOff}, []intent.Intent{intent.Timer{Name: "soak", For: 20 * time.Minute}}, intent.TimerOff{Name: "soak"}},
		{[]string{KindTimer}, nil, intent.Sealed{Sealant: "grey silicone", Where: "front cover"}},
		{[]string{KindNote}, nil, intent.Note{Text: "the lower hose is cracked"}},
		{[]string{KindMark}, nil, intent.Mark{Label: "crack"}},
		{[]string{KindDoubt}, nil, intent.Flag{Text: "not sure it sits flush"}},
		{[]string{KindSettled}, []intent.Intent{intent.Flag{Text: "not sure it sits flush"}}, intent.Settle{How: "it does"}},
		{[]string{KindMeasured}, nil, intent.Measure{Name: "impeller clearance", Value: mm(0.2)}},
		{[]string{KindSuspect}, nil, intent.Suspect{Name: "impeller"}},
		{[]string{KindEvidence}, []intent.Intent{intent.Suspect{Name: "impeller"}}, intent.Evidence{Name: "impeller", For: true, Text: "a vane is gone"}},
		{[]string{KindRuledOut}, []intent.Intent{intent.Suspect{Name: "impeller"}}, intent.RuleOut{Name: "impeller", Reason: "the flow is good"}},
		{[]string{KindCulprit}, []intent.Intent{intent.Suspect{Name: "impeller"}}, intent.Culprit{Name: "impeller"}},
		{[]string{KindPaused}, nil, intent.Pause{}},
		{[]string{KindResumed}, []intent.Intent{intent.Pause{}}, intent.Resume{}},
		{[]string{KindStage}, nil, intent.StartCheck{}},
		{[]string{KindChecked}, []intent.Intent{intent.StartCheck{}}, yes},
	} {
		t.Run(c.kinds[0], func(t *testing.T) {
			s := newSession(t, DemoSheet())
			for _, in := range c.before {
				s.do(in)
			}
			was := bareState(t, s.b)
			before, err := s.b.History(0, 0)
			require.NoError(t, err)
			s.do(c.do)
			after, err := s.b.History(0, 0)
			require.NoError(t, err)
			var got []string
			for _, e := range after[len(before):] {
				got = append(got, e.Kind)
			}
			require.Subset(t, got, c.kinds, "the case does record what it is for")
			require.NotEqual(t, was, bareState(t, s.b))
			require.Contains(t, s.do(intent.Strike{}).Text, "Struck: ")
			require.Equal(t, was, bareState(t, s.b), "struck on the spot")
			s.restart()
			require.Equal(t, was, bareState(t, s.b), "and folded anew from the file")
			whole, err := s.b.History(0, 0)
			require.NoError(t, err)
			require.Len(t, whole, len(after)+1, "the journal keeps both")
			for _, k := range got {
				strikeProved[k] = true
			}
		})
	}
	for _, k := range kindsOfEvent(t) {
		switch k {
		case KindStrike, KindTimerSaid: // a strike is not struck; a warning given was given
		case KindSheet: // read with the job, recorded by the program itself: a strike passes over it
		case KindAmend: // an older entry put right has its own tests
		case KindQuiet: // while quiet nothing but "listen" is heard; it ends by that
		default:
			require.True(t, strikeProved[k], "no case strikes the kind %q", k)
		}
	}
}

// strikeProved collects the kinds that were struck.
var strikeProved = map[string]bool{}

func TestStrikeGoesBackFurtherEachTime(t *testing.T) {
	s := newSession(t, DemoSheet())
	empty := bareState(t, s.b)
	s.do(intent.Removed{Items: bolts(2), Where: "pump bolts"})
	s.do(intent.Note{Text: "a"})
	s.expect(intent.Strike{}, "Struck: note: a.")
	s.expect(intent.Strike{}, "Struck: 2 off the pump bolts.")
	s.expect(intent.Strike{}, "Nothing to strike.")
	require.Equal(t, empty, bareState(t, s.b))
}
