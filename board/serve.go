package board

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"putback/jobs"
)

// What one browser, and all together, may ask for.
const (
	bodyMost    = 8 << 10 // bytes of a request
	headerMost  = 16 << 10
	typedMost   = 300 // runes of a typed command
	streamsMost = 16  // pages open at once
	askedMost   = 32  // other requests at once
)

// pagePolicy lets the page load what comes from this server and run no script but
// page.js; text can become markup only through that script's one named policy.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types putback"

// Serve serves the page on addr ("127.0.0.1:8321", ":8321", port 0 for any free
// one) until ctx ends. It prints the link to Options.Out, on any but a loopback
// address a one-time link with its QR code, and a new one when that was used. It returns
// nil when ctx ended, else why it could not serve. A Server may be served once
// at a time.
func (s *Server) Serve(ctx context.Context, addr string) error {
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", addr)
	if err != nil {
		return fmt.Errorf("serving the board on %s: %w (is another one running? take another port)", addr, err)
	}
	return s.serveOn(ctx, l)
}

func (s *Server) serveOn(ctx context.Context, l net.Listener) error {
	at := l.Addr().(*net.TCPAddr)
	port := strconv.Itoa(at.Port)
	open := at.IP.IsLoopback()
	if open {
		fmt.Fprintf(s.o.Out, "The board: http://%s/\n", at)
	}
	g, err := newGuard(open, port, s.o.Token, func(key string) { s.printLinks(at, key) })
	if err != nil {
		l.Close()
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	srv := &http.Server{
		Handler:           s.handler(g),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       15 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    headerMost,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	if err := s.draw(); err != nil {
		l.Close()
		return err
	}
	go s.keepDrawing(ctx)
	stopped := make(chan struct{})
	go func() {
		defer close(stopped)
		<-ctx.Done()
		// The streams end with ctx; whoever is slower than a second is cut off.
		last, done := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer done()
		if srv.Shutdown(last) != nil {
			srv.Close()
		}
	}()
	err = srv.Serve(l)
	if errors.Is(err, http.ErrServerClosed) {
		<-stopped
		return nil
	}
	return fmt.Errorf("serving the board on %s: %w", at, err)
}

// printLinks prints the one-time link for each address of this machine, the first as a QR code too.
func (s *Server) printLinks(at *net.TCPAddr, key string) {
	hosts := []string{at.IP.String()}
	if at.IP.IsUnspecified() {
		hosts = ownAddresses()
	}
	if len(hosts) == 0 {
		fmt.Fprintln(s.o.Out, "The board is open to other devices, but this machine has no network address yet.")
		return
	}
	for i, h := range hosts {
		link := "http://" + net.JoinHostPort(h, strconv.Itoa(at.Port)) + "/?key=" + key
		if i > 0 {
			fmt.Fprintf(s.o.Out, "or         %s\n", link)
			continue
		}
		code, err := terminalQR(link)
		if err != nil {
			fmt.Fprintf(s.o.Out, "drawing the QR code: %v\n", err)
		}
		fmt.Fprintf(s.o.Out, "%s\nThe board: %s\nThe link opens once, for one device; anybody on the network can read what the page shows.\n", code, link)
	}
}

// ownAddresses are this machine's addresses on its networks, IPv4 first.
func ownAddresses() []string {
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var four, six []string
	for _, a := range addrs {
		p, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		switch ip := p.Addr(); {
		case ip.IsLoopback() || ip.IsLinkLocalUnicast() || ip.IsMulticast():
		case ip.Is4():
			four = append(four, ip.String())
		default:
			six = append(six, ip.String())
		}
	}
	return append(four, six...)
}

// handler is the board behind its guard.
func (s *Server) handler(g *guard) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /report", s.report)
	mux.HandleFunc("GET /alive", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	mux.HandleFunc("GET /assets/{file}", asset)
	mux.HandleFunc("POST /talk", s.talk)
	mux.HandleFunc("POST /type", s.typed)
	mux.HandleFunc("POST /correct", s.correct)
	streams := atMost(streamsMost, http.HandlerFunc(s.stream))
	others := atMost(askedMost, mux)
	return g.wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, bodyMost)
		if r.Method == http.MethodGet && r.URL.Path == "/stream" {
			streams.ServeHTTP(w, r)
			return
		}
		others.ServeHTTP(w, r)
	}))
}

// atMost serves n requests at once and refuses more.
func atMost(n int, next http.Handler) http.Handler {
	free := make(chan struct{}, n)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case free <- struct{}{}:
			defer func() { <-free }()
			next.ServeHTTP(w, r)
		default:
			w.Header().Set("Retry-After", "1")
			refuse(w, http.StatusServiceUnavailable, "Too many pages are open at once. Close one.")
		}
	})
}

func (s *Server) page(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if err := templates.ExecuteTemplate(w, "page", s.pageData()); err != nil {
		fmt.Fprintf(s.o.Out, "sending the page: %v\n", err)
	}
}

func (s *Server) report(w http.ResponseWriter, _ *http.Request) {
	var history []jobs.Event
	if s.o.History != nil {
		history = s.o.History()
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", reportPolicy+"; frame-ancestors 'none'")
	if err := Report(w, s.o.View(), history, ReportOptions{Now: s.o.Now(), Words: s.o.Words}); err != nil {
		fmt.Fprintln(s.o.Out, err)
	}
}

// asset serves the page's own files; the build in the address lets the browser keep them.
func asset(w http.ResponseWriter, r *http.Request) {
	types := map[string]string{
		"page.css": "text/css; charset=utf-8", "drawings.css": "text/css; charset=utf-8", "page.js": "text/javascript; charset=utf-8",
		"icon.svg": "image/svg+xml", "barlow-500.woff2": "font/woff2", "barlow-700.woff2": "font/woff2",
	}
	name := r.PathValue("file")
	kind, ok := types[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	b, err := pageFiles.ReadFile("page/" + name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "private, max-age=86400")
	// A browser that left needs no file.
	_, _ = w.Write(b)
}

// answer sends JSON.
func answer(w http.ResponseWriter, status int, data any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	// A browser that left needs no answer.
	_ = json.NewEncoder(w).Encode(data)
}

// failure is what the page shows when something sent was not taken.
type failure struct {
	Error string `json:"error"`
}

// request is what the page sends.
type request struct {
	Seq  int64  `json:"seq"`
	Text string `json:"text"`
}

// take reads a request; on a bad one it has answered and gives false.
func take(w http.ResponseWriter, r *http.Request, q *request) bool {
	if t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || t != "application/json" {
		answer(w, http.StatusUnsupportedMediaType, failure{"The bench takes application/json only."})
		return false
	}
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(q); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			answer(w, http.StatusRequestEntityTooLarge, failure{"That is too long for one entry."})
			return false
		}
		answer(w, http.StatusBadRequest, failure{"The bench could not read that request."})
		return false
	}
	q.Text = strings.Join(strings.FieldsFunc(q.Text, func(r rune) bool { return r <= ' ' || r == 0x7f }), " ")
	switch {
	case q.Seq < 0 || !utf8.ValidString(q.Text):
		answer(w, http.StatusBadRequest, failure{"The bench could not read that request."})
	case utf8.RuneCountInString(q.Text) > typedMost:
		answer(w, http.StatusRequestEntityTooLarge, failure{"That is too long for one entry: " + strconv.Itoa(typedMost) + " characters at most."})
	default:
		return true
	}
	return false
}

func (s *Server) talk(w http.ResponseWriter, r *http.Request) {
	var q request
	if !take(w, r, &q) {
		return
	}
	if s.o.Talk == nil {
		answer(w, http.StatusNotFound, failure{"There is no talk key here."})
		return
	}
	s.o.Talk()
	answer(w, http.StatusOK, struct{}{})
}

func (s *Server) typed(w http.ResponseWriter, r *http.Request) {
	var q request
	if !take(w, r, &q) {
		return
	}
	switch {
	case s.o.Type == nil:
		answer(w, http.StatusNotFound, failure{"Nothing can be typed here."})
		return
	case q.Text == "":
		answer(w, http.StatusBadRequest, failure{"Type what you would say."})
		return
	}
	reply, err := s.o.Type(q.Text)
	if err != nil {
		answer(w, http.StatusUnprocessableEntity, failure{err.Error()})
		return
	}
	answer(w, http.StatusOK, reply)
}

func (s *Server) correct(w http.ResponseWriter, r *http.Request) {
	var q request
	if !take(w, r, &q) {
		return
	}
	switch {
	case s.o.Correct == nil:
		answer(w, http.StatusNotFound, failure{"Nothing can be corrected here."})
		return
	case q.Text == "" || q.Seq == 0:
		answer(w, http.StatusBadRequest, failure{"Type what the entry should have been."})
		return
	}
	if err := s.o.Correct(q.Seq, q.Text); err != nil {
		answer(w, http.StatusUnprocessableEntity, failure{err.Error()})
		return
	}
	answer(w, http.StatusOK, struct{}{})
}
