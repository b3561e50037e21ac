package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// browser starts a headless Chromium for a test; the function it gives tells
// what its console complained of.
func browser(t *testing.T) (context.Context, func() []string) {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on this machine: install Debian's package chromium to test the page in a browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), options...)
	tab, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() { cancel(); stop() })
	var mu sync.Mutex
	var said []string
	require.NoError(t, chromedp.Listen(tab, func(ev any) {
		mu.Lock()
		defer mu.Unlock()
		switch e := ev.(type) {
		case *log.EventEntryAdded:
			said = append(said, fmt.Sprintf("%s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL))
		case *runtime.EventConsoleAPICalled:
			said = append(said, fmt.Sprintf("console.%s", e.Type))
		case *runtime.EventExceptionThrown:
			said = append(said, e.ExceptionDetails.Text)
		}
	}))
	_, err = chromedp.Call(tab, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	_, err = chromedp.Call(tab, runtime.Enable, cdp.Empty{})
	require.NoError(t, err)
	return tab, func() []string {
		mu.Lock()
		defer mu.Unlock()
		return append([]string(nil), said...)
	}
}

// onPage waits for an expression to be true on the page. A busy machine
// recognises slowly, so the waiting is long; one poll waits half a minute.
func onPage(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	var err error
	for range 10 {
		if _, err = chromedp.Run(ctx, chromedp.Poll[bool](expression)); err == nil {
			return
		}
	}
	text, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body.innerText`))
	t.Fatalf("waiting on the page for %s: %v; the page says:\n%s", expression, err, text)
}

// both collects output of several goroutines.
type both struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *both) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *both) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// listening is `putback listen` with a pipe in place of the microphone.
type listening struct {
	speak *io.PipeWriter
	say   chan audio.Samples
	quiet chan struct{}
	out   both
	ended chan error
	url   string
}

func listen(t *testing.T, job, sheet, address string) *listening {
	t.Helper()
	settings := filepath.Join(t.TempDir(), "config.yaml")
	require.NoError(t, os.WriteFile(settings, nil, 0o600))
	in, speak := io.Pipe()
	l := &listening{speak: speak, say: make(chan audio.Samples), quiet: make(chan struct{}), ended: make(chan error, 1)}
	root := rootCommand()
	root.SetArgs([]string{"listen", "--job", job, "--sheet", sheet, "--wav", "-", "--mute", "--board", address, "--config", settings})
	root.SetIn(in)
	root.SetOut(&l.out)
	root.SetErr(&l.out)
	go func() { l.ended <- root.ExecuteContext(t.Context()) }()
	go l.room()
	link := regexp.MustCompile(`The board: (http://\S+)`)
	require.Eventually(t, func() bool {
		m := link.FindStringSubmatch(l.out.String())
		if m != nil {
			l.url = m[1]
		}
		select {
		case err := <-l.ended:
			t.Fatalf("the program ended: %v: %s", err, l.out.String())
		default:
		}
		return m != nil
	}, time.Minute, 20*time.Millisecond)
	return l
}

// room hands sound over as a microphone does: without a pause, silence when
// nothing is said, until quiet is closed.
func (l *listening) room() {
	defer l.speak.Close()
	tick := time.NewTicker(audio.FrameTime)
	defer tick.Stop()
	var rest audio.Samples
	for {
		select {
		case <-l.quiet:
			return
		case sound := <-l.say:
			rest = append(rest, sound...)
		case <-tick.C:
			frame := make(audio.Samples, audio.FrameSize)
			rest = rest[copy(frame, rest):]
			var b bytes.Buffer
			if err := audio.EncodeWAV(&b, frame); err != nil {
				return
			}
			// Without the header of the canonical file: raw samples.
			if _, err := l.speak.Write(b.Bytes()[44:]); err != nil {
				return // the program has ended
			}
		}
	}
}

// stop ends the program.
func (l *listening) stop(t *testing.T) {
	t.Helper()
	close(l.quiet)
	require.NoError(t, <-l.ended, l.out.String())
}

// TestASpokenCommandChangesThePage goes the whole way: sound, recogniser, record, page, in a
// browser; then the entry is corrected there with the keyboard, the program ends and comes back.
func TestASpokenCommandChangesThePage(t *testing.T) {
	for _, name := range []string{"tiny.en", "hibari", "silero", "onnxruntime"} {
		if _, err := models.Path(name); err != nil {
			t.Skipf("a spoken command needs the models: %v", err)
		}
	}
	ctx, said := browser(t)
	voice, _, err := openVoice(config.Default(), speech.Mechanic)
	require.NoError(t, err)
	defer voice.Close()
	spoken := func(text string) audio.Samples {
		clip, err := voice.Say(t.Context(), text, speech.SayOptions{})
		require.NoError(t, err)
		return audio.Resample(clip.Samples, clip.Rate, audio.Rate)
	}

	dir := t.TempDir()
	job, sheet := filepath.Join(dir, "cover.putback"), filepath.Join(dir, "boat-engine.yaml")
	require.NoError(t, os.WriteFile(sheet, jobs.DemoSheetText(), 0o600))
	l := listen(t, job, sheet, "127.0.0.1:0")
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(1024, 768), chromedp.Navigate(l.url)))
	onPage(t, ctx, `document.body.dataset.contact === "yes" && document.querySelector(".chip b").textContent === "0"`)
	shoot(t, ctx, "before", nil)

	l.say <- spoken("toolbox, took four thirteens off the front cover.")
	onPage(t, ctx, `document.querySelector(".chip b").textContent === "4" && /^four thirteens off the front cover/i.test(document.getElementById("reply").textContent) && /took .* off the front cover/i.test(document.getElementById("heard").textContent)`)
	shoot(t, ctx, "spoken", screens)

	// Note something after it, then correct what came before with clean hands.
	l.say <- spoken("toolbox, note the lower hose is cracked at the clamp.")
	onPage(t, ctx, `/hose/i.test(document.getElementById("part-journal").textContent)`)
	ask := func(expression string) string {
		v, err := chromedp.Run(ctx, chromedp.Evaluate[string](expression))
		require.NoError(t, err, expression)
		return v
	}
	entry := ask(`[...document.querySelectorAll("button.fix")].find(b => b.dataset.words.startsWith("4 off")).click(), document.getElementById("correctwas").textContent`)
	require.Contains(t, entry, "4 off the front cover long")
	_, err = chromedp.Run(ctx, chromedp.Evaluate[string](`document.getElementById("correcttext").select(), ""`))
	require.NoError(t, err)
	require.NoError(t, chromedp.Do(ctx, chromedp.SendKeys(chromedp.CSS("#correcttext"), "took three thirteens off the front cover\n")))
	onPage(t, ctx, `!document.getElementById("correct").open && document.querySelector(".chip b").textContent === "3"`)
	require.Contains(t, ask(`document.getElementById("part-journal").innerText`), "corrected: entry")
	shoot(t, ctx, "corrected", screens)
	require.Empty(t, said(), "the console complains")

	// The program ends; the page says so, and comes back with the record.
	l.stop(t)
	onPage(t, ctx, `!document.getElementById("lost").hidden`)
	l = listen(t, job, sheet, strings.TrimSuffix(strings.TrimPrefix(l.url, "http://"), "/"))
	onPage(t, ctx, `document.getElementById("lost").hidden && document.querySelector(".chip b").textContent === "3"`)
	l.stop(t)
}

// screens are the sizes pictures are taken at, in CSS pixels.
var screens = []struct {
	name string
	w, h int64
}{{"phone", 390, 844}, {"tablet", 1024, 768}, {"desktop", 1440, 900}}

// shoot writes pictures of the page where $PUTBACK_SHOTS names a folder.
func shoot(t *testing.T, ctx context.Context, scene string, sizes []struct {
	name string
	w, h int64
}) {
	t.Helper()
	dir := os.Getenv("PUTBACK_SHOTS")
	if dir == "" {
		return
	}
	for _, s := range sizes {
		require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(s.w, s.h)))
		picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, scene+"-"+s.name+".png"), picture, 0o600))
	}
}

func TestOnlyAPageForOthersHasAKeptToken(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	kept := filepath.Join(filepath.Dir(config.Path()), "board-token")
	for _, own := range []string{"127.0.0.1:8321", "localhost:0", "[::1]:80", "no address"} {
		token, err := boardToken(own)
		require.NoError(t, err)
		require.Empty(t, token, own)
		require.NoFileExists(t, kept)
	}
	token, err := boardToken(":8321")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(token), 16)
	again, err := boardToken("0.0.0.0:99")
	require.NoError(t, err)
	require.Equal(t, token, again, "a tablet stays let in when the program is started again")
	info, err := os.Stat(kept)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, os.WriteFile(kept, []byte("short"), 0o600))
	_, err = boardToken(":8321")
	require.ErrorContains(t, err, "delete the file and start again")
}
