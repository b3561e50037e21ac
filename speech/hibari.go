package speech

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"

	ort "github.com/yalue/onnxruntime_go"

	"putback/audio/onnxrt"
)

// VoiceFiles are the names of the voice's files in [VoiceOptions].Dir, as they
// are in the package hibari-tts 0.2.1 (Apache-2.0), folder hibari/assets.
var VoiceFiles = []string{
	"hibari.onnx",
	"vocab.json",
	"lexicon_us_gold.json.gz",
	"lexicon_us_silver.json.gz",
	"tagger.json.gz",
	"tokenizer_exceptions.json",
	"oov.onnx",
	"oov.json",
}

// hibari is the neural voice: words to phonemes, phonemes to spectra by an ONNX
// net, spectra to sound. Port of the package hibari-tts 0.2.1.
type hibari struct {
	character Character
	throat    throat
	phonemes  *phonemes
	unknown   *unknownWords
	ids       map[rune]int64
	session   *ort.DynamicAdvancedSession
}

// characters give each speaker a throat of their own, near enough to the trained
// voice that the recogniser follows (at 0.62 and 0.88 it misheard 41 % of the
// words over an engine, at 0.72 and 0.93 16 %). The companion is the
// voice as it was trained.
var characters = map[Character]throat{
	Companion: {pitch: 1, length: 1},
	Mechanic:  {pitch: 0.72, length: 0.93},
	Stranger:  {pitch: 0.86, length: 0.97},
}

// semitones is the frequency factor of a shift in semitones.
func semitones(n float64) float64 { return math.Pow(2, n/12) }

func openHibari(o VoiceOptions) (*hibari, error) {
	if o.Dir == "" {
		return nil, errors.New("no folder with the voice's files is set; run `putback models fetch`")
	}
	for _, f := range VoiceFiles {
		if _, err := os.Stat(filepath.Join(o.Dir, f)); err != nil {
			return nil, fmt.Errorf("find the voice's files: %w; run `putback models fetch`", err)
		}
	}
	if err := onnxrt.Init(o.Library); err != nil {
		return nil, err
	}
	h := &hibari{character: o.Character, throat: characters[o.Character], ids: map[rune]int64{}}
	path := filepath.Join(o.Dir, "vocab.json")
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the voice's phonemes: %w", err)
	}
	var vocab map[string]int64
	if err := json.Unmarshal(data, &vocab); err != nil {
		return nil, fmt.Errorf("read the voice's phonemes: %s: %w; run `putback models verify`", path, err)
	}
	for s, id := range vocab {
		h.ids[firstRune(s)] = id
	}
	if h.unknown, err = openUnknownWords(o.Dir); err != nil {
		return nil, err
	}
	if h.phonemes, err = openPhonemes(o.Dir, h.unknown.read); err != nil {
		_ = h.unknown.close()
		return nil, err
	}
	h.session, err = openSession(filepath.Join(o.Dir, "hibari.onnx"), []string{"ids", "speed"}, []string{"lh", "theta", "ln", "lr", "phi", "f0"})
	if err != nil {
		_ = h.unknown.close()
		return nil, err
	}
	return h, nil
}

func (h *hibari) name() string { return "hibari (" + string(h.character) + ")" }
func (h *hibari) rate() int    { return hibariRate }

func (h *hibari) close() error {
	return errors.Join(h.session.Destroy(), h.unknown.close())
}

func (h *hibari) say(ctx context.Context, words string, speed, pitch float64) ([]float32, error) {
	ps, err := h.phonemes.of(words)
	if err != nil {
		return nil, err
	}
	t := h.throat
	t.pitch *= semitones(pitch)
	return h.sing(ctx, ps, speed, t)
}

// sing renders a phoneme string.
func (h *hibari) sing(ctx context.Context, ps string, speed float64, t throat) ([]float32, error) {
	ids := []int64{0}
	for _, r := range ps {
		if id, ok := h.ids[r]; ok {
			ids = append(ids, id)
		}
	}
	ids = append(ids, 0)
	if len(ids) < 3 {
		return nil, nil
	}
	in, err := ort.NewTensor(ort.NewShape(1, int64(len(ids))), ids)
	if err != nil {
		return nil, fmt.Errorf("hand the phonemes to the voice: %w", err)
	}
	defer func() { _ = in.Destroy() }()
	pace, err := ort.NewTensor(ort.NewShape(1), []float32{float32(speed)})
	if err != nil {
		return nil, fmt.Errorf("hand the pace to the voice: %w", err)
	}
	defer func() { _ = pace.Destroy() }()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	outs := make([]ort.Value, 6)
	if err := h.session.Run([]ort.Value{in, pace}, outs); err != nil {
		return nil, fmt.Errorf("run the voice: %w", err)
	}
	defer func() {
		for _, o := range outs {
			_ = o.Destroy()
		}
	}()
	var data [6][]float32
	for i, o := range outs {
		x, ok := o.(*ort.Tensor[float32])
		if !ok {
			return nil, fmt.Errorf("run the voice: output %d is of type %T", i, o)
		}
		data[i] = x.GetData()
	}
	s := spectra{data[0], data[1], data[2], data[3], data[4], data[5]}
	for i, d := range data[:5] {
		if len(d) != frameBins*len(s.pitch) {
			return nil, fmt.Errorf("run the voice: output %d has %d values, not %d by %d", i, len(d), frameBins, len(s.pitch))
		}
	}
	return sound(ctx, s, t)
}
