package speech

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/audio"
	"putback/audio/audiotest"
	"putback/models"
)

func TestASecondOpinionIsBelievedWhereItIsSurer(t *testing.T) {
	paths, err := models.Paths("tiny.en+base")
	if err != nil {
		t.Skip("needs the models tiny.en and base in the cache (putback models fetch base): " + err.Error())
	}
	open := func(path string, options ...Option) *Recognizer {
		r, err := Open(path, options...)
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, r.Close()) })
		return r
	}
	first, second := open(paths[0]), open(paths[1])
	both := open(paths[0], SecondOpinion(paths[1]))
	sounds, _, lang := orders(t, 15)
	asked, believed := 0, 0
	noise, err := audio.ReadWAV(filepath.Join(audiotest.Data(t), "noise", "kitchen.wav"))
	require.NoError(t, err)
	mixer := audio.NewMixer(noise, 1)
	for _, sound := range sounds {
		sound, err := mixer.Mix(sound, 0)
		require.NoError(t, err)
		hear := func(r *Recognizer) Result {
			res, err := r.Hear(context.Background(), sound, lang)
			require.NoError(t, err)
			return timeless(res)
		}
		alone, got := hear(first), hear(both)
		if !uncertain(alone) {
			require.Equal(t, alone, got, "sure, so the second is not asked")
			continue
		}
		asked++
		if other := hear(second); other.Confidence > alone.Confidence {
			believed++
			require.Equal(t, other, got)
			continue
		}
		require.Equal(t, alone, got)
	}
	require.Positive(t, asked)
	require.Positive(t, believed)
}

func TestASecondModelThatIsNotThereIsNamed(t *testing.T) {
	path, err := models.Path("tiny.en")
	if err != nil {
		t.Skip("needs the tiny.en model in the cache (scripts/setup fetches it): " + err.Error())
	}
	_, err = Open(path, SecondOpinion("no-such-model.bin"))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, "second opinion")
	require.ErrorContains(t, err, "no-such-model.bin")
}
