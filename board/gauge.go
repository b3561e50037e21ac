package board

import (
	"math"
	"strconv"
)

// The drawing units of the torque gauge.
const (
	gaugeWidth  = 360.0
	gaugeHeight = 76.0
	gaugeLeft   = 14.0
)

// gauge is the drawing of a torque against the guide range of its thread.
type gauge struct {
	Width, Height     num
	Left, Span        num // of the scale
	BandX, BandW      num // the guide range
	Mark              num // x of the wanted torque
	Triangle          string
	Low, High, Wanted string
	WantedX           num // of the wanted figure
	Label             string
	LabelX            num
	Outside           string // "", "above the guide range", "below the guide range"
	Words             string
}

// drawGauge draws wanted against the guide range low … high, all in N·m. It is nil
// when one of the figures is not known.
func drawGauge(wanted, low, high float64) *gauge {
	for _, v := range []float64{wanted, low, high} {
		if !(v > 0) || math.IsInf(v, 0) {
			return nil
		}
	}
	if low > high {
		return nil
	}
	top := math.Max(high*1.5, wanted*1.12)
	const span = gaugeWidth - 2*gaugeLeft
	x := func(v float64) float64 { return gaugeLeft + span*v/top }
	g := &gauge{
		Width: gaugeWidth, Height: gaugeHeight, Left: gaugeLeft, Span: span,
		BandX: num(x(low)), BandW: num(math.Max(x(high)-x(low), 3)), Mark: num(x(wanted)),
		Low: short(low), High: short(high), Wanted: short(wanted),
	}
	m := x(wanted)
	g.Triangle = points([][2]float64{{m, 40}, {m - 11, 20}, {m + 11, 20}})
	// Words are kept inside the drawing, whatever they mark.
	inside := func(at, half float64) num { return num(math.Min(math.Max(at, half), gaugeWidth-half)) }
	g.Label = "guide " + g.Low + " to " + g.High + " N·m"
	g.LabelX = inside(x((low+high)/2), 4.6*float64(len(g.Label)))
	g.WantedX = inside(m, 36)
	switch {
	case wanted > high:
		g.Outside = "above the guide range"
	case wanted < low:
		g.Outside = "below the guide range"
	}
	g.Words = "Wanted " + g.Wanted + " N·m, guide range " + g.Low + " to " + g.High + " N·m"
	if g.Outside != "" {
		g.Words += ": " + g.Outside
	}
	return g
}

// short prints a figure with no more digits than an eye wants: three significant ones.
func short(v float64) string {
	switch {
	case v >= 100:
		return strconv.FormatFloat(v, 'f', 0, 64)
	case v >= 10:
		return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
	}
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}
