package fastening

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// System is the family a thread belongs to.
type System string

// The thread systems.
const (
	Metric  System = "metric"
	Unified System = "unified" // UNC, UNF
)

// Thread is one external thread.
type Thread struct {
	Designation string // "M8" (coarse), "M8x1", "3/8-16", "#10-32"
	Nominal     string // "M8", "3/8", "#10"
	System      System
	Diameter    measure.Millimetres
	Pitch       measure.Millimetres
	Series      string // "coarse", "fine", "UNC", "UNF" or "special" for a pitch outside the tables
	Source      string // of the row
}

type metricRow struct {
	d       float64
	pitches []float64 // coarse first
	source  string
}

// metricRows: diameters M3 to M24 with their pitches in mm, coarse first.
var metricRows = []metricRow{
	{3, []float64{0.5}, srcMetricPitch},
	{4, []float64{0.7}, srcMetricPitch},
	{5, []float64{0.8}, srcMetricPitch},
	{6, []float64{1}, srcMetricPitch},
	{7, []float64{1}, srcMemory},
	{8, []float64{1.25, 1}, srcMetricPitch},
	{10, []float64{1.5, 1.25, 1}, srcMetricPitch},
	{12, []float64{1.75, 1.5, 1.25}, srcMetricPitch},
	{14, []float64{2, 1.5}, srcMetricPitch},
	{16, []float64{2, 1.5}, srcMetricPitch},
	{18, []float64{2.5, 2, 1.5}, srcMetricPitch},
	{20, []float64{2.5, 2, 1.5}, srcMetricPitch},
	{22, []float64{2.5, 2, 1.5}, srcMetricPitch},
	{24, []float64{3, 2}, srcMetricPitch},
}

type unifiedRow struct {
	nominal      string
	d            float64 // in
	coarse, fine float64 // threads an inch
	source       string
}

// unifiedRows: No. 10 to 3/4 in, coarse (UNC) and fine (UNF) threads an inch.
var unifiedRows = []unifiedRow{
	{"#10", 0.190, 24, 32, srcUnified},
	{"1/4", 1.0 / 4, 20, 28, srcUnified},
	{"5/16", 5.0 / 16, 18, 24, srcUnified},
	{"3/8", 3.0 / 8, 16, 24, srcUnified},
	{"7/16", 7.0 / 16, 14, 20, srcUnified},
	{"1/2", 1.0 / 2, 13, 20, srcUnified},
	{"9/16", 9.0 / 16, 12, 18, srcUnified},
	{"5/8", 5.0 / 8, 11, 18, srcUnified},
	{"3/4", 3.0 / 4, 10, 16, srcUnified},
}

// Threads lists every thread of the tables: M3 to M24, coarse before fine,
// then No. 10 to 3/4 in.
func Threads() []Thread { return append([]Thread(nil), allThreads...) }

// allThreads is the table, computed once: a sheet of thousands of fasteners
// looks into it for every one.
var allThreads = buildThreads()

func buildThreads() []Thread {
	var out []Thread
	for _, r := range metricRows {
		for _, p := range r.pitches {
			out = append(out, metricThread(r, p))
		}
	}
	for _, r := range unifiedRows {
		out = append(out, unifiedThread(r, r.coarse), unifiedThread(r, r.fine))
	}
	return out
}

// threadsOf lists the threads of one nominal size ("M10", "3/8"), coarse first.
func threadsOf(nominal string) []Thread {
	var out []Thread
	for _, t := range allThreads {
		if t.Nominal == nominal {
			out = append(out, t)
		}
	}
	return out
}

func metricThread(r metricRow, pitch float64) Thread {
	t := Thread{
		Nominal: "M" + short(r.d), System: Metric, Diameter: measure.Millimetres(r.d),
		Pitch: measure.Millimetres(pitch), Series: "special", Source: r.source,
	}
	t.Designation = t.Nominal + "x" + short(pitch)
	for i, p := range r.pitches {
		if p != pitch {
			continue
		}
		t.Series = "fine"
		if i == 0 {
			t.Series, t.Designation = "coarse", t.Nominal
		}
	}
	return t
}

func unifiedThread(r unifiedRow, tpi float64) Thread {
	t := Thread{
		Nominal: r.nominal, Designation: r.nominal + "-" + short(tpi), System: Unified,
		Diameter: measure.Millimetres(r.d * 25.4), Pitch: measure.Millimetres(25.4 / tpi),
		Series: "special", Source: r.source,
	}
	switch tpi {
	case r.coarse:
		t.Series = "UNC"
	case r.fine:
		t.Series = "UNF"
	}
	return t
}

// PerInch is the number of threads an inch.
func (t Thread) PerInch() float64 { return 25.4 / float64(t.Pitch) }

// PitchDiameter is d2 = d − 0.649519·P. Source: ISO 724.
func (t Thread) PitchDiameter() measure.Millimetres { return t.Diameter - 0.649519*t.Pitch }

// RootDiameter is d3 = d − 1.226869·P. Source: ISO 724 and ISO 898-1.
func (t Thread) RootDiameter() measure.Millimetres { return t.Diameter - 1.226869*t.Pitch }

// MinorDiameter is D1 = d − 1.082532·P, of the nut thread. Source: ISO 724.
func (t Thread) MinorDiameter() measure.Millimetres { return t.Diameter - 1.082532*t.Pitch }

// StressArea is the tensile stress area: metric π/4·(d − 0.938194·P)² (ISO
// 898-1), inch π/4·(d − 0.9743/n)² (FED-STD-H28).
func (t Thread) StressArea() measure.SquareMillimetres {
	factor := 0.938194
	if t.System == Unified {
		factor = 0.9743
	}
	d := float64(t.Diameter) - factor*float64(t.Pitch)
	return measure.SquareMillimetres(math.Pi / 4 * d * d)
}

// Spoken names the thread for the ear: "M8", "M10 by 1.25", "3/8-16".
func (t Thread) Spoken() string { return strings.Replace(t.Designation, "x", " by ", 1) }

func (t Thread) String() string { return t.Designation }

// LookThread finds a thread by its designation: "M8", "M8x1", "3/8-16", also
// with length or class behind it. The error tells how to write one.
func LookThread(designation string) (Thread, error) {
	d, err := ParseDesignation(designation)
	return d.Thread, err
}

// metricOf builds the metric thread of diameter d; pitch 0 takes the coarse one.
func metricOf(d, pitch float64) (Thread, error) {
	for _, r := range metricRows {
		if r.d != d {
			continue
		}
		if pitch == 0 {
			pitch = r.pitches[0]
		}
		if pitch < 0.2 || pitch > r.pitches[0]*1.0001 {
			return Thread{}, fmt.Errorf("a pitch of %s mm does not belong on M%s: its coarse pitch is %s mm", short(pitch), short(d), short(r.pitches[0]))
		}
		return metricThread(r, pitch), nil
	}
	return Thread{}, fmt.Errorf("the thread M%s is not in the tables, which run from M3 to M24", short(d))
}

// unifiedOf builds the inch thread of a nominal size; tpi 0 takes the series (UNC when "").
func unifiedOf(nominal string, tpi float64, series string) (Thread, error) {
	for _, r := range unifiedRows {
		if r.nominal != nominal {
			continue
		}
		if tpi == 0 {
			tpi = r.coarse
			if series == "UNF" {
				tpi = r.fine
			}
		}
		t := unifiedThread(r, tpi)
		if tpi < r.coarse || tpi > 80 {
			return Thread{}, fmt.Errorf("%s threads an inch do not belong on %s: UNC has %s, UNF %s", short(tpi), nominal, short(r.coarse), short(r.fine))
		}
		if series != "" && t.Series != "special" && t.Series != series {
			return Thread{}, fmt.Errorf("%s is %s, not %s", t.Designation, t.Series, series)
		}
		return t, nil
	}
	return Thread{}, fmt.Errorf("%s is not in the tables, which run from No. 10 to 3/4 in", nominal)
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
