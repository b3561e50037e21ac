package main

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"putback/audio"
)

// verse is a line of an old song: its words, and a note for each as semitones
// above the key. Words and tunes are traditional; the notes are from memory.
type verse struct {
	words string
	notes []int
}

var verses = []verse{
	{"row row row your boat gently down the stream", []int{0, 0, 0, 2, 4, 4, 2, 4, 7}},
	{"what shall we do with a drunken sailor", []int{7, 7, 7, 7, 7, 0, 3, 7}},
	{"my bonnie lies over the ocean", []int{0, 9, 7, 5, 7, 4}},
	{"twinkle twinkle little star how i wonder what you are", []int{0, 7, 9, 7, 5, 5, 4, 2, 2, 0}},
	{"ten green bottles hanging on the wall", []int{0, 4, 7, 7, 5, 4, 2}},
	{"oh when the saints go marching in", []int{0, 4, 5, 7, 4, 0, 4}},
	{"london bridge is falling down falling down", []int{7, 9, 7, 5, 4, 5, 7}},
	{"one man went to mow went to mow a meadow", []int{0, 0, 4, 4, 7, 5, 4, 2, 0, 2}},
}

// sing has each verse sung by two voices, word by word on its note, stretched.
func sing() ([]clip, error) {
	var out []clip
	for _, singer := range []struct {
		voice string
		key   float64 // hertz
	}{{"slt", 196}, {"rms", 110}} {
		for _, v := range verses {
			var sound audio.Samples
			for i, word := range strings.Fields(v.words) {
				note := singer.key * math.Pow(2, float64(v.notes[i])/12)
				s, err := flite(singer.voice, word, "--setf", fmt.Sprintf("int_f0_target_mean=%.0f", note),
					"--setf", "int_f0_target_stddev=1", "--setf", "duration_stretch=1.7")
				if err != nil {
					return nil, err
				}
				sound = append(sound, trim(s)...)
			}
			out = append(out, clip{singer.voice + " sings " + v.words, sound})
		}
	}
	return out, nil
}

// trim cuts what is below a hundredth of the peak off both ends.
func trim(s audio.Samples) audio.Samples {
	least := float32(s.Peak() / 100)
	from, to := 0, len(s)
	for from < to && s[from] < least && s[from] > -least {
		from++
	}
	for to > from && s[to-1] < least && s[to-1] > -least {
		to--
	}
	return s[from:to]
}

// flite has one of flite's own voices say the words.
func flite(voice, words string, args ...string) (audio.Samples, error) {
	dir, err := os.MkdirTemp("", "putback-flite-")
	if err != nil {
		return nil, fmt.Errorf("making a folder for flite: %w", err)
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "said.wav")
	args = append(args, "-voice", voice, "-t", words, "-o", file)
	if said, err := exec.Command("flite", args...).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("having flite say %q: %w: %s", words, err, said)
	}
	return audio.ReadWAV(file)
}
