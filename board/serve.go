package board

import (
	"context"
	"fmt"
	"net/http"
	"time"
)

// Serve serves the page on addr ("127.0.0.1:8321", ":8321") until ctx ends. It
// prints the link to Options.Out, on any but a loopback address a one-time
// link with its QR code. It returns nil when ctx ended, else why it could not serve.
func (s *Server) Serve(ctx context.Context, addr string) error {
	srv := &http.Server{Addr: addr, ReadHeaderTimeout: 5 * time.Second, Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", "default-src 'none'")
		if err := Report(w, s.o.View(), nil, ReportOptions{}); err != nil {
			fmt.Fprintln(s.o.Out, err)
		}
	})}
	go func() { <-ctx.Done(); srv.Close() }()
	if err := srv.ListenAndServe(); err != http.ErrServerClosed {
		return fmt.Errorf("serving the board on %s: %w", addr, err)
	}
	return nil
}
