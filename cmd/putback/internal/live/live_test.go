package live

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/jobs"
)

func TestACommandAfterTheCallWordIsDone(t *testing.T) {
	s := run(t, "~500 toolbox next ~2000", nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []Outcome{Answered}, s.outcomes())
	require.Equal(t, "toolbox next", s.all[0].Hearing.Text)
	require.Equal(t, jobs.ReplyReadBack, s.all[0].Reply.Kind)
	require.Len(t, s.all[0].Events, 1)
}

func TestTalkAmongPeopleIsIgnored(t *testing.T) {
	s := run(t, "~500 next ~2000 mumble ~2000 four tens ~2000", nil)
	require.Empty(t, s.bench.done)
	for _, x := range s.all {
		require.Equal(t, Ignored, x.Outcome)
		require.Empty(t, x.Reply.Text)
	}
}

func TestTheCallWordMayBeLeftOutInTheWindowAfterAReply(t *testing.T) {
	s := run(t, "~500 toolbox next ~3000 next ~12000 next ~2000", nil)
	require.Equal(t, []string{"Next", "Next"}, s.bench.done, "the third comes after the window")
}

func TestAlwaysOpenNeedsNoCallWord(t *testing.T) {
	s := run(t, "~500 next ~2000 mumble ~2000", func(o *Options, _ *session) { o.Address = Always })
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []Outcome{Answered, Ignored}, s.outcomes())
}

func TestTheCallWordAloneOpensTheWindow(t *testing.T) {
	s := run(t, "~500 toolbox ~2500 next ~2000", nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []Outcome{Called, Answered}, s.outcomes())
}

// The times are on the audio clock, so they are exact but for the frame (32 ms).
func TestTheAnswerComesAsSoonAsNothingCanFollow(t *testing.T) {
	for text, patience := range map[string]time.Duration{
		"toolbox next":      250 * time.Millisecond,
		"toolbox":           700 * time.Millisecond,
		"toolbox mumble":    1500 * time.Millisecond,
		"toolbox four":      1500 * time.Millisecond,
		"toolbox four tens": 250 * time.Millisecond,
	} {
		s := run(t, "~500 "+text+" ~3000", nil)
		require.Len(t, s.all, 1, text)
		waited := s.all[0].At.Sub(sessionStart.Add(s.all[0].End))
		require.GreaterOrEqual(t, waited, patience, text)
		require.LessOrEqual(t, waited, patience+64*time.Millisecond, text)
	}
}

func TestASentenceWithAPauseInItIsHeardWhole(t *testing.T) {
	s := run(t, "~500 toolbox four ~1000 tens ~3000", nil)
	require.Equal(t, []string{"Removed"}, s.bench.done)
	require.Equal(t, "toolbox four tens", s.all[0].Hearing.Text)
	require.Len(t, s.all, 1)
}

func TestAShortPauseDoesNotCutAWholeSentence(t *testing.T) {
	// 200 ms: recognition has begun, the answer has not.
	s := run(t, "~500 toolbox ~200 next ~3000", nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, "toolbox next", s.all[0].Hearing.Text)
}

func TestAddressedButNotUnderstoodIsAskedBack(t *testing.T) {
	s := run(t, "~500 toolbox mumble ~3000 mumble ~3000", nil)
	require.Empty(t, s.bench.done)
	require.Equal(t, Ignored, s.all[0].Outcome, "the ear was not sure of the call word either")
	s = run(t, "~500 toolbox four ~3000", nil)
	require.Equal(t, Missed, s.all[0].Outcome)
	require.Equal(t, "Say again?", s.all[0].Reply.Text)
}

func TestWhatIsHeardUnsurelyIsAskedAboutOrAnswered(t *testing.T) {
	unsure := func(confidence float64) func(*Options, *session) {
		return func(_ *Options, s *session) { s.ear.unsure, s.bench.kind = confidence, jobs.ReplyQuestion }
	}
	s := run(t, "~500 toolbox four tens ~9000 yes ~2000", unsure(0.6))
	require.Equal(t, []string{"Unclear", "Yes"}, s.bench.done, "the bench asks whether it was meant")
	require.Equal(t, Missed, s.all[0].Outcome)
	s = run(t, "~500 toolbox four tens ~9000 yes ~2000", unsure(0.4))
	require.Equal(t, []string{}, append([]string{}, s.bench.done...))
	require.Equal(t, "Say again?", s.all[0].Reply.Text)
	s = run(t, "~500 toolbox next ~9000", unsure(0.65))
	require.Equal(t, []string{"Next"}, s.bench.done, "a question is answered: the answer says what it is about")
	s = run(t, "~500 next ~9000", func(o *Options, s *session) { unsure(0.65)(o, s); o.Address = Always })
	require.Empty(t, s.bench.done, "nobody called")
}

func TestAQuestionWaitsForItsAnswerWithoutTheCallWord(t *testing.T) {
	s := run(t, "~500 toolbox four tens ~15000 yes ~2000", func(_ *Options, s *session) { s.bench.kind = jobs.ReplyQuestion })
	require.Equal(t, []string{"Removed", "Yes"}, s.bench.done)
	s = run(t, "~500 toolbox four tens ~15000 yes ~2000", nil)
	require.Equal(t, []string{"Removed"}, s.bench.done, "no question was asked")
}

func TestQuietLastsUntilListen(t *testing.T) {
	s := run(t, "~500 toolbox quiet ~2000 next ~2000 toolbox next ~2000 listen ~2000 toolbox listen ~2000 next ~2000", nil)
	require.Equal(t, []string{"Quiet", "Listen", "Next"}, s.bench.done)
	var modes []Mode
	for _, st := range s.status {
		if len(modes) == 0 || modes[len(modes)-1] != st.Mode {
			modes = append(modes, st.Mode)
		}
	}
	require.Contains(t, modes, Quiet)
}

func TestTheKeyOpensTheWindow(t *testing.T) {
	key := make(chan struct{}, 1)
	key <- struct{}{}
	// A press needs the live loop: the key is a channel.
	s := runReal(t, "~200 next ~700", func(o *Options, _ *session) { o.Address, o.Key = ByKey, key })
	require.Equal(t, []string{"Next"}, s.bench.done)
}

func TestTheProgramDoesNotObeyItsOwnVoice(t *testing.T) {
	// The reply lasts 3 s; in it the loudspeaker's sound comes back as "four tens".
	s := run(t, "~500 toolbox next ~1000 four tens ~4000", aloud(3*time.Second))
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []Outcome{Answered, Ignored}, s.outcomes())
	// Without a loudspeaker in the room the same words are a command.
	s = run(t, "~500 toolbox next ~1000 four tens ~4000", nil)
	require.Equal(t, []string{"Next", "Removed"}, s.bench.done)
}

func TestTheEchoAfterTheLastSoundIsNotObeyed(t *testing.T) {
	// The reply ends 1 s after it began; speech begins 100 ms later, inside the room's tail.
	s := run(t, "~500 toolbox next ~1350 next ~3000", aloud(time.Second))
	require.Equal(t, []string{"Next"}, s.bench.done)
	s = run(t, "~500 toolbox next ~2000 next ~3000", aloud(time.Second))
	require.Equal(t, []string{"Next", "Next"}, s.bench.done)
}

func TestStopSilencesAReplyAtOnce(t *testing.T) {
	s := run(t, "~500 toolbox next ~1000 stop ~3000", aloud(10*time.Second))
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Equal(t, []Outcome{Answered, Stopped}, sorted(s.outcomes()))
	require.NotEmpty(t, s.speaker.stopped)
	// The word ends about 2.65 s into the session; the search runs every 0.4 s.
	require.Less(t, s.speaker.stopped[len(s.speaker.stopped)-1], 3200*time.Millisecond)
}

func TestStopIsFoundInsideTheProgramsOwnVoice(t *testing.T) {
	// "hum" is the program's voice in the microphone: no pause before "stop".
	s := run(t, "~500 toolbox next ~600 hum hum hum stop hum hum hum ~3000", aloud(4*time.Second))
	require.Contains(t, s.outcomes(), Stopped)
	require.Equal(t, []string{"Next"}, s.bench.done)
}

func TestTheCallWordInterruptsAReplyAndACommandMayFollow(t *testing.T) {
	s := run(t, "~500 toolbox next ~600 hum hum hum toolbox ~900 four tens ~3000", aloud(6*time.Second))
	require.Equal(t, []string{"Next", "Removed"}, s.bench.done)
}

func TestWhatTheReplySaysBehindTheCallWordIsNoCommand(t *testing.T) {
	// The reply is "Next is done."; the word that comes back from the room is not obeyed.
	s := run(t, "~500 toolbox next ~600 toolbox next ~3000", aloud(6*time.Second))
	require.Equal(t, []string{"Next"}, s.bench.done)
	require.Contains(t, s.outcomes(), Called)
	// Other words are.
	s = run(t, "~500 toolbox next ~600 toolbox four tens ~3000", aloud(6*time.Second))
	require.Equal(t, []string{"Next", "Removed"}, s.bench.done)
}

func TestATimerSpeaksByItselfButNeverOverThePerson(t *testing.T) {
	// Due at 1 s, while the person speaks from 0.5 to 5.3 s.
	long := "~500 hum hum hum hum hum hum hum hum hum hum hum hum ~4000"
	s := run(t, long, func(_ *Options, s *session) {
		s.bench.due = map[time.Duration]string{time.Second: "Close the joint now."}
	})
	var alert *Exchange
	for i := range s.all {
		if s.all[i].Outcome == Alert {
			alert = &s.all[i]
		}
	}
	require.NotNil(t, alert)
	require.Equal(t, "Close the joint now.", alert.Reply.Text)
	require.Greater(t, alert.At.Sub(sessionStart), 5300*time.Millisecond)
}

func TestATimerWaitsForAReplyToEnd(t *testing.T) {
	s := run(t, "~500 toolbox next ~8000", func(o *Options, s *session) {
		aloud(4*time.Second)(o, s)
		s.bench.due = map[time.Duration]string{2 * time.Second: "Close the joint now."}
	})
	last := s.all[len(s.all)-1]
	require.Equal(t, Alert, last.Outcome)
	require.Greater(t, last.At.Sub(sessionStart), 5*time.Second)
	require.Equal(t, 8*time.Second, s.speaker.played)
}

func TestAFileGivesTheSameConversationEveryTime(t *testing.T) {
	text := "~500 toolbox next ~700 mumble ~900 toolbox four ~600 tens ~2000 toolbox quiet ~900 next ~900 toolbox listen ~900"
	a, b := run(t, text, nil), run(t, text, nil)
	require.Equal(t, a.bench.done, b.bench.done)
	require.Equal(t, a.bench.times, b.bench.times)
	require.Equal(t, a.outcomes(), b.outcomes())
	require.Equal(t, a.status, b.status)
}

func TestTheLastWordsOfAFileAreAnswered(t *testing.T) {
	s := run(t, "~500 toolbox next", nil)
	require.Equal(t, []string{"Next"}, s.bench.done)
}
