package live

import (
	"slices"
	"strings"

	"putback/intent"
)

// awaited says whether an answer is waited for, where h is one: yes, no, or a
// bare number or name. A radio and talk are full of these, so without the call
// word they count only after a question, or when they say themselves that they
// correct what was just written down.
func (l *loop) awaited(h Hearing, t *turn) bool {
	switch h.Intent.(type) {
	case intent.Yes, intent.No:
		return l.question && l.inWindow(t.start)
	case intent.Choice:
		return l.inWindow(t.start) && (l.question || corrects(h.Text))
	}
	return true
}

// corrects: "make that five", "I meant the sump", "five, not four".
func corrects(text string) bool {
	for _, w := range strings.Fields(plainWords(text)) {
		if slices.Contains([]string{"make", "mean", "meant", "not"}, w) {
			return true
		}
	}
	return false
}
