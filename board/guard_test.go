package board

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// behind is a board behind a guard, without a network.
func behind(t testing.TB, open bool) (http.Handler, *guard, *stage) {
	t.Helper()
	st := newStage(frontCover())
	require.NoError(t, st.draw())
	g, err := newGuard(open, "8321", "a secret of enough bytes", nil)
	require.NoError(t, err)
	return st.handler(g), g, st
}

func try(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func get(host, path string, cookies ...*http.Cookie) *http.Request {
	r := httptest.NewRequest(http.MethodGet, "http://"+host+path, nil)
	for _, c := range cookies {
		r.AddCookie(c)
	}
	return r
}

func post(path, origin, body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1:8321"+path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	if origin != "" {
		r.Header.Set("Origin", origin)
	}
	return r
}

func TestWithoutItsSessionNothingIsServedOnTheNetwork(t *testing.T) {
	h, g, st := behind(t, false)
	const host = "192.0.2.7:8321"
	for _, path := range []string{"/", "/stream", "/report", "/alive", "/assets/page.js", "/assets/page.css", "/nowhere", "/?key=", "/?key=wrong"} {
		for _, c := range [][]*http.Cookie{nil, {{Name: g.cookie, Value: "wrong"}}, {{Name: g.cookie, Value: ""}}, {{Name: "other", Value: g.session()}}} {
			w := try(h, get(host, path, c...))
			require.Equal(t, http.StatusUnauthorized, w.Code, path)
			require.NotContains(t, w.Body.String(), "pump", "the refusal tells of the job")
			require.Empty(t, w.Result().Cookies())
		}
	}
	r := post("/type", "http://192.0.2.7:8321", `{"text":"four off"}`)
	r.Host = host
	require.Equal(t, http.StatusUnauthorized, try(h, r).Code)
	require.Zero(t, st.talked)
}

func TestTheLinkOpensOnceAndTheSessionStays(t *testing.T) {
	h, g, _ := behind(t, false)
	const host = "192.0.2.7:8321"
	key := g.link
	w := try(h, get(host, "/?key="+key))
	require.Equal(t, http.StatusSeeOther, w.Code)
	require.Equal(t, "/", w.Header().Get("Location"), "the key must not stay in the address bar")
	cookies := w.Result().Cookies()
	require.Len(t, cookies, 1)
	require.True(t, cookies[0].HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, cookies[0].SameSite)
	require.Empty(t, cookies[0].Domain, "a cookie with a domain goes to other hosts too")
	require.NotContains(t, cookies[0].Value, "a secret of enough bytes")

	require.Equal(t, http.StatusUnauthorized, try(h, get(host, "/?key="+key)).Code, "the link opened twice")
	require.NotEqual(t, key, g.link)
	page := try(h, get(host, "/", cookies[0]))
	require.Equal(t, http.StatusOK, page.Code)
	require.Contains(t, page.Body.String(), "pump")
	require.Equal(t, http.StatusSeeOther, try(h, get(host, "/?key="+key, cookies[0])).Code, "a tablet that is in stays in with its old link")

	// The same secret after a restart knows the tablet again; another secret does not.
	again, err := newGuard(false, "8321", "a secret of enough bytes", nil)
	require.NoError(t, err)
	require.True(t, again.known(get(host, "/", cookies[0])))
	other, err := newGuard(false, "8321", "", nil)
	require.NoError(t, err)
	require.False(t, other.known(get(host, "/", cookies[0])))
}

func TestOneKeyLetsOneIn(t *testing.T) {
	_, g, _ := behind(t, false)
	key := g.link
	var in sync.WaitGroup
	let := make(chan bool, 50)
	for range cap(let) {
		in.Go(func() { let <- g.enter(key) })
	}
	in.Wait()
	close(let)
	n := 0
	for ok := range let {
		if ok {
			n++
		}
	}
	require.Equal(t, 1, n)
}

func TestAForeignHostNameIsRefused(t *testing.T) {
	open, _, _ := behind(t, true)
	for host, want := range map[string]int{
		"127.0.0.1:8321": http.StatusOK, "localhost:8321": http.StatusOK, "[::1]:8321": http.StatusOK, "127.0.0.1": http.StatusOK,
		"rebound.example:8321": http.StatusMisdirectedRequest, "192.0.2.7:8321": http.StatusMisdirectedRequest,
		"localhost.example:8321": http.StatusMisdirectedRequest, "": http.StatusMisdirectedRequest,
		"127.0.0.1.example": http.StatusMisdirectedRequest, "[::1": http.StatusMisdirectedRequest,
	} {
		r := get("127.0.0.1:8321", "/")
		r.Host = host
		require.Equal(t, want, try(open, r).Code, "Host %q", host)
	}
	net, g, _ := behind(t, false)
	g.own = "bilge"
	c := &http.Cookie{Name: g.cookie, Value: g.session()}
	for host, want := range map[string]int{
		"192.0.2.7:8321": http.StatusOK, "bilge:8321": http.StatusOK, "bilge.local:8321": http.StatusOK, "BILGE.local": http.StatusOK,
		"rebound.example:8321": http.StatusMisdirectedRequest, "bilge.example": http.StatusMisdirectedRequest,
	} {
		r := get("192.0.2.7:8321", "/", c)
		r.Host = host
		require.Equal(t, want, try(net, r).Code, "Host %q", host)
	}
}

func TestOnlyThisPageCanChangeAnything(t *testing.T) {
	h, _, st := behind(t, true)
	const own = "http://127.0.0.1:8321"
	for _, origin := range []string{"", "null", "http://rebound.example", "http://127.0.0.1", "http://127.0.0.1:9000", "https://127.0.0.1:8321", own + ".example", "://"} {
		require.Equal(t, http.StatusForbidden, try(h, post("/talk", origin, "{}")).Code, "Origin %q", origin)
	}
	r := post("/talk", own, "{}")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	require.Equal(t, http.StatusForbidden, try(h, r).Code)
	require.Zero(t, st.talked)
	// A form of another page can send these types without asking first.
	for _, kind := range []string{"", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"} {
		r := post("/talk", own, "{}")
		r.Header.Set("Content-Type", kind)
		require.Equal(t, http.StatusUnsupportedMediaType, try(h, r).Code, kind)
	}
	require.Zero(t, st.talked)
	require.Equal(t, http.StatusOK, try(h, post("/talk", own, "{}")).Code)
	require.Equal(t, 1, st.talked)
	require.Equal(t, http.StatusMethodNotAllowed, try(h, get("127.0.0.1:8321", "/talk")).Code)
}

func TestRequestsHaveLimits(t *testing.T) {
	h, _, st := behind(t, true)
	const own = "http://127.0.0.1:8321"
	for body, want := range map[string]int{
		`{"text":"` + strings.Repeat("a", bodyMost) + `"}`:   http.StatusRequestEntityTooLarge,
		`{"text":"` + strings.Repeat("é", typedMost) + `x"}`: http.StatusRequestEntityTooLarge,
		`{"text":"` + strings.Repeat("é", typedMost) + `"}`:  http.StatusOK,
		`{"text":"  \n\t "}`: http.StatusBadRequest, `{"text":`: http.StatusBadRequest, `[]`: http.StatusBadRequest, ``: http.StatusBadRequest,
		`{"text":"x","also":1}`: http.StatusBadRequest, `{"seq":-4,"text":"x"}`: http.StatusBadRequest,
		`{"text":"gibberish"}`: http.StatusUnprocessableEntity,
	} {
		require.Equal(t, want, try(h, post("/type", own, body)).Code, "%.60s", body)
	}
	require.Equal(t, http.StatusBadRequest, try(h, post("/correct", own, `{"text":"four off"}`)).Code, "a correction of nothing")
	require.Equal(t, http.StatusOK, try(h, post("/correct", own, `{"seq":57,"text":"  four \u0000 off "}`)).Code)
	require.Equal(t, []string{"57 four off"}, st.fixed)

	full := atMost(1, http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		inner := try(atMost(0, http.NotFoundHandler()), get("127.0.0.1", "/"))
		require.Equal(t, http.StatusServiceUnavailable, inner.Code)
	}))
	require.Equal(t, http.StatusOK, try(full, get("127.0.0.1", "/")).Code)
}

func TestEveryAnswerCarriesItsPolicies(t *testing.T) {
	h, _, _ := behind(t, true)
	for _, path := range []string{"/", "/report", "/alive", "/assets/page.js", "/assets/../board.go", "/assets/page.html", "/nowhere"} {
		w := try(h, get("127.0.0.1", path))
		csp := w.Header().Get("Content-Security-Policy")
		require.Contains(t, csp, "default-src 'none'", path)
		require.Contains(t, csp, "frame-ancestors 'none'", path)
		require.NotContains(t, csp, "unsafe", path)
		require.Equal(t, "nosniff", w.Header().Get("X-Content-Type-Options"), path)
		require.Equal(t, "no-referrer", w.Header().Get("Referrer-Policy"), path)
	}
	require.Equal(t, http.StatusNotFound, try(h, get("127.0.0.1", "/assets/page.html")).Code)
}

func TestAWeakTokenIsRefused(t *testing.T) {
	_, err := newGuard(false, "1", "short", nil)
	require.ErrorContains(t, err, "at least 16")
}

func TestKeepTokenKeepsItToItsOwner(t *testing.T) {
	file := filepath.Join(t.TempDir(), "state", "board-token")
	token, err := KeepToken(file)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(token), 26, "128 bits in base 32")
	again, err := KeepToken(file)
	require.NoError(t, err)
	require.Equal(t, token, again)
	info, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, os.WriteFile(file, []byte("x\n"), 0o600))
	_, err = KeepToken(file)
	require.ErrorContains(t, err, "delete the file")
}

func TestServeOnTheNetworkPrintsALinkThatOpens(t *testing.T) {
	if len(ownAddresses()) == 0 {
		t.Skip("this machine has no address on a network, so there is no link to print")
	}
	var out lines
	st := newStage(frontCover())
	st.o.Out = &out
	ctx, cancel := context.WithCancel(t.Context())
	l, err := net.Listen("tcp", "0.0.0.0:0")
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- st.serveOn(ctx, l) }()
	var link string
	require.Eventually(t, func() bool {
		m := regexp.MustCompile(`http://\S+/\?key=\S+`).FindString(out.String())
		link = m
		return m != ""
	}, 5*time.Second, 5*time.Millisecond, "no link printed")
	jar := map[string]string{}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Get(link)
	require.NoError(t, err)
	res.Body.Close()
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	for _, c := range res.Cookies() {
		jar[c.Name] = c.Value
	}
	require.Len(t, jar, 1)
	require.Eventually(t, func() bool { return strings.Count(out.String(), "The board:") == 2 }, 5*time.Second, 5*time.Millisecond, "no new link after the first was used")
	cancel()
	require.NoError(t, <-ended)
}

// lines collects what is printed from several goroutines.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) { l.mu.Lock(); defer l.mu.Unlock(); return l.b.Write(p) }
func (l *lines) String() string              { l.mu.Lock(); defer l.mu.Unlock(); return l.b.String() }

func TestServeSaysWhyItCannot(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	err = newStage(frontCover()).Serve(t.Context(), l.Addr().String())
	require.ErrorContains(t, err, "take another port")
}

// The code is read back by another program, zbarimg, from a picture of what the terminal shows.
func TestTheQRCodeReadsBack(t *testing.T) {
	const link = "http://192.0.2.7:8321/?key=ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	code, err := terminalQR(link)
	require.NoError(t, err)
	rows := strings.Split(strings.TrimSuffix(code, "\n"), "\n")
	var dots [][2][]byte
	for _, row := range rows {
		row = strings.TrimSuffix(strings.TrimPrefix(row, "\x1b[30;107m"), "\x1b[0m")
		var pair [2][]byte
		for _, r := range row {
			up, down := byte('0'), byte('0')
			switch r {
			case '█':
				up, down = '1', '1'
			case '▀':
				up = '1'
			case '▄':
				down = '1'
			}
			pair[0], pair[1] = append(pair[0], up), append(pair[1], down)
		}
		dots = append(dots, pair)
	}
	tool, err := exec.LookPath("zbarimg")
	if err != nil {
		t.Skip("no zbarimg on this machine: install Debian's package zbar-tools to read the QR code back")
	}
	const scale = 6
	var pbm bytes.Buffer
	pbm.WriteString("P1\n")
	w := len(dots[0][0]) * scale
	pbm.WriteString(strings.Join([]string{itoa(w), itoa(len(dots) * 2 * scale)}, " ") + "\n")
	for _, pair := range dots {
		for _, row := range pair {
			for range scale {
				for _, d := range row {
					pbm.Write(bytes.Repeat([]byte{d, ' '}, scale))
				}
				pbm.WriteByte('\n')
			}
		}
	}
	file := filepath.Join(t.TempDir(), "code.pbm")
	require.NoError(t, os.WriteFile(file, pbm.Bytes(), 0o600))
	said, err := exec.Command(tool, "--quiet", "--raw", file).Output()
	require.NoError(t, err)
	require.Equal(t, link, strings.TrimSpace(string(said)))
}

func itoa(n int) string { return num(n).String() }

// FuzzRequests sends anything to the board: it must answer, keep its policies and never fail inside.
func FuzzRequests(f *testing.F) {
	f.Add("GET", "/", "127.0.0.1:8321", "", "", "")
	f.Add("GET", "/?key=x", "[::1]", "", "", "")
	f.Add("POST", "/type", "127.0.0.1:8321", "http://127.0.0.1:8321", "application/json", `{"text":"four off"}`)
	f.Add("POST", "/correct", "127.0.0.1:8321", "http://127.0.0.1:8321", "application/json", `{"seq":57,"text":"<script>"}`)
	f.Add("POST", "/talk", "127.0.0.1:8321", "http://127.0.0.1:8321", "application/json; charset=utf-8", `{}`)
	f.Add("POST", "/type", "127.0.0.1:8321", "http://127.0.0.1:8321", "application/json", "{\"text\":\"\xff\\ud800\"}")
	f.Add("HEAD", "/report", "localhost", "null", "text/plain", "")
	f.Add("GET", "/assets/..%2fpage.html", "rebound.example", "", "", "")
	h, _, st := behind(f, true)
	f.Fuzz(func(t *testing.T, method, path, host, origin, kind, body string) {
		r, err := http.NewRequest(method, "http://127.0.0.1:8321/", strings.NewReader(body))
		if err != nil || !strings.HasPrefix(path, "/") {
			t.Skip("not a request that a server's parser lets through")
		}
		if r.URL, err = r.URL.Parse(path); err != nil || strings.HasPrefix(r.URL.Path, "/stream") {
			t.Skip("no address, or the stream that never ends")
		}
		r.Host = host
		r.Header.Set("Origin", origin)
		r.Header.Set("Content-Type", kind)
		st.mu.Lock()
		talked, fixed := st.talked, len(st.fixed)
		st.mu.Unlock()
		w := try(h, r)
		require.Less(t, w.Code, 500)
		require.Contains(t, w.Header().Get("Content-Security-Policy"), "default-src 'none'")
		if !fromHere(r) || method != http.MethodPost {
			require.Equal(t, talked, st.talked)
			require.Len(t, st.fixed, fixed)
		}
		for _, line := range st.fixed[fixed:] {
			require.NotContains(t, line, "\x00")
			require.LessOrEqual(t, len([]rune(line)), typedMost+21)
		}
		_, err = io.Copy(io.Discard, w.Body)
		require.NoError(t, err)
	})
}
