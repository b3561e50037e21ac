package board

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"time"
)

//go:embed page
var pageFiles embed.FS

var templates = template.Must(template.New("board").Funcs(template.FuncMap{
	"clock": func(t time.Time) string { return orNothing(t, "15:04") },
	"stamp": func(t time.Time) string { return orNothing(t, time.RFC3339) },
	"day":   func(t time.Time) string { return orNothing(t, "2 January 2006") },
	"whole": func(t time.Time) string { return orNothing(t, "2 January 2006, 15:04") },
}).ParseFS(pageFiles, "page/*.html"))

func orNothing(t time.Time, layout string) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(layout)
}

// build names the page's files by their content: a page from another build reloads itself.
var build = func() string {
	h := sha256.New()
	err := fs.WalkDir(pageFiles, "page", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := pageFiles.ReadFile(path)
		fmt.Fprintf(h, "%s %d\n", path, len(b))
		h.Write(b)
		return err
	})
	if err != nil {
		panic(err) // embedded files cannot fail to be read
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}()

// pieces are the parts of the page that are sent again when they change, and the
// template of each.
var pieces = []struct{ id, template string }{
	{"chips", "chips"},
	{"now", "now"},
	{"bench", "bench"},
	{"journal", "journal"},
	{"steps", "steps"},
	{"ledger", "groups"},
	{"rest", "rest"},
}

// part is one piece as last drawn.
type part struct {
	html  string
	drawn uint64 // the drawing that changed it last
}

// draw fetches the view and draws the pieces; the streams send what differs.
func (s *Server) draw() error {
	sc := s.screen()
	fresh := make(map[string]string, len(pieces))
	var buf bytes.Buffer
	for _, p := range pieces {
		buf.Reset()
		var data any = sc
		if p.id == "now" {
			data = sc.Now
		}
		if err := templates.ExecuteTemplate(&buf, p.template, data); err != nil {
			return fmt.Errorf("drawing the page's %q: %w", p.id, err)
		}
		fresh[p.id] = buf.String()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	changed := false
	for id, html := range fresh {
		if s.parts[id].html != html {
			if !changed {
				s.drawn++
				changed = true
			}
			s.parts[id] = part{html, s.drawn}
		}
	}
	if changed {
		s.wake()
	}
	return nil
}

func (s *Server) screen() screen {
	sc := makeScreen(s.o.View(), s.o.Now())
	sc.CanType, sc.CanCorrect, sc.CanTalk = s.o.Type != nil, s.o.Correct != nil, s.o.Talk != nil
	return sc
}

// keepDrawing draws whenever Changed was called, until ctx ends.
func (s *Server) keepDrawing(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.dirty:
			if err := s.draw(); err != nil {
				fmt.Fprintln(s.o.Out, err)
			}
		}
	}
}

// pageData is what the whole page is drawn from.
type pageData struct {
	Screen   screen
	Live     Live
	ModeWord string
	ReplyFit string
	Build    string
	Now      int64 // milliseconds since 1970
}

func (s *Server) pageData() pageData {
	s.mu.Lock()
	live := s.live
	s.mu.Unlock()
	words := map[string]string{Listening: "Listening", Thinking: "Thinking", Speaking: "Speaking", Quiet: "Quiet"}
	word := words[live.Mode]
	if word == "" {
		word = "Starting"
	}
	return pageData{
		Screen: s.screen(), Live: live, ModeWord: word, ReplyFit: fit(live.Reply),
		Build: build, Now: s.o.Now().UnixMilli(),
	}
}
