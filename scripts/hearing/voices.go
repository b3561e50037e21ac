package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"hash/fnv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"

	"putback/audio"
)

// voice is a synthetic voice at a pitch and speed. Its program is run as a
// process, never linked.
type voice struct {
	name    string
	program string   // as peers/install knows it
	how     []string // its settings; {text}, {file} and {voice} stand for what is spoken, where to, and the second line of peers/install
	stdin   bool     // the text is read from standard input
}

func espeak(name, variant string, pitch, speed int) voice {
	return voice{name, "espeak-ng", []string{"-v", variant, "-p", strconv.Itoa(pitch), "-s", strconv.Itoa(speed), "-w", "{file}", "--", "{text}"}, false}
}

func flite(name, model string, stretch float64) voice {
	return voice{name, "flite", []string{"-voice", model, "--setf", "duration_stretch=" + strconv.FormatFloat(stretch, 'g', -1, 64), "-t", "{text}", "-o", "{file}"}, false}
}

var voices = []voice{
	flite("flite rms", "rms", 1.0),
	flite("flite slt", "slt", 0.9),
	flite("flite awb", "awb", 1.1),
	flite("flite kal16", "kal16", 1.0),
	espeak("espeak British", "en-gb+m3", 40, 145),
	espeak("espeak American", "en-us+f3", 60, 155),
	espeak("espeak Scottish", "en-gb-scotland+m7", 35, 135),
	espeak("espeak RP", "en-gb-x-rp+f2", 50, 165),
	{"festival kal", "festival", []string{"-eval", "(voice_kal_diphone)", "-o", "{file}"}, true},
	{"piper joe", "piper", []string{"-m", "{voice}", "-f", "{file}"}, true},
	{"piper joe quick", "piper", []string{"-m", "{voice}", "--length-scale", "0.8", "-f", "{file}"}, true},
}

// fewestVoices is how many the shop set is worth running with.
const fewestVoices = 5

// spokenClips has the commands of a set spoken, each by a number of voices, and
// gives the clips. What was spoken before lies in the cache.
func spokenClips(set string, commands []command, each int) ([]clip, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return nil, fmt.Errorf("finding a place for the spoken commands: %w", err)
	}
	folder := filepath.Join(cache, "putback", "bench-voices")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("making a place for the spoken commands: %w", err)
	}
	type speaker struct {
		voice
		installed []string
	}
	var speakers []speaker
	programs := map[string][]string{}
	for _, v := range voices {
		where, ok := programs[v.program]
		if !ok {
			if where, err = install(v.program); err != nil {
				fmt.Fprintf(os.Stderr, "hearing: no %s voices: %v\n", v.program, err)
			}
			programs[v.program] = where
		}
		if where != nil {
			speakers = append(speakers, speaker{v, where})
		}
	}
	if len(speakers) < fewestVoices {
		return nil, fmt.Errorf("what is spoken by synthetic voices needs at least %d voices, there are %d; leave it out with -sets orders,talk", fewestVoices, len(speakers))
	}
	fmt.Fprintf(os.Stderr, "hearing: %d commands spoken by %d of %d voices each (from the cache where they are there) …\n", len(commands), min(each, len(speakers)), len(speakers))
	var clips []clip
	for _, c := range commands {
		// By the words, not by the place: the two halves of the set and every
		// n-th of it have all the voices.
		h := fnv.New32()
		h.Write([]byte(c.said))
		for k := range min(each, len(speakers)) {
			s := speakers[(int(h.Sum32()%uint32(len(speakers)))+k)%len(speakers)]
			file, err := s.speak(c.said, s.installed, folder)
			if err != nil {
				return nil, err
			}
			clips = append(clips, clip{set: set, name: s.name + "/" + c.said, file: file, want: c.want})
		}
	}
	return clips, nil
}

// speak gives the WAV file of a text in this voice, from the cache or made anew.
func (v voice) speak(text string, installed []string, folder string) (string, error) {
	key := sha256.Sum256([]byte(strings.Join(append(v.how, v.program, text), "\x00")))
	file := filepath.Join(folder, fmt.Sprintf("%x.wav", key[:10]))
	if exists(file) {
		return file, nil
	}
	raw, err := os.CreateTemp(folder, "raw-*.wav")
	if err != nil {
		return "", err
	}
	defer os.Remove(raw.Name())
	if err := raw.Close(); err != nil {
		return "", err
	}
	second := ""
	if len(installed) > 1 {
		second = installed[1]
	}
	var args []string
	for _, a := range v.how {
		args = append(args, strings.NewReplacer("{text}", text, "{file}", raw.Name(), "{voice}", second).Replace(a))
	}
	cmd := exec.Command(installed[0], args...)
	if v.stdin {
		cmd.Stdin = strings.NewReader(text + "\n")
	}
	if out, err := cmd.CombinedOutput(); err != nil {
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		return "", fmt.Errorf("speaking %q with %s: %w: %s", text, v.name, err, lines[len(lines)-1])
	}
	sound, err := audio.ReadWAV(raw.Name())
	if err != nil {
		return "", fmt.Errorf("speaking %q with %s: %w", text, v.name, err)
	}
	if sound, err = frame(sound); err != nil {
		return "", fmt.Errorf("speaking %q with %s: %w", text, v.name, err)
	}
	return file, audio.WriteWAV(file, sound)
}

// Around a command there is this much silence, in samples, as a segmenter leaves it.
const silence = audio.Rate * 3 / 10

// frame puts the same silence before and after what is spoken and brings the
// voices to the same peak.
func frame(s audio.Samples) (audio.Samples, error) {
	peak := s.Peak()
	if peak == 0 {
		return nil, errors.New("the voice was silent")
	}
	loud := func(v float32) bool { return float64(max(v, -v)) > 0.02*peak }
	first, last := 0, len(s)-1
	for first < last && !loud(s[first]) {
		first++
	}
	for last > first && !loud(s[last]) {
		last--
	}
	out := make(audio.Samples, silence+last-first+1+silence)
	for i, v := range s[first : last+1] {
		out[silence+i] = v * float32(0.5/peak)
	}
	return out, nil
}
