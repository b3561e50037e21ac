package board

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"
)

// The pace of a stream.
const (
	liveEvery  = 40 * time.Millisecond // between two live states: 25 a second are enough for an eye
	beatEvery  = 4 * time.Second       // the page takes three missed beats for a dead line
	writeLimit = 10 * time.Second      // a browser that takes longer is let go
)

// stream sends server-sent events until the browser leaves: "hello" once, "part"
// with the pieces of the page that changed, "live" with the newest live state, "beat" when
// nothing else was said for a while.
func (s *Server) stream(w http.ResponseWriter, r *http.Request) {
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	send := func(event string, data any) error {
		b, err := json.Marshal(data)
		if err != nil {
			return err
		}
		// The network's deadline goes by the machine's own clock, whatever Options.Now
		// says; a server without deadlines (a test's recorder) sends all the same.
		_ = out.SetWriteDeadline(time.Now().Add(writeLimit))
		if _, err := fmt.Fprintf(w, "event: %s\ndata: %s\n\n", event, b); err != nil {
			return err
		}
		return out.Flush()
	}
	hello := struct {
		Build string `json:"build"`
		Now   int64  `json:"now"`
	}{build, s.o.Now().UnixMilli()}
	if send("hello", hello) != nil {
		return
	}
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	pace := time.NewTimer(0)
	defer pace.Stop()
	mayLive := false
	var drawn, lives uint64
	lives-- // no state counts so far: the first one is always sent
	for {
		s.mu.Lock()
		moved, live, liveNo := s.moved, s.live, s.lives
		var parts map[string]string
		if s.drawn != drawn {
			parts = make(map[string]string)
			for id, p := range s.parts {
				if p.drawn > drawn {
					parts[id] = p.html
				}
			}
			drawn = s.drawn
		}
		s.mu.Unlock()
		if parts != nil && send("part", parts) != nil {
			return
		}
		if liveNo != lives && mayLive {
			if send("live", live) != nil {
				return
			}
			lives, mayLive = liveNo, false
			pace.Reset(liveEvery)
		}
		select {
		case <-r.Context().Done():
			return
		case <-moved:
		case <-pace.C:
			mayLive = true
		case <-beat.C:
			if send("beat", nil) != nil {
				return
			}
		}
	}
}
