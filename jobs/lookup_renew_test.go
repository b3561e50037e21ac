package jobs

import (
	"testing"

	"putback/intent"
)

// What may go back is the sheet's or the maker's to say, never ours.
func TestWhetherSomethingIsUsedAgainIsSaidByItsRule(t *testing.T) {
	s := newSession(t, DemoSheet())
	s.expect(intent.AskRenew{Name: "tensioner bolt"}, "Tensioner bolt: no, new every time, by the rule on record.")
	s.expect(intent.AskRenew{Name: "shaft seal"}, "Shaft seal: no, new every time, by the rule on record.")
	s.expect(intent.AskRenew{Name: "anode"}, "Anode: only if undamaged, your manual decides.")
	s.expect(intent.AskRenew{Name: "front cover"}, "Front cover: no rule on record, your manual decides.")
	s.expect(intent.AskRenew{Name: "sump bolts"}, "Sump front bolts: no rule on record, your manual decides.")
	s.expect(intent.AskRenew{Name: "flywheel nut"}, "I do not know the flywheel nut.")
}
