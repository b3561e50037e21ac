package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"putback/audio"
)

// babbling is how many readers the babble is made of.
const babbling = 6

// loadNoise finds a noise of the data folder by its name or the beginning of
// it; "babble" is made of the folder's readers when there is no such file.
func loadNoise(data, name string) (audio.Samples, error) {
	files, err := filepath.Glob(filepath.Join(data, "noise", "*.wav"))
	if err != nil {
		return nil, err
	}
	var names []string
	found := ""
	for _, f := range files {
		n := strings.TrimSuffix(filepath.Base(f), ".wav")
		names = append(names, n)
		if n == name || found == "" && strings.HasPrefix(n, name) {
			found = f
		}
	}
	if found != "" {
		return audio.ReadWAV(found)
	}
	if name == "babble" {
		return babble(data)
	}
	return nil, fmt.Errorf("there is no noise %q in %s; there are %s and babble", name, filepath.Join(data, "noise"), strings.Join(names, ", "))
}

// babble lays readers over one another, each equally loud.
func babble(data string) (audio.Samples, error) {
	files, err := filepath.Glob(filepath.Join(data, "talk", "*.wav"))
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("babble is made of the readers in %s: %w", filepath.Join(data, "talk"), fs.ErrNotExist)
	}
	var all []audio.Samples
	longest := 0
	for i := range min(babbling, len(files)) {
		s, err := audio.ReadWAV(files[i*len(files)/min(babbling, len(files))])
		if err != nil {
			return nil, err
		}
		if level := s.RMS(); level > 0 {
			for j := range s {
				s[j] *= float32(0.1 / level)
			}
			all = append(all, s)
			longest = max(longest, len(s))
		}
	}
	if len(all) == 0 {
		return nil, errors.New("babble: the readers are silent")
	}
	sum := make(audio.Samples, longest)
	for _, s := range all {
		for i := range sum {
			sum[i] += s[i%len(s)] / float32(len(all))
		}
	}
	return sum, nil
}

// exists reports whether a path is there.
func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
