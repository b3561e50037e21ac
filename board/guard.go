package board

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// guard decides who is served. Against the outside it holds three lines: the
// Host header must be an address or this machine's own name (a name that a foreign
// page had pointed here is refused), every other request needs the session cookie, and
// a request that changes something must come from this page.
type guard struct {
	open   bool // a loopback address: no session needed
	own    string
	cookie string

	mu     sync.Mutex
	secret []byte
	link   string // the one-time key, "" none
	fresh  func(link string)
}

// newGuard makes the guard of one address. token is Options.Token. fresh is told each new one-time key.
func newGuard(open bool, port, token string, fresh func(string)) (*guard, error) {
	g := &guard{open: open, cookie: "putback" + port, secret: []byte(token), fresh: fresh}
	if name, err := os.Hostname(); err == nil {
		g.own = strings.ToLower(name)
	}
	if open {
		return g, nil
	}
	switch n := len(token); {
	case n == 0:
		g.secret = []byte(rand.Text())
	case n < 16:
		return nil, fmt.Errorf("the board's token has %d bytes: give at least 16, or none to have one made", n)
	}
	g.renew()
	return g, nil
}

// renew makes a new one-time key. g.mu is held, or g is not yet shared.
func (g *guard) renew() {
	g.link = rand.Text()
	if g.fresh != nil {
		g.fresh(g.link)
	}
}

// session is the value of the cookie that lets a browser in.
func (g *guard) session() string {
	m := hmac.New(sha256.New, g.secret)
	m.Write([]byte("putback board session 1"))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// host says whether a Host header may be answered.
func (g *guard) host(h string) bool {
	name := h
	if host, _, err := net.SplitHostPort(h); err == nil {
		name = host
	}
	if bare, ok := strings.CutPrefix(name, "["); ok {
		name = strings.TrimSuffix(bare, "]")
		if name == bare {
			return false
		}
	}
	name = strings.ToLower(name)
	ip := net.ParseIP(name)
	switch {
	case g.open:
		return name == "localhost" || ip != nil && ip.IsLoopback()
	case ip != nil || name == "localhost":
		return true
	}
	return g.own != "" && (name == g.own || name == g.own+".local")
}

// known says whether the request carries the session.
func (g *guard) known(r *http.Request) bool {
	if g.open {
		return true
	}
	c, err := r.Cookie(g.cookie)
	if err != nil {
		return false
	}
	return subtle.ConstantTimeCompare([]byte(c.Value), []byte(g.session())) == 1
}

// enter uses up the one-time key: true for the first who brings it.
func (g *guard) enter(key string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.open || key == "" || subtle.ConstantTimeCompare([]byte(key), []byte(g.link)) != 1 {
		return false
	}
	g.renew()
	return true
}

// fromHere says whether a changing request comes from this very page: its Origin is the
// address it was sent to. Browsers send Origin with every POST.
func fromHere(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
		return false
	}
	u, err := url.Parse(r.Header.Get("Origin"))
	return err == nil && u.Scheme == "http" && strings.EqualFold(u.Host, r.Host)
}

// wrap puts the guard before next.
func (g *guard) wrap(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		switch {
		case !g.host(r.Host):
			refuse(w, http.StatusMisdirectedRequest, "This address is not the bench's own. Use the link that the bench prints.")
		case r.Method == http.MethodGet && r.URL.Path == "/" && r.URL.Query().Has("key"):
			g.letIn(w, r)
		case !g.known(r):
			refuse(w, http.StatusUnauthorized, "This page opens with the link that the bench prints when it starts.")
		case r.Method == http.MethodPost && !fromHere(r):
			refuse(w, http.StatusForbidden, "This request did not come from the bench's own page.")
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// letIn answers the one-time link.
func (g *guard) letIn(w http.ResponseWriter, r *http.Request) {
	switch {
	case g.enter(r.URL.Query().Get("key")):
		// Lax, not Strict: the link is often followed from another program, and a
		// Strict cookie would not come along with the redirect. Changing requests are held
		// by fromHere.
		http.SetCookie(w, &http.Cookie{
			Name: g.cookie, Value: g.session(), Path: "/", HttpOnly: true,
			SameSite: http.SameSiteLaxMode, MaxAge: 60 * 24 * 3600,
		})
	case !g.known(r):
		refuse(w, http.StatusUnauthorized, "This link was used already, or is an old one. The bench has printed a new one.")
		return
	}
	// The key does not stay in the address bar and its history.
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	// The browser that left before the refusal was written needs none.
	_ = templates.ExecuteTemplate(w, "refused", why)
}

// KeepToken gives the token kept in the file, and makes file and token when there
// is none. The file is readable by its owner only.
func KeepToken(file string) (string, error) {
	b, err := os.ReadFile(file)
	switch {
	case err == nil:
		token := strings.TrimSpace(string(b))
		if len(token) < 16 {
			return "", fmt.Errorf("reading the board's token: %s holds no token of 16 bytes or more: delete the file and start again", file)
		}
		return token, nil
	case !errors.Is(err, fs.ErrNotExist):
		return "", fmt.Errorf("reading the board's token: %w", err)
	}
	token := rand.Text()
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return "", fmt.Errorf("keeping the board's token: %w", err)
	}
	if err := os.WriteFile(file, []byte(token+"\n"), 0o600); err != nil {
		return "", fmt.Errorf("keeping the board's token: %w", err)
	}
	return token, nil
}
