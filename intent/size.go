package intent

import (
	"fmt"
	"strconv"
	"strings"

	"putback/jobs/measure"
)

// sizeOf reads the size slots of a fastener as the grammar spells them:
// "10 mm", "9/16 in", "M8x1.25", "M8 × 25", "5 mm hex", "T30".
func sizeOf(slot, value string) (*Size, error) {
	switch slot {
	case "wrench":
		q, err := measure.ParseAs(measure.Length, value)
		if err != nil {
			return nil, fmt.Errorf("read the wrench size %q: %w", value, err)
		}
		return &Size{Said: sayWrench(q), Kind: SizeWrench, Across: q}, nil
	case "hexkey":
		size := strings.TrimSpace(strings.TrimSuffix(value, "hex"))
		if size == "" {
			return &Size{Said: "allen", Kind: SizeHexKey}, nil
		}
		q, err := measure.ParseAs(measure.Length, size)
		if err != nil {
			return nil, fmt.Errorf("read the key size %q: %w", value, err)
		}
		return &Size{Said: q.String() + " allen", Kind: SizeHexKey, Across: q}, nil
	case "thread":
		s := &Size{Kind: SizeThread, Designation: value, Said: value}
		if thread, length, ok := strings.Cut(value, "×"); ok {
			mm, err := strconv.ParseFloat(strings.TrimSpace(length), 64)
			if err != nil {
				return nil, fmt.Errorf("read the length in %q: %w", value, err)
			}
			s.Designation = strings.TrimSpace(thread)
			s.Length = measure.Quantity{Amount: mm, Unit: measure.Millimetre}
			s.Said = s.Designation + " by " + strings.TrimSpace(length)
		}
		return s, nil
	default:
		said := value
		if t := strings.ReplaceAll(value, " ", ""); len(t) > 1 && strings.ContainsAny(t[:1], "tTeE") && hasDigit(t[1:2]) {
			said = strings.ToUpper(t)
		}
		return &Size{Said: said, Kind: SizeDrive}, nil
	}
}

// sayWrench gives a wrench size the way a mechanic counts fasteners by it:
// "tens", "nine sixteenths".
func sayWrench(q measure.Quantity) string {
	n := int(q.Amount)
	if q.Unit == measure.Millimetre && float64(n) == q.Amount && n > 0 && n < 100 {
		word := strings.ReplaceAll(cardinals(n)[0], " ", "-")
		switch {
		case strings.HasSuffix(word, "x"):
			return word + "es"
		case strings.HasSuffix(word, "y"):
			return strings.TrimSuffix(word, "y") + "ies"
		}
		return word + "s"
	}
	if q.Unit == measure.Inch {
		for _, w := range sayNumber(strings.TrimSuffix(q.String(), " in")) {
			return strings.TrimPrefix(w, "one ") // "two quarters off"
		}
	}
	return q.String()
}
