package main

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"putback/audio"
	"putback/cmd/putback/internal/config"
	"putback/cmd/putback/internal/selftest"
	"putback/jobs"
	"putback/speech"
)

func selftestCommand() *cobra.Command {
	var settings bool
	var f listenFlags
	c := &cobra.Command{
		Use:   "selftest",
		Short: "microphone, loudspeaker, model, voice, measured reaction time",
		Long: `Looks at each part that listening needs, listens to the room for a few seconds,
plays a tone, measures the reaction time on this computer and says what to
change. Keep quiet for the first five seconds.`,
		Example: "  putback selftest\n  putback selftest --settings > config.yaml",
		Args:    exactly(0),
		RunE: func(c *cobra.Command, _ []string) error {
			if settings {
				_, err := fmt.Fprint(c.OutOrStdout(), config.Example)
				return err
			}
			return f.selftest(c)
		},
	}
	c.Flags().BoolVar(&settings, "settings", false, "print a whole settings file with its defaults")
	c.Flags().StringVar(&f.settings, "config", "", "the settings file (default: "+config.Path()+")")
	c.Flags().StringVar(&f.model, "model", "", "tiny.en, base, tiny.en+base (base hears what tiny.en is unsure of), or a ggml file of your own")
	return c
}

// selftest tests the parts that listening would use.
func (f *listenFlags) selftest(c *cobra.Command) error {
	set, err := f.load()
	if err != nil {
		return err
	}
	tell := lineTeller(c.ErrOrStderr())
	vad, line := openVAD()
	if line != "" {
		tell(line)
	}
	person, _, err := openVoice(config.Default(), speech.Mechanic)
	if err == nil {
		defer person.Close()
	}
	personErr := err
	var closers []func() error
	defer func() {
		for _, close := range closers {
			_ = close()
		}
	}()
	report := selftest.Run(c.Context(), selftest.Options{
		Settings: set, VAD: vad, Print: selftest.Printer(c.OutOrStdout()),
		Microphones: audio.Microphones, Loudspeakers: audio.Loudspeakers,
		OpenMicrophone: func() (audio.Source, error) {
			return audio.OpenMicrophone(audio.MicrophoneConfig{Device: set.Microphone, Tell: tell})
		},
		OpenLoudspeaker: func() (selftest.Player, error) {
			out, err := openLoudspeaker(set, audio.Rate, tell)
			if err != nil {
				return nil, err
			}
			return testPlayer{out}, nil
		},
		OpenVoice: func() (selftest.Voice, string, error) {
			voice, line, err := openVoice(set, speech.Companion)
			if err != nil {
				return nil, "", err
			}
			closers = append(closers, voice.Close)
			if line == "" {
				line = voice.Name()
			}
			return voice, line, nil
		},
		OpenEar: func() (func(context.Context, audio.Samples) (string, error), error) {
			return openTestEar(set, &closers)
		},
		Say: func(ctx context.Context, text string) (audio.Samples, error) {
			if personErr != nil {
				return nil, fmt.Errorf("a voice for the test commands: %w", personErr)
			}
			clip, err := person.Say(ctx, text, speech.SayOptions{})
			return audio.Resample(clip.Samples, clip.Rate, audio.Rate), err
		},
	})
	if n := report.Failed(); n > 0 {
		return fmt.Errorf("%d parts are not ready; each line above says what to do", n)
	}
	return nil
}

// testPlayer plays sound at the rate of package audio.
type testPlayer struct{ *loudspeaker }

// Play queues s.
func (p testPlayer) Play(ctx context.Context, s audio.Samples) error {
	return p.loudspeaker.Play(ctx, speech.Clip{Samples: s, Rate: audio.Rate})
}

// openTestEar loads the model and a grammar without a job.
func openTestEar(set config.Config, closers *[]func() error) (func(context.Context, audio.Samples) (string, error), error) {
	var options []speech.Option
	if set.Threads > 0 {
		options = append(options, speech.Threads(set.Threads))
	}
	recognizer, err := openRecognizer(set.Model, options...)
	if err != nil {
		return nil, err
	}
	*closers = append(*closers, recognizer.Close)
	bench, err := jobs.OpenMemory(jobs.Options{Now: time.Now(), CallWord: set.CallWord})
	if err != nil {
		return nil, err
	}
	*closers = append(*closers, bench.Close)
	grammar, err := newConversation(bench, set.CallWord).grammar()
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context, sound audio.Samples) (string, error) {
		result, err := recognizer.Hear(ctx, sound, grammar)
		if err != nil {
			return "", err
		}
		best, _ := result.Best()
		return best.Text, nil
	}, nil
}
