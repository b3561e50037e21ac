package speech

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"putback/models"
)

func openForTest(t *testing.T) *Recognizer {
	path, err := models.Path("tiny.en")
	if err != nil {
		t.Skip("needs the tiny.en model in the cache (scripts/setup fetches it): " + err.Error())
	}
	r, err := Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, r.Close()) })
	return r
}

func TestSilenceAndNoSoundAtAllAreIgnored(t *testing.T) {
	r := openForTest(t)
	lang := newWordList([]string{"abc"})
	for _, samples := range [][]float32{nil, {}, make([]float32, 100), make([]float32, 60*whisperRate)} {
		res, err := r.Hear(context.Background(), samples, lang)
		require.NoError(t, err)
		require.Equal(t, Ignore, res.Verdict)
		require.Empty(t, res.Hypotheses)
	}
}

func TestAModelThatIsNotThereIsNamed(t *testing.T) {
	_, err := Open("no-such-model.bin")
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, "no-such-model.bin")
}

func TestAClosedRecognizerSaysSo(t *testing.T) {
	r := openForTest(t)
	require.NoError(t, r.Close())
	_, err := r.Hear(context.Background(), make([]float32, whisperRate), newWordList([]string{"abc"}))
	require.ErrorContains(t, err, "closed")
}
