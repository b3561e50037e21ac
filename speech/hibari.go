package speech

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
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

// semitones is the frequency factor of a shift in semitones.
func semitones(n float64) float64 { return math.Pow(2, n/12) }

func openHibari(o VoiceOptions) (synthesiser, error) {
	if o.Dir == "" {
		return nil, errors.New("no folder with the voice's files is set; run `putback models fetch`")
	}
	for _, f := range VoiceFiles {
		if _, err := os.Stat(filepath.Join(o.Dir, f)); err != nil {
			return nil, fmt.Errorf("find the voice's files: %w; run `putback models fetch`", err)
		}
	}
	return nil, errors.New("this build has no neural synthesis")
}
