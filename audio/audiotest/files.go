package audiotest

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"putback/audio"
)

// Data gives the folder of test recordings, $PUTBACK_TESTDATA or ../shared/data
// beside the project, and skips t, saying so, where it is absent.
func Data(t TB) string {
	t.Helper()
	dir := os.Getenv("PUTBACK_TESTDATA")
	if dir == "" {
		_, file, _, _ := runtime.Caller(0)
		dir = filepath.Join(filepath.Dir(file), "..", "..", "..", "shared", "data")
	}
	if _, err := os.Stat(filepath.Join(dir, "noise")); err != nil {
		t.Skip("needs the test recordings: set PUTBACK_TESTDATA to their folder (" + dir + " is not it)")
	}
	return dir
}

// Clip reads a recording below [Data], such as "noise/kitchen.wav".
func Clip(t TB, name string) audio.Samples {
	t.Helper()
	s, err := audio.ReadWAV(filepath.Join(Data(t), filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Clips reads all recordings of a folder below [Data], in order of their names.
func Clips(t TB, folder string) []audio.Samples {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(Data(t), folder, "*.wav"))
	if err != nil || len(names) == 0 {
		t.Skip("needs the test recordings of the folder " + folder)
	}
	var out []audio.Samples
	for _, n := range names {
		s, err := audio.ReadWAV(n)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

// Model finds a file of the model cache by the start and the end of its name
// and skips t, saying so, where it is absent.
func Model(t TB, prefix, suffix string) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Skip("needs a cache directory: " + err.Error())
	}
	var found string
	_ = filepath.WalkDir(filepath.Join(cache, "putback", "models"), func(path string, d os.DirEntry, err error) error {
		if err == nil && found == "" && strings.HasPrefix(d.Name(), prefix) && strings.HasSuffix(d.Name(), suffix) {
			found = path
		}
		return nil
	})
	if found == "" {
		t.Skip("needs the model " + prefix + "*" + suffix + ": run `putback models fetch`")
	}
	return found
}
