package main

import (
	"errors"
	"net"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"putback/board"
	"putback/cmd/putback/internal/config"
	"putback/jobs"
)

func boardCommand() *cobra.Command {
	var addr string
	c := &cobra.Command{
		Use:   "board JOB",
		Short: "serve the page for the bench, without listening",
		Example: `  putback board cover.putback
  putback board cover.putback --addr :8321`,
		Args: exactly(1),
		RunE: func(c *cobra.Command, args []string) (err error) {
			bench, err := jobs.Open(args[0], jobs.Options{Now: time.Now()})
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, bench.Close()) }()
			s := session{
				set: config.Default(), talk: newConversation(bench, ""), out: c.OutOrStdout(),
				tell: lineTeller(c.ErrOrStderr()), key: make(chan struct{}, 1),
			}
			page, err := s.board(addr)
			if err != nil {
				return err
			}
			return page.Serve(c.Context(), addr)
		},
	}
	c.Flags().StringVar(&addr, "addr", "127.0.0.1:8321", "where to serve it; :PORT also lets in other devices that have the link it prints")
	return c
}

// board makes the page that is to be served at addr.
func (s *session) board(addr string) (*board.Server, error) {
	token, err := boardToken(addr)
	if err != nil {
		return nil, err
	}
	bench := s.talk.bench
	var page *board.Server
	page = board.New(board.Options{
		View: func() jobs.View { return bench.View(time.Now()) },
		History: func() []jobs.Event {
			events, err := bench.History(0, 0)
			if err != nil {
				s.tell(err.Error())
			}
			return events
		},
		Words: jobs.Words,
		Type: func(text string) (jobs.Reply, error) {
			defer page.Changed()
			t, err := s.talk.words(time.Now(), text)
			return t.reply, err
		},
		Correct: func(seq int64, text string) error {
			defer page.Changed()
			return s.talk.correct(time.Now(), seq, text)
		},
		Talk: func() {
			select {
			case s.key <- struct{}{}:
			default:
			}
		},
		Token: token,
		Out:   s.out,
	})
	return page, nil
}

// boardToken is the secret that other devices' sessions hang on, kept beside the
// settings so that a tablet stays let in when the program is started again. A
// page for this machine alone needs none.
func boardToken(addr string) (string, error) {
	host, _, err := net.SplitHostPort(addr)
	if ip := net.ParseIP(host); err != nil || host == "localhost" || ip != nil && ip.IsLoopback() {
		return "", nil // an address that is none is refused when it is to be served
	}
	settings := config.Path()
	if settings == "" {
		return "", nil // no home to keep it in: a new one at every start
	}
	return board.KeepToken(filepath.Join(filepath.Dir(settings), "board-token"))
}
