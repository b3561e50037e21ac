package board

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"putback/jobs"
)

// browser starts one headless Chromium for a test, and collects what its console complains of.
func browser(t testing.TB) (context.Context, func() []string) {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Skip("no chromium on this machine: install Debian's package chromium to test the page in a browser")
	}
	// Nothing may leave the machine: the page is all the browser is there for.
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("no-first-run", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("hide-scrollbars", true))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), opts...)
	tab, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() { cancel(); stop() })
	var mu sync.Mutex
	var said []string
	require.NoError(t, chromedp.Listen(tab, func(ev any) {
		var line string
		switch e := ev.(type) {
		case *log.EventEntryAdded:
			line = fmt.Sprintf("%s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL)
		case *runtime.EventConsoleAPICalled:
			line = fmt.Sprintf("console.%s", e.Type)
		case *runtime.EventExceptionThrown:
			line = e.ExceptionDetails.Text
			if e.ExceptionDetails.Exception != nil {
				line += " " + e.ExceptionDetails.Exception.Description
			}
		default:
			return
		}
		mu.Lock()
		said = append(said, line)
		mu.Unlock()
	}))
	_, err := chromedp.Call(tab, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	_, err = chromedp.Call(tab, runtime.Enable, cdp.Empty{})
	require.NoError(t, err)
	// The limit goes on a context below the first one: on that it would stop the browser.
	ctx, expire := context.WithTimeout(tab, 4*time.Minute)
	t.Cleanup(expire)
	return ctx, func() []string {
		mu.Lock()
		defer mu.Unlock()
		return append([]string(nil), said...)
	}
}

// open opens url on a screen of one size and theme, and waits until the page has contact.
func open(t testing.TB, ctx context.Context, url string, w, h int64, scale float64, theme string) {
	t.Helper()
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: theme}}})
	require.NoError(t, err)
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(w, h, chromedp.EmulateScale(scale)), chromedp.Navigate(url)))
	until(t, ctx, `document.getElementById("lost").hidden && document.fonts.status === "loaded" && document.fonts.check("700 20px Bench") && performance.getEntriesByType("resource").length > 0`)
}

// until waits for an expression to be true on the page.
func until(t testing.TB, ctx context.Context, expression string) {
	t.Helper()
	limited, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	_, err := chromedp.Run(limited, chromedp.Poll[bool](expression))
	require.NoError(t, err, "waiting on the page for %s", expression)
}

// ask evaluates an expression on the page.
func ask[T any](t testing.TB, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	require.NoError(t, err, expression)
	return v
}

// serve serves s on a free loopback port, or on addr, until the test ends or stop is called.
func serve(t testing.TB, s *Server, addr string) (url string, stop func()) {
	t.Helper()
	if addr == "" {
		addr = "127.0.0.1:0"
	}
	l, err := net.Listen("tcp", addr)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.serveOn(ctx, l) }()
	var once sync.Once
	stop = func() {
		once.Do(func() {
			cancel()
			require.NoError(t, <-ended)
		})
	}
	t.Cleanup(stop)
	return "http://" + l.Addr().String(), stop
}

// stage is a server whose view a test can change.
type stage struct {
	*Server
	mu     sync.Mutex
	view   jobs.View
	talked int
	fixed  []string
}

func newStage(v jobs.View) *stage {
	st := &stage{view: v}
	st.Server = New(Options{
		View: func() jobs.View { st.mu.Lock(); defer st.mu.Unlock(); return st.view },
		Type: func(text string) (jobs.Reply, error) {
			if text == "gibberish" {
				return jobs.Reply{}, fmt.Errorf("not understood: %q", text)
			}
			return jobs.Reply{Kind: jobs.ReplyReadBack, Text: "Wrote down: " + text}, nil
		},
		Correct: func(seq int64, text string) error {
			st.mu.Lock()
			defer st.mu.Unlock()
			st.fixed = append(st.fixed, fmt.Sprint(seq, " ", text))
			return nil
		},
		Talk: func() { st.mu.Lock(); st.talked++; st.mu.Unlock() },
		Now:  func() time.Time { return noon },
	})
	st.Publish(sampleLive)
	return st
}

func (st *stage) show(v jobs.View) {
	st.mu.Lock()
	st.view = v
	st.mu.Unlock()
	st.Changed()
}

// screens are the sizes of the tests, in CSS pixels.
var screens = []struct {
	name  string
	w, h  int64
	scale float64
}{
	{"phone", 390, 844, 2}, {"tablet-landscape", 1024, 768, 1}, {"tablet-portrait", 768, 1024, 1}, {"desktop", 1440, 900, 1},
}

// TestShots writes pictures to look at where $PUTBACK_SHOTS names a folder.
func TestShots(t *testing.T) {
	dir := os.Getenv("PUTBACK_SHOTS")
	if dir == "" {
		t.Skip("PUTBACK_SHOTS names no folder for the pictures")
	}
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	scenes := []struct {
		name string
		view jobs.View
	}{{"step", frontCover()}, {"run", tightening()}, {"objection", objecting()}, {"empty", jobs.View{}}, {"crowded", crowded(2000)}}
	only := os.Getenv("PUTBACK_SHOTS_ONLY")
	for _, sc := range scenes {
		st.show(sc.view)
		for _, size := range screens {
			for _, theme := range []string{"dark", "light"} {
				name := sc.name + "-" + size.name + "-" + theme
				if only != "" && !strings.Contains(name, only) {
					continue
				}
				open(t, ctx, url, size.w, size.h, size.scale, theme)
				shot := chromedp.CaptureScreenshot()
				if os.Getenv("PUTBACK_SHOTS_FULL") != "" {
					shot = chromedp.FullScreenshot(100)
				}
				png, err := chromedp.Run(ctx, shot)
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
			}
		}
	}
}
