package speech

import (
	"context"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func openTestVoice(t testing.TB, c Character) *Voice {
	t.Helper()
	o := voiceFiles(t)
	o.Character = c
	v, err := OpenVoice(o)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, v.Close()) })
	return v
}

func TestTheVoiceSpeaks(t *testing.T) {
	v := openTestVoice(t, Companion)
	clip, err := v.Say(context.Background(), "25 ± 3 N·m", SayOptions{})
	require.NoError(t, err)
	require.Equal(t, 24000, clip.Rate)
	require.Greater(t, clip.Duration(), time.Second)
	require.Less(t, clip.Duration(), 6*time.Second)
	require.Greater(t, loudness(clip.Samples), -35.0)
	for _, x := range clip.Samples {
		require.LessOrEqual(t, math.Abs(float64(x)), 1.0)
	}
	require.NoError(t, v.Why())
	require.Equal(t, "hibari (companion)", v.Name())
}

func TestOneTextAlwaysSoundsTheSame(t *testing.T) {
	v := openTestVoice(t, Companion)
	first, err := v.Say(context.Background(), "Six long ones.", SayOptions{})
	require.NoError(t, err)
	other := openTestVoice(t, Companion)
	again, err := other.Say(context.Background(), "Six long ones.", SayOptions{})
	require.NoError(t, err)
	require.Equal(t, first, again)
}

func TestTheFirstClauseComesBeforeTheRest(t *testing.T) {
	v := openTestVoice(t, Companion)
	const text = "Torque for the tensioner bolt is 40 N·m, plus a quarter turn with the gauge. Renew the bolt."
	var parts []Clip
	require.NoError(t, v.Stream(context.Background(), text, SayOptions{}, func(c Clip) error {
		parts = append(parts, c)
		return nil
	}))
	require.GreaterOrEqual(t, len(parts), 3)
	whole, err := v.Say(context.Background(), text, SayOptions{})
	require.NoError(t, err)
	sum := 0
	for _, p := range parts {
		sum += len(p.Samples)
	}
	require.Len(t, whole.Samples, sum)
	require.Less(t, len(parts[0].Samples), len(whole.Samples)*2/3)
}

func TestSpeechStopsBetweenClauses(t *testing.T) {
	v := openTestVoice(t, Companion)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	n := 0
	err := v.Stream(ctx, "One. Two. Three. Four.", SayOptions{}, func(Clip) error {
		if n++; n == 2 {
			cancel()
		}
		return nil
	})
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 2, n)

	full := errors.New("the loudspeaker went away")
	err = v.Stream(context.Background(), "One. Two.", SayOptions{}, func(Clip) error { return full })
	require.ErrorIs(t, err, full)
}

func TestSlowTakesLongerAndDigitsSayMore(t *testing.T) {
	v := openTestVoice(t, Companion)
	say := func(o SayOptions) time.Duration {
		c, err := v.Say(context.Background(), "Set it to 31 N·m, then check.", o)
		require.NoError(t, err)
		return c.Duration()
	}
	plain := say(SayOptions{})
	require.Greater(t, say(SayOptions{Slow: true}), plain*5/4)
	require.Greater(t, say(SayOptions{Digits: true}), plain+300*time.Millisecond)
}

func TestRepeatedPhrasesComeFromTheCache(t *testing.T) {
	v := openTestVoice(t, Companion)
	require.NoError(t, v.Warm(context.Background(), []string{"Say again?"}))
	require.NoError(t, v.Close()) // nothing can be rendered any more
	c, err := v.Say(context.Background(), "Say again?", SayOptions{Gain: 2})
	require.NoError(t, err)
	require.NotEmpty(t, c.Samples)
	_, err = v.Say(context.Background(), "Something else.", SayOptions{})
	require.ErrorIs(t, err, ErrVoiceClosed)

	// What a caller does with a clip stays with the caller.
	clear(c.Samples)
	again, err := v.Say(context.Background(), "Say again?", SayOptions{})
	require.NoError(t, err)
	require.Greater(t, loudness(again.Samples), -35.0)
}

// The companion's pitch was measured on the trained voice; the factors are this
// program's own.
func TestCharactersDifferInPitch(t *testing.T) {
	h := openTestHibari(t)
	words := "Take off six long ones at the bottom."
	median := func(c Character) float64 {
		s, err := h.sing(context.Background(), mustPhonemes(t, h, words), 1, characters[c])
		require.NoError(t, err)
		return medianPitch(s, hibariRate)
	}
	companion, mechanic := median(Companion), median(Mechanic)
	t.Logf("median pitch: companion %.0f Hz, mechanic %.0f Hz", companion, mechanic)
	require.InDelta(t, characters[Mechanic].pitch, mechanic/companion, 0.06)
}

func mustPhonemes(t testing.TB, h *hibari, words string) string {
	t.Helper()
	ps, err := h.phonemes.of(words)
	require.NoError(t, err)
	return ps
}

func TestUnknownWordsAreRead(t *testing.T) {
	h := openTestHibari(t)
	for _, w := range []string{"frobnicator", "Zylindrix", "wobblegasket"} {
		require.NotEmpty(t, mustPhonemes(t, h, w), w)
	}
}

func TestWithoutFilesTheVoiceFallsBackOrSaysWhy(t *testing.T) {
	dir := t.TempDir()
	_, err := OpenVoice(VoiceOptions{Dir: dir, NoFallback: true})
	require.ErrorContains(t, err, "hibari.onnx")
	require.ErrorContains(t, err, "putback models fetch")

	t.Setenv("PATH", dir)
	_, err = OpenVoice(VoiceOptions{Dir: dir})
	require.ErrorContains(t, err, "flite")
	require.ErrorContains(t, err, "putback models fetch")
}

func TestDamagedVoiceFilesAreNamed(t *testing.T) {
	o := voiceFiles(t)
	for _, broken := range VoiceFiles {
		dir := t.TempDir()
		for _, f := range VoiceFiles {
			if f == broken {
				require.NoError(t, os.WriteFile(filepath.Join(dir, f), []byte("not it"), 0o600))
				continue
			}
			require.NoError(t, os.Symlink(filepath.Join(o.Dir, f), filepath.Join(dir, f)))
		}
		_, err := OpenVoice(VoiceOptions{Dir: dir, Library: o.Library, NoFallback: true})
		require.ErrorContains(t, err, broken)
		require.ErrorContains(t, err, "putback models verify")
	}
}

func TestWrongOptionsAreRefused(t *testing.T) {
	for _, o := range []VoiceOptions{{Speed: 3}, {Speed: -1}, {Pitch: 13}, {Character: "parrot"}} {
		_, err := OpenVoice(o)
		require.ErrorContains(t, err, "open the voice")
	}
}

func TestFliteStandsIn(t *testing.T) {
	if _, err := exec.LookPath("flite"); err != nil {
		t.Skipf("the flite program is not installed: %v", err)
	}
	v, err := OpenVoice(VoiceOptions{Dir: t.TempDir()})
	require.NoError(t, err)
	require.Equal(t, "flite (slt)", v.Name())
	require.ErrorContains(t, v.Why(), "models fetch")
	c, err := v.Say(context.Background(), "-- 13 mm off.", SayOptions{})
	require.NoError(t, err)
	require.Equal(t, 16000, c.Rate)
	require.Greater(t, c.Duration(), 500*time.Millisecond)
	require.Greater(t, loudness(c.Samples), -40.0)
	require.NoError(t, v.Close())
}

func TestRecentTextsAreRememberedNewestFirst(t *testing.T) {
	var r recentTexts
	start := time.Unix(0, 0)
	for i := range 20 {
		r.add(ones[i], start.Add(time.Duration(i)*time.Second))
	}
	require.Equal(t, []string{"nineteen", "eighteen", "seventeen"}, r.since(start.Add(17*time.Second)))
	require.Len(t, r.since(start), keepRecent)
}

func TestClausesKeepEveryWord(t *testing.T) {
	word := rapid.StringMatching(`[a-z]{1,9}[,.;:!?]?`)
	rapid.Check(t, func(t *rapid.T) {
		words := strings.Join(rapid.SliceOf(word).Draw(t, "words"), " ")
		var out []string
		for _, c := range clauses(words, rapid.Bool().Draw(t, "slow")) {
			out = append(out, c.words)
		}
		if got := strings.Join(out, " "); got != words {
			t.Fatalf("%q became %q", words, got)
		}
	})
}

func TestTheFirstClauseIsShort(t *testing.T) {
	var got []string
	for _, c := range clauses("Torque for the tensioner bolt is forty newton metres, plus ninety degrees, with the gauge. Renew it.", false) {
		got = append(got, c.words)
	}
	require.Equal(t, []string{"Torque for the tensioner bolt is forty newton metres,", "plus ninety degrees, with the gauge.", "Renew it."}, got)
	require.Len(t, clauses("Four tens off, front cover.", false), 1)
}

func TestTheCacheStaysWithinItsBound(t *testing.T) {
	c := newPhraseCache(1000)
	for i := range 26 {
		c.put(phraseKey{string(rune('a' + i)), 1}, make([]float32, 50))
		_, ok := c.get(phraseKey{"a", 1})
		require.True(t, ok, "what is used stays")
		require.LessOrEqual(t, c.bytes, 1000)
	}
	_, ok := c.get(phraseKey{"b", 1})
	require.False(t, ok)
	c.put(phraseKey{"long", 1}, make([]float32, 500))
	_, ok = c.get(phraseKey{"long", 1})
	require.False(t, ok, "one long phrase does not push out the rest")
	none := newPhraseCache(-1)
	none.put(phraseKey{"a", 1}, make([]float32, 1))
	_, ok = none.get(phraseKey{"a", 1})
	require.False(t, ok)
}

func TestTheVoiceRisesWithTheRoom(t *testing.T) {
	require.InDelta(t, 1, GainForRoom(-70, 1), 1e-9)
	require.InDelta(t, 1, GainForRoom(-50, 0), 1e-9)
	require.InDelta(t, math.Pow(10, 5.0/20), GainForRoom(-40, 1), 1e-9) // 10 dB more noise, 5 dB more voice
	require.InDelta(t, math.Pow(10, 12.0/20), GainForRoom(0, 1), 1e-9)
	require.InDelta(t, 0.5, GainForRoom(math.NaN(), 0.5), 1e-9)
	require.InDelta(t, 0.5, GainForRoom(math.Inf(-1), 0.5), 1e-9)
}

func TestLoudSpeechIsBentNotCut(t *testing.T) {
	s := []float32{0, 0.1, -0.1, 0.5, -0.9, 1}
	amplify(s, 4)
	require.InDelta(t, 0.4, s[1], 1e-6)
	require.Equal(t, s[1], -s[2])
	for i, x := range s {
		require.LessOrEqual(t, math.Abs(float64(x)), 1.0, i)
	}
	require.Less(t, s[3], s[5]) // still in order
}

func loudness(s []float32) float64 {
	sum := 1e-12
	for _, x := range s {
		sum += float64(x) * float64(x)
	}
	return 10 * math.Log10(sum/float64(len(s)))
}

// medianPitch finds the pitch of each 40 ms by autocorrelation.
func medianPitch(s []float32, rate int) float64 {
	n := rate / 25
	var all []float64
	for at := 0; at+2*n < len(s); at += n {
		w := s[at : at+2*n]
		if loudness(w) < -30 {
			continue
		}
		best, lag := 0.0, 0
		zero := 0.0
		for _, x := range w[:n] {
			zero += float64(x) * float64(x)
		}
		for l := rate / 400; l < rate/60; l++ {
			sum, e := 0.0, 0.0
			for i := range n {
				sum += float64(w[i]) * float64(w[i+l])
				e += float64(w[i+l]) * float64(w[i+l])
			}
			if c := sum / math.Sqrt(zero*e+1e-12); c > best+0.02 {
				best, lag = c, l
			}
		}
		if best > 0.6 {
			all = append(all, float64(rate)/float64(lag))
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}
