// Command voice measures the voices of this machine, see scripts/bench-voice.
//
// A text is spoken, taken down to 16 kHz and transcribed by whisper.cpp as it
// is, without any grammar; both texts are spelled out and their words compared.
// That is a machine's judgement: nobody listened.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	whisper "github.com/ggerganov/whisper.cpp/bindings/go"

	"putback/audio"
	"putback/intent"
	"putback/models"
	"putback/speech"
)

// replies are what the program says at work, in print.
var replies = []string{
	"Four tens off the front cover. Eight still to come.",
	"Torque for the tensioner bolt: 40 N·m + 90°. Renew the bolt.",
	"25 ± 3 N·m for the four long bolts.",
	"70 lbf·ft would break an M6, class 8.8. Did you mean inch pounds?",
	"Next: press in the shaft seal, after the pump body.",
	"Keep two bolts in until the cover is held.",
	"Impeller clearance 0.30 mm, limit 0.35 mm.",
	"Set the wrench to 44 N·m. That is a guide figure; your manual decides.",
	"The grey silicone closes in 8 min.",
	"At 10:35 you had 12 short ones out and 4 long ones loosened.",
	"M8x1.25 takes a 13 mm spanner, 12 mm in Japanese practice.",
	"Fill 3.2 L of oil, then check at 15 psi.",
}

// numbers are spoken inside one sentence, each pair that noise confuses.
var numbers = []string{"3", "5", "7", "8", "9", "10", "12", "13", "14", "15", "16", "17", "18", "19", "20", "25", "30", "31", "40", "45",
	"50", "60", "66", "70", "80", "90", "105", "113", "130", "210", "0.15", "1.25"}

// ear transcribes, held to nothing.
type ear struct{ model *whisper.Context }

func openEar(path string) (*ear, error) {
	model := whisper.Whisper_init(path)
	if model == nil {
		return nil, fmt.Errorf("load %s: whisper.cpp refuses it; run `putback models verify`", path)
	}
	return &ear{model}, nil
}

func (e *ear) close() { e.model.Whisper_free() }

func (e *ear) hear(sound audio.Samples) (string, error) {
	p := e.model.Whisper_full_default_params(whisper.SAMPLING_BEAM_SEARCH)
	p.SetThreads(2)
	p.SetNoContext(true)
	p.SetPrintProgress(false)
	p.SetAudioCtx(min(1500, max(384, 50*len(sound)/audio.Rate+128)))
	// A second of silence at the end: without it the last word is often lost.
	padded := append(append(audio.Samples{}, sound...), make(audio.Samples, audio.Rate)...)
	if err := e.model.Whisper_full(p, padded, nil, nil, nil); err != nil {
		return "", fmt.Errorf("transcribe: %w", err)
	}
	var b strings.Builder
	for i := range e.model.Whisper_full_n_segments() {
		b.WriteString(e.model.Whisper_full_get_segment_text(i))
	}
	return strings.TrimSpace(b.String()), nil
}

type options struct {
	noise string
	snr   float64
	out   string
}

func main() {
	var o options
	flag.StringVar(&o.noise, "noise", "", "a WAV of noise to lay under the voice")
	flag.Float64Var(&o.snr, "snr", 6, "signal to noise in dB, by the mixing rule of package audio")
	flag.StringVar(&o.out, "out", "", "a folder to keep what was spoken")
	flag.Parse()
	if err := run(context.Background(), o); err != nil {
		fmt.Fprintln(os.Stderr, "bench-voice:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, o options) error {
	var listener *ear
	if path, err := models.Path("tiny.en"); err != nil {
		fmt.Fprintln(os.Stderr, "bench-voice: no recogniser, words are not counted:", err)
	} else if listener, err = openEar(path); err != nil {
		return err
	} else {
		defer listener.close()
	}
	var mixer *audio.Mixer
	if o.noise != "" {
		noise, err := audio.ReadWAV(o.noise)
		if err != nil {
			return err
		}
		mixer = audio.NewMixer(noise, 1)
		fmt.Printf("noise: %s at %g dB\n\n", filepath.Base(o.noise), o.snr)
	}
	fmt.Println("| voice | opened in | first sound, median | longest | CPU per second of sound | words misheard | in noise | numbers right | in noise |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, v := range voices() {
		if err := bench(ctx, v, listener, mixer, o); err != nil {
			return err
		}
	}
	return nil
}

// voices are the three characters, and the companion's stand-in.
func voices() []speech.VoiceOptions {
	var out []speech.VoiceOptions
	dir, err := models.Path("hibari")
	library, lerr := models.Path("onnxruntime")
	if err = errors.Join(err, lerr); err != nil {
		fmt.Fprintln(os.Stderr, "bench-voice: without the neural voice:", err)
	}
	for _, c := range []speech.Character{speech.Companion, speech.Mechanic, speech.Stranger} {
		if err == nil {
			out = append(out, speech.VoiceOptions{Dir: dir, Library: library, Character: c, NoFallback: true, CacheBytes: -1})
		}
	}
	for _, c := range []speech.Character{speech.Companion, speech.Mechanic} {
		out = append(out, speech.VoiceOptions{Character: c, CacheBytes: -1})
	}
	return out
}

func bench(ctx context.Context, vo speech.VoiceOptions, listener *ear, mixer *audio.Mixer, o options) error {
	begun := time.Now()
	v, err := speech.OpenVoice(vo)
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench-voice:", err)
		return nil
	}
	defer v.Close()
	opened := time.Since(begun)
	if _, err := v.Say(ctx, "Ready.", speech.SayOptions{}); err != nil { // the first run of a net allocates
		return err
	}
	var firsts []time.Duration
	var spoken, used time.Duration
	var words, numbersHeard [2]count
	speak := func(text string, tally *[2]count, number string) error {
		began, cpu := time.Now(), processor()
		first := time.Duration(0)
		whole := speech.Clip{Rate: v.Rate()}
		err := v.Stream(ctx, text, speech.SayOptions{}, func(c speech.Clip) error {
			if first == 0 {
				first = time.Since(began)
			}
			whole.Samples = append(whole.Samples, c.Samples...)
			return nil
		})
		if err != nil {
			return err
		}
		firsts = append(firsts, first)
		used += processor() - cpu
		spoken += whole.Duration()
		if listener == nil {
			return nil
		}
		clean := audio.Resample(whole.Samples, whole.Rate, audio.Rate)
		clips := []audio.Samples{clean}
		if mixer != nil {
			noisy, err := mixer.Mix(clean, o.snr)
			if err != nil {
				return err
			}
			clips = append(clips, noisy)
		}
		for i, clip := range clips {
			if o.out != "" {
				name := fmt.Sprintf("%s-%d-%d.wav", strings.Map(plain, v.Name()), len(firsts), i)
				if err := audio.WriteWAV(filepath.Join(o.out, name), clip); err != nil {
					return err
				}
			}
			heard, err := listener.hear(clip)
			if err != nil {
				return err
			}
			want, got := spelled(text), spelled(heard)
			wrong := intent.Apart(got, want)
			if number != "" {
				if n := spelled(number); !contains(got, n) {
					wrong = 1
				} else {
					wrong = 0
				}
				tally[i].of++
			} else {
				tally[i].of += len(want)
			}
			tally[i].wrong += wrong
			if wrong > 0 {
				fmt.Fprintf(os.Stderr, "%s, %s: %q heard as %q\n", v.Name(), [2]string{"clean", "noise"}[i], text, heard)
			}
		}
		return nil
	}
	for _, text := range replies {
		if err := speak(text, &words, ""); err != nil {
			return err
		}
	}
	for _, n := range numbers {
		if err := speak("It is "+n+" now.", &numbersHeard, n); err != nil {
			return err
		}
	}
	slices.Sort(firsts)
	fmt.Printf("| %s | %d ms | %d ms | %d ms | %.3f | %s | %s | %s | %s |\n", v.Name(), opened.Milliseconds(), firsts[len(firsts)/2].Milliseconds(),
		firsts[len(firsts)-1].Milliseconds(), used.Seconds()/spoken.Seconds(), words[0].share(), words[1].share(), numbersHeard[0].right(), numbersHeard[1].right())
	return nil
}

type count struct{ wrong, of int }

func (c count) share() string {
	if c.of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f %%", 100*float64(c.wrong)/float64(c.of))
}

func (c count) right() string {
	if c.of == 0 {
		return "-"
	}
	return fmt.Sprintf("%d of %d", c.of-c.wrong, c.of)
}

// processor is the processor time of this process and of the programs it ran.
func processor() time.Duration {
	var sum time.Duration
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var r syscall.Rusage
		if err := syscall.Getrusage(who, &r); err == nil {
			sum += time.Duration(r.Utime.Nano() + r.Stime.Nano())
		}
	}
	return sum
}

func plain(r rune) rune {
	if (r >= 'a' && r <= 'z') || (r >= '0' && r <= '9') {
		return r
	}
	return '-'
}

// american are spellings in which the recogniser writes what was said.
var american = map[string]string{"meter": "metre", "meters": "metres", "millimeter": "millimetre", "millimeters": "millimetres", "liter": "litre",
	"liters": "litres", "gray": "grey", "okay": "ok", "psi": "p s i"}

// spelled is a text as bare words.
func spelled(text string) []string {
	said := strings.ToLower(speech.Spell(strings.ReplaceAll(text, " and ", " "), speech.SpellOptions{}))
	var out []string
	for _, w := range strings.FieldsFunc(said, func(r rune) bool { return strings.ContainsRune(" ,.;:!?-'—", r) }) {
		if a, ok := american[w]; ok {
			w = a
		}
		if w != "and" {
			out = append(out, w)
		}
	}
	return out
}

func contains(words, part []string) bool {
	for i := 0; i+len(part) <= len(words); i++ {
		if slices.Equal(words[i:i+len(part)], part) {
			return true
		}
	}
	return false
}
