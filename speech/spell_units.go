package speech

import (
	"sort"
	"strings"
)

// spokenUnit is how a printed unit sounds.
type spokenUnit struct {
	one, many string
	// alone: it is a unit without a number before it too. "mm" is, "in" is a
	// word of its own.
	alone bool
}

// spokenUnits maps print forms to speech. The forms are those of the trade's
// printed specifications, "ft/lbs" and "kgf/cm" for a torque among them.
var spokenUnits = func() map[string]spokenUnit {
	m := map[string]spokenUnit{}
	add := func(one, many string, alone bool, forms ...string) {
		for _, f := range forms {
			m[f] = spokenUnit{one, many, alone}
		}
	}
	// Torque.
	add("newton metre", "newton metres", true, "N·m", "N.m", "N*m", "N-m", "N m", "Nm", "NM")
	add("newton centimetre", "newton centimetres", true, "N·cm", "Ncm", "N cm")
	add("decinewton metre", "decinewton metres", true, "dN·m", "dNm")
	add("decanewton metre", "decanewton metres", true, "daN·m", "daNm")
	add("kilonewton metre", "kilonewton metres", true, "kN·m", "kNm")
	add("foot pound", "foot pounds", true, "lbf·ft", "lbf ft", "lbf.ft", "lbf-ft", "lb·ft", "lb-ft", "lb ft", "lb.ft", "lbs-ft", "ft·lbf", "ft lbf", "ft-lbf",
		"ft·lb", "ft-lb", "ft-lbs", "ft lb", "ft lbs", "ft/lb", "ft/lbs", "ftlb", "ftlbs", "ft. lbs.", "ft.lbs", "ft.lb")
	add("inch pound", "inch pounds", true, "lbf·in", "lbf in", "lbf.in", "lbf-in", "lb·in", "lb-in", "lb in", "lb.in", "in·lbf", "in lbf", "in-lbf",
		"in·lb", "in-lb", "in-lbs", "in lb", "in lbs", "in/lb", "in/lbs", "inlb", "inlbs", "in. lbs.", "in.lbs", "in.lb")
	add("inch ounce", "inch ounces", true, "ozf·in", "oz·in", "ozf in", "oz-in", "in-oz", "in·ozf", "in oz")
	add("kilogram force metre", "kilogram force metres", true, "kgf·m", "kgf m", "kgfm", "kgf-m", "kg·m", "kgm", "kg-m", "mkp", "kp·m")
	add("kilogram force centimetre", "kilogram force centimetres", true, "kgf·cm", "kgf cm", "kgfcm", "kgf-cm", "kgf/cm", "kg·cm", "kgcm", "kg-cm")
	// Length and area.
	add("millimetre", "millimetres", true, "mm")
	add("centimetre", "centimetres", true, "cm")
	add("metre", "metres", false, "m")
	add("kilometre", "kilometres", true, "km")
	add("micrometre", "micrometres", true, "µm", "μm", "um")
	add("inch", "inches", false, "in", "in.", "\"", "″", "inch", "inches")
	add("foot", "feet", true, "ft", "ft.")
	add("thou", "thou", true, "thou")
	add("square millimetre", "square millimetres", true, "mm²", "mm2")
	add("square inch", "square inches", true, "in²", "in2")
	// Volume.
	add("litre", "litres", false, "L", "l", "ltr")
	add("millilitre", "millilitres", true, "mL", "ml")
	add("centilitre", "centilitres", true, "cL", "cl")
	add("cubic centimetre", "cubic centimetres", true, "cm³", "cm3", "cc")
	add("cubic metre", "cubic metres", true, "m³", "m3")
	add("quart", "quarts", true, "qt", "qts")
	add("U S quart", "U S quarts", true, "US qt", "qt US", "US quart", "US quarts")
	add("imperial quart", "imperial quarts", true, "imp qt", "qt imp", "UK qt", "imp. qt")
	add("pint", "pints", true, "pt", "pts")
	add("U S pint", "U S pints", true, "US pt", "pt US")
	add("imperial pint", "imperial pints", true, "imp pt", "pt imp", "UK pt")
	add("gallon", "gallons", true, "gal", "gals")
	add("U S gallon", "U S gallons", true, "US gal", "gal US")
	add("imperial gallon", "imperial gallons", true, "imp gal", "gal imp", "UK gal")
	add("fluid ounce", "fluid ounces", true, "fl oz", "fl. oz")
	add("U S fluid ounce", "U S fluid ounces", true, "US fl oz", "fl oz US")
	// Pressure.
	add("P S I", "P S I", true, "psi", "PSI", "lbf/in²", "lb/in²", "lbf/in2")
	add("K S I", "K S I", true, "ksi", "KSI")
	add("bar", "bar", false, "bar")
	add("millibar", "millibar", true, "mbar")
	add("pascal", "pascals", true, "Pa")
	add("kilopascal", "kilopascals", true, "kPa")
	add("megapascal", "megapascals", true, "MPa", "N/mm²", "N/mm2")
	add("kilogram force per square centimetre", "kilogram force per square centimetre", true, "kgf/cm²", "kgf/cm2", "kg/cm²", "kg/cm2")
	// Temperature and angle.
	add("degree", "degrees", true, "°", "deg")
	add("degree Celsius", "degrees Celsius", true, "°C", "° C", "degC", "℃")
	add("degree Fahrenheit", "degrees Fahrenheit", true, "°F", "° F", "degF", "℉")
	add("kelvin", "kelvin", false, "K")
	add("radian", "radians", true, "rad")
	add("turn", "turns", false, "rev", "revs")
	// Mass and force.
	add("kilogram", "kilograms", true, "kg")
	add("gram", "grams", false, "g")
	add("pound", "pounds", true, "lb", "lbs", "lb.", "lbs.")
	add("ounce", "ounces", true, "oz", "oz.")
	add("newton", "newtons", false, "N")
	add("kilonewton", "kilonewtons", true, "kN")
	add("pound force", "pounds force", true, "lbf")
	add("kilogram force", "kilograms force", true, "kgf", "kp")
	// Time.
	add("second", "seconds", false, "s", "sec", "secs", "sec.")
	add("minute", "minutes", false, "min", "mins", "min.")
	add("hour", "hours", false, "h", "hr", "hrs")
	add("day", "days", false, "d")
	add("millisecond", "milliseconds", true, "ms")
	// Electricity, speed and the rest.
	add("volt", "volts", false, "V")
	add("millivolt", "millivolts", true, "mV")
	add("amp", "amps", false, "A")
	add("amp hour", "amp hours", true, "Ah", "A·h")
	add("watt", "watts", false, "W")
	add("kilowatt", "kilowatts", true, "kW")
	add("horsepower", "horsepower", true, "hp", "HP", "bhp")
	add("ohm", "ohms", true, "Ω", "Ω")
	add("hertz", "hertz", true, "Hz")
	add("decibel", "decibels", true, "dB")
	add("R P M", "R P M", true, "rpm", "RPM", "r/min", "1/min")
	add("kilometre per hour", "kilometres per hour", true, "km/h", "kph")
	add("mile per hour", "miles per hour", true, "mph")
	add("percent", "percent", true, "%")
	return m
}()

// unitForms are the print forms by their first byte, the longest first, so that
// "lbf·ft" is not read as "lbf".
var unitForms = func() (out [256][]string) {
	for f := range spokenUnits {
		out[f[0]] = append(out[f[0]], f)
	}
	for _, forms := range out {
		sort.Slice(forms, func(i, j int) bool {
			if len(forms[i]) != len(forms[j]) {
				return len(forms[i]) > len(forms[j])
			}
			return forms[i] < forms[j]
		})
	}
	return out
}()

// unitAt finds the unit printed at the start of s, which must end at a word's
// end. "" is none.
func unitAt(s string) (form string, u spokenUnit) {
	if s == "" {
		return "", spokenUnit{}
	}
	for _, f := range unitForms[s[0]] {
		if strings.HasPrefix(s, f) && endsWord(f, s[len(f):]) {
			return f, spokenUnits[f]
		}
	}
	return "", spokenUnit{}
}
