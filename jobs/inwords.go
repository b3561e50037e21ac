package jobs

import (
	"encoding/json"
	"fmt"
	"strings"

	"putback/jobs/measure"
)

// Words says an event in words, from its own data alone.
func Words(e Event) string {
	var v struct {
		Group, Name, Text, Part, Stow, What, How, Step, State, Reason, Do, After, Fluid, Where, Suspect, Tool, Thread, Class, Renew, Place, Size, Objection string
		N, Count, Bolt, Doubt                                                                                                                               int
		New, On, For, Check, Due, Oiled                                                                                                                     bool
		Torque, Angle, Amount, Value                                                                                                                        measure.Quantity
		Turn                                                                                                                                                int64
		Sheet                                                                                                                                               *struct{ Job string }
	}
	if e.Kind == KindTimer {
		// A timer's due is a duration, a timer-said's a flag.
		var t timerSet
		if json.Unmarshal(e.Data, &t) != nil {
			return e.Kind
		}
		return fmt.Sprintf("timer %s for %s", t.Name, lasts(t.Due))
	}
	if json.Unmarshal(e.Data, &v) != nil {
		return e.Kind
	}
	list := func(parts ...string) string {
		var w []string
		for _, p := range parts {
			if p != "" {
				w = append(w, p)
			}
		}
		return strings.Join(w, ", ")
	}
	switch e.Kind {
	case KindSheet:
		if v.Sheet != nil {
			return "sheet read: " + v.Sheet.Job
		}
		return "sheet read"
	case KindGroup:
		return "new group: " + v.Name
	case KindCounted:
		return fmt.Sprintf("%s: there are %d", v.Group, v.N)
	case KindRemoved:
		return fmt.Sprintf("%d off %s", v.N, the(v.Group))
	case KindLoosened:
		return fmt.Sprintf("%d loosened on %s", v.N, the(v.Group))
	case KindRefitted:
		return fmt.Sprintf("%d back on %s", v.N, the(v.Group))
	case KindRenewed:
		return fmt.Sprintf("%d new ones on %s", v.N, the(v.Group))
	case KindSnugged:
		return fmt.Sprintf("%d snug on %s", v.N, the(v.Group))
	case KindDiscarded:
		return fmt.Sprintf("%d of %s thrown away", v.N, the(v.Group))
	case KindTorqued:
		how := map[string]string{"wrench": "torqued", "feel": "tightened by feel"}[v.How]
		if how == "" {
			how = "tightened, not said how"
		}
		text := fmt.Sprintf("%d on %s %s", v.N, the(v.Group), how)
		if v.Torque.Given() {
			text += ", " + v.Torque.String()
		}
		if v.Objection != "" {
			text += " (confirmed against: " + v.Objection + ")"
		}
		return text
	case KindCondition:
		if v.N > 0 {
			return list(v.Group, fmt.Sprint(v.N)+" "+v.What)
		}
		return list(v.Group, v.What)
	case KindStowed:
		return list(v.Group, v.Part, lying(v.Stow))
	case KindTip:
		return "tip for " + v.Name + ": " + v.Text
	case KindExcuse:
		return v.Name + " stays short: " + v.Text
	case KindSpec:
		var w []string
		for _, q := range []measure.Quantity{v.Torque, v.Angle} {
			if q.Given() {
				w = append(w, q.String())
			}
		}
		if v.Oiled {
			w = append(w, "oiled")
		}
		if v.Renew != "" {
			w = append(w, "renew "+v.Renew)
		}
		if v.Count > 0 {
			w = append(w, fmt.Sprintf("there are %d", v.Count))
		}
		var x groupSpec
		if json.Unmarshal(e.Data, &x) == nil {
			g := group{Order: x.Order, Rows: x.Rows, Sequence: x.Sequence, Count: x.Count}
			w = append(w, g.pattern()...)
			for _, f := range []struct {
				q    measure.Quantity
				what string
			}{{x.Wrench, " head"}, {x.Length, " long"}} {
				if f.q.Given() {
					w = append(w, f.q.String()+f.what)
				}
			}
			if x.Into != "" {
				w = append(w, "into "+x.Into)
			}
			if x.Again {
				w = append(w, "a last pass")
			}
			for _, st := range x.Stages {
				w = append(w, passPlan{Torque: st.Torque, Angle: st.Angle, Back: st.Back}.String())
			}
			w = append(w, x.Locker)
		}
		text := v.Group + ": " + list(append(w, v.Thread, v.Class)...)
		if v.Objection != "" {
			text += " (confirmed against: " + v.Objection + ")"
		}
		return text
	case KindLimit:
		var l limitSet
		if json.Unmarshal(e.Data, &l) != nil {
			return e.Kind
		}
		return "limit of " + l.Name + ": " + (&limit{SheetLimit: SheetLimit{Min: l.Min, Max: l.Max}}).print()
	case KindFill:
		text := v.Fluid + ": "
		if v.Amount.Given() {
			text = "fill of " + text + v.Amount.String()
		}
		var x fluidMoved
		if json.Unmarshal(e.Data, &x) == nil {
			text += x.Is
		}
		return text
	case KindTool:
		var x toolSet
		if json.Unmarshal(e.Data, &x) != nil {
			return e.Kind
		}
		text := x.Name
		if x.High.Given() {
			text += ", " + measure.Range{Low: x.Low, High: x.High}.String()
		}
		if x.Marks.Given() {
			text += ", marks every " + x.Marks.String()
		}
		return text
	case KindCaution:
		return "caution at " + v.Step + ": " + v.Text
	case KindUses:
		return v.Step + " uses " + list(v.Group, v.Part)
	case KindPartRule:
		return v.Part + ": renew " + v.Renew
	case KindStartLine:
		return "before the first start: " + v.Text
	case KindSealant:
		var x sealantTime
		if json.Unmarshal(e.Data, &x) != nil {
			return e.Kind
		}
		return x.Sealant + ": " + timeWords[x.What] + " " + lasts(x.For)
	case KindStep:
		if v.Reason != "" {
			return "step " + v.Step + " " + v.State + ": " + v.Reason
		}
		return "step " + v.Step + " " + v.State
	case KindInsert:
		return "new step: " + v.Name
	case KindConstrain:
		return v.Step + " after " + v.After
	case KindStage:
		return "stage: " + v.Name
	case KindRun:
		if v.Check {
			return "check pass of " + v.Group
		}
		return "tightening " + v.Group
	case KindRunBolt:
		if v.Bolt == 0 {
			return "pass done"
		}
		return fmt.Sprintf("bolt %d done", v.Bolt)
	case KindRunBack:
		return "back one bolt"
	case KindRunPause:
		return "tightening paused"
	case KindRunResume:
		return "tightening resumed"
	case KindRunEnd:
		return "tightening ended"
	case KindWrench:
		return "wrench in hand: " + v.Name
	case KindPartAside:
		return list(v.Part+" set aside", v.Where)
	case KindPartHave:
		return fmt.Sprintf("%s: %d at hand", v.Part, v.N)
	case KindPartNeed:
		return fmt.Sprintf("%s: %d needed", v.Part, v.N)
	case KindPartFitted:
		if v.New {
			return v.Part + " fitted, new"
		}
		return v.Part + " fitted"
	case KindDrained, KindFilled:
		text := v.Fluid + " " + e.Kind
		if v.Amount.Given() {
			text += ", " + v.Amount.String()
		}
		return text
	case KindTimerSaid:
		if v.Due {
			return "said: " + v.Name + " is up"
		}
		return "warned: " + v.Name
	case KindTimerOff:
		return "timer " + v.Name + " stopped"
	case KindNote:
		return "note: " + v.Text
	case KindMark:
		return strings.TrimSuffix("mark: "+v.Text, ": ")
	case KindDoubt:
		return "doubt: " + v.Text
	case KindSettled:
		return strings.TrimSuffix(fmt.Sprintf("doubt %d settled: %s", v.Doubt, v.How), ": ")
	case KindMeasured:
		return v.Name + ": " + v.Value.String()
	case KindSuspect:
		return "suspect: " + v.Name
	case KindEvidence:
		if v.For {
			return "for " + v.Suspect + ": " + v.Text
		}
		return "against " + v.Suspect + ": " + v.Text
	case KindRuledOut:
		return strings.TrimSuffix(v.Name+" ruled out: "+v.Text, ": ")
	case KindCulprit:
		return "culprit: " + v.Name
	case KindPaused:
		return "work left"
	case KindResumed:
		return "work taken up again"
	case KindQuiet:
		if v.On {
			return "quiet"
		}
		return "listening"
	case KindChecked:
		return "checked: " + v.Name
	case KindStrike:
		return fmt.Sprintf("struck: entry %d", v.Turn)
	case KindAmend:
		a, err := read[amend](e)
		if err != nil {
			return e.Kind
		}
		return fmt.Sprintf("corrected: entry %d: %s", a.Turn, inWords(a.in(e)))
	}
	return e.Kind
}

// inWords says a turn in words, its automatic and lesser parts left out.
func inWords(events []Event) string {
	var w []string
	for _, e := range events {
		switch e.Kind {
		case KindStep:
			// The step that opens when another ends.
			if v, err := read[stepState](e); err == nil && v.State == "open" && len(events) > 1 {
				continue
			}
		case KindGroup, KindCounted:
			if len(events) > 1 {
				continue
			}
		}
		w = append(w, Words(e))
	}
	return strings.Join(w, "; ")
}

// short cuts a text for the ear.
func short(text string) string {
	f := strings.Fields(text)
	if len(f) <= 16 {
		return text
	}
	return strings.Join(f[:16], " ") + ", and so on"
}
