package fastening

import (
	"fmt"
	"math"
	"strings"

	"putback/jobs/measure"
)

// Kind says what a stated size measures. The values are those of a spoken size.
type Kind string

// The kinds of size.
const (
	KindUnknown Kind = "unknown"
	KindWrench  Kind = "wrench"
	KindThread  Kind = "thread"
	KindHexKey  Kind = "hex key"
)

// Known is what somebody knows about a fastener, perhaps only "ten mil bolt".
type Known struct {
	Said        string           // the words, for replies: "ten"
	Kind        Kind             // what Size measures; "" counts as unknown
	Size        measure.Quantity // wrench size, hex key, or the number of unknown kind
	Thread      string           // designation when known; wins over Size
	Class       string           // "" not known: 8.8 is taken, grade 5 for inch threads, and said
	Lubrication Lubrication
	Into        Material
}

// Level is how a judgement comes out.
type Level string

// The levels. A figure that is Suspicious or Impossible is stored only after
// an explicit yes; Undecided waits for the answer to Verdict.Ask.
const (
	Plausible  Level = "plausible"
	Suspicious Level = "suspicious"
	Impossible Level = "impossible"
	Undecided  Level = "undecided"
)

// Grade orders verdicts by torque, so that more torque never lowers it.
type Grade int

// The grades.
const (
	GradeLow      Grade = -1 // under 15 % of proof load
	GradeNormal   Grade = 0
	GradeIfOiled  Grade = 1 // beyond proof load if somebody oiled it; a remark, no objection
	GradeBeyond   Grade = 2 // beyond proof load
	GradeBreaking Grade = 3 // beyond breaking load even with the roughest thread
)

// Intention is what was probably meant.
type Intention struct {
	Torque measure.Quantity // the same number in the other unit
	Words  string           // "in inch-pounds it would be normal"
	Ask    string           // "Did you mean 70 lbf·in?"
}

// Reading is one thread an unknown fastener can be, with its own verdict.
type Reading struct {
	Thread Thread
	From   Kind   // how the size was read: as wrench, key or thread
	Head   string // "ISO hexagon, old DIN hexagon" when read as wrench
	Class  Class
	Grade  Grade
	Share  float64 // of the proof load, dry: 1.2 is 120 %

	classGiven bool
}

// Verdict is the judgement of a stated torque.
type Verdict struct {
	Level       Level
	Reason      string     // one sentence for the ear; "" only when plausible without remark
	Likely      *Intention // what was probably meant; nil: nothing better found
	Ask         string     // the one question that decides; "" unless Undecided
	Choices     []string   // answers to Ask
	Readings    []Reading
	Assumptions []string
	Note        string // GuideNote
}

// Objects tells whether the figure needs an explicit yes before it is stored.
func (v Verdict) Objects() bool { return v.Level == Suspicious || v.Level == Impossible }

// Judge says whether a torque can be right for a fastener. With the thread
// known the preload F = T/(K·d) decides: beyond the breaking load at K 0.30 it
// is Impossible; beyond the proof load at K 0.20 (K 0.15 when said to be oiled)
// or under 15 % of it, Suspicious. With only a wrench size or a number known,
// every thread it can be is judged: Judge objects only when all of them object,
// and otherwise asks the one question that decides. More torque never lowers
// the grade of a reading. Errors: torque is no torque, the designation or class
// cannot be read, a wrench is in no table.
func Judge(k Known, torque measure.Quantity) (Verdict, error) {
	nm, err := torque.NewtonMetres()
	if err != nil {
		return Verdict{}, fmt.Errorf("judge a torque: %w", err)
	}
	if !(nm > 0) || math.IsInf(float64(nm), 0) {
		return Verdict{}, fmt.Errorf("judge a torque: %s is not above zero", torque)
	}
	v := Verdict{Note: GuideNote}
	if v.Readings, err = k.readings(); err != nil {
		return Verdict{}, fmt.Errorf("judge %s: %w", torque, err)
	}
	if len(v.Readings) == 0 {
		v.Level, v.Ask = Undecided, "Which thread is it?"
		v.Reason = "Without the thread nobody can tell."
		return v, nil
	}
	for i := range v.Readings {
		r := &v.Readings[i]
		r.Grade, r.Share = gradeOf(bolt{r.Thread, r.Class}, nm, k.Lubrication)
	}
	if k.Class == "" && !v.Readings[0].classGiven {
		v.Assumptions = append(v.Assumptions, assumption(v.Readings[0].Class.Name))
	}
	if k.Into == Aluminium {
		v.Assumptions = append(v.Assumptions, "in aluminium the thread in the casting governs")
	}
	v.decide(k, torque)
	return v, nil
}

// gradeOf applies the rules of the package to one bolt. Source: the K of
// Shigley table 8-15 for the roughest, the dry and the oiled case.
func gradeOf(b bolt, t measure.NewtonMetres, lube Lubrication) (Grade, float64) {
	s := b.strength()
	at := func(k float64) measure.Newtons { return ShortPreload(k, b.Thread.Diameter, t) }
	share := float64(at(0.20) / s.Proof)
	expected := 0.20
	if f := lube.Factor(); f < expected { // oiled, cadmium, anti-seize: known to turn easier
		expected = f
	}
	// Printed figures are rounded, and rounding is no error: half a per cent of slack.
	const slack = 1.005
	switch {
	case at(0.30) > s.Breaking:
		return GradeBreaking, share
	case at(expected) > s.Proof*slack:
		return GradeBeyond, share
	case share < lowShare*lowProof(b):
		return GradeLow, share
	case at(0.15) > s.Proof*slack:
		return GradeIfOiled, share
	}
	return GradeNormal, share
}

// lowShare of the proof load of class 8.8 is where a figure gets suspiciously low.
const lowShare = 0.15

// lowProof scales lowShare for stronger classes, which are often tightened to
// the figures of 8.8 because the casting decides: the limit stays that of 8.8.
func lowProof(b bolt) float64 { return math.Min(1, 600/float64(b.Class.Proof)) }

// readings lists every thread the fastener can be.
func (k Known) readings() ([]Reading, error) {
	if k.Thread != "" {
		d, err := ParseDesignation(k.Thread)
		if err != nil {
			return nil, err
		}
		if k.Class == "" {
			k.Class = d.Class
		}
		return k.classed([]Reading{{Thread: d.Thread, From: KindThread}})
	}
	if !k.Size.Given() {
		return nil, nil
	}
	if k.Size.Unit.Dimension() != measure.Length {
		return nil, fmt.Errorf("%s is no size", k.Size)
	}
	var rs []Reading
	switch k.Kind {
	case KindHexKey:
		rs = fromHeads(ThreadsForKey(k.Size), KindHexKey)
	case KindWrench:
		rs = fromHeads(ThreadsTaking(k.Size), KindWrench)
	case KindThread:
		rs = fromNominal(k.Size)
	default:
		rs = append(fromHeads(ThreadsTaking(k.Size), KindWrench), fromNominal(k.Size)...)
	}
	if len(rs) == 0 {
		return nil, fmt.Errorf("no thread in the tables takes %s as %s", k.Size, kindWords(k.Kind))
	}
	return k.classed(rs)
}

func kindWords(k Kind) string {
	if k == "" || k == KindUnknown {
		return "wrench or thread"
	}
	return string(k)
}

func (k Known) classed(rs []Reading) ([]Reading, error) {
	var out []Reading
	var last error
	for _, r := range rs {
		name := k.Class
		if name == "" {
			name = assumedClass(r.Thread)
		}
		b, err := newBolt(r.Thread, name)
		if err != nil {
			last = err // a class that does not exist in one reading's size rules that reading out
			continue
		}
		r.Class, r.classGiven = b.Class, k.Class != ""
		out = append(out, r)
	}
	if len(out) == 0 {
		return nil, last
	}
	return out, nil
}

// fromHeads takes each thread once per pitch, with the heads that lead to it.
func fromHeads(hs []Head, from Kind) []Reading {
	var out []Reading
	seen := map[string]bool{}
	for _, h := range hs {
		if seen[h.Nominal] {
			continue
		}
		seen[h.Nominal] = true
		var kinds []string
		for _, o := range hs {
			if o.Nominal == h.Nominal {
				kinds = append(kinds, string(o.Kind))
			}
		}
		for _, t := range threadsOf(h.Nominal) {
			out = append(out, Reading{Thread: t, From: from, Head: strings.Join(kinds, ", ")})
		}
	}
	return out
}

// fromNominal reads a bare number as a thread: 10 mm is M10 in every pitch, 3/8 in is 3/8.
func fromNominal(size measure.Quantity) []Reading {
	var out []Reading
	for _, t := range allThreads {
		sys := Metric
		if size.Unit == measure.Inch {
			sys = Unified
		}
		d, err := size.Millimetres()
		if err == nil && t.System == sys && t.Nominal[0] != '#' && math.Abs(float64(t.Diameter-d)) < 1e-6 {
			out = append(out, Reading{Thread: t, From: KindThread})
		}
	}
	return out
}

// objects tells which side a grade objects on: -1 too low, +1 too high, 0 fine.
func (g Grade) objects() int {
	switch {
	case g < GradeNormal:
		return -1
	case g >= GradeBeyond:
		return 1
	}
	return 0
}

// decide turns the readings into a level, a reason or a question.
func (v *Verdict) decide(k Known, torque measure.Quantity) {
	side := v.Readings[0].Grade.objects()
	same, all := true, true
	worst := v.Readings[0] // the reading nearest to plausible speaks for all
	for _, r := range v.Readings {
		if r.Grade.objects() != side {
			same = false
		}
		all = all && r.Grade.objects() != 0
		if abs(int(r.Grade)) < abs(int(worst.Grade)) || r.Grade == worst.Grade && math.Abs(math.Log(r.Share)) < math.Abs(math.Log(worst.Share)) {
			worst = r
		}
	}
	if !same && all { // too much for the small ones, too little for the big ones
		v.Level = Suspicious
		v.Reason = fmt.Sprintf("%s fits no thread that %s can be: too much for the small ones, too little for the large.", torque, trimUnit(k))
		return
	}
	if !same {
		v.ask(k, torque)
		return
	}
	name := v.boltName(k, worst)
	switch worst.Grade {
	case GradeNormal, GradeIfOiled:
		v.Level = Plausible
		if worst.Grade == GradeIfOiled && k.Lubrication == LubeUnknown {
			v.Reason = fmt.Sprintf("%s suits %s dry; with oil on the thread it would be beyond its proof load.", torque, name)
		}
		return
	case GradeLow:
		v.Level = Suspicious
		v.Reason = fmt.Sprintf("%s is very little for %s: %s of its proof load", torque, name, percent(worst.Share))
	case GradeBeyond:
		v.Level = Suspicious
		v.Reason = fmt.Sprintf("%s is too much for %s: %s of its proof load", torque, name, percent(expectedShare(worst, k.Lubrication)))
	case GradeBreaking:
		v.Level = Impossible
		times := breakingTimes(worst)
		v.Reason = fmt.Sprintf("%s cannot be right for %s: it is %s what breaks it", torque, name, timesWords(times))
		if times < 1.05 {
			v.Reason = fmt.Sprintf("%s cannot be right for %s: it breaks there", torque, name)
		}
	}
	v.Likely = likely(v.Readings, torque, k.Lubrication, side)
	switch {
	case worst.Grade == GradeBeyond && !worst.classGiven && fitsStronger(worst, torque, k.Lubrication) != "":
		v.Reason += "; in " + fitsStronger(worst, torque, k.Lubrication) + " it would be normal"
	case v.Likely != nil:
		v.Reason += "; " + v.Likely.Words
	}
	v.Reason += "."
}

// timesWords says a multiple: "twice", "4.9 times".
func timesWords(times float64) string {
	if t := math.Round(times*10) / 10; t != 2 {
		return short(t) + " times"
	}
	return "twice"
}

// fitsStronger names the next class that takes the torque, when the class was
// only taken for granted; "" when none does.
func fitsStronger(r Reading, torque measure.Quantity, lube Lubrication) string {
	nm, err := torque.NewtonMetres()
	if err != nil {
		return ""
	}
	for _, name := range map[System][]string{Metric: {"10.9", "12.9"}, Unified: {"grade 8"}}[r.Thread.System] {
		b, err := newBolt(r.Thread, name)
		if err != nil {
			continue
		}
		if g, _ := gradeOf(b, nm, lube); g.objects() == 0 {
			return classWords(name)
		}
	}
	return ""
}

func expectedShare(r Reading, lube Lubrication) float64 {
	if f := lube.Factor(); f < 0.20 {
		return r.Share * 0.20 / f
	}
	return r.Share
}

// breakingTimes is the preload at K 0.20 over the breaking load.
func breakingTimes(r Reading) float64 {
	return r.Share * float64(r.Class.Proof) / float64(r.Class.Tensile)
}

// boltName is "an M6 8.8", or "any bolt a 10 mm wrench fits" for an unknown thread.
func (v *Verdict) boltName(k Known, r Reading) string {
	if k.Thread != "" || sameNominal(v.Readings) {
		n := r.Thread.Spoken()
		if k.Thread == "" {
			n = r.Thread.Nominal
		}
		article := "an "
		if r.Thread.System == Unified {
			article = "a "
			if strings.HasPrefix(n, "#") {
				n = "No. " + n[1:]
			}
		}
		return article + n + " " + r.Class.Name
	}
	switch k.Kind {
	case KindWrench:
		return "any bolt with a " + k.Size.String() + " head"
	case KindHexKey:
		return "any screw with a " + k.Size.String() + " key"
	}
	return "any bolt called " + k.Size.String()
}

func sameNominal(rs []Reading) bool {
	for _, r := range rs {
		if r.Thread.Nominal != rs[0].Thread.Nominal {
			return false
		}
	}
	return true
}

// likelyUnits lists, for a number said in a unit, the units it is confused with:
// the 12-fold slip first, then what stands beside it in printed tables.
var likelyUnits = map[measure.Unit][]measure.Unit{
	measure.FootPound:          {measure.InchPound, measure.NewtonMetre, measure.KilogramCentimetre},
	measure.InchPound:          {measure.FootPound, measure.NewtonMetre, measure.KilogramMetre},
	measure.NewtonMetre:        {measure.InchPound, measure.KilogramCentimetre, measure.FootPound, measure.DecinewtonMetre, measure.NewtonCentimetre, measure.KilogramMetre, measure.DecanewtonMetre},
	measure.KilogramMetre:      {measure.NewtonMetre, measure.FootPound, measure.KilogramCentimetre},
	measure.KilogramCentimetre: {measure.NewtonMetre, measure.KilogramMetre, measure.FootPound},
	measure.OunceInch:          {measure.InchPound, measure.FootPound},
	measure.DecinewtonMetre:    {measure.NewtonMetre},
	measure.DecanewtonMetre:    {measure.NewtonMetre},
	measure.NewtonCentimetre:   {measure.NewtonMetre},
}

// likely finds the unit in which the number would suit the fastener: between a
// quarter and the whole of the proof load for at least one reading.
func likely(rs []Reading, torque measure.Quantity, lube Lubrication, side int) *Intention {
	for _, u := range likelyUnits[torque.Unit] {
		meant := measure.Quantity{Amount: torque.Amount, Unit: u}
		nm, err := meant.NewtonMetres()
		if err != nil {
			continue
		}
		if side > 0 && meant.SI() >= torque.SI() || side < 0 && meant.SI() <= torque.SI() {
			continue
		}
		for _, r := range rs {
			g, share := gradeOf(bolt{r.Thread, r.Class}, nm, lube)
			if g.objects() == 0 && share >= 0.25 {
				return &Intention{Torque: meant, Words: "in " + u.Words(2) + " it would be normal", Ask: "Did you mean " + meant.String() + "?"}
			}
		}
	}
	return nil
}

// ask finds the one question that separates the readings that object from those that do not.
func (v *Verdict) ask(k Known, torque measure.Quantity) {
	v.Level = Undecided
	byKind, byNominal := true, true
	kinds, nominals := map[Kind]int{}, map[string]int{}
	var names []string
	for _, r := range v.Readings {
		side := r.Grade.objects()
		if s, ok := kinds[r.From]; ok && s != side {
			byKind = false
		}
		kinds[r.From] = side
		if s, ok := nominals[r.Thread.Nominal]; !ok {
			names = append(names, r.Thread.Nominal)
		} else if s != side {
			byNominal = false
		}
		nominals[r.Thread.Nominal] = side
	}
	switch {
	case byKind && len(kinds) == 2:
		v.Ask = fmt.Sprintf("Is %s the wrench or the thread?", trimUnit(k))
		v.Choices = []string{"wrench", "thread"}
	case byNominal || len(names) > 1:
		v.Ask = "Is the thread " + orWords(names) + "?"
		v.Choices = names
	default:
		var ts []string
		for _, r := range v.Readings {
			ts = append(ts, r.Thread.Spoken())
		}
		v.Ask = "Which pitch is it: " + orWords(ts) + "?"
		v.Choices = ts
	}
	var bad []string
	for _, n := range names {
		if nominals[n] != 0 {
			bad = append(bad, n)
		}
	}
	switch {
	case len(bad) == len(names) || len(bad) == 0:
		v.Reason = fmt.Sprintf("Whether %s is right depends on the thread.", torque)
	default:
		v.Reason = fmt.Sprintf("%s is wrong for %s and fine for %s.", torque, orWords(bad), orWords(without(names, bad)))
	}
}

func trimUnit(k Known) string {
	if k.Said != "" {
		return k.Said
	}
	return k.Size.String()
}

func without(all, some []string) []string {
	var out []string
	for _, a := range all {
		keep := true
		for _, s := range some {
			keep = keep && a != s
		}
		if keep {
			out = append(out, a)
		}
	}
	return out
}

func orWords(ws []string) string {
	if len(ws) < 2 {
		return strings.Join(ws, "")
	}
	return strings.Join(ws[:len(ws)-1], ", ") + " or " + ws[len(ws)-1]
}

func percent(share float64) string {
	p := share * 100
	if p >= 10 {
		return fmt.Sprintf("%.0f %%", p)
	}
	return fmt.Sprintf("%.1g %%", p)
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
