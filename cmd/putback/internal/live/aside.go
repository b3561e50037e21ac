package live

import (
	"context"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/intent"
)

// Talk that was not meant for the program often stops directly before a command:
// a friend has finished, the radio draws breath. Waiting as long as for the rest of
// a sentence would make one utterance of both, and nothing of it would be heard
// rightly. So such talk is over after a short pause. Where it was a command said
// with a pause in it, or one that got louder, nothing is lost: what follows is
// heard together with it as well.

// asidePause is the silence after which talk that is no sentence of the grammar
// is over.
const asidePause = 320 * time.Millisecond

// asideLongest is the longest speech that may be the beginning of a sentence
// said with a pause; asideCall the same where the call word is needed, which is short.
const (
	asideLongest = 4 * time.Second
	asideCall    = 1500 * time.Millisecond
)

// hopeless is the confidence below which no reading comes near what was said.
const hopeless = 0.05

// aside is talk that was let pass.
type aside struct {
	sound      audio.Samples
	from       time.Duration // of the sound, on the audio clock
	start, end time.Duration // of its speech
}

// begin starts a turn whose speech begins at start.
func (l *loop) begin(start, end time.Duration) {
	l.now = &turn{start: start, begun: start, end: end, over: l.overlaps(start), lead: l.leadTo(start)}
}

// leadLength is the sound before an utterance in which the call word is looked for
// where the utterance is a command without it: over talk and tools the detector
// may come to its decision behind the word.
const leadLength = time.Second

// keep keeps the last sound, so that [loop.leadTo] can give what was before an
// utterance that is found late.
func (l *loop) keep(s audio.Samples) {
	l.before = append(l.before, s...)
	if keep := audio.Count(leadKept); len(l.before) > 2*keep {
		l.before = append(l.before[:0], l.before[len(l.before)-keep:]...)
	}
}

// leadKept is how far back an utterance found now may have begun, with what was
// before it.
const leadKept = leadLength + 2*time.Second

// leadTo is the sound before an utterance whose speech begins at start, nil where
// it is not at hand or the program spoke in it.
func (l *loop) leadTo(start time.Duration) audio.Samples {
	end := len(l.before) - audio.Count(l.at-(start-l.preRoll()))
	from := end - audio.Count(leadLength)
	if from < 0 || end > len(l.before) || l.spokeUntil > 0 && start-l.preRoll()-leadLength < l.spokeUntil+l.o.Tail {
		return nil
	}
	return append(audio.Samples(nil), l.before[from:end]...)
}

// past: is what was heard of t so far not meant for the program?
func (l *loop) past(t *turn) bool {
	if t.result == nil || t.called || l.keyed {
		return false
	}
	h := *t.result
	return !h.Accepted && !h.Unsure && !h.Called && (!l.addressed(t) || h.Confidence < hopeless)
}

// callHeard is the speech in which a call word that begins it has been heard, if
// there is one.
const callHeard = 2 * time.Second

// uncalled: needed j the call word, and came no reading near it?
func (j *job) uncalled(preRoll time.Duration) bool {
	return j.hint.CallNeeded && j.hint.Only == nil && !j.hearing.Called && j.hearing.Confidence < hopeless &&
		!j.hearing.MayBeCalled && j.sound.Duration() >= preRoll+callHeard
}

// decided is what was heard of t where hearing more of the whole will change nothing,
// because it needs the call word and does not begin with it; nil otherwise. Others' talk
// would be heard again at every pause.
func (l *loop) decided(t *turn) *Hearing {
	if l.keyed || l.addressed(t) && !t.talk {
		return nil
	}
	return t.uncalled
}

// endless: is what was heard of j talk, and longer than any sentence for the program?
func (j *job) endless(preRoll time.Duration) bool {
	h := j.hearing
	return j.hint.Only == nil && !h.Called && !h.MayBeCalled && !h.Accepted && !h.Unsure && h.Confidence < hopeless &&
		j.sound.Duration() >= preRoll+restLongest
}

// scattered: are the words of h, of so much sound, too few to be all of it? "Just
// knocked one more" was heard in thirteen seconds of a reading, at 0.79.
func (h *Hearing) scattered(sound audio.Samples) bool {
	words := time.Duration(len(strings.Fields(plainWords(h.Text))))
	return !h.Called && sound.Duration() > 2500*time.Millisecond+words*600*time.Millisecond
}

// A last word said softly sinks into what sounds behind it, and the segmenter takes
// it for a pause: "toolbox, how many are" was heard at 0.29, with its "out" at 0.94,
// and "on the top" of "on the top shelf" as "in the tub", at 0.84.
const (
	// softLost is how much of the pause must be like speech where what was heard is not
	// good enough anyway, softKept where it is: hearing again delays the answer.
	softLost = 64 * time.Millisecond
	softKept = 192 * time.Millisecond
	// softOver is the hush after which the soft word is over, softLongest the longest
	// that is waited for it: somebody else may talk on.
	softOver    = 96 * time.Millisecond
	softLongest = time.Second
)

// softEnd: is t, for whose rest patience is had, to be heard once more now with what
// came behind its end?
func (l *loop) softEnd(t *turn, patience time.Duration) bool {
	quiet, soft := l.seg.Quiet(), l.seg.Soft()
	switch {
	case t.short != nil || quiet < min(patience, asidePause):
		return false
	case t.result.Accepted:
		return soft >= softKept
	case l.past(t):
		return soft >= softLost || t.result.MayBeCalled && !l.addressed(t)
	}
	// What is nearly a sentence is often one with a fifth of a second more behind it:
	// "toolbox, how many are out", cut directly behind its end, had 0.1, and 0.5 to 0.8 so.
	near := t.result.Called || t.result.Unsure
	return (soft >= softLost || near) && (l.seg.Hush() >= softOver || quiet >= softLongest)
}

// standsAgainst: is h, of a sentence without its soft end, to be believed and not what
// was heard with it? "Took four thirteens off the front cover" went on with "three
// thirteens", of the noise behind it, and was less sure.
func (h *Hearing) standsAgainst(longer Hearing) bool {
	switch {
	case h.Accepted:
		return !longer.Accepted || longer.Confidence < h.Confidence
	case h.Unsure:
		return !longer.Accepted && !longer.Unsure
	}
	return false
}

// Talk may stop so shortly before a command that no pause ends it, and the whole is
// no sentence. So what follows the last pauses of talk is heard by itself, too.
const (
	// restPause is the shortest such pause, restBefore the least talk before it: within
	// a command, "toolbox" and what else may begin it is shorter.
	restPause  = 128 * time.Millisecond
	restBefore = 1200 * time.Millisecond
	// restLongest is the longest command looked for, restsKept of how many pauses: one
	// may be behind the call word.
	restLongest = 8 * time.Second
	restsKept   = 2
)

// resume notes where t goes on after a pause, if what follows may stand by itself.
func (l *loop) resume(t *turn) {
	if l.at-t.end < restPause || t.end-t.start < restBefore {
		return
	}
	if l.decided(t) != nil && !l.addressed(t) && t.job == nil && !t.restCalled {
		t.rests = nil // what was said before this pause has not begun a command
	}
	t.rests = append(t.rests, t.end+(l.at-t.end)/2)
	t.rests = t.rests[max(0, len(t.rests)-restsKept):]
}

// restsOf gives what was said in sound behind the last pauses of t, the last first.
func (l *loop) restsOf(t *turn, sound audio.Samples) []audio.Samples {
	end := l.at
	if t.done {
		end = t.upTo
	}
	var list []audio.Samples
	for _, from := range slices.Backward(t.rests) {
		if n := audio.Count(end - from); n < len(sound) && end-from <= restLongest {
			list = append(list, sound[len(sound)-n:])
		}
	}
	return list
}

// hearRests hears what followed the last pauses by itself, and gives the first that is
// a sentence meant for the program, whole being what was made of all of it.
func (l *loop) hearRests(ctx context.Context, j *job, whole Hearing) (Hearing, error) {
	for i, sound := range j.rests {
		h, err := l.o.Ear.Hear(ctx, sound, j.hint)
		if err != nil {
			return whole, err
		}
		j.restCalled = j.restCalled || i == 0 && (h.Called || h.MayBeCalled)
		if h.standsAlone(whole, j.hint) {
			return h, nil
		}
	}
	return whole, nil
}

// standsAlone: is h, of the last words of talk, to be acted on? The call word does; a
// few words that nobody called for must be a question that is surely heard, and no
// other than what was nearly heard in the whole.
func (h *Hearing) standsAlone(whole Hearing, hint Hint) bool {
	switch {
	case h.Intent == nil || is[intent.Call](h.Intent):
		return false
	case h.Called:
		return h.Accepted || h.Unsure && h.Confidence >= likely
	case hint.CallNeeded || !h.Accepted || !h.Plain || h.Confidence < overheard:
		return false
	case whole.Unsure && whole.Confidence >= likely && whole.Reading.Rule != h.Reading.Rule:
		return false
	}
	words := len(strings.Fields(plainWords(h.Text)))
	return words >= fewestFirmly || words > 1 && h.Reading.Asks() && !slices.Contains(ofTalk, h.Reading.Rule)
}

// letPass remembers t, which was not meant for the program and has just ended.
func (l *loop) letPass(t *turn) {
	longest := asideLongest
	if !l.addressed(t) {
		longest = asideCall
	}
	l.aside, l.passed = nil, t.end
	if t.end-t.start <= longest && !t.over {
		l.aside = &aside{t.sound, t.upTo - t.sound.Duration(), t.start, t.end}
	}
}

// follows gives what was said directly before t, nil for nothing.
func (l *loop) follows(t *turn) *aside {
	if l.aside == nil || t.over || t.called || t.skip > 0 || t.start-l.aside.end >= l.o.Expect {
		return nil
	}
	return l.aside
}

// joined is the sound from the beginning of a to the end of sound, which ends at upTo.
func (a *aside) joined(sound audio.Samples, upTo time.Duration) audio.Samples {
	out := append(audio.Samples(nil), a.sound...)
	gap := audio.Count(upTo-a.from) - len(a.sound) - len(sound)
	if gap >= 0 {
		out = append(out, make(audio.Samples, gap)...)
	} else {
		out = out[:max(0, len(out)+gap)]
	}
	return append(out, sound...)
}

// hearAfter hears sound together with what was said directly before it, and
// alone where that makes no sentence.
func (l *loop) hearAfter(ctx context.Context, j *job) (Hearing, error) {
	if j.known != nil {
		j.joined = nil
		return l.hearRests(ctx, j, *j.known)
	}
	if j.joined != nil {
		h, err := l.o.Ear.Hear(ctx, j.joined, j.hint)
		if err != nil || h.Accepted && h.Intent != nil || j.hint.CallNeeded && meantForIt(h) {
			return h, err
		}
	}
	j.joined = nil
	h, err := l.o.Ear.Hear(ctx, j.sound, j.hint)
	if err == nil && (!h.Accepted || h.scattered(j.sound)) && !meantForIt(h) && len(j.rests) > 0 {
		h, err = l.hearRests(ctx, j, h)
	}
	if err != nil || meantForIt(h) || j.lead == nil || !j.hint.CallNeeded || j.hint.Only != nil {
		return h, err
	}
	// A command, and the call word is missing: it may have been said before. Or the
	// call word was heard at a pause, and now nothing is: what the model makes of
	// sound depends on where in its window that lies.
	command := !h.Called && h.Confidence >= commandLikely
	if !command && !(j.callSeen && !meantForIt(h)) {
		return h, nil
	}
	again, err := l.o.Ear.Hear(ctx, slices.Concat(j.lead, j.sound), j.hint)
	if err == nil && meantForIt(again) && (!command || again.Accepted && again.Reading.Rule == h.Reading.Rule) {
		h = again
	}
	return h, err
}

// meantForIt: was the call word heard, and something behind it that is at least to
// be asked about?
func meantForIt(h Hearing) bool { return h.Called && (h.Accepted || h.Unsure) }

// heardWith gives what is to be made of a hearing of more of t than at its last
// pause. When nothing is heard any more where there was a sentence with the call
// word, a noise or somebody else came behind it: that sentence is asked about.
func (t *turn) heardWith(h Hearing) Hearing {
	if t.before != nil && !meantForIt(h) {
		h = *t.before
		h.Accepted, h.Unsure = false, true
	}
	return h
}

// commandLikely is the confidence from which what was heard is a command.
const commandLikely = 0.6
