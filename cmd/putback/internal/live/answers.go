package live

import (
	"slices"
	"strings"

	"putback/intent"
	"putback/speech"
)

// awaited says whether an answer is waited for, where h is one: yes, no, or a
// bare number or name. A radio and talk are full of these, so without the call
// word they count only after a question that they can answer, or when they say themselves that they
// correct what was just written down. So it is with "wrong", "ignore that",
// "sorry", "what", "hold on" and "not now": shortly after a reply they speak of it, at any
// other time only the words that nobody says to anybody else are meant.
func (l *loop) awaited(h Hearing, t *turn) bool {
	in := h.Intent
	if u, ok := in.(intent.Unclear); ok && len(u.Then) > 0 {
		in = u.Then[0] // "kilo" of a radio was asked about
	}
	switch in.(type) {
	case intent.Yes, intent.No:
		return l.question && l.inWindow(t.start)
	case intent.Choice:
		return l.inWindow(t.start) && (l.question && !l.yesNo || corrects(h.Text))
	case intent.Strike:
		return l.inWindow(t.start) || says(h.Text, "strike", "scratch", "scrub", "scrap", "undo", "delete", "remove", "rub", "cross", "wipe")
	case intent.SayAgain:
		return l.inWindow(t.start) || says(h.Text, "say", "repeat", "read", "tell", "hear")
	case intent.Pause: // "one moment please", of a radio, "hold on", to a friend
		return l.inWindow(t.start) || says(h.Text, "pause")
	case intent.Quiet:
		return l.inWindow(t.start) || says(h.Text, "listen", "listening", "mute", "sleep")
	}
	return true
}

// likeAnAnswer says whether h, which was not understood after a question, is asked
// for again. Below answerLikely somebody else talks: whole stretches of radio had
// 0.05 and less. "Log in incorrect" of a telephone was nearly a note; free speech
// is no answer, and fits anything. So does a reason: "as I had expected, a sudden
// indifference filled it", of a book.
func likeAnAnswer(h Hearing) bool {
	if (is[intent.Yes](h.Intent) || is[intent.No](h.Intent)) && h.Confidence < yesLikely {
		return false
	}
	long := is[intent.Choice](h.Intent) && len(strings.Fields(plainWords(h.Text))) > longestAnswer
	return h.Confidence >= answerLikely && !long && !slices.Contains(freely, h.Reading.Rule)
}

const (
	answerLikely  = 0.1
	yesLikely     = 0.2 // a book's sentence was "yeah" at 0.15
	longestAnswer = 6
)

// overheard is the confidence that a change needs where nobody called and
// nothing was said before, and overheardFree the same where its words are free:
// of such a sentence only the first word is judged, and "No, the other side" can be
// read as a note at 0.88. Commands of synthetic voices at 15 dB over tools had
// 0.88 and more. A radio's "Record mode" was a note at 0.94: fewer words than
// fewestNoted are none. overheardLong is enough for longestChance words and more of
// which the grammar has every one: nobody says as many of them by chance. Where
// fewestPlain and more were read the same without the grammar, it is enough that they
// would be acted on if somebody had called.
const (
	overheard      = 0.85
	overheardFree  = 0.9
	fewestNoted    = 3
	overheardLong  = 0.8
	longestChance  = 7
	fewestPlain    = 5
	overheardAtAll = 0.65
)

// surely: is h, without call word or key, heard well enough to be acted on?
func (l *loop) surely(h Hearing, t *turn) bool {
	words := len(strings.Fields(plainWords(h.Text)))
	if h.Reading.Rule == "note" && !says(h.Text, "note", "notes", "noting", "jot", "jotting", "write", "writing", "down") {
		return false // "log in and correct" and "record your message", of a telephone
	}
	if h.Reading.Rule == "flag" && says(h.Text, "question") {
		return false // "question mark, 50th", of a telephone
	}
	if l.inWindow(t.start) || h.Reading.Asks() && !slices.Contains(ofTalk, h.Reading.Rule) && words > 1 {
		return true
	}
	switch {
	case words == 1 && h.Reading.Asks():
		return h.Confidence >= overheardFree // the letter Y of a radio was "why"
	case slices.Contains([]string{"note", "tip", "mark", "suspect", "evidence", "excuse", "insertStep"}, h.Reading.Rule):
		return h.Confidence >= overheardFree && (words >= fewestNoted || h.Reading.Rule == "mark")
	case h.Plain && words >= fewestPlain:
		return h.Confidence >= speech.ActConfidence
	case words >= longestChance:
		return h.Confidence >= overheardLong
	}
	return h.Confidence >= overheard
}

// ofTalk are the rules of what only asks that are not about the job: a song had
// "can you hear me".
var ofTalk = []string{"sayAgain", "slower", "stop", "listen", "help"}

// byChance: can h be talk that merely fits the grammar? Not when it has many words
// of it, heard rather well, and tells something. "I would not do that, you will strip the
// thread" was a skipped step and its reason at 0.49 and 0.68, commands that were lost had
// 0.74; it is what people say to each other.
func byChance(h Hearing) bool {
	return h.Reading.Asks() || h.Reading.Rule == "skipStep" || h.Confidence < overheardAtAll || slices.Contains(freely, h.Reading.Rule) || len(strings.Fields(plainWords(h.Text))) < longestChance
}

// corrects: "make that five", "I meant the sump", "five, not four", "it was only three".
func corrects(text string) bool { return says(text, "make", "mean", "meant", "not", "only") }

// says: is one of the words in text?
func says(text string, words ...string) bool {
	return slices.ContainsFunc(strings.Fields(plainWords(text)), func(w string) bool { return slices.Contains(words, w) })
}
