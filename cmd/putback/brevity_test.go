package main

import (
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/require"

	"putback/jobs"
	"putback/speech"
)

// The bounds on a reply, in words as they are spoken: figures and units spelled
// out, so that "25 ± 3 N·m" counts seven. The voice says about 2.5 words a
// second: 40 words are under 16 seconds.
const (
	mostWords    = 30 // an ordinary reply
	openingWords = 42 // what is next, with torque, parts and tip in one breath
	summaryWords = 40 // "where was I", the list before first start, the hand-over
	middleWords  = 12 // half of all replies are no longer
)

// exchange is a line of the scripted job with what was answered.
type exchange struct {
	said    string
	answers []string
}

func scriptedJob(t *testing.T) []exchange {
	t.Helper()
	src, err := os.ReadFile("testdata/script/boat.txt")
	require.NoError(t, err)
	var list []exchange
	for _, f := range txtar.Parse(src).Files {
		for line := range strings.Lines(string(f.Data)) {
			line = strings.TrimRight(line, "\n")
			switch {
			case strings.HasPrefix(line, "> "), strings.HasPrefix(line, "@"):
				list = append(list, exchange{said: strings.TrimPrefix(line, "> ")})
			case strings.HasPrefix(line, "  ") && len(list) > 0:
				last := &list[len(list)-1]
				last.answers = append(last.answers, strings.TrimSpace(line))
			}
		}
	}
	return list
}

// withoutCautions takes the safety lines out: they are said once, whole, and
// never shortened.
func withoutCautions(text string) string {
	sheet := jobs.DemoSheet()
	for _, s := range append(sheet.Strip, sheet.Refit...) {
		if c := strings.TrimSuffix(s.Caution, "."); c != "" {
			text = strings.Replace(text, c+".", "", 1)
		}
	}
	return text
}

func spokenWords(text string) int {
	return len(strings.Fields(speech.Spell(withoutCautions(text), speech.SpellOptions{})))
}

func TestRepliesOfTheWholeJobAreShortEnoughForTheEar(t *testing.T) {
	var all []int
	for _, x := range scriptedJob(t) {
		for _, text := range x.answers {
			n, limit := spokenWords(text), mostWords
			switch {
			case strings.HasPrefix(x.said, "where was I"), strings.HasPrefix(x.said, "what was done"), strings.HasPrefix(text, "Not yet:"):
				limit = summaryWords
			case strings.Contains(text, "Next: "), strings.Contains(text, "First: "), strings.Contains(text, " pass, "):
				limit = openingWords
			}
			if strings.Contains(text, "Guide figure, your manual decides.") {
				limit = summaryWords // an answer that shows what it stands on
			}
			if n > limit {
				t.Errorf("%d words, %d are the limit: %q, after %q", n, limit, text, x.said)
			}
			all = append(all, n)
		}
	}
	require.Greater(t, len(all), 150, "the whole job is looked at")
	short, sum, most := 0, 0, 0
	for _, n := range all {
		if n <= middleWords {
			short++
		}
		sum, most = sum+n, max(most, n)
	}
	t.Logf("%d replies, %.1f words on average, %d at most, %d of them at most %d", len(all), float64(sum)/float64(len(all)), most, short, middleWords)
	require.Greater(t, 2*short, len(all), "half of the replies have at most %d words", middleWords)
}

// A mechanic hears "newton metres", never "N·m"; the reply prints the unit once
// behind its number, and no table sign reaches the ear.
func TestRepliesAreSentencesNotTables(t *testing.T) {
	for _, x := range scriptedJob(t) {
		for _, text := range x.answers {
			require.Regexp(t, `^[A-Z0-9"]`, text)
			require.Regexp(t, `[.?]$`, text)
			for _, sign := range []string{"|", "\t", "  ", "..", ";;", ": :", " ,", "%!", "[]", "0001"} {
				require.NotContains(t, text, sign)
			}
			spoken := speech.Spell(text, speech.SpellOptions{})
			require.NotContains(t, spoken, "·")
			require.NotContains(t, spoken, "±")
		}
	}
}
