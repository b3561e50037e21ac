package measure

import "fmt"

// AskError is returned where a figure must be asked back, never guessed:
// "30 pounds", "three tenths", "four and a half quarts". Get at it with errors.As.
type AskError struct {
	Heard    string     // the words in doubt
	Question string     // one short question that decides, for the ear
	Choices  []Quantity // the readings, in the order the question names them; empty when a figure is missing
	Units    []Unit     // the units in doubt, in the same order; empty when it is not the unit that is in doubt
}

// Error says what was in doubt and the question that settles it.
func (e *AskError) Error() string {
	return fmt.Sprintf("read %q: more than one reading, ask: %s", e.Heard, e.Question)
}

// NotTorque is returned where a state stands in place of a figure: "snug",
// "finger tight". It is recorded as a state, never as a torque.
type NotTorque struct {
	Heard string
	State string // "snug"
}

// Error says that the words name a state.
func (e *NotTorque) Error() string {
	return fmt.Sprintf("read %q: that is the state %q, not a figure", e.Heard, e.State)
}
