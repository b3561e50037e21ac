package board

import (
	"context"
	"fmt"
	"math"
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
	until(t, ctx, `(!document.getElementById("lost") || document.getElementById("lost").hidden && document.body.dataset.contact === "yes") && document.fonts.status === "loaded" && document.fonts.check("700 20px Bench")`)
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
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
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

// axe is the text of axe-core, which scripts/axe brings into the cache.
func axe(t testing.TB) string {
	t.Helper()
	file := os.Getenv("PUTBACK_AXE")
	if file == "" {
		cache, err := os.UserCacheDir()
		require.NoError(t, err)
		found, err := filepath.Glob(filepath.Join(cache, "putback", "axe-core-*", "axe.min.js"))
		require.NoError(t, err)
		if len(found) == 0 {
			t.Skip("axe-core is not in the cache: run scripts/axe, or name its axe.min.js in $PUTBACK_AXE")
		}
		file = found[len(found)-1]
	}
	b, err := os.ReadFile(file)
	require.NoError(t, err)
	return string(b)
}

// TestThePagePassesTheAccessibilityRules runs axe-core's rules of WCAG 2.2 A and AA and its best
// practices over every scene, screen and theme; its colour rule measures what the browser painted.
func TestThePagePassesTheAccessibilityRules(t *testing.T) {
	rules := axe(t)
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	scenes := map[string]jobs.View{"step": frontCover(), "run": tightening(), "objection": objecting(), "empty": {}, "crowded": crowded(60)}
	check := func(what string) {
		// The page's policy forbids foreign scripts; the debugger's own door is not bound by it.
		_, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](rules+";0"))
		require.NoError(t, err)
		found := ask[[]string](t, ctx, `axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.flatMap(v => v.nodes.map(n => v.id + ": " + n.html.slice(0, 120) + " " + n.failureSummary)))`)
		require.Empty(t, found, what)
		rulesRun := ask[int](t, ctx, `axe.run(document).then(r => r.passes.length)`)
		require.Greater(t, rulesRun, 10, "axe looked at nothing")
	}
	for name, view := range scenes {
		st.show(view)
		for _, size := range screens {
			for _, theme := range []string{"dark", "light"} {
				open(t, ctx, url, size.w, size.h, 1, theme)
				check(name + " " + size.name + " " + theme)
			}
		}
	}
	st.show(frontCover())
	open(t, ctx, url, 1024, 768, 1, "light")
	ask[bool](t, ctx, `document.querySelector("button.fix").click(), document.getElementById("correct").open`)
	check("correcting")
	for _, theme := range []string{"dark", "light"} {
		open(t, ctx, url+"/report", 1024, 768, 1, theme)
		check("report " + theme)
	}
}

// The size of type for three metres, as the angle its capitals fill. 20/20 vision resolves a letter of 5
// minutes of arc by definition; 16 is ISO 9241-303's least character height for reading at a screen's distance, 10 is what
// somebody with 6/12 vision, about the limit for driving, just reads. All three from memory.
func TestTypeIsReadableFromThreeMetres(t *testing.T) {
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	// A tablet of 9.7 inches, 1024 × 768 CSS pixels: 197 mm wide in landscape.
	const millimetres, distance = 197.0 / 1024, 3000.0
	least := map[string]float64{"key": 20, "far": 16, "glance": 9.9, "near": 5}
	for name, view := range map[string]jobs.View{"step": frontCover(), "run": tightening()} {
		st.show(view)
		for _, size := range screens[1:3] {
			open(t, ctx, url, size.w, size.h, 1, "dark")
			type sized struct {
				Kind, Text string
				Cap        float64
			}
			found := ask[[]sized](t, ctx, `(() => {
				const c = document.createElement("canvas").getContext("2d");
				const fold = innerHeight;
				return [...document.querySelectorAll("[data-far]")].filter(e => {
					const b = e.getBoundingClientRect();
					return b.width > 0 && b.right <= innerWidth && b.bottom <= fold + 1 && e.checkVisibility();
				}).map(e => {
					const s = getComputedStyle(e);
					c.font = s.fontWeight + " " + s.fontSize + " " + s.fontFamily;
					return {Kind: e.dataset.far, Text: e.textContent.trim().slice(0, 30), Cap: c.measureText("H").actualBoundingBoxAscent};
				});
			})()`)
			kinds := map[string]int{}
			for _, f := range found {
				kinds[f.Kind]++
				minutes := math.Atan(f.Cap*millimetres/distance) * 180 / math.Pi * 60
				require.GreaterOrEqual(t, minutes, least[f.Kind], "%s on %s: %s %q has capitals of %.1f px", name, size.name, f.Kind, f.Text, f.Cap)
			}
			require.NotZero(t, kinds["far"], "nothing for afar on %s %s: %v", name, size.name, kinds)
			require.NotZero(t, kinds["glance"])
		}
	}
}

// Nothing runs out of the side of any screen, and the part for afar fills one screenful.
func TestThePageFitsEveryScreen(t *testing.T) {
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	for name, view := range map[string]jobs.View{"step": frontCover(), "run": tightening(), "objection": objecting(), "empty": {}, "crowded": crowded(2000)} {
		st.show(view)
		for _, size := range screens {
			open(t, ctx, url, size.w, size.h, 1, "dark")
			got := ask[struct{ Wide, Words, Tall float64 }](t, ctx, `({Wide: document.documentElement.scrollWidth, Words: document.querySelector(".words").getBoundingClientRect().bottom, Tall: innerHeight})`)
			require.LessOrEqual(t, got.Wide, float64(size.w), "%s on %s scrolls sideways: %s", name, size.name, ask[string](t, ctx, `[...document.querySelectorAll(".clean *, .strip *, .words *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 90)).join("\n")`))
			require.LessOrEqual(t, got.Words, got.Tall+1, "%s on %s: the exchange is below the fold", name, size.name)
		}
	}
}

func TestWhatHappensShowsOnThePage(t *testing.T) {
	ctx, said := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	open(t, ctx, url, 1024, 768, 1, "dark")
	st.Publish(Live{Mode: Speaking, Level: 1, Heard: "eight short ones back in", Understood: "front cover short: 8 in", Reply: "Eight in. None out."})
	until(t, ctx, `document.getElementById("modeword").textContent === "Speaking" && document.getElementById("heard").textContent === "eight short ones back in" && document.getElementById("reply").textContent === "Eight in. None out." && document.querySelectorAll("#level .on").length === 40`)
	st.show(tightening())
	until(t, ctx, `document.querySelector(".boltno") && document.querySelector(".boltno").textContent.trim() === "bolt 8" && document.querySelectorAll(".bolt.done").length === 5 && document.querySelectorAll(".bolt.current").length === 1`)
	require.False(t, ask[bool](t, ctx, `document.querySelector(".bench").checkVisibility()`), "the run has the whole width")
	next := tightening()
	next.Run.Done, next.Run.Current = append(next.Run.Done, 8), 4
	st.show(next)
	until(t, ctx, `document.querySelectorAll(".bolt.done").length === 6 && document.querySelector(".bolt.current .number").textContent === "4"`)
	require.Empty(t, said(), "the console complains")
}

func TestTheTimersRunOnThePage(t *testing.T) {
	ctx, said := browser(t)
	v := frontCover()
	st := newStage(v)
	url, _ := serve(t, st.Server, "")
	open(t, ctx, url, 1024, 768, 1, "dark")
	// The bench's clock stands at noon of another year: the page counts by that one.
	until(t, ctx, `/^6:(0\d|1[0-2])$/.test(document.querySelector(".timers [data-due]").textContent)`)
	v.Timers = []jobs.TimerView{{Name: "grey silicone: close the joint", Due: noon.Add(time.Second), Warn: noon.Add(-time.Second), State: "running"}}
	st.show(v)
	until(t, ctx, `document.querySelector(".timers li").dataset.state === "over" && document.querySelector(".timers .state").textContent === "time is up" && document.querySelector(".timers [data-due]").textContent.startsWith("+0:")`)
	require.Empty(t, said())
}

func TestThePageComesBackAfterARestart(t *testing.T) {
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, stop := serve(t, st.Server, "")
	open(t, ctx, url, 1024, 768, 1, "dark")
	ask[bool](t, ctx, `window.sameVisit = true`)
	stop()
	until(t, ctx, `!document.getElementById("lost").hidden && document.getElementById("modeword").textContent === "No contact"`)
	again := newStage(tightening())
	serve(t, again.Server, strings.TrimPrefix(url, "http://"))
	until(t, ctx, `document.getElementById("lost").hidden && document.querySelector(".boltno") !== null && document.getElementById("modeword").textContent === "Listening"`)
	require.True(t, ask[bool](t, ctx, `window.sameVisit === true`), "the page was loaded anew: what was being typed is gone")
}

func TestTheKeyboardTypesTalksAndCorrects(t *testing.T) {
	ctx, said := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	open(t, ctx, url, 1024, 768, 1, "dark")
	state := func() (int, []string) { st.mu.Lock(); defer st.mu.Unlock(); return st.talked, st.fixed }

	require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(" ")))
	require.Eventually(t, func() bool { n, _ := state(); return n == 1 }, 10*time.Second, 5*time.Millisecond, "the talk key did nothing")
	// A click goes to a place on the page: the button must rest there.
	until(t, ctx, `(at => { const rests = at === window.restedAt; window.restedAt = at; return rests && document.fonts.status === "loaded" && !document.querySelector("#talk.pressed") })(document.querySelector("#talk").getBoundingClientRect().top)`)
	require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("#talk"))))
	require.Eventually(t, func() bool { n, _ := state(); return n == 2 }, 10*time.Second, 5*time.Millisecond, "the talk button did nothing")

	require.NoError(t, chromedp.Do(ctx, chromedp.SendKeys(chromedp.CSS("#typed"), "four pump bolts off\n")))
	until(t, ctx, `document.getElementById("typedreply").textContent === "Wrote down: four pump bolts off" && document.getElementById("typed").value === ""`)
	n, _ := state()
	require.Equal(t, 2, n, "spaces in a typed line are no talk key")

	// The reply to the typed line moves the rows: a click that was aimed before misses, so aim again.
	require.Eventually(t, func() bool {
		limited, cancel := context.WithTimeout(ctx, time.Second)
		defer cancel()
		if _, err := chromedp.Run(limited, chromedp.Poll[bool](`document.getElementById("correct").open`)); err == nil {
			return true
		}
		require.NoError(t, chromedp.Do(ctx, chromedp.Click(chromedp.CSS("#fix-58"))))
		return false
	}, 30*time.Second, 10*time.Millisecond)
	until(t, ctx, `document.getElementById("correct").open && document.getElementById("correcttext").value === "impeller clearance point two two millimetres"`)
	require.NoError(t, chromedp.Do(ctx, chromedp.SendKeys(chromedp.CSS("#correcttext"), "impeller clearance point two five millimetres\n")))
	until(t, ctx, `!document.getElementById("correct").open`)
	_, fixed := state()
	require.Equal(t, []string{"58 impeller clearance point two five millimetres"}, fixed)
	require.Empty(t, said(), "the console complains")

	// Refused: the page says why and keeps what was typed. The browser notes the refusal in its console.
	require.NoError(t, chromedp.Do(ctx, chromedp.SendKeys(chromedp.CSS("#typed"), "gibberish\n")))
	until(t, ctx, `document.getElementById("typedreply").textContent.includes("not understood") && document.getElementById("typed").value === "gibberish"`)
}

func TestTheThemeButtonWins(t *testing.T) {
	ctx, _ := browser(t)
	st := newStage(frontCover())
	url, _ := serve(t, st.Server, "")
	ground := `getComputedStyle(document.documentElement).backgroundColor`
	open(t, ctx, url, 1024, 768, 1, "light")
	light := ask[string](t, ctx, ground)
	ask[bool](t, ctx, `document.getElementById("theme").click(), true`)
	dark := ask[string](t, ctx, ground)
	require.NotEqual(t, light, dark)
	open(t, ctx, url, 1024, 768, 1, "light")
	require.Equal(t, dark, ask[string](t, ctx, ground), "the choice was forgotten")
	ask[bool](t, ctx, `document.getElementById("theme").click(), true`)
	open(t, ctx, url, 1024, 768, 1, "dark")
	require.Equal(t, light, ask[string](t, ctx, ground))
}

// Spoken markup reaches the page as text, by the first drawing and by the stream.
func TestSpokenMarkupDoesNotRunInTheBrowser(t *testing.T) {
	ctx, said := browser(t)
	st := newStage(spokenView(spoken))
	st.Publish(Live{Mode: Listening, Heard: spoken, Understood: spoken, Reply: spoken})
	url, _ := serve(t, st.Server, "")
	check := func() {
		t.Helper()
		require.Equal(t, "undefined", ask[string](t, ctx, `typeof window.boomed`))
		require.Zero(t, ask[int](t, ctx, `document.querySelectorAll("img, script:not([src]), [onload], [onerror]").length`))
		require.True(t, ask[bool](t, ctx, `document.body.textContent.includes("<script>boom()</script>")`), "the text itself is missing")
	}
	const door = `window.boom = () => { window.boomed = true }`
	open(t, ctx, url, 1024, 768, 1, "dark")
	ask[bool](t, ctx, door+`, true`)
	check()
	step := spokenView(spoken)
	step.Question = nil
	st.show(step)
	until(t, ctx, `document.querySelector(".hero.step") !== null`)
	check()
	require.Empty(t, said(), "the policy had something to stop")
	open(t, ctx, url+"/report", 1024, 768, 1, "dark")
	check()
	require.Empty(t, said())
}

// BenchmarkEventToPage measures from Changed or Publish to the changed text in the browser's document,
// by a mutation observer that calls back through the debugger.
func BenchmarkEventToPage(b *testing.B) {
	ctx, _ := browser(b)
	st := newStage(frontCover())
	url, _ := serve(b, st.Server, "")
	open(b, ctx, url, 1024, 768, 1, "dark")
	seen := make(chan string, 16)
	require.NoError(b, chromedp.Listen(ctx, func(ev any) {
		if e, ok := ev.(*runtime.EventBindingCalled); ok {
			select {
			case seen <- e.Payload:
			default:
			}
		}
	}))
	_, err := chromedp.Call(ctx, runtime.AddBinding, runtime.AddBindingParams{Name: "seen"})
	require.NoError(b, err)
	ask[bool](b, ctx, `new MutationObserver(() => seen("")).observe(document.getElementById("part-now"), {childList: true, subtree: true}) || new MutationObserver(() => seen("")).observe(document.getElementById("reply"), {childList: true, characterData: true, subtree: true}) || true`)
	for _, c := range []struct {
		name string
		move func(i int)
	}{
		{"view", func(i int) {
			v := tightening()
			v.Run.Current = 1 + i%12
			v.Run.Done = nil
			st.show(v)
		}},
		{"view of 2000 groups", func() func(int) {
			v := crowded(2000)
			return func(i int) {
				v := v
				v.Step = &jobs.StepView{Name: "x", Do: fmt.Sprint("step ", i)}
				st.show(v)
			}
		}()},
		{"live", func(i int) { st.Publish(Live{Mode: Speaking, Reply: fmt.Sprint("reply ", i)}) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			var worst time.Duration
			i := 0
			for b.Loop() {
				// A change on its own: the one before it has been shown, and its pace is over.
				b.StopTimer()
				time.Sleep(2 * liveEvery)
				for len(seen) > 0 {
					<-seen
				}
				i++
				b.StartTimer()
				begin := time.Now()
				c.move(i)
				<-seen
				worst = max(worst, time.Since(begin))
			}
			b.ReportMetric(float64(worst.Microseconds())/1000, "worst-ms")
		})
	}
}
