package main

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

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
			return s.board().Serve(c.Context(), addr)
		},
	}
	c.Flags().StringVar(&addr, "addr", "127.0.0.1:8321", "where to serve it; :PORT also lets in other devices that have the link it prints")
	return c
}
