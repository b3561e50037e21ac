package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"

	"putback/audio"
)

// clip is a recording with where it comes from.
type clip struct {
	name  string
	sound audio.Samples
}

// stock is the sound that is not meant for the program.
type stock struct {
	talk, radio, singing, chatter, music, tools []clip
}

func (s *stock) String() string {
	return fmt.Sprintf("%d recordings of read talk, %d of radio talk, %d tunes, %d of tools, %d verses, %d sentences of chatter",
		len(s.talk), len(s.radio), len(s.music), len(s.tools), len(s.singing), len(s.chatter))
}

func openStock(data, fetched string) (*stock, error) {
	var s stock
	for _, in := range []struct {
		to   *[]clip
		glob string
	}{
		{&s.talk, filepath.Join(data, "talk", "*.wav")},
		{&s.tools, filepath.Join(data, "noise", "*.wav")},
		{&s.radio, filepath.Join(fetched, "radio", "*.wav")},
		{&s.music, filepath.Join(fetched, "music", "*.wav")},
	} {
		files, err := filepath.Glob(in.glob)
		if err != nil {
			return nil, err
		}
		if len(files) == 0 {
			return nil, fmt.Errorf("no recordings at %s", in.glob)
		}
		slices.Sort(files)
		for _, file := range files {
			sound, err := audio.ReadWAV(file)
			if err != nil {
				return nil, err
			}
			if len(sound) < audio.Rate/5 || sound.Peak() == 0 {
				continue
			}
			*in.to = append(*in.to, clip{strings.TrimSuffix(filepath.Base(file), ".wav"), sound})
		}
	}
	var err error
	if s.singing, err = sing(); err != nil {
		return nil, err
	}
	s.chatter, err = chat()
	return &s, err
}

func pick[T any](r *rand.Rand, list []T) T { return list[r.IntN(len(list))] }
