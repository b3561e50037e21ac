package main

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"putback/speech"
)

// outcome is what one row made of one clip; the detail file holds one a line.
type outcome struct {
	Row, Set, At, File string  // At is "clean" or the signal-to-noise ratio in decibels
	Want, Got          string  `json:",omitempty"`
	Text               string  // as the recogniser spells it
	Verdict            string  // act, ask or ignore
	Called             bool    `json:",omitempty"` // the call word came first
	Right              bool    // the best reading has every slot right and none more, acted on or not
	Seconds            float64 // of sound
	Took               float64 // seconds from handing over the sound to the answer

	// What only Putback gives.
	Free                        string  `json:",omitempty"`
	LogProb, Score, FreeLogProb float64 `json:",omitempty"`
	Posterior, Confidence       float64 `json:",omitempty"`
	Second                      string  `json:",omitempty"` // the runner-up of different meaning

	// A line of its own: the peak memory of a row's process, or why there is none.
	PeakMB float64 `json:",omitempty"`
	Why    string  `json:",omitempty"`
}

// acted reports whether a program would act on it.
func (o outcome) acted() bool { return o.Verdict == speech.Act.String() }

// tally counts the outcomes of one row under one condition.
type tally struct {
	Clips, Right, Acted, Asked, Ignored int
	RightActed, Wrong, Called           int // Called: acted on and the call word came first
	Torque, WrongTorque                 int // clips with a torque value; acted on with another one
	Took                                []float64
}

// score counts. Every clip is acted on, asked about or ignored; what is acted
// on is right or wrong. There is no fourth kind.
func score(list []outcome) tally {
	var t tally
	for _, o := range list {
		t.Clips++
		t.Took = append(t.Took, o.Took)
		if o.Right {
			t.Right++
		}
		want, got := torques(o.Want), torques(o.Got)
		wrongTorque := o.acted() && !slices.Equal(want, got)
		if len(want) > 0 || wrongTorque {
			t.Torque++
		}
		if wrongTorque {
			t.WrongTorque++
		}
		switch {
		case o.acted() && o.Right:
			t.Acted++
			t.RightActed++
		case o.acted():
			t.Acted++
			t.Wrong++
		case o.Verdict == speech.Ask.String():
			t.Asked++
		default:
			t.Ignored++
		}
		if o.acted() && o.Called {
			t.Called++
		}
	}
	slices.Sort(t.Took)
	return t
}

// rejected are the clips that were not acted on.
func (t tally) rejected() int { return t.Asked + t.Ignored }

// quantile is the smallest time that at least the share q of the clips did not exceed.
func (t tally) quantile(q float64) float64 {
	if len(t.Took) == 0 {
		return math.NaN()
	}
	i := int(math.Ceil(q*float64(len(t.Took)))) - 1
	return t.Took[min(max(i, 0), len(t.Took)-1)]
}

// results are outcomes by row, set and condition.
type results struct {
	rows, ats []string // as in the table: rows as they came, clean before noise, less noise before more
	clips     map[[3]string]map[string]outcome
	peak      map[string]float64
	why       map[string]string
}

func newResults() *results {
	return &results{clips: map[[3]string]map[string]outcome{}, peak: map[string]float64{}, why: map[string]string{}}
}

// add takes one outcome; of the same clip heard twice under the same condition
// the later one counts, so that a run can be taken in pieces.
func (r *results) add(o outcome) {
	if !slices.Contains(r.rows, o.Row) {
		r.rows = append(r.rows, o.Row)
	}
	if o.Why != "" {
		r.why[o.Row] = o.Why
		return
	}
	if o.PeakMB > 0 {
		r.peak[o.Row] = max(r.peak[o.Row], o.PeakMB)
		return
	}
	if !slices.Contains(r.ats, o.At) {
		r.ats = append(r.ats, o.At)
		slices.SortFunc(r.ats, func(a, b string) int { return cmp.Compare(decibels(b), decibels(a)) })
	}
	key := [3]string{o.Row, o.Set, o.At}
	if r.clips[key] == nil {
		r.clips[key] = map[string]outcome{}
	}
	r.clips[key][o.File] = o
}

// of gives the outcomes of a row in a set under one condition, sorted by file.
func (r *results) of(row, set, at string) []outcome {
	byFile := r.clips[[3]string{row, set, at}]
	var list []outcome
	for _, f := range slices.Sorted(maps.Keys(byFile)) {
		list = append(list, byFile[f])
	}
	return list
}

// all gives the outcomes of a row in a set under every condition.
func (r *results) all(row, set string) []outcome {
	var list []outcome
	for _, at := range r.ats {
		list = append(list, r.of(row, set, at)...)
	}
	return list
}

// decibels is the signal-to-noise ratio of a condition; clean is above all.
func decibels(at string) float64 {
	db, err := strconv.ParseFloat(strings.TrimSuffix(at, " dB"), 64)
	if err != nil {
		return math.Inf(1)
	}
	return db
}
