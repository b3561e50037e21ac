// Package config is the person's settings file: YAML, every key optional,
// every mistake named with its line and column.
//
//	c, err := config.Load(config.Path())
//
// [Example] is the whole file with its defaults, commented.
package config

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Config is what can be set. [Default] gives the values of an empty file.
type Config struct {
	Microphone  string // name or part of it; "" the system's default
	Loudspeaker string // the same
	// Playback is "device", by malgo, or "system", by oto on the system's
	// default device.
	Playback string
	// Pedal: a key press in the terminal counts as the talk key.
	Pedal bool

	CallWord string
	Address  string // "call", "open" or "key"
	FollowUp time.Duration
	Settle   time.Duration
	Linger   time.Duration
	Expect   time.Duration
	// HalfDuplex is "auto", "yes" or "no"; auto: with a microphone and a loudspeaker.
	HalfDuplex string
	Echo       string  // "subtract" or "leave": its own voice in what it hears
	HighPass   float64 // hertz, 0 off
	Threshold  float64 // of the voice detector, 0 to 1

	Voice  string // "hibari", "flite" or "none"
	Speed  float64
	Volume float64
	Pitch  float64 // semitones

	ToneHeard, ToneMissed, ToneAlert bool

	Model   string // "tiny.en", "base", "tiny.en+base" or the path of a ggml file
	Threads int    // 0: as many as the recogniser likes

	TorqueUnits []string // what an answer is given in, in this order
	Board       string   // address of the page, "" none
}

// Default is the configuration of an empty file.
func Default() Config {
	return Config{
		Playback: "device", Pedal: true,
		CallWord: "toolbox", Address: "call", FollowUp: 8 * time.Second,
		Settle: 250 * time.Millisecond, Linger: 400 * time.Millisecond, Expect: 1500 * time.Millisecond,
		HalfDuplex: "auto", Echo: "subtract", Threshold: 0.5,
		Voice: "hibari", Speed: 1, Volume: 1,
		ToneHeard: true, ToneMissed: true, ToneAlert: true,
		Model: "tiny.en", TorqueUnits: []string{"N·m", "lbf·ft"},
	}
}

// Path is where the file lies: putback/config.yaml below $XDG_CONFIG_HOME,
// below ~/.config without that; "" where there is no home.
func Path() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "putback", "config.yaml")
}

// ErrTooLarge is returned for a file of more than a megabyte.
var ErrTooLarge = errors.New("larger than 1 MB")

// most is the largest settings file in bytes.
const most = 1 << 20

// Load reads the file at path. A file that is not there gives [Default]. An
// error lists every mistake as FILE:LINE:COLUMN: what is wrong and what can be
// written; nothing of a file with mistakes is used.
func Load(path string) (Config, error) {
	if path == "" {
		return Default(), nil
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Default(), nil
	}
	if err != nil {
		return Config{}, fmt.Errorf("read the settings: %w", err)
	}
	defer f.Close()
	// A device or a pipe tells no size, so what comes is counted.
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return Config{}, fmt.Errorf("read the settings %s: %w", path, err)
	}
	if len(b) > most {
		return Config{}, fmt.Errorf("read the settings %s: %w", path, ErrTooLarge)
	}
	return Parse(path, b)
}

// Example is the file with all keys at their defaults.
const Example = `# Settings of putback. Every key may be left out.

# Sound. A name or a part of it; empty takes the system's default.
# "putback selftest" lists the names.
microphone: ""
loudspeaker: ""
playback: device        # device: by name, quick to start; system: the default device by another library
pedal: true             # a key press in the terminal, or a pedal that types a key, opens the talk window

# When it is addressed.
call word: toolbox
address: call           # call: after the call word; open: always; key: after the pedal
follow up: 8s           # after an answer the call word may be left out for so long

# When somebody has finished.
settle: 250ms           # pause after a sentence that nothing can follow
linger: 400ms           # pause after a sentence that could go on
expect: 1500ms          # pause after a sentence that must go on
half duplex: auto       # yes: while it speaks only the call word and "stop" act; auto: with microphone and loudspeaker
echo: subtract          # subtract: takes its own voice out of what it hears; leave: the sound server does
high pass: 0            # hertz; 80 takes out the rumble of a compressor, 0 is off
voice threshold: 0.5    # 0 to 1; higher where noise starts it, lower where soft speech is missed

# How it speaks.
voice: hibari           # hibari, flite or none
speed: 1.0              # 0.5 to 2
volume: 1.0             # 0.1 to 4; it also rises with the noise of the room
pitch: 0                # semitones, -12 to 12
tones: {heard: true, missed: true, attention: true}

# What recognises.
model: tiny.en          # tiny.en, base, tiny.en+base (base hears what tiny.en is unsure of), or the path of a ggml file of your own
threads: 0              # 0: as many as there are cores, at most 4

# What answers are given in, and the page for the bench.
torque units: [N·m, lbf·ft]
board: ""               # such as 127.0.0.1:8321
`
