package live

import (
	"testing"

	"github.com/stretchr/testify/require"

	"putback/jobs"
)

// A number or a yes out of a radio, found by scripts/soak: nothing had been asked.
func TestAnAnswerThatNobodyAwaitsIsIgnored(t *testing.T) {
	open := func(o *Options, s *session) { o.Address = Always }
	asked := func(o *Options, s *session) { o.Address, s.bench.kind = Always, jobs.ReplyQuestion }
	for _, c := range []struct {
		says string
		set  func(*Options, *session)
		done []string
	}{
		{"~500 five ~2000 yes ~2000", open, nil},
		{"~500 four tens ~2000 five ~2000 yes ~2000", open, []string{"Removed"}},
		{"~500 toolbox four tens ~2000 five ~2000 yes ~2000", nil, []string{"Removed"}},
		{"~500 four tens ~2000 make five ~2000", open, []string{"Removed", "Choice"}},
		{"~500 toolbox four tens ~2000 make five ~2000", nil, []string{"Removed", "Choice"}},
		{"~500 four tens ~15000 make five ~2000", open, []string{"Removed"}}, // nobody knows any more what it was about
		{"~500 four tens ~2000 five ~2000", asked, []string{"Removed", "Choice"}},
		{"~500 four tens ~2000 yes ~2000", asked, []string{"Removed", "Yes"}},
		{"~500 four tens ~25000 yes ~2000", asked, []string{"Removed"}}, // the question is over
		{"~500 toolbox five ~2000 toolbox yes ~2000", nil, []string{"Choice", "Yes"}},
	} {
		s := run(t, c.says, c.set)
		require.Equal(t, c.done, s.bench.done, c.says)
	}
}
