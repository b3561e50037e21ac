package models

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// Errors a fetch can end in; each comes wrapped in a sentence that says what
// to do about it.
var (
	// ErrNoNetwork: the package client could not reach its registry.
	ErrNoNetwork = errors.New("no network")
	// ErrNoSpace: the disk is full, or would be.
	ErrNoSpace = errors.New("no disk space")
	// ErrNoClient: pip or npm is not installed.
	ErrNoClient = errors.New("the package client is not installed")
	// ErrDamaged: a package or file is not the one in the manifest.
	ErrDamaged = errors.New("damaged")
)

// download has the package's own client put the package file into a fresh
// folder below dir and returns its path there.
func download(ctx context.Context, p Package, dir string) (string, error) {
	into, err := os.MkdirTemp(dir, "download-")
	if err != nil {
		return "", spaceOr(err)
	}
	args, err := client(p, into)
	if err != nil {
		return "", err
	}
	cmd := exec.CommandContext(ctx, args[0], args[1:]...)
	cmd.Dir = into
	// Both clients take the rest of a broken transfer where they can, and keep
	// what they have in a cache of their own. Unknown settings are ignored.
	cmd.Env = append(os.Environ(), "PIP_RESUME_RETRIES=5", "PIP_DISABLE_PIP_VERSION_CHECK=1", "PIP_NO_INPUT=1", "TMPDIR="+into)
	cmd.WaitDelay = 5 * time.Second
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	err = cmd.Run()
	if ctx.Err() != nil {
		return "", fmt.Errorf("fetching %s: %w", p.describe(), ctx.Err())
	}
	if err != nil {
		return "", explain(p, said.String(), err)
	}
	files, err := filepath.Glob(filepath.Join(into, "*"+p.suffix()))
	if err != nil || len(files) != 1 {
		return "", fmt.Errorf("fetching %s: %s ended well but left %d files; it said:\n%s", p.describe(), args[0], len(files), tail(said.String()))
	}
	return files[0], nil
}

// client is the command line that downloads p into a folder.
func client(p Package, into string) ([]string, error) {
	pin := p.Name + "=="
	if p.Registry == "npm" {
		if _, err := exec.LookPath("npm"); err != nil {
			return nil, fmt.Errorf("fetching %s: %w: install npm (Debian: apt-get install npm), or run scripts/setup", p.describe(), ErrNoClient)
		}
		// Its own patience is over a minute; a second try soon is enough.
		return []string{"npm", "pack", "--loglevel=error", "--ignore-scripts",
			"--fetch-retries=1", "--fetch-retry-mintimeout=1000", "--fetch-retry-maxtimeout=3000",
			"--pack-destination", into, p.Name + "@" + p.Version}, nil
	}
	args := []string{"download", "--no-deps", "--quiet", "--only-binary", ":all:", "--python-version", "3.11"}
	args = append(args, p.Tags...)
	args = append(args, "--dest", into, pin+p.Version)
	for _, pip := range []string{"pip3", "pip"} {
		if _, err := exec.LookPath(pip); err == nil {
			return append([]string{pip}, args...), nil
		}
	}
	return nil, fmt.Errorf("fetching %s: %w: install pip (Debian: apt-get install python3-pip), or run scripts/setup", p.describe(), ErrNoClient)
}

// What the clients print in these two cases; their exit codes do not tell.
var (
	saysNoSpace   = regexp.MustCompile(`(?i)no space left on device|ENOSPC|disk quota exceeded`)
	saysNoNetwork = regexp.MustCompile(`(?i)ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ETIMEDOUT|ENETUNREACH|EHOSTUNREACH|` +
		`name resolution|name or service not known|failed to establish a new connection|network is unreachable|` +
		`connection (refused|reset|broken|aborted)|timed? ?out|proxyerror|could not connect`)
)

// explain turns a client's failure into an error that says what to do.
func explain(p Package, said string, err error) error {
	switch {
	case saysNoSpace.MatchString(said):
		return fmt.Errorf("fetching %s: %w: free some and run it again, what is complete is kept; the client said: %s", p.describe(), ErrNoSpace, lineWith(saysNoSpace, said))
	case saysNoNetwork.MatchString(said):
		return fmt.Errorf("fetching %s: %w: connect once and run it again, what is complete is kept; the client said: %s", p.describe(), ErrNoNetwork, lineWith(saysNoNetwork, said))
	}
	return fmt.Errorf("fetching %s: %w; the client said:\n%s", p.describe(), err, tail(said))
}

// describe names the package as its registry does.
func (p Package) describe() string {
	return fmt.Sprintf("%s %s from %s", p.Name, p.Version, p.Registry)
}

// suffix is how the package's file name ends.
func (p Package) suffix() string {
	if p.Registry == "npm" {
		return ".tgz"
	}
	return ".whl"
}

// tail keeps the last lines of what a client said.
func tail(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return strings.Join(lines[max(0, len(lines)-8):], "\n")
}

// lineWith is the last line that matches, without end if it is a long one.
func lineWith(pattern *regexp.Regexp, s string) string {
	var found string
	for line := range strings.Lines(s) {
		if pattern.MatchString(line) {
			found = strings.TrimSpace(line)
		}
	}
	if len(found) > 200 {
		found = found[:200] + "…"
	}
	return found
}
