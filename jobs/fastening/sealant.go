package fastening

import (
	"fmt"
	"time"
)

// Sealant holds the times of one product as its label or the sheet gives them.
// Makers differ by a factor of five, so nothing here is filled in by default:
// a time that nobody gave is zero and starts no timer.
type Sealant struct {
	Name        string
	CloseWithin time.Duration // from the bead to the parts closed
	FluidAfter  time.Duration // from torqued to oil or coolant
	Cure        time.Duration // from torqued to full strength
	Source      string        // "printed on the tube"; must be given
}

// WarnBefore is when to speak up about closing: two thirds through the limit,
// at least one minute before it when it is longer than two (common practice, no source).
func (s Sealant) WarnBefore() time.Duration {
	w := s.CloseWithin * 2 / 3
	if s.CloseWithin > 2*time.Minute && s.CloseWithin-w < time.Minute {
		w = s.CloseWithin - time.Minute
	}
	return w
}

// Check names what is wrong with the record: no source, or times that contradict each other.
func (s Sealant) Check() error {
	switch {
	case s.Source == "":
		return fmt.Errorf("sealant %s: where are the times from? Give a source, such as the label of the tube", s.Name)
	case s.CloseWithin < 0 || s.FluidAfter < 0 || s.Cure < 0:
		return fmt.Errorf("sealant %s: a time below nothing", s.Name)
	case s.Cure > 0 && s.FluidAfter > s.Cure:
		return fmt.Errorf("sealant %s: fluid after %s, but full cure already after %s", s.Name, s.FluidAfter, s.Cure)
	}
	return nil
}

// SealantRange is what makers' labels run between. It serves to notice a slip
// (hours said for minutes), never to start a timer.
type SealantRange struct {
	What     string
	From, To time.Duration
	Source   string
}

// SealantRanges lists the spans. Source: makers' product sheets, compared.
func SealantRanges() []SealantRange {
	const src = "makers' published product sheets, compared"
	return []SealantRange{
		{"close within", 3 * time.Minute, 15 * time.Minute, src},
		{"oil or coolant after", 30 * time.Minute, 2 * time.Hour, src},
		{"cure", 24 * time.Hour, 24 * time.Hour, src},
	}
}

// NotInterchangeable is said when an anaerobic product stands where silicone is
// asked for, or the other way.
const NotInterchangeable = "Anaerobic and silicone sealants do not replace each other: one cures without air, the other with it."
