// Package board shows the job: one live page for the bench, and the report that
// outlives it.
//
// The page is meant to be read from three metres off a tablet, by somebody
// whose hands are full. It is drawn from a [jobs.View], pushed to the browser
// by server-sent events, and built into the binary: it asks nothing of the
// outside. The report is one HTML file with everything in it.
//
// What is not here: the job itself (package jobs), sound, recognition. The
// caller gives functions that fetch the view and carry out what was typed:
//
//	s := board.New(board.Options{View: bench.View, Type: typed, Talk: talk})
//	go s.Serve(ctx, "127.0.0.1:8321")
//	s.Publish(board.Live{Mode: board.Listening, Level: 0.4})
//	s.Changed() // after every committed event
//
// On a loopback address the page is open to this machine. On any other address
// nothing is served without the session that a one-time link opens; the link
// is printed with a QR code. The connection is plain HTTP: whoever can read
// the network can read the page.
package board

import (
	"io"
	"sync"
	"time"

	"putback/jobs"
)

// The modes of the companion, as [Live] carries them.
const (
	Listening = "listening" // waits for speech
	Thinking  = "thinking"  // recognises, looks up
	Speaking  = "speaking"  // answers aloud
	Quiet     = "quiet"     // was told to keep quiet
)

// Live is what changes many times a second: what the companion does at this
// moment and the last exchange.
type Live struct {
	Mode       string  `json:"mode"`       // Listening, Thinking, Speaking or Quiet
	Level      float64 `json:"level"`      // microphone level, 0 silence … 1 full scale
	Heard      string  `json:"heard"`      // the words as recognised, "" none yet
	Understood string  `json:"understood"` // what was made of them, "" not understood
	Reply      string  `json:"reply"`      // what was answered, "" nothing
}

// Options is what a [Server] needs of its surroundings. Every function is
// called from several goroutines at once and must stand that.
type Options struct {
	// View gives the present state. Required.
	View func() jobs.View
	// History gives the whole journal, for the report page; nil: the report
	// shows the recent entries of the view only.
	History func() []jobs.Event
	// Words puts one event into words for the report's timeline; nil: jobs.Words.
	Words func(jobs.Event) string
	// Type carries out a typed command as if it had been spoken; nil: the page
	// takes no typed commands.
	Type func(text string) (jobs.Reply, error)
	// Correct replaces what journal entry seq did by what text says; nil: the
	// page offers no correction.
	Correct func(seq int64, text string) error
	// Talk is called when the talk key or pedal is pressed: the next words are
	// meant for the companion without the call word; nil: no talk key.
	Talk func()
	// Token is the secret that sessions on other devices hang on, at least 16
	// bytes; "" makes a new one at every start. With a kept token (see [KeepToken]) a
	// tablet stays let in when the program restarts.
	Token string
	// Out takes the link, the QR code and what goes wrong while serving; nil: nothing is printed.
	Out io.Writer
	// Now is the clock; nil: time.Now.
	Now func() time.Time
}

// Server serves the page of one job. Its methods are safe for concurrent use.
type Server struct {
	o     Options
	dirty chan struct{} // the view changed and is to be drawn again

	mu    sync.Mutex
	moved chan struct{} // closed and replaced at every change below
	live  Live
	lives uint64 // counts live states
	parts map[string]part
	drawn uint64 // counts drawings
}

// New makes a Server; nothing is served before [Server.Serve]. It panics when
// o.View is nil, which is a programmer's mistake.
func New(o Options) *Server {
	if o.View == nil {
		panic("board: Options.View is nil")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Out == nil {
		o.Out = io.Discard
	}
	return &Server{
		o:     o,
		dirty: make(chan struct{}, 1),
		moved: make(chan struct{}),
		parts: make(map[string]part),
	}
}

// Publish shows l. It never blocks: a slow browser gets the newest state, not every one.
func (s *Server) Publish(l Live) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.live == l {
		return
	}
	s.live = l
	s.lives++
	s.wake()
}

// Changed says that the view has changed. It never blocks; the page follows within
// the time that one call of Options.View takes.
func (s *Server) Changed() {
	select {
	case s.dirty <- struct{}{}:
	default: // a drawing is due already and will see this change too
	}
}

// wake tells every stream that something moved. s.mu is held.
func (s *Server) wake() {
	close(s.moved)
	s.moved = make(chan struct{})
}
