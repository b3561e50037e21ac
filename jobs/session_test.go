package jobs

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs/measure"
)

// session is a job with a clock of its own, for tests that read like a talk.
type session struct {
	t    *testing.T
	b    *Bench
	now  time.Time
	path string
}

func newSession(t *testing.T, sheet *Sheet) *session {
	t.Helper()
	s := &session{t: t, now: start, path: t.TempDir() + "/job.putback"}
	s.open(sheet)
	t.Cleanup(func() { require.NoError(t, s.b.Close()) })
	return s
}

func (s *session) open(sheet *Sheet) {
	s.t.Helper()
	var err error
	s.b, err = Open(s.path, Options{Sheet: sheet, SheetFile: "sheet.yaml", Now: s.now, NoCopy: true})
	require.NoError(s.t, err)
}

// restart closes the job and opens it again, as after a power cut.
func (s *session) restart() {
	s.t.Helper()
	require.NoError(s.t, s.b.Close())
	s.open(nil)
}

func (s *session) wait(d time.Duration) { s.now = s.now.Add(d) }

// do carries an intent out and gives the reply.
func (s *session) do(in intent.Intent) Reply {
	s.t.Helper()
	s.now = s.now.Add(2 * time.Second)
	out, err := s.b.Do(s.now, in, Heard{Text: "", Confidence: 1})
	require.NoError(s.t, err)
	return out.Reply
}

// expect carries an intent out and demands the reply's text.
func (s *session) expect(in intent.Intent, want string) {
	s.t.Helper()
	require.Equal(s.t, want, s.do(in).Text, "%#v", in)
}

func (s *session) tick() []string {
	s.t.Helper()
	said, err := s.b.Tick(s.now)
	require.NoError(s.t, err)
	var list []string
	for _, r := range said {
		list = append(list, r.Text)
	}
	return list
}

func nm(v float64) *measure.Quantity {
	return &measure.Quantity{Amount: v, Unit: measure.NewtonMetre}
}
func mm(v float64) measure.Quantity { return measure.Quantity{Amount: v, Unit: measure.Millimetre} }
func litres(v float64) *measure.Quantity {
	return &measure.Quantity{Amount: v, Unit: measure.Litre}
}

func bolts(n int) []intent.Fastener { return []intent.Fastener{{Count: n}} }
func all() []intent.Fastener        { return []intent.Fastener{{All: true}} }
