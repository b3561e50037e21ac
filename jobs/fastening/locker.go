package fastening

import (
	"fmt"
	"time"
)

// Locker is a thread locker as its label describes it.
type Locker struct {
	Name     string
	Strength string        // "low", "medium", "high"; as printed
	Fixture  time.Duration // until it may be handled; 0 not given
	Cure     time.Duration // full strength; about 24 h for anaerobics (makers' product sheets)
	Heat     bool          // wants heat to come apart
	Source   string        // must be given
}

// Check names what is wrong with the record.
func (l Locker) Check() error {
	switch {
	case l.Source == "":
		return fmt.Errorf("thread locker %s: where are its figures from? Give a source, such as the label", l.Name)
	case l.Fixture < 0 || l.Cure < 0:
		return fmt.Errorf("thread locker %s: a time below nothing", l.Name)
	case l.Cure > 0 && l.Fixture > l.Cure:
		return fmt.Errorf("thread locker %s: handled after %s, but cured already after %s", l.Name, l.Fixture, l.Cure)
	}
	return nil
}

// LockerAdvice goes with every use of a locker on a torqued thread: it wets the
// thread like oil. Common practice, no source.
const LockerAdvice = "Clean and degrease the thread first. The locker oils it while wet, so take the torque your manual gives for threads with locker."
