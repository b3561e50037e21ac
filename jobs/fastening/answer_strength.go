package fastening

import (
	"fmt"
	"strings"
	"time"

	"putback/jobs/measure"
)

// oneReading settles on one thread in one class: the class that was given, that
// of the designation, or the assumed one, which is then told. The answer is a
// question when a size fits several threads.
func (k Known) oneReading() (Reading, []string, *Answer, error) {
	rs, err := k.readings()
	if err != nil {
		return Reading{}, nil, nil, err
	}
	if len(rs) == 0 {
		return Reading{}, nil, &Answer{Ask: "Of which thread?"}, nil
	}
	if k.Thread == "" && !sameNominal(rs) {
		names := nominals(rs)
		return Reading{}, nil, &Answer{Ask: "Is the thread " + orWords(names) + "?", Choices: names}, nil
	}
	var assumed []string
	if !k.classGiven() {
		assumed = append(assumed, assumption(rs[0].Class.Name))
	}
	return rs[0], assumed, nil, nil
}

// classGiven tells whether somebody named the strength class.
func (k Known) classGiven() bool {
	if k.Class != "" || k.Thread == "" {
		return k.Class != ""
	}
	d, err := ParseDesignation(k.Thread)
	return err == nil && d.Class != ""
}

// nominals lists the different threads of readings, in their order.
func nominals(rs []Reading) []string {
	var names []string
	for _, r := range rs {
		if len(names) == 0 || names[len(names)-1] != r.Thread.Nominal {
			names = append(names, r.Thread.Nominal)
		}
	}
	return names
}

// AnswerStrength answers "how strong is an M8 10.9": proof, yield and breaking
// load in kN, from stress area and class. A size that fits several threads is
// asked about. Source: ISO 898-1, SAE J429, ISO 3506.
func AnswerStrength(k Known) (Answer, error) {
	r, assumed, ask, err := k.oneReading()
	if err != nil {
		return Answer{}, fmt.Errorf("strength: %w", err)
	}
	if ask != nil {
		return *ask, nil
	}
	s := bolt{r.Thread, r.Class}.strength()
	return Answer{
		Text: fmt.Sprintf("%s %s: proof load %s, yields at %s, breaks at %s; stress area %s mm².%s %s", r.Thread.Spoken(), r.Class.Name,
			kilonewtons(s.Proof), kilonewtons(s.Yield), kilonewtons(s.Breaking), short(threeDigits(float64(r.Thread.StressArea()))),
			assumedWords(assumed), manualDecides),
		Assumptions: assumed, Source: r.Class.Source,
	}, nil
}

// AnswerPreload answers "what preload does 25 newton metres give on an M8
// 8.8": F = T/(K·d), as a share of the proof load. One torque gives a preload
// that scatters by 25 to 30 %. Source: Shigley, table 8-15.
func AnswerPreload(k Known, torque measure.Quantity) (Answer, error) {
	nm, err := torque.NewtonMetres()
	if err != nil {
		return Answer{}, fmt.Errorf("preload: %w", err)
	}
	r, assumed, ask, err := k.oneReading()
	if err != nil {
		return Answer{}, fmt.Errorf("preload: %w", err)
	}
	if ask != nil {
		return *ask, nil
	}
	if k.Lubrication == LubeUnknown {
		assumed = append(assumed, "dry thread taken")
	}
	f := ShortPreload(k.Lubrication.Factor(), r.Thread.Diameter, nm)
	share := float64(f / bolt{r.Thread, r.Class}.strength().Proof)
	text := fmt.Sprintf("%s on %s %s: about %s, %s of its proof load, give or take a quarter.", torque, r.Thread.Spoken(), r.Class.Name, kilonewtons(f), percent(share))
	if share > 1 {
		text = fmt.Sprintf("%s is past the proof load of %s %s, it stretches for good: about %s by figure.", torque, r.Thread.Spoken(), r.Class.Name, kilonewtons(f))
	}
	return Answer{Text: text + assumedWords(assumed) + " " + manualDecides, Assumptions: assumed, Source: srcShigley}, nil
}

// AnswerDesignation answers "what is a quarter twenty": diameter, pitch and the
// wrenches it can want. Source: ISO 261, ASME B1.1 and the tables of heads.
func AnswerDesignation(k Known) (Answer, error) {
	if k.Thread == "" {
		return Answer{Ask: "Which thread?"}, nil
	}
	t, err := LookThread(k.Thread)
	if err != nil {
		return Answer{}, err
	}
	pitch := fmt.Sprintf("pitch %s mm", short(float64(t.Pitch)))
	if t.System == Unified {
		pitch = fmt.Sprintf("%s threads to the inch, %s", short(threeDigits(t.PerInch())), pitchWords(t))
	}
	text := fmt.Sprintf("%s: %s mm across the thread, %s.", t.Spoken(), short(threeDigits(float64(t.Diameter))), pitch)
	head, err := AnswerHead(k)
	if err != nil {
		return Answer{}, err
	}
	if _, wrenches, ok := strings.Cut(head.Text, ": "); ok {
		text += " Wrench: " + wrenches
	}
	return Answer{Text: text, Source: srcMetricPitch + "; " + srcUnified + "; " + head.Source}, nil
}

// pitchWords gives the pitch of an inch thread in mm.
func pitchWords(t Thread) string {
	return fmt.Sprintf("that is %s mm", short(threeDigits(float64(t.Pitch))))
}

// AnswerLoosening answers "loosening order for 8 bolts": the tightening order
// backwards, a little at a time. Source: as [Cross], loosened outside in.
func AnswerLoosening(n int) (Answer, error) {
	o, err := Cross(n)
	if err != nil {
		return Answer{}, err
	}
	words := make([]string, n)
	for i, b := range o.Loosening() {
		words[i] = fmt.Sprint(b)
	}
	text := fmt.Sprintf("Numbered clockwise: %s. A little at a time, the last ones stay in a few threads until the part is supported.", strings.Join(words, ", "))
	if n == 1 {
		text = "One bolt: there is no order."
	}
	return Answer{Text: text + " A sequence printed in your manual wins.", Source: o.Source, Assumptions: []string{"bolts in a ring, numbered clockwise"}}, nil
}

// AnswerLocker answers "what locker for an M6 stud". Which grade is the
// manual's choice; what holds for any is said. Common practice, no source.
func AnswerLocker() Answer {
	return Answer{
		Text:   "The grade is your manual's choice: low and medium come apart with hand tools, high wants heat. " + LockerAdvice,
		Source: srcPractice,
	}
}

// AnswerSealantTimes answers "how long does sealant take" without a product on
// record: how far the labels differ, and that the label decides.
func AnswerSealantTimes() Answer {
	var parts []string
	for _, r := range SealantRanges() {
		span := spanWords(r.From)
		if r.To != r.From {
			span += " to " + spanWords(r.To)
		}
		parts = append(parts, r.What+" "+span)
	}
	return Answer{
		Text:   "Labels differ: " + strings.Join(parts, ", ") + ". The label of yours decides.",
		Source: SealantRanges()[0].Source,
	}
}

// spanWords says a whole number of minutes or hours.
func spanWords(d time.Duration) string {
	if d >= time.Hour {
		return short(d.Hours()) + " h"
	}
	return short(d.Minutes()) + " min"
}

// kilonewtons prints a force with three digits.
func kilonewtons(f measure.Newtons) string {
	return short(threeDigits(float64(f)/1000)) + " kN"
}

// threeDigits rounds to three significant digits.
func threeDigits(x float64) float64 { return measure.Quantity{Amount: x}.Digits(3).Amount }
