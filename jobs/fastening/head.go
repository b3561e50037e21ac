package fastening

import (
	"math"
	"sort"
	"strings"

	"putback/jobs/measure"
)

// HeadKind is a standard of heads, which decides the wrench for a thread.
type HeadKind string

// The head standards.
const (
	HeadISO    HeadKind = "ISO hexagon"
	HeadDIN    HeadKind = "old DIN hexagon"
	HeadJIS    HeadKind = "small JIS hexagon"
	HeadFlange HeadKind = "small flange"
	NutFlange  HeadKind = "flange nut"
	HeadSocket HeadKind = "socket head"
	HeadInch   HeadKind = "inch hexagon"
)

// Head is one row of the wrench-size tables: a thread and the wrench or hex
// key that fits its head under one standard.
type Head struct {
	Nominal string           // "M8", "3/8"
	Across  measure.Quantity // width across flats, mm or in
	Kind    HeadKind
	Source  string
}

func mmHead(nominal string, across float64, k HeadKind, src string) Head {
	return Head{nominal, measure.Quantity{Amount: across, Unit: measure.Millimetre}, k, src}
}

func inHead(nominal string, across float64) Head {
	return Head{nominal, measure.Quantity{Amount: across, Unit: measure.Inch}, HeadInch, srcShopTable}
}

// headRows is the table. Where open tables disagree both rows are kept.
var headRows = []Head{
	mmHead("M3", 5.5, HeadISO, srcHeads), mmHead("M4", 7, HeadISO, srcHeads),
	mmHead("M5", 8, HeadISO, srcHeads), mmHead("M6", 10, HeadISO, srcHeads), mmHead("M8", 13, HeadISO, srcHeads),
	mmHead("M10", 16, HeadISO, srcHeads), mmHead("M12", 18, HeadISO, srcHeads), mmHead("M14", 21, HeadISO, srcHeads),
	mmHead("M16", 24, HeadISO, srcHeads), mmHead("M18", 27, HeadISO, srcHeads), mmHead("M20", 30, HeadISO, srcHeads),
	mmHead("M22", 34, HeadISO, srcHeads), mmHead("M24", 36, HeadISO, srcHeads),

	mmHead("M5", 8, HeadDIN, srcHeads), mmHead("M6", 10, HeadDIN, srcHeads), mmHead("M7", 11, HeadDIN, srcMemory),
	mmHead("M8", 13, HeadDIN, srcHeads), mmHead("M10", 17, HeadDIN, srcHeads), mmHead("M12", 19, HeadDIN, srcHeads),
	mmHead("M14", 22, HeadDIN, srcHeads), mmHead("M16", 24, HeadDIN, srcHeads), mmHead("M18", 27, HeadDIN, srcHeads),
	mmHead("M20", 30, HeadDIN, srcHeads), mmHead("M22", 32, HeadDIN, srcHeads), mmHead("M24", 36, HeadDIN, srcHeads),

	mmHead("M5", 8, HeadJIS, srcMemory), mmHead("M6", 10, HeadJIS, srcJIS), mmHead("M8", 12, HeadJIS, srcJIS),
	mmHead("M10", 14, HeadJIS, srcJIS), mmHead("M12", 17, HeadJIS, srcJIS), mmHead("M14", 19, HeadJIS, srcJIS),
	mmHead("M16", 22, HeadJIS, srcMemory), mmHead("M20", 27, HeadJIS, srcMemory),

	mmHead("M5", 7, HeadFlange, srcHeads), mmHead("M6", 8, HeadFlange, srcHeads), mmHead("M8", 10, HeadFlange, srcHeads),
	mmHead("M10", 13, HeadFlange, srcHeads), mmHead("M12", 16, HeadFlange, srcHeads), mmHead("M12", 15, HeadFlange, srcShopTable),
	mmHead("M14", 18, HeadFlange, srcHeads), mmHead("M16", 21, HeadFlange, srcHeads),
	mmHead("M10", 15, NutFlange, srcHeads), mmHead("M10", 16, NutFlange, srcShopTable),

	mmHead("M3", 2.5, HeadSocket, srcHeads), mmHead("M4", 3, HeadSocket, srcHeads), mmHead("M5", 4, HeadSocket, srcHeads),
	mmHead("M6", 5, HeadSocket, srcHeads), mmHead("M8", 6, HeadSocket, srcHeads), mmHead("M10", 8, HeadSocket, srcHeads),
	mmHead("M12", 10, HeadSocket, srcHeads), mmHead("M14", 12, HeadSocket, srcHeads), mmHead("M16", 14, HeadSocket, srcHeads),
	mmHead("M20", 17, HeadSocket, srcHeads), mmHead("M24", 19, HeadSocket, srcHeads),

	inHead("1/4", 7.0/16), inHead("5/16", 1.0/2), inHead("3/8", 9.0/16), inHead("7/16", 5.0/8), inHead("1/2", 3.0/4),
	inHead("5/8", 15.0/16), inHead("3/4", 9.0/8),
}

// Heads lists every row of the wrench-size tables.
func Heads() []Head { return append([]Head(nil), headRows...) }

// ThreadsTaking lists what can stand behind a wrench size, most usual standard
// first: 10 mm gives M6 (ISO, DIN, JIS) and M8 (small flange). Socket heads
// are left out; [ThreadsForKey] has them. Empty: no such wrench in the tables.
func ThreadsTaking(across measure.Quantity) []Head {
	return headsWhere(across, func(h Head) bool { return h.Kind != HeadSocket })
}

// ThreadsForKey lists the socket head screws that take a hex key.
func ThreadsForKey(across measure.Quantity) []Head {
	return headsWhere(across, func(h Head) bool { return h.Kind == HeadSocket })
}

func headsWhere(across measure.Quantity, keep func(Head) bool) []Head {
	var out []Head
	for _, h := range headRows {
		if keep(h) && sameSize(h.Across, across) {
			out = append(out, h)
		}
	}
	return out
}

// sameSize compares in the unit a wrench is sold in: 13 mm is not 1/2 in.
func sameSize(a, b measure.Quantity) bool {
	isInch := func(q measure.Quantity) bool { return q.Unit == measure.Inch || q.Unit == measure.Thou }
	return isInch(a) == isInch(b) && a.Same(b, 1e-9)
}

// HeadsOf lists the wrenches that can belong to a nominal thread ("M10",
// "3/8"), by standard.
func HeadsOf(nominal string) []Head {
	var out []Head
	for _, h := range headRows {
		if h.Nominal == nominal {
			out = append(out, h)
		}
	}
	return out
}

// NearFit is a pair of a metric and an inch wrench close enough to be tried.
type NearFit struct {
	Metric, Inch measure.Quantity
	Fits         bool // false: it rounds the head off
	Source       string
}

func near(mm, in float64, fits bool) NearFit {
	return NearFit{measure.Quantity{Amount: mm, Unit: measure.Millimetre}, measure.Quantity{Amount: in, Unit: measure.Inch}, fits, srcShopTable}
}

// NearFits lists the tempting pairs.
func NearFits() []NearFit {
	return []NearFit{
		near(13, 1.0/2, false), near(14, 9.0/16, false), near(11, 7.0/16, false), near(17, 11.0/16, false),
		near(19, 3.0/4, true), near(8, 5.0/16, true),
	}
}

// NearFitOf finds the pair a wrench size belongs to.
func NearFitOf(across measure.Quantity) (NearFit, bool) {
	for _, n := range NearFits() {
		if sameSize(n.Metric, across) || sameSize(n.Inch, across) {
			return n, true
		}
	}
	return NearFit{}, false
}

// headGroups joins heads by thread, in table order of first appearance:
// "M6: ISO hexagon, old DIN hexagon".
func headGroups(hs []Head) []string {
	var order []string
	kinds := map[string][]string{}
	for _, h := range hs {
		if _, ok := kinds[h.Nominal]; !ok {
			order = append(order, h.Nominal)
		}
		kinds[h.Nominal] = append(kinds[h.Nominal], string(h.Kind))
	}
	sort.SliceStable(order, func(i, j int) bool { return nominalDiameter(order[i]) < nominalDiameter(order[j]) })
	out := make([]string, len(order))
	for i, n := range order {
		out[i] = n + " (" + strings.Join(kinds[n], ", ") + ")"
	}
	return out
}

func nominalDiameter(nominal string) measure.Millimetres {
	for _, t := range allThreads {
		if t.Nominal == nominal {
			return t.Diameter
		}
	}
	return measure.Millimetres(math.Inf(1))
}
