package live

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs"
)

// A number or a yes out of a radio, found by scripts/soak: nothing had been asked.
func TestAnAnswerThatNobodyAwaitsIsIgnored(t *testing.T) {
	open := func(o *Options, s *session) { o.Address = Always }
	asked := func(o *Options, s *session) { o.Address, s.bench.kind = Always, jobs.ReplyQuestion }
	yesNo := func(o *Options, s *session) {
		asked(o, s)
		s.bench.choices = []string{"yes", "no"}
	}
	for _, c := range []struct {
		says string
		set  func(*Options, *session)
		done []string
	}{
		{"~500 five ~2000 yes ~2000", open, nil},
		{"~500 four tens ~2000 five ~2000 yes ~2000", open, []string{"Removed"}},
		{"~500 toolbox four tens ~2000 five ~2000 yes ~2000", nil, []string{"Removed"}},
		{"~500 four tens ~2000 make five ~2000", open, []string{"Removed", "Choice"}},
		{"~500 toolbox four tens ~2000 make five ~2000", nil, []string{"Removed", "Choice"}},
		{"~500 four tens ~15000 make five ~2000", open, []string{"Removed"}}, // nobody knows any more what it was about
		{"~500 four tens ~2000 five ~2000", asked, []string{"Removed", "Choice"}},
		{"~500 four tens ~2000 yes ~2000", asked, []string{"Removed", "Yes"}},
		{"~500 four tens ~2000 five ~2000 yes ~2000", yesNo, []string{"Removed", "Yes"}}, // "ten" of a song
		{"~500 four tens ~2000 make five ~2000", yesNo, []string{"Removed", "Choice"}},
		{"~500 four tens ~25000 yes ~2000", asked, []string{"Removed"}}, // the question is over
		// Words of the radio that speak of the last reply, and the program's own.
		{"~500 wrong ~2000 again ~2000 silence ~2000", open, nil},
		{"~500 strike ~15000 say again ~15000 mute ~2000", open, []string{"Strike", "SayAgain", "Quiet"}},
		{"~500 four tens ~2000 wrong ~2000 again ~2000 silence ~2000", open, []string{"Removed", "Strike", "SayAgain", "Quiet"}},
		{"~500 four tens ~15000 wrong ~2000", open, []string{"Removed"}},
		{"~500 toolbox wrong ~15000 toolbox again ~15000 toolbox silence ~2000", nil, []string{"Strike", "SayAgain", "Quiet"}},
		{"~500 toolbox five ~2000 toolbox yes ~2000", nil, []string{"Choice", "Yes"}},
	} {
		s := run(t, c.says, c.set)
		require.Equal(t, c.done, s.bench.done, c.says)
	}
}

// "No, the other side, next to the toolbox" was read as a note, in open mode.
func TestAChangeThatNobodyAnnouncedMustBeHeardWell(t *testing.T) {
	l := &loop{openUntil: 5 * time.Second}
	early, late := &turn{start: 4 * time.Second}, &turn{start: 6 * time.Second}
	note := Hearing{Text: "Note the hose is cracked", Confidence: 0.88, Reading: intent.Reading{Rule: "note"}}
	require.False(t, l.surely(note, late))
	require.True(t, l.surely(note, early), "shortly after a reply")
	note.Confidence = 0.92
	require.True(t, l.surely(note, late))
	note.Text = "Record mode"
	require.False(t, l.surely(note, late), "too short to be one")
	long := Hearing{Text: "took four thirteens off the front cover", Confidence: 0.82, Reading: intent.Reading{Rule: "removed"}}
	require.True(t, l.surely(long, late))
	long.Text = "took four tens"
	require.False(t, l.surely(long, late))
	strike := Hearing{Confidence: 0.88, Reading: intent.Reading{Rule: "strike"}}
	require.True(t, l.surely(strike, late))
	strike.Confidence = 0.8
	require.False(t, l.surely(strike, late))
	require.True(t, l.surely(Hearing{Text: "what's left", Confidence: 0.76, Reading: intent.Reading{Rule: "askLeft"}}, late), "a question changes nothing")
	for _, phone := range []string{"Log in and correct", "record your message now"} {
		require.False(t, l.surely(Hearing{Text: phone, Confidence: 0.95, Reading: intent.Reading{Rule: "note"}}, late), phone)
		require.False(t, l.surely(Hearing{Text: phone, Confidence: 0.95, Reading: intent.Reading{Rule: "note"}}, early), phone)
		require.False(t, l.surely(Hearing{Text: "Question mark, 50th", Confidence: 0.95, Reading: intent.Reading{Rule: "flag"}}, early))
	}
	require.False(t, l.surely(Hearing{Text: "Why", Confidence: 0.76, Reading: intent.Reading{Rule: "askWhy"}}, late), "a letter spelled by a radio")
	require.True(t, l.surely(Hearing{Text: "Why", Confidence: 0.76, Reading: intent.Reading{Rule: "askWhy"}}, early))
	require.False(t, l.surely(Hearing{Confidence: 0.8, Reading: intent.Reading{Rule: "listen"}}, late), "a song: can you hear me")
	plain := Hearing{Text: "took two tens off the front cover", Confidence: 0.77, Reading: intent.Reading{Rule: "removed"}}
	require.False(t, l.surely(plain, late))
	plain.Plain = true
	require.True(t, l.surely(plain, late), "the model reads the same without the grammar")
	plain.Confidence = 0.74
	require.False(t, l.surely(plain, late))
	kilo := intent.Unclear{Question: sayAgain, Then: []intent.Intent{intent.Choice{Text: "kilo"}}}
	require.False(t, l.awaited(Hearing{Text: "kilo", Intent: kilo}, late), "a radio spells")
	require.False(t, l.awaited(Hearing{Text: "One moment please", Intent: intent.Pause{}}, late), "a radio")
	require.True(t, l.awaited(Hearing{Text: "Hold on", Intent: intent.Pause{}}, early))
	require.True(t, l.awaited(Hearing{Text: "pause the job", Intent: intent.Pause{}}, late))
}

// Found by scripts/soak: after a question the program asked the radio back, and
// its own "say again" kept the question open.
func TestAfterAQuestionOnlyWhatIsLikeAnAnswerIsAskedFor(t *testing.T) {
	asked := func(_ *Options, s *session) { s.bench.kind = jobs.ReplyQuestion }
	s := run(t, "~500 toolbox four tens ~2000 mumble hum mumble ~2000 yes ~2000", asked)
	require.Equal(t, []Outcome{Answered, Ignored, Answered}, s.outcomes())
	s = run(t, "~500 toolbox four tens ~2000 four ~2000 yes ~2000", asked)
	require.Equal(t, []Outcome{Answered, Missed, Answered}, s.outcomes())
}

func TestFreeSpeechIsNoAnswer(t *testing.T) {
	require.True(t, likeAnAnswer(Hearing{Text: "four", Confidence: 0.2}))
	require.False(t, likeAnAnswer(Hearing{Text: "four", Confidence: 0.05}), "somebody else")
	because := Hearing{Text: "as I had expected, a sudden indifference filled it", Confidence: 0.46, Intent: intent.Choice{Text: "a sudden indifference"}}
	require.False(t, likeAnAnswer(because), "a book")
	because.Text = "as the belt is off"
	require.True(t, likeAnAnswer(because))
	require.False(t, likeAnAnswer(Hearing{Text: "Yeah", Confidence: 0.15, Intent: intent.Yes{}}), "another book")
	require.True(t, likeAnAnswer(Hearing{Text: "Yeah", Confidence: 0.25, Intent: intent.Yes{}}))
	require.False(t, likeAnAnswer(Hearing{Text: "log in incorrect", Confidence: 0.77, Reading: intent.Reading{Rule: "note"}}), "a telephone")
}

// What was called for and not understood is asked about by what was likely meant;
// nobody is asked who did not call.
func TestAGuessIsAskedAboutWhereSomebodyCalled(t *testing.T) {
	guess := func(o *Options, s *session) {
		s.ear.guess = &intent.Unclear{Question: "Did you mean: next?", Then: []intent.Intent{intent.Next{}}, Nearest: true}
	}
	s := run(t, "~500 toolbox mumble next ~3000 yes ~2000", guess)
	require.Equal(t, []string{"Unclear", "Yes"}, s.bench.done, "the answer may come without the call word")
	require.Empty(t, run(t, "~500 mumble next ~3000 yes ~2000", guess).bench.done)
}
