package board

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"

	"putback/jobs"
)

// noon is the time of every sample: a job is drawn by the clock it is given.
var noon = time.Date(2031, 5, 17, 12, 4, 30, 0, time.UTC)

// frontCover is demo data: the invented boat-engine job, figures in keeping with it.
func frontCover() jobs.View {
	cover := [][2]float64{{0, 150}, {45, 165}, {95, 168}, {145, 165}, {190, 150}, {205, 105}, {205, 55}, {190, 10}, {145, -5}, {95, -8}, {45, -5}, {0, 10}}
	coverOrder := []int{3, 9, 12, 6, 2, 8, 4, 10, 1, 7, 5, 11}
	v := jobs.View{
		Job: "Front cover and raw-water pump", Machine: "three-cylinder marine diesel (demo)", Stage: "refit",
		Step:    &jobs.StepView{Name: "pump on", Do: "fit the pump body", Phase: "refit", State: "open", Groups: []string{"pump bolts"}, Parts: []string{"pump gasket"}},
		Next:    &jobs.StepView{Name: "seal in", Do: "press in the shaft seal", Phase: "refit", State: "waiting", Waits: []string{"pump on"}},
		LastSeq: 61,
		Steps: []jobs.StepView{
			{Name: "drain", Do: "drain the coolant", Phase: "strip", State: "done", Caution: "hot coolant: let it cool down first"},
			{Name: "hoses off", Do: "take off the two raw-water hoses", Phase: "strip", State: "done"},
			{Name: "cover off", Do: "take off the front cover", Phase: "strip", State: "done", Caution: "keep two bolts in until the cover is held", Groups: []string{"front cover short", "front cover long"}},
			{Name: "pump off", Do: "take off the pump body", Phase: "strip", State: "done", Groups: []string{"pump bolts"}},
			{Name: "tensioner off", Do: "take off the tensioner", Phase: "strip", State: "skipped", Reason: "belt stays on"},
			{Name: "faces clean", Do: "clean the joint faces", Phase: "refit", State: "done"},
			{Name: "pump on", Do: "fit the pump body", Phase: "refit", State: "open", Groups: []string{"pump bolts"}, Parts: []string{"pump gasket"}},
			{Name: "seal in", Do: "press in the shaft seal", Phase: "refit", State: "waiting", Waits: []string{"pump on"}, Parts: []string{"shaft seal"}},
			{Name: "cover on", Do: "fit the front cover", Phase: "refit", State: "waiting", Caution: "close the joint within 10 min of the bead", Groups: []string{"front cover short", "front cover long"}},
			{Name: "bracket on", Do: "fit the strainer bracket", Phase: "refit", State: "waiting", Inserted: true},
		},
		Groups: []jobs.GroupView{
			{Name: "front cover short", Kind: "bolt", Size: "10 mm", Thread: "M6", Class: "8.8", Place: "front cover", Stow: "cup four", Count: 12, Removed: 12, Out: 8, Refitted: 4, Snug: 2, Torqued: 2, Torque: "10 N·m", TorqueNm: 10, GuideLow: 8.2, GuideHigh: 11.3, DoneAt: "10 N·m", Source: "said by you, from your manual p. 42", Positions: cover, Order: coverOrder, OrderFrom: "fallback: cross pattern", Tips: []string{"the two at the bottom take locker"}},
			{Name: "front cover long", Kind: "bolt", Size: "13 mm", Thread: "M8", Class: "8.8", Place: "front cover", Stow: "cup four", Count: 4, Removed: 4, Out: 4, Torque: "25 ± 3 N·m", TorqueNm: 25, GuideLow: 19.9, GuideHigh: 27.3, Source: "job sheet", Order: []int{1, 3, 2, 4}, OrderFrom: "fallback: cross pattern"},
			{Name: "pump bolts", Kind: "bolt", Size: "13 mm", Thread: "M8", Class: "8.8", Place: "pump body", Stow: "top shelf", Count: 6, Removed: 6, Out: 2, Refitted: 4, Snug: 4, Torque: "22 N·m", TorqueNm: 22, GuideLow: 19.9, GuideHigh: 27.3, Source: "job sheet", Order: []int{1, 4, 2, 5, 3, 6}, OrderFrom: "fallback: cross pattern", Flags: []string{"one damaged"}},
			{Name: "impeller cover screws", Kind: "screw", Size: "8 mm", Thread: "M5", Count: 5, Loose: 5, Place: "pump cover"},
			{Name: "tensioner bolt", Kind: "bolt", Size: "16 mm", Thread: "M10x1.25", Class: "10.9", Count: 1, Removed: 1, Discarded: 0, Renewed: 1, Torqued: 1, Torque: "40 N·m + 90°", TorqueNm: 40, GuideLow: 62, GuideHigh: 75, DoneAt: "40 N·m + 90°", Source: "job sheet", Renew: "always"},
			{Name: "hose clips", Kind: "clip", Count: 4, Removed: 4, Out: 0, Refitted: 3, Discarded: 1, ByFeel: 3, Excuse: "one clip rusted through, hose doubled up", Place: "raw-water hoses"},
			{Name: "sump bolts", Kind: "bolt", Thread: "M6", Count: 22, Place: "sump"},
		},
		Timers: []jobs.TimerView{
			{Name: "grey silicone: close the joint", Due: noon.Add(6*time.Minute + 12*time.Second), Warn: noon.Add(3 * time.Minute), Source: "printed on the tube", State: "running"},
			{Name: "grey silicone: cured", Due: noon.Add(24 * time.Hour), Source: "printed on the tube", State: "running"},
		},
		Doubts: []jobs.DoubtView{
			{Text: "was there a washer under the long one at the bottom", At: noon.Add(-26 * time.Hour), Step: "cover off", Open: true},
			{Text: "locker on the tensioner bolt or not", At: noon.Add(-3 * time.Hour), Step: "tensioner off", Open: true},
			{Text: "which way round the impeller goes", At: noon.Add(-5 * time.Hour), Step: "pump off", Ended: "blades trail, seen in the photo"},
		},
		Parts: []jobs.PartView{
			{Name: "shaft seal", Need: 1, Have: 1, Spare: 1, Renew: "always"},
			{Name: "pump gasket", Need: 1, Have: 1, Fitted: 1, New: 1, Renew: "always"},
			{Name: "impeller", Have: 1, Aside: true, Where: "top shelf"},
		},
		Fluids:   []jobs.FluidView{{Name: "engine oil", Fill: "3.2 L"}, {Name: "coolant", Fill: "5 L", Drained: "4.6 L"}},
		Limits:   []jobs.LimitView{{Name: "impeller clearance", Limit: "max. 0.30 mm", Value: "0.22 mm", Verdict: "within", Source: "job sheet"}, {Name: "shaft play", Limit: "max. 0.15 mm", Source: "job sheet"}},
		Suspects: []jobs.SuspectView{{Name: "worn impeller", State: "culprit", For: []string{"two blades torn"}}, {Name: "blocked strainer", State: "ruled out", Reason: "clean when opened", Against: []string{"clear bowl"}}},
		Notes:    []jobs.NoteView{{Kind: "mark", Text: "shaft at top dead centre, paint mark on the pulley", At: noon.Add(-28 * time.Hour)}, {Kind: "note", Text: "strainer bracket bent, straightened in the vice", At: noon.Add(-2 * time.Hour)}},
		Recent: []jobs.EntryView{
			{Seq: 61, At: noon.Add(-1 * time.Minute), Kind: "refitted", Heard: "four pump bolts back in, snug", Words: "4 pump bolts back in, snug; 2 still out"},
			{Seq: 60, At: noon.Add(-9 * time.Minute), Kind: "filled", Heard: "strike that", Words: "took back: 6 front cover short back in", Struck: false},
			{Seq: 59, At: noon.Add(-10 * time.Minute), Kind: "refitted", Heard: "six short back in the front cover", Words: "6 front cover short back in", Struck: true},
			{Seq: 58, At: noon.Add(-30 * time.Minute), Kind: "measured", Heard: "impeller clearance point two two millimetres", Words: "impeller clearance 0.22 mm, within 0.30 mm"},
			{Seq: 57, At: noon.Add(-3 * time.Hour), Kind: "doubt", Heard: "flag locker on the tensioner bolt or not", Words: "doubt: locker on the tensioner bolt or not"},
			{Seq: 56, At: noon.Add(-4 * time.Hour), Kind: "note", Heard: "note strainer bracket bent straightened in the vice", Words: "note: strainer bracket bent, straightened in the vice"},
		},
	}
	return v
}

// tightening is frontCover in the middle of its second pass.
func tightening() jobs.View {
	v := frontCover()
	v.Step = &jobs.StepView{Name: "cover on", Do: "fit the front cover", Phase: "refit", State: "open", Groups: []string{"front cover short"}}
	v.Run = &jobs.RunView{Group: "front cover short", Pass: 2, Passes: 3, Target: "10 N·m", Order: v.Groups[0].Order, Done: []int{3, 9, 12, 6, 2}, Current: 8, Tool: "small click"}
	return v
}

// objecting is frontCover with a figure that cannot be right.
func objecting() jobs.View {
	v := frontCover()
	v.Question = &jobs.Reply{Kind: jobs.ReplyObjection, Text: "70 foot-pounds is 4.9 times what breaks an M6. Inch-pounds?", Choices: []string{"inch-pounds", "no, strike it"}}
	return v
}

// crowded is a job far larger than any, with names far longer than any.
func crowded(groups int) jobs.View {
	v := frontCover()
	long := strings.Repeat("the one behind the heat exchanger bracket ", 12)
	for i := range groups {
		v.Groups = append(v.Groups, jobs.GroupView{Name: long + strconv.Itoa(i), Place: long, Count: 40, Removed: 30, Out: 20, Refitted: 10, Torque: "25 N·m", TorqueNm: 25, GuideLow: 19.9, GuideHigh: 27.3})
		v.Steps = append(v.Steps, jobs.StepView{Name: "step " + strconv.Itoa(i), Do: long, Phase: "refit", State: "waiting"})
		v.Parts = append(v.Parts, jobs.PartView{Name: long, Need: 1})
		v.Doubts = append(v.Doubts, jobs.DoubtView{Text: long, Open: true})
		v.Timers = append(v.Timers, jobs.TimerView{Name: long, Due: noon.Add(time.Hour), State: "running"})
	}
	v.Step = &jobs.StepView{Name: "x", Do: strings.Repeat("Pneumonoultramicroscopic", 30), Phase: "refit", Caution: long}
	v.Next = &jobs.StepView{Name: "y", Do: long}
	return v
}

// sampleHistory is a part of the journal behind frontCover.
func sampleHistory() []jobs.Event {
	lines := []struct{ kind, data, heard string }{
		{jobs.KindRemoved, `{"group":"front cover short","n":12}`, "twelve short off the front cover"},
		{jobs.KindRemoved, `{"group":"front cover long","n":4}`, "four long off the front cover"},
		{jobs.KindStowed, `{"group":"front cover long","stow":"cup four"}`, "the long ones are in cup four"},
		{jobs.KindMark, `{"text":"shaft at top dead centre, paint mark on the pulley"}`, "mark shaft at top dead centre paint mark on the pulley"},
		{jobs.KindSpec, `{"group":"front cover short","torque":{"amount":10,"unit":{"Symbol":"N·m"}}}`, "the short ones go to ten newton metres"},
		{jobs.KindRefitted, `{"group":"front cover short","n":6}`, "six short back in the front cover"},
		{jobs.KindStrike, `{"turn":6}`, "strike that"},
		{jobs.KindRefitted, `{"group":"front cover short","n":4}`, "four short back in the front cover"},
		{jobs.KindTorqued, `{"group":"front cover short","n":2,"how":"wrench","torque":{"amount":10,"unit":{"Symbol":"N·m"}}}`, "two of the short ones torqued to ten newton metres"},
		{jobs.KindDoubt, `{"text":"locker on the tensioner bolt or not"}`, "flag locker on the tensioner bolt or not"},
		{jobs.KindRefitted, `{"group":"pump bolts","n":4}`, "four pump bolts back in"},
	}
	var h []jobs.Event
	for i, l := range lines {
		at := noon.Add(time.Duration(i-len(lines)) * 170 * time.Minute)
		h = append(h, jobs.Event{Seq: int64(i + 1), Turn: int64(i + 1), At: at, Kind: l.kind, Data: json.RawMessage(l.data), Heard: l.heard, Confidence: 0.93})
	}
	return h
}

var sampleLive = Live{Mode: Listening, Level: 0.45, Heard: "toolbox, four pump bolts back in, snug", Understood: "pump bolts: 4 in, snug", Reply: "Four pump bolts in, snug. Two still out."}
