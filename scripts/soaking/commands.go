package main

import (
	"context"
	"errors"
	"fmt"
	"reflect"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
	"putback/models"
	"putback/speech"
)

// commands are sentences for the program at the demo job. None starts a timer
// or leaves a question open, so that each stands for itself.
var commands = []string{
	"what's next", "where was I", "what's left", "how many are out",
	"took four thirteens off the front cover", "took two tens off the front cover",
	"what size is the tensioner bolt", "strike that",
	"note the lower hose is cracked at the clamp", "flag not sure the housing sits flush",
	"torque for the front cover long", "torque for the front cover short",
	"sixty six inch pounds in newton metres", "forty newton metres in foot pounds",
	"is seventy foot pounds too much for an M six", "what's left on the front cover",
	"say again", "the raw water pump is on the top shelf",
}

// spoken is every command said by every voice, without and with the call word.
type spoken struct {
	clips   []command
	answers map[string]audio.Samples // by voice and word, see answersTo
	grammar *intent.Automaton
}

// command is one recording of a command.
type command struct {
	text, voice string
	called      bool
	sound       audio.Samples
}

func (s *spoken) voices() map[string]bool {
	names := make(map[string]bool)
	for _, c := range s.clips {
		names[c.voice] = true
	}
	return names
}

// meaning is what a text means at the demo job, nil for nothing.
func (s *spoken) meaning(text string) intent.Intent {
	readings := s.grammar.Parse(text)
	if len(readings) == 0 {
		return nil
	}
	in, err := intent.FromReading(readings[0])
	if err != nil {
		return nil
	}
	return in
}

// same says whether what was heard means what was said.
func (s *spoken) same(said, heard string) bool {
	want, got := s.meaning(said), s.meaning(heard)
	if w, ok := want.(intent.Note); ok {
		// A free note is written as it was heard; that it is a note is what counts.
		_, is := got.(intent.Note)
		return is && w.Text != ""
	}
	if _, ok := want.(intent.Flag); ok {
		_, is := got.(intent.Flag)
		return is
	}
	return want != nil && reflect.DeepEqual(want, got)
}

func speakCommands(ctx context.Context) (*spoken, error) {
	bench, err := jobs.OpenMemory(jobs.Options{Sheet: jobs.DemoSheet(), SheetFile: "boat-engine.yaml", Now: demoStart})
	if err != nil {
		return nil, err
	}
	names := bench.Vocabulary()
	if err := bench.Close(); err != nil {
		return nil, err
	}
	names.CallWord = "toolbox"
	s := &spoken{answers: make(map[string]audio.Samples)}
	if s.grammar, err = intent.Shop(names); err != nil {
		return nil, err
	}
	for _, c := range commands {
		if s.meaning(c) == nil {
			return nil, fmt.Errorf("the command %q is no sentence of the grammar at the demo job", c)
		}
	}
	folder, err := models.Path("hibari")
	library, err2 := models.Path("onnxruntime")
	if err := errors.Join(err, err2); err != nil {
		return nil, err
	}
	for _, who := range []struct {
		character speech.Character
		pitch     float64
		speed     float64
	}{{speech.Mechanic, 0, 1}, {speech.Mechanic, 2, 1.1}, {speech.Stranger, 0, 1}} {
		voice, err := speech.OpenVoice(speech.VoiceOptions{Dir: folder, Library: library, Character: who.character, Pitch: who.pitch, Speed: who.speed, NoFallback: true})
		if err != nil {
			return nil, err
		}
		name := fmt.Sprintf("%s %+g", who.character, who.pitch)
		err = s.speak(name, func(text string) (audio.Samples, error) {
			c, err := voice.Say(ctx, text, speech.SayOptions{})
			if err != nil {
				return nil, err
			}
			return audio.Resample(c.Samples, c.Rate, audio.Rate), nil
		})
		voice.Close()
		if err != nil {
			return nil, err
		}
	}
	for _, name := range []string{"slt", "rms"} {
		if err := s.speak("flite "+name, func(text string) (audio.Samples, error) { return flite(name, text) }); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// speak has one voice say every command, without and with the call word, and every answer.
func (s *spoken) speak(name string, say func(string) (audio.Samples, error)) error {
	for _, text := range commands {
		for _, called := range []bool{false, true} {
			words := text + "."
			if called {
				words = "toolbox, " + words
			}
			sound, err := say(words)
			if err != nil {
				return fmt.Errorf("having %s say %q: %w", name, words, err)
			}
			s.clips = append(s.clips, command{text, name, called, trim(sound)})
		}
	}
	for _, word := range answersTo() {
		sound, err := say(word + ".")
		if err != nil {
			return fmt.Errorf("having %s say %q: %w", name, word, err)
		}
		s.answers[name+" "+word] = trim(sound)
	}
	return nil
}
