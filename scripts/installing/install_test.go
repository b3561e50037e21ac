//go:build linux

// Package installing tests scripts/install by running it into a home of its
// own: what it puts there works, and nothing but that is ever touched.
package installing

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/models"
)

// home is an empty home folder with what a person may already have in it.
func home(t *testing.T) (dir string, env []string) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(os.Getenv("PUTBACK_WHISPER"), "complete")); err != nil || os.Getenv("PUTBACK_WHISPER") == "" {
		t.Skip("the recogniser's library is not built, and this test fetches nothing: run scripts/setup, then `. scripts/env`")
	}
	for _, name := range []string{"tiny.en", "hibari", "silero", "onnxruntime"} {
		if _, err := models.Path(name); err != nil {
			t.Skipf("the models are not all there, and this test fetches nothing: %v", err)
		}
	}
	dir = t.TempDir()
	for _, file := range []string{
		"putback/cover.putback", ".config/putback/putback.toml", ".config/systemd/user/other.service",
		".local/bin/other", ".local/share/man/man1/other.1", ".local/share/putback/notes of mine",
	} {
		path := filepath.Join(dir, file)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte("mine: "+file), 0o600))
	}
	cache, err := os.UserCacheDir()
	require.NoError(t, err)
	for _, line := range os.Environ() {
		if !strings.HasPrefix(line, "XDG_") && !strings.HasPrefix(line, "HOME=") && !strings.HasPrefix(line, "PUTBACK_MODELS=") {
			env = append(env, line)
		}
	}
	env = append(env, "HOME="+dir, "XDG_CACHE_HOME="+cache)
	for _, name := range []string{"GOCACHE", "GOMODCACHE", "GOPATH", "GOENV"} {
		value, err := exec.Command("go", "env", name).Output()
		require.NoError(t, err)
		env = append(env, name+"="+strings.TrimSpace(string(value)))
	}
	return dir, env
}

// tree is every file and folder below dir, with mode and content.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	found := make(map[string]string)
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if name == ".config/go" {
			return fs.SkipDir // the Go tools count their own use there, whatever they build
		}
		what := info.Mode().String()
		if info.Mode().IsRegular() {
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			sum := sha256.Sum256(data)
			what += " " + hex.EncodeToString(sum[:])
		}
		found[name] = what
		return nil
	}))
	return found
}

// install runs scripts/install.
func install(env []string, args ...string) (string, error) {
	cmd := exec.Command("../install", args...)
	cmd.Env = env
	said, err := cmd.CombinedOutput()
	return string(said), err
}

func TestAnInstallWorksAndItsRemovalLeavesTheHomeAsItWas(t *testing.T) {
	dir, env := home(t)
	before := tree(t, dir)
	said, err := install(env)
	require.NoError(t, err, said)
	after := tree(t, dir)
	for name, what := range before {
		require.Equal(t, what, after[name], "%s was there before the install", name)
	}
	share := ".local/share/"
	for name, mode := range map[string]string{
		".local/bin/putback": "-rwxr-xr-x", ".config/systemd/user/putback@.service": "-rw-r--r--",
		share + "man/man1/putback.1": "-rw-r--r--", share + "man/man1/putback-listen.1": "-rw-r--r--",
		share + "bash-completion/completions/putback": "-rw-r--r--", share + "zsh/site-functions/_putback": "-rw-r--r--",
		share + "fish/vendor_completions.d/putback.fish": "-rw-r--r--",
		share + "putback/models/ggml-tiny.en-q8_0.bin":   "-rw-r--r--", share + "putback/licences/LICENSE": "-rw-r--r--",
	} {
		require.Contains(t, after, name)
		require.Contains(t, after[name], mode, name)
	}

	t.Run("the program runs from there with the models from there", func(t *testing.T) {
		run := func(args ...string) string {
			cmd := exec.Command(filepath.Join(dir, ".local/bin/putback"), args...)
			// The cache has models too; without it they must come from the home.
			cmd.Env, cmd.Dir = []string{"HOME=" + dir}, dir
			said, err := cmd.CombinedOutput()
			require.NoError(t, err, "%v: %s", args, said)
			return string(said)
		}
		require.Regexp(t, `^putback \S.*, go1\.`, run("version"))
		require.Contains(t, run("models", "verify"), "tiny.en")
		require.Contains(t, run("ask", "66 inch pounds in newton metres"), "7.46")
	})
	t.Run("every command has a manual page that renders", func(t *testing.T) {
		help, err := exec.Command(filepath.Join(dir, ".local/bin/putback"), "--help").Output()
		require.NoError(t, err)
		_, list, ok := strings.Cut(string(help), "Available Commands:\n")
		require.True(t, ok, string(help))
		list, _, _ = strings.Cut(list, "\n\n")
		pages := 0
		for line := range strings.Lines(list) {
			command := strings.Fields(line)[0]
			if command == "help" || command == "completion" {
				continue
			}
			page := filepath.Join(dir, share, "man/man1/putback-"+command+".1")
			text, err := os.ReadFile(page)
			require.NoError(t, err, "manual page of %s", command)
			require.Contains(t, string(text), ".SH EXAMPLE", "%s: an example", command)
			pages++
			if groff, err := exec.LookPath("groff"); err == nil {
				out, err := exec.Command(groff, "-man", "-Tutf8", "-P-cbou", "-ww", page).CombinedOutput()
				require.NoError(t, err, string(out))
				require.Contains(t, string(out), "SYNOPSIS")
			}
		}
		require.Greater(t, pages, 10)
	})
	t.Run("the shells take the completions", func(t *testing.T) {
		asks := map[string][]string{
			"bash": {"-n", filepath.Join(dir, share, "bash-completion/completions/putback")},
			"zsh":  {"-n", filepath.Join(dir, share, "zsh/site-functions/_putback")},
			"fish": {"-n", filepath.Join(dir, share, "fish/vendor_completions.d/putback.fish")},
		}
		tried := 0
		for shell, args := range asks {
			if path, err := exec.LookPath(shell); err == nil {
				out, err := exec.Command(path, args...).CombinedOutput()
				require.NoError(t, err, "%s: %s", shell, out)
				tried++
			}
		}
		require.Positive(t, tried, "bash runs this test's script, so it is here")
		// What the shells ask the program at each press of the tab key.
		out, err := exec.Command(filepath.Join(dir, ".local/bin/putback"), "__complete", "li").Output()
		require.NoError(t, err)
		require.Contains(t, string(out), "listen\t")
	})
	t.Run("the service starts the program that was installed", func(t *testing.T) {
		text, err := os.ReadFile(filepath.Join(dir, ".config/systemd/user/putback@.service"))
		require.NoError(t, err)
		require.Contains(t, string(text), "ExecStart=%h/.local/bin/putback listen ")
		verify, err := exec.LookPath("systemd-analyze")
		if err != nil {
			t.Skip("systemd-analyze is not on this machine, so systemd's own check of the service file is left out")
		}
		cmd := exec.Command(verify, "--user", "verify", filepath.Join(dir, ".config/systemd/user/putback@.service"))
		cmd.Env = append(env, "XDG_RUNTIME_DIR="+t.TempDir())
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, string(out))
	})

	said, err = install(env)
	require.NoError(t, err, "a second install over the first: %s", said)
	require.Equal(t, keys(after), keys(tree(t, dir)), "a second install puts the same files there")

	// Another program has come to use a folder that the install made.
	later := filepath.Join(dir, share, "fish/vendor_completions.d/later.fish")
	require.NoError(t, os.WriteFile(later, []byte("# not from the install\n"), 0o644))
	said, err = install(env, "--remove")
	require.NoError(t, err, said)
	require.FileExists(t, later)
	require.NoError(t, os.RemoveAll(filepath.Join(dir, share, "fish")))
	require.Equal(t, before, tree(t, dir), "after the removal")
	said, err = install(env, "--remove")
	require.NoError(t, err, "a second removal: %s", said)
	require.Contains(t, said, "nothing is installed")
	require.Equal(t, before, tree(t, dir), "after a second removal")
}

func keys(of map[string]string) map[string]bool {
	names := make(map[string]bool, len(of))
	for name := range of {
		names[name] = true
	}
	return names
}

func TestAFileThatNoInstallPutThereIsNotOverwritten(t *testing.T) {
	dir, env := home(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".local/bin/putback"), []byte("another program of that name"), 0o755))
	before := tree(t, dir)
	said, err := install(env)
	require.Error(t, err, said)
	require.Contains(t, said, fmt.Sprintf("%s is there and no install put it there", filepath.Join(dir, ".local/bin/putback")))
	require.Equal(t, before, tree(t, dir))
}
