package fastening

import (
	"fmt"
	"strings"

	"putback/jobs/measure"
)

// KindDrive is a size that names a drive and no thread: "T thirty", "twelve point".
const KindDrive Kind = "drive"

// ParseSize reads what somebody calls a fastener, without converting it: "M8"
// and "quarter twenty" are threads, "ten mil head" and "nine sixteenths" are
// wrenches, "five mil allen" a hex key, "ten mil", "the ten" and "tens" of
// unknown kind, "T thirty", "E twelve", "triple square ten" and "twelve point"
// drives. Said holds the words. The error is for words that name no size.
func ParseSize(text string) (Known, error) {
	k := Known{Said: strings.TrimSpace(text)}
	s := strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(text, "-", " ")), " "))
	s = strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(s, "the "), "a "), "an ")
	if strings.HasPrefix(k.Said, "-") {
		return Known{}, fmt.Errorf("read size %q: below nothing", text)
	}
	if d, err := ParseDesignation(text); err == nil {
		k.Kind, k.Thread, k.Class = KindThread, d.Thread.Designation, d.Class
		return k, nil
	}
	if isDrive(s) {
		k.Kind = KindDrive
		return k, nil
	}
	k.Kind = KindUnknown
	for _, e := range []struct {
		ending string
		kind   Kind
	}{
		{" allen", KindHexKey}, {" allen key", KindHexKey}, {" hex key", KindHexKey}, {" hex", KindHexKey}, {" key", KindHexKey},
		{" head", KindWrench}, {" wrench", KindWrench}, {" spanner", KindWrench}, {" socket", KindWrench},
		{" bolt", KindUnknown}, {" bolts", KindUnknown}, {" nut", KindUnknown}, {" nuts", KindUnknown}, {" thread", KindThread},
	} {
		if rest, ok := strings.CutSuffix(s, e.ending); ok {
			s, k.Kind = rest, e.kind
			break
		}
	}
	q, err := sizeNumber(s)
	if err != nil {
		return Known{}, fmt.Errorf("read size %q: %w", text, err)
	}
	k.Size = q
	if q.Unit == measure.Inch && k.Kind == KindUnknown {
		k.Kind = KindWrench // an inch thread is said with its threads an inch
	}
	return k, nil
}

// sizeNumber reads the number of a size; a whole one without a unit is in mm.
func sizeNumber(s string) (measure.Quantity, error) {
	mm := measure.Habits{Prefer: []measure.Unit{measure.Millimetre}}
	if q, err := mm.ParseAs(measure.Length, s); err == nil {
		q.Said = ""
		if q.Amount <= 0 {
			return measure.Quantity{}, fmt.Errorf("%s is no size", q)
		}
		return q, nil
	}
	for _, w := range []string{s, strings.TrimSuffix(s, "s"), strings.TrimSuffix(s, "es")} { // "tens", "sixes"
		if v, err := measure.ParseNumber(w); err == nil && v >= 2 && v <= 60 {
			return measure.Quantity{Amount: v, Unit: measure.Millimetre}, nil
		}
	}
	return measure.Quantity{}, fmt.Errorf("no size in it; say for instance M8, ten mil head, nine sixteenths or five mil allen")
}

// isDrive knows the drives by the way they are said.
func isDrive(s string) bool {
	for _, p := range []string{"torx", "triple square", "twelve point", "12 point", "pozi", "phillips", "philips", "flat blade", "slotted"} {
		if strings.HasPrefix(s, p) || strings.HasSuffix(s, p) {
			return true
		}
	}
	for _, p := range []string{"t", "e"} { // T thirty, E12
		if rest, ok := strings.CutPrefix(s, p); ok {
			if v, err := measure.ParseNumber(strings.TrimSpace(rest)); err == nil && v >= 4 && v <= 100 && strings.TrimLeft(rest, " 0123456789") != rest {
				return true
			}
		}
	}
	return strings.HasSuffix(s, " drive")
}
