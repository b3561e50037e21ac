package selftest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/speech"
)

// models loads voice and ear and measures the reaction time.
func (t *test) models(ctx context.Context) {
	voice, name, err := t.OpenVoice()
	if err != nil {
		t.add(Line{"voice", err.Error(), true, []string{"run `putback models fetch`, or set voice: none in the settings"}})
	} else {
		t.add(Line{Part: "voice", Found: name})
	}
	hear, herr := t.OpenEar()
	if herr != nil {
		t.add(Line{"model", herr.Error(), true, []string{"run `putback models fetch`"}})
	} else {
		t.add(Line{Part: "model", Found: t.Settings.Model})
	}
	if err == nil && herr == nil {
		t.reaction(ctx, hear, voice)
	}
}

// commands are spoken for the measurement.
var commands = []string{", how many are out?", ", what's next?", ", where was I?", ", what's left?"}

var errFirstSound = errors.New("first sound")

// reaction lets a voice say commands and times the recognition and the first
// sound of an answer.
func (t *test) reaction(ctx context.Context, hear func(context.Context, audio.Samples) (string, error), voice Voice) {
	fail := func(err error) { t.add(Line{Part: "reaction", Found: err.Error(), Bad: true}) }
	var times []time.Duration
	right := 0
	var heard, first time.Duration
	for i, c := range append([]string{commands[0]}, commands...) {
		sound, err := t.Say(ctx, t.Settings.CallWord+c)
		if err != nil {
			fail(err)
			return
		}
		begun := time.Now()
		text, err := hear(ctx, sound)
		if err != nil {
			fail(err)
			return
		}
		took := time.Since(begun)
		begun = time.Now()
		err = voice.Stream(ctx, fmt.Sprintf("That makes %d out in one group.", i+3), speech.SayOptions{}, func(speech.Clip) error { return errFirstSound })
		if err != nil && !errors.Is(err, errFirstSound) {
			fail(err)
			return
		}
		sounded := time.Since(begun)
		if i == 0 {
			continue // what is slow the first time is done when it starts to listen
		}
		if alike(text, t.Settings.CallWord+c) {
			right++
		}
		heard += took
		first += sounded
		times = append(times, took+sounded)
	}
	n := time.Duration(len(times))
	t.add(judgeReaction(times, heard/n, first/n, t.Settings.Settle, right, t.Settings.Model, t.Settings.Threads))
}

// pauseFound is how long a pause must last before recognition begins, and
// device how long sound takes through microphone and loudspeaker; measured over
// a sound server, see scripts/bench-live.
const (
	pauseFound = 130 * time.Millisecond
	device     = 80 * time.Millisecond
)

// judgeReaction says how long an answer takes on this computer.
func judgeReaction(times []time.Duration, heard, first, settle time.Duration, right int, model string, threads int) Line {
	slices.Sort(times)
	whole := func(d time.Duration) time.Duration { return max(settle, pauseFound+d) + device }
	middle, worst := whole(times[len(times)/2]), whole(times[len(times)-1])
	l := Line{Part: "reaction", Found: fmt.Sprintf("an answer begins about %.2f s after the last word, %.2f s at worst of %d (hearing %.2f s, first sound %.2f s); %d of %d heard right",
		middle.Seconds(), worst.Seconds(), len(times), heard.Seconds(), first.Seconds(), right, len(times))}
	if middle > time.Second {
		l.Change = append(l.Change, "close other programs; this computer is slow or busy")
		if model != "tiny.en" {
			l.Change = append(l.Change, "set model: tiny.en in the settings, the quickest")
		}
		if threads == 1 {
			l.Change = append(l.Change, "set threads: 0 in the settings, which uses every core")
		}
	}
	if right < len(times)-1 {
		l.Change = append(l.Change, "run `putback models verify`: clean speech should be heard right")
	}
	return l
}

// alike compares words without case and marks, "tool box" and "toolbox" being one.
func alike(a, b string) bool {
	bare := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
				return r
			}
			return -1
		}, strings.ToLower(s))
	}
	return bare(a) == bare(b)
}
