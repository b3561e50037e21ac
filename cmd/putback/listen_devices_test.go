package main

import (
	"context"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
	"putback/cmd/putback/internal/config"
	"putback/speech"
)

// builtProgram builds the program as it is shipped and gives its path.
func builtProgram(t *testing.T) string {
	t.Helper()
	audiotest.Model(t, "ggml-tiny.en", ".bin")
	audiotest.Model(t, "silero", ".onnx")
	path := filepath.Join(t.TempDir(), "putback")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	require.NoError(t, err, string(out))
	return path
}

// mechanicSays speaks lines with the demo mechanic's voice, each followed by a
// little silence.
func mechanicSays(t *testing.T, lines ...string) []audio.Samples {
	t.Helper()
	voice, _, err := openVoice(config.Default(), speech.Mechanic)
	if err != nil {
		t.Skip("needs a voice that speaks the commands: run `putback models fetch` or install flite (" + err.Error() + ")")
	}
	defer voice.Close()
	var clips []audio.Samples
	for _, line := range lines {
		clip, err := voice.Say(context.Background(), line, speech.SayOptions{})
		require.NoError(t, err)
		sound := audio.Resample(clip.Samples, clip.Rate, audio.Rate)
		clips = append(clips, append(sound, audio.Silence(100*time.Millisecond)...))
	}
	return clips
}

func answered(turn audiotest.Turn) bool { return turn.Outcome == "answered" }

// say plays clip into the room and gives the turn that is as is says. A person
// who is asked to say it again does, twice at most: what a synthetic voice is
// understood like differs between processors, and is measured elsewhere.
func say(t *testing.T, room *audiotest.Room, p *audiotest.Program, clip audio.Samples, is func(audiotest.Turn) bool) audiotest.Turn {
	t.Helper()
	begun := len(p.Turns())
	for range 3 {
		turns := len(p.Turns())
		room.Say(clip)
		turn, ok := p.WaitTurn(turns, time.Minute, func(turn audiotest.Turn) bool { return is(turn) || turn.Outcome == "not understood" })
		if ok && is(turn) {
			return turn
		}
		if !ok {
			break
		}
		t.Logf("asked to say it again: %+v", turn)
	}
	require.Fail(t, "no such turn", "turns %+v, told %v", p.Turns()[begun:], p.Told())
	panic("not reached")
}

func TestListenAnswersAloudAndKeepsTheRecordOverRealDevices(t *testing.T) {
	room := audiotest.Start(t)
	program := builtProgram(t)
	says := mechanicSays(t, "toolbox, what's next?", "toolbox, done.")
	job := filepath.Join(t.TempDir(), "cover.putback")
	p := room.Run(program, "--config", room.Settings(), "--job", job, "--sheet", "../../jobs/demo/boat-engine.yaml")
	rec := room.Record()

	began := rec.Length()
	turn := say(t, room, p, says[0], answered)
	require.Equal(t, "next", turn.Intent, "%+v", turn)
	require.Contains(t, turn.Reply, "battery negative off")
	first := requireSound(t, rec, began)

	turn = say(t, room, p, says[1], answered)
	require.Equal(t, "done", turn.Intent, "%+v", turn)
	require.Contains(t, turn.Reply, "Power off done")
	require.NotEmpty(t, turn.Events, "the record was changed")
	requireSound(t, rec, rec.Length())
	p.Stop()
	rec.Stop()
	// What the loudspeaker gave was the reply and not some noise.
	requireWords(t, first, "battery")

	out, err := exec.Command(program, "history", job).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Regexp(t, `(?m)power off.*done|done.*power off`, string(out), "the journal holds the step that was done")
}

// requireSound waits for the sound of an answer behind sample n of the
// recording and for its end, and gives it.
func requireSound(t *testing.T, rec *audiotest.Recorder, n int) audio.Samples {
	t.Helper()
	require.Eventually(t, func() bool { return rec.FirstSound(n, 0.02) >= 0 }, 30*time.Second, 20*time.Millisecond, "the answer sounds")
	at := rec.FirstSound(n, 0.02)
	require.Eventually(t, func() bool {
		end := rec.Length() - audio.Rate
		return end > at && rec.FirstSound(end, 0.001) < 0
	}, time.Minute, 50*time.Millisecond, "the answer ends")
	sound := rec.Since(at)
	require.Greater(t, sound.Peak(), 0.05)
	return sound
}

// requireWords transcribes sound, held to nothing, and looks for words in it.
func requireWords(t *testing.T, sound audio.Samples, words string) {
	t.Helper()
	recognizer, err := openRecognizer("tiny.en")
	require.NoError(t, err)
	defer recognizer.Close()
	result, err := recognizer.Hear(context.Background(), sound[:min(len(sound), 28*audio.Rate)], anything{})
	require.NoError(t, err)
	require.Contains(t, strings.ToLower(result.FreeText), words)
}

// anything is a language of one letter: what counts is the unrestricted reading.
type anything struct{}

func (anything) Start() int32 { return 0 }
func (anything) Step(s int32, b byte) int32 {
	if s == 0 && b == 'a' {
		return 1
	}
	return -1
}
func (anything) Accepts(s int32) bool                     { return s == 1 }
func (anything) Extends(s int32) bool                     { return s == 0 }
func (anything) Meaning(t string) (string, float64, bool) { return t, 0, true }

func TestDevicesThatAreUnpluggedComeBackIntoTheConversation(t *testing.T) {
	room := audiotest.Start(t)
	program := builtProgram(t)
	says := mechanicSays(t, "toolbox, what's next?", "toolbox, where was I?")
	p := room.Run(program, "--config", room.Settings(), "--sheet", "../../jobs/demo/boat-engine.yaml")
	told := func(text string) (n int) {
		for _, line := range p.Told() {
			if strings.Contains(line, text) {
				n++
			}
		}
		return n
	}

	// While it listens, the microphone goes.
	room.Unplug(true)
	require.True(t, p.WaitTold(30*time.Second, "Lost "+audiotest.Microphone), "%v", p.Told())
	room.Plug(true)
	require.True(t, p.WaitTold(30*time.Second, audiotest.Microphone+" is back"), "%v", p.Told())
	say(t, room, p, says[0], answered)

	// While it speaks, the loudspeaker goes.
	room.Unplug(false)
	require.True(t, p.WaitTold(30*time.Second, "Lost "+audiotest.Loudspeaker), "%v", p.Told())
	room.Plug(false)
	require.True(t, p.WaitTold(30*time.Second, audiotest.Loudspeaker+" is back"), "%v", p.Told())
	rec := room.Record()
	begun := rec.Length()
	say(t, room, p, says[1], answered)
	requireSound(t, rec, begun)

	require.Equal(t, 1, told("Lost "+audiotest.Microphone), "one line each: %v", p.Told())
	require.Equal(t, 1, told("Lost "+audiotest.Loudspeaker), "%v", p.Told())
	require.Equal(t, 1, told(audiotest.Microphone+" is back"), "%v", p.Told())
	require.Equal(t, 1, told(audiotest.Loudspeaker+" is back"), "%v", p.Told())
}

func TestTheHabitsHoldOverRealDevices(t *testing.T) {
	room := audiotest.Start(t)
	program := builtProgram(t)
	says := mechanicSays(t, "what's next?", "toolbox, quiet.", "toolbox, listen.", "toolbox, slower.")
	p := room.Run(program, "--config", room.Settings(), "--address", "key", "--sheet", "../../jobs/demo/boat-engine.yaml")
	rec := room.Record()
	hear := func(clip audio.Samples, is func(audiotest.Turn) bool) audiotest.Turn {
		t.Helper()
		begun := rec.Length()
		turn := say(t, room, p, clip, is)
		if turn.Reply != "" {
			requireSound(t, rec, begun)
		}
		return turn
	}
	notFor := func(turn audiotest.Turn) bool { return turn.Outcome == "not addressed" }
	hear(says[0], notFor)
	require.NoError(t, p.Press())
	require.Equal(t, "next", hear(says[0], answered).Intent, "the key stands for the call word")
	require.Equal(t, "quiet", hear(says[1], answered).Intent)
	hear(says[0], func(turn audiotest.Turn) bool { return turn.Outcome == "quiet" })
	require.Equal(t, "listen", hear(says[2], answered).Intent)
	turn := hear(says[3], answered)
	require.Equal(t, "slower", turn.Intent)
	require.NotEmpty(t, turn.Reply)
}

func TestSelftestMeasuresOverRealDevices(t *testing.T) {
	room := audiotest.Start(t)
	program := builtProgram(t)
	room.Echo(60*time.Millisecond, 12)
	out, err := exec.Command(program, "selftest", "--config", room.Settings()).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), audiotest.Microphone)
	require.Contains(t, string(out), audiotest.Loudspeaker)
	require.Regexp(t, `own voice +comes back into the microphone \d+ dB weaker`, string(out))
	require.Regexp(t, `reaction +an answer begins about [\d.]+ s after the last word`, string(out))
	t.Log(string(out))
}
