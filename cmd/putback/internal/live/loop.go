package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"putback/audio"
	"putback/intent"
	"putback/jobs"
)

// turn is one utterance on its way from the first syllable to the answer.
type turn struct {
	start, end time.Duration   // its speech on the audio clock
	lead       audio.Samples   // what was before it, see leadTo
	begun      time.Duration   // start, or where the talk before it began that was heard with it
	over       bool            // it overlaps the program's own voice
	called     bool            // the call word was spotted in it already
	found      bool            // inside the program's own voice
	uncalled   *Hearing        // what was heard where it did not begin with the call word, and was long enough to tell
	talk       bool            // that is longer than any sentence, and nothing like one
	skip       int             // samples at its start to leave out, after an interruption
	done       bool            // the segmenter has ended it
	sound      audio.Samples   // the whole of it, when it has ended
	upTo       time.Duration   // where that ends on the audio clock
	callSeen   bool            // the call word was heard in it at a pause
	short      *Hearing        // of it without a soft end, see softEnd
	before     *Hearing        // the last sentence with the call word heard of it at a pause
	gone       bool            // it was a word to interrupt and is dealt with
	rests      []time.Duration // where it went on after its last pauses, see resume
	restCalled bool            // the last of them may begin with the call word
	result     *Hearing
	took       time.Duration
	job        *job
}

// job is one recognition.
type job struct {
	turn  *turn // nil: a look for an interruption, or practice
	ready bool  // practice: nothing is heard
	sound audio.Samples
	lead  audio.Samples // what was before it, see leadTo
	// callSeen: the call word was heard in an earlier part of it.
	callSeen   bool
	joined     audio.Samples   // with what was said directly before it; nil: nothing was, or it did not help
	rests      []audio.Samples // what was said behind its last pauses, the last of them first
	known      *Hearing        // of the sound: only rests are to be heard
	restCalled bool            // the last of rests may begin with the call word
	begun      time.Duration   // where the speech in joined begins
	hint       Hint
	ctx        context.Context
	cancel     context.CancelFunc

	hearing Hearing
	err     error
	took    time.Duration
}

// loop is the state of [Run]; only its goroutine touches it.
type loop struct {
	o     Options
	seg   *audio.Segmenter
	meter audio.Meter
	pass  *audio.HighPass
	echo  *audio.Echo

	at      time.Duration // end of the last frame on the audio clock
	frameAt time.Time     // the clock when it came

	now     *turn         // the utterance under way
	waiting []*turn       // ended, still being heard
	aside   *aside        // talk that has just been let pass
	passed  time.Duration // where the last such talk ended

	ears    chan *job
	results chan *job

	quiet      bool
	openUntil  time.Duration // on the audio clock: the call word may be left out
	question   bool          // the last reply was a question
	yesNo      bool          // and only yes or no answers it
	keyed      bool          // the next utterance was announced by the key
	talk       *talking
	spokeUntil time.Duration // the program's own voice was in the air until then
	recent     []spoken
	due        []jobs.Reply // to be said when nobody speaks
	lastTick   time.Time
	lastShow   time.Duration
	spotAt     time.Duration
	spotting   *job
	practise   bool          // the names may have changed
	preparing  *job          // practice under way
	window     audio.Samples // the last sound, for interruptions
	before     audio.Samples // the last sound, see leadTo

	status Status
}

// spoken is a reply that may still be heard back.
type spoken struct {
	text string
	at   time.Duration
}

// spotWindow is how much sound is searched for an interruption.
const spotWindow = 1500 * time.Millisecond

// spotEvery is the time between two searches, spotAfter that from the first
// syllable to the first of them: longer than the call word.
const (
	spotEvery = 400 * time.Millisecond
	spotAfter = 700 * time.Millisecond
)

// Run listens until the source or ctx ends. A source that ends is no error;
// what was said last is still answered and spoken to its end.
func Run(ctx context.Context, o Options) error {
	o.Settings = o.Settings.withDefaults()
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Publish == nil {
		o.Publish = func(Status) {}
	}
	if o.Resembles == nil {
		o.Resembles = func(string, string) bool { return false }
	}
	if o.Report == nil {
		o.Report = func(Exchange) {}
	}
	if o.Tell == nil {
		o.Tell = func(string) {}
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	l := &loop{o: o, seg: audio.NewSegmenter(o.VAD, o.Segment), results: make(chan *job, 16), openUntil: -1}
	if o.HighPass > 0 {
		l.pass = audio.NewHighPass(o.HighPass)
	}
	l.quiet = l.benchQuiet()
	if o.Given != nil {
		l.echo = audio.NewEcho()
	}
	l.status.Mode = Idle
	if o.Fast {
		return l.runFast(ctx)
	}
	return l.runLive(ctx)
}

// runFast takes frame after frame and waits for nothing but the recognition.
func (l *loop) runFast(ctx context.Context) error {
	for {
		f, err := l.o.Source.Next(ctx)
		if errors.Is(err, io.EOF) {
			l.flush(ctx)
			return nil
		}
		if err != nil {
			return fmt.Errorf("listen: %w", err)
		}
		if err := l.frame(ctx, f); err != nil {
			return err
		}
	}
}

// arrival is a frame with the time it came.
type arrival struct {
	frame audio.Frame
	err   error
	at    time.Time
}

// runLive takes frames as they come, recognises beside them and answers.
func (l *loop) runLive(ctx context.Context) error {
	frames := make(chan arrival, 256)
	go func() {
		for {
			f, err := l.o.Source.Next(ctx)
			f.Samples = append(audio.Samples(nil), f.Samples...)
			select {
			case frames <- arrival{f, err, l.o.Now()}:
			case <-ctx.Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	l.ears = make(chan *job, 16)
	go l.listenJobs(ctx)
	if l.echo != nil {
		defer func() {
			if down := l.echo.Reduction(); down > 0 {
				l.o.Tell(fmt.Sprintf("took %.0f dB off its own voice in the microphone", float64(down)))
			}
		}()
	}
	var ended bool
	poll := time.NewTicker(pollEvery)
	poll.Stop()
	defer poll.Stop()
	polling := false
	for {
		select {
		case <-ctx.Done():
			l.hush()
			return ctx.Err()
		case a := <-frames:
			if errors.Is(a.err, io.EOF) {
				ended, frames = true, nil
				l.flush(ctx)
				break
			}
			if a.err != nil {
				l.hush()
				return fmt.Errorf("listen: %w", a.err)
			}
			l.frameAt = a.at
			if err := l.frame(ctx, a.frame); err != nil {
				l.hush()
				return err
			}
		case j := <-l.results:
			l.heard(ctx, j)
		case <-l.o.Key:
			l.press()
		case <-poll.C:
			l.pollTalk()
		}
		// Only a reply needs looking after between two frames; an idle computer
		// is not woken for nothing.
		if speaks := l.talk != nil; speaks != polling {
			if polling = speaks; speaks {
				poll.Reset(pollEvery)
			} else {
				poll.Stop()
			}
		}
		if ended && l.talk == nil && len(l.waiting) == 0 && l.now == nil {
			return nil
		}
	}
}

// pollEvery is how often a reply under way is looked at.
const pollEvery = 20 * time.Millisecond

// listenJobs recognises, one at a time.
func (l *loop) listenJobs(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case j := <-l.ears:
			l.hear(j)
			select {
			case l.results <- j:
			case <-ctx.Done():
				return
			}
		}
	}
}

func (l *loop) hear(j *job) {
	if j.err = j.ctx.Err(); j.err != nil {
		return
	}
	if j.ready {
		j.err = l.o.Ear.(Preparer).Prepare(j.ctx)
		return
	}
	start := time.Now()
	j.hearing, j.err = l.hearAfter(j.ctx, j)
	j.took = time.Since(start)
}

// time is the loop's clock.
func (l *loop) time() time.Time {
	if l.o.Fast {
		return l.o.Start.Add(l.at)
	}
	return l.o.Now()
}

// frame takes the next frame of the source.
func (l *loop) frame(ctx context.Context, f audio.Frame) error {
	if l.pass != nil || l.echo != nil {
		f.Samples = append(audio.Samples(nil), f.Samples...)
	}
	if l.echo != nil {
		l.echo.Cancel(f.Samples, l.o.Given(f.Lost))
	}
	if l.pass != nil {
		l.pass.Filter(f.Samples)
	}
	l.at = f.End()
	cut, err := l.seg.Push(f)
	if err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	l.meter.Push(f.Samples, l.seg.Speaking())
	l.pollTalk()
	if l.talk != nil {
		l.spokeUntil = l.at
	}
	l.remember(f.Samples)
	l.keep(f.Samples)
	switch cut.Kind {
	case audio.Started:
		l.begin(cut.Start, cut.End)
	case audio.Paused:
		l.now.end = cut.End
		l.ask(ctx, l.now, cut.Samples)
	case audio.Resumed:
		l.resume(l.now)
		l.now.short = nil // of a pause in it
		l.forget(l.now)
	case audio.Ended:
		l.endTurn(ctx, cut)
	case audio.Overtaken:
		l.endTurn(ctx, cut)
		l.begin(l.seg.Start(), l.at)
	}
	if l.now != nil {
		l.now.end = max(l.now.end, cut.End)
		if l.talk != nil && l.o.HalfDuplex {
			l.now.over = true
		}
	}
	l.spot(ctx)
	l.settle(ctx)
	l.tick(ctx)
	l.show()
	return nil
}

// endTurn moves the utterance under way to the waiting ones.
func (l *loop) endTurn(ctx context.Context, cut audio.Cut) {
	t := l.now
	l.now = nil
	if t == nil {
		return
	}
	t.done, t.end, t.sound, t.upTo = true, cut.End, cut.Samples, l.at
	if cut.Kind == audio.Overtaken {
		t.upTo = l.seg.Start()
		if t.result == nil && t.job == nil {
			// Cut off in the middle of a word, it is no sentence.
			l.letPass(t)
			return
		}
	}
	if t.result == nil && t.job == nil {
		l.ask(ctx, t, cut.Samples)
	}
	l.waiting = append(l.waiting, t)
}

// flush ends the stream.
func (l *loop) flush(ctx context.Context) {
	if cut := l.seg.Flush(); cut.Kind == audio.Ended {
		l.endTurn(ctx, cut)
	}
	l.settle(ctx)
	l.show()
}

// overlaps: did speech that began at start begin in the program's own voice?
func (l *loop) overlaps(start time.Duration) bool {
	return l.o.HalfDuplex && (l.talk != nil || l.spokeUntil > 0 && start < l.spokeUntil+l.o.Tail)
}

// ask has the sound of t recognised.
func (l *loop) ask(ctx context.Context, t *turn, sound audio.Samples) {
	l.forget(t)
	known := l.decided(t)
	if known != nil && len(t.rests) == 0 {
		t.result = known
		return
	}
	if t.skip < len(sound) {
		sound = sound[t.skip:]
	}
	hint := Hint{CallNeeded: !l.addressed(t)}
	if t.over && !t.called {
		// In the program's own voice only the call word and "stop" count.
		hint.Only = l.interruptions()
	}
	l.giveWay()
	t.job = &job{turn: t, sound: sound, hint: hint, known: known}
	if hint.Only == nil {
		t.job.rests = l.restsOf(t, sound)
	}
	if t.skip == 0 {
		t.job.lead, t.job.callSeen = t.lead, t.callSeen
	}
	if a := l.follows(t); a != nil {
		t.job.joined, t.job.begun = a.joined(sound, l.at), a.start
	}
	l.submit(ctx, t.job)
}

// submit runs a recognition: beside the loop, or at once with Fast.
func (l *loop) submit(ctx context.Context, j *job) {
	j.ctx, j.cancel = context.WithCancel(ctx)
	if l.preparing != nil {
		l.preparing.cancel() // somebody speaks; practice can wait
	}
	if l.ears == nil {
		l.hear(j)
		l.heard(ctx, j)
		return
	}
	select {
	case l.ears <- j:
	default:
		// So far behind, the recogniser will not be asked for more than it can do.
		j.cancel()
		j.err = context.Canceled
		if j.turn != nil {
			j.turn.job, j.turn.result = nil, &Hearing{}
		}
		l.o.Tell("The computer is too slow: a sentence was left out.")
	}
}

// prepare lets the ear get ready for new names, beside the loop and only while
// nobody speaks.
func (l *loop) prepare(ctx context.Context) {
	if _, ok := l.o.Ear.(Preparer); !ok || l.ears == nil || l.preparing != nil || !l.practise {
		return
	}
	j := &job{ready: true}
	l.submit(ctx, j)
	l.preparing = j
}

// forget drops what was recognised of t so far.
func (l *loop) forget(t *turn) {
	if t == nil {
		return
	}
	if t.job != nil {
		t.job.cancel()
		t.job = nil
	}
	t.result = nil
}

// heard takes a finished recognition.
func (l *loop) heard(ctx context.Context, j *job) {
	j.cancel()
	switch {
	case j.ready:
		l.preparing = nil
		l.practise = errors.Is(j.err, context.Canceled)
		if j.err != nil && !l.practise {
			l.o.Tell(j.err.Error())
		}
		return
	case j.turn == nil:
		l.spotted(ctx, j)
		return
	}
	t := j.turn
	if t.job != j {
		return // the sentence went on meanwhile
	}
	t.job = nil
	if j.err != nil {
		if !errors.Is(j.err, context.Canceled) {
			l.o.Tell("Recognition failed: " + j.err.Error())
		}
		j.hearing = Hearing{}
	}
	if j.hint.CallNeeded && j.hint.Only == nil && j.err == nil {
		j.hearing = t.heardWith(j.hearing)
		t.callSeen = t.callSeen || j.hearing.Called
		if meantForIt(j.hearing) && j.hearing.Complete && !is[intent.Call](j.hearing.Intent) {
			t.before = &j.hearing
		}
	}
	if t.short != nil && t.short.standsAgainst(j.hearing) {
		j.hearing = *t.short // what came behind it was somebody else
	}
	t.result, t.took, t.begun = &j.hearing, j.took, t.start
	if j.joined != nil {
		t.begun = j.begun
	}
	t.restCalled = j.restCalled
	t.uncalled, t.talk = nil, j.endless(l.preRoll())
	if t.talk || j.uncalled(l.preRoll()) {
		t.uncalled = &j.hearing
	}
	if j.hint.Only != nil && j.hearing.Accepted {
		l.interrupted(ctx, t, j)
	}
	l.settle(ctx)
}

// patience is how long a pause must last after a reading before it is the end.
func (l *loop) patience(t *turn) time.Duration {
	h := *t.result
	switch {
	case t.called && !h.Accepted:
		// The call word, picked out of the program's own voice: what lay around
		// it was not theirs, and the command follows by itself.
		return l.o.Linger
	case h.Complete && is[intent.Choice](h.Intent) && (!l.question || l.yesNo) && !corrects(h.Text):
		return l.o.Expect // nothing was asked: "forty newton metres … in foot-pounds"
	case h.Complete && h.Accepted && is[intent.Call](h.Intent):
		return max(l.o.Linger, callPause)
	case h.Complete && h.Accepted && !h.Open:
		return l.o.Settle
	case h.Complete && h.Accepted:
		return l.o.Linger
	case l.past(t):
		return asidePause
	}
	return l.o.Expect
}

// settle answers what can be answered now.
func (l *loop) settle(ctx context.Context) {
	for len(l.waiting) > 0 && (l.waiting[0].result != nil || l.waiting[0].gone) {
		t := l.waiting[0]
		l.waiting = l.waiting[1:]
		if !t.gone {
			l.act(ctx, t)
		}
	}
	t := l.now
	if t == nil || t.result == nil || len(l.waiting) > 0 {
		return
	}
	patience := l.patience(t)
	if l.softEnd(t, patience) {
		t.short = t.result
		l.ask(ctx, t, l.seg.Sound())
		return
	}
	if l.seg.Quiet() >= patience {
		t.sound, t.upTo = l.seg.Take(), l.at
		l.now = nil
		l.act(ctx, t)
	}
}

// benchQuiet reports whether the job was left quiet: by an earlier session, or
// by words typed on the page.
func (l *loop) benchQuiet() bool {
	b, ok := l.o.Bench.(interface{ Quiet() bool })
	return ok && b.Quiet()
}

// inWindow: may the call word be left out for speech that began at start?
func (l *loop) inWindow(start time.Duration) bool { return start <= l.openUntil }

// addressed: is t meant for the program whatever it says?
func (l *loop) addressed(t *turn) bool {
	if l.quiet || t.over {
		return t.called && !l.quiet
	}
	return t.called || l.keyed || l.o.Address == Always || l.inWindow(t.start)
}

// open opens the follow-up window from now on.
func (l *loop) open(d time.Duration) { l.openUntil = max(l.openUntil, l.at+d) }

// act does what t says.
func (l *loop) act(ctx context.Context, t *turn) {
	h := *t.result
	l.aside = nil
	if l.past(t) {
		l.letPass(t)
	}
	x := Exchange{At: l.time(), Start: t.begun, End: t.end, Hearing: h, Heard: t.took}
	report := func(out Outcome) {
		x.Outcome = out
		l.ready(&x)
		l.o.Report(x)
	}
	called := h.Called || t.called
	whole := h.Complete && h.Intent != nil
	good := whole && (h.Accepted || h.Unsure && ((called || l.keyed) && harmless(h) || l.addressed(t) && plainQuestion(h)))
	if l.ownWords(h.Text, t) {
		report(OwnVoice)
		return
	}
	if t.found && good && !is[intent.Call](h.Intent) && (!h.Called || l.scrap(h.Text)) {
		// The call word was said; what was read behind it was the program itself.
		h.Intent = intent.Call{}
	}
	if t.over && good && is[intent.Stop](h.Intent) && l.talk != nil {
		l.hush()
		report(Stopped)
		return
	}
	if l.quiet {
		if !good || !called || !is[intent.Listen](h.Intent) {
			report(KeptQuiet)
			return
		}
		l.quiet = false
	}
	addressed := l.addressed(t) || called && (h.Accepted || h.Unsure)
	if !addressed {
		report(Ignored)
		return
	}
	if good && !called && !l.keyed && l.o.Address == Always && l.awaited(h, t) && !l.surely(h, t) && !byChance(h) {
		good, h.Accepted, h.Unsure = false, false, true // worth a question
	}
	if good && !called && !l.keyed && !(l.awaited(h, t) && l.surely(h, t)) {
		if is[intent.Choice](h.Intent) && l.question {
			l.missed(t, report)
		} else {
			report(Ignored)
		}
		return
	}
	keyed := l.keyed
	l.keyed = false
	l.status.Heard, l.status.Understood, l.status.Reply = h.Text, "", ""
	if !good {
		// In the window after a reply, talk with others is likelier than a
		// command that failed: no words, unless they called or were asked.
		likelySaid := l.o.Address == Always && whole && h.Unsure && !byChance(h)
		meant := h.Called && (h.Accepted || h.Unsure) || keyed || l.question && l.inWindow(t.start) && likeAnAnswer(h)
		if meant || likelySaid {
			x.Reply = jobs.Reply{Kind: jobs.ReplyQuestion, Text: sayAgain}
			if !(h.More && h.Guess != nil) && whole && h.Unsure && ((called || keyed) && h.Confidence >= likely || likelySaid) && !h.Reading.Asks() && !(h.Called && l.scrap(h.Text)) {
				out, err := l.o.Bench.Do(l.time(), intent.Unclear{Heard: h.Text, Question: sayAgain, Then: []intent.Intent{h.Intent}, Part: h.More}, jobs.Heard{Text: h.Text, Confidence: h.Confidence})
				if err == nil {
					x.Reply = out.Reply
				}
				if x.Reply.Text != sayAgain {
					l.asked(x.Reply)
				}
			}
			if h.Guess != nil && x.Reply.Text == sayAgain {
				if out, err := l.o.Bench.Do(l.time(), *h.Guess, jobs.Heard{Text: h.Text, Confidence: h.Confidence}); err == nil {
					x.Reply = out.Reply
					l.asked(out.Reply)
				}
			}
			if !meant && x.Reply.Text == sayAgain {
				report(Ignored) // nobody is asked again who may not have spoken to it
				return
			}
			l.hush()
			x.Outcome = Missed
			l.say(ctx, x, audio.ToneMissed, l.o.ToneMissed)
			return
		}
		if h.Unsure {
			l.missed(t, report)
		} else {
			report(Ignored)
		}
		return
	}
	l.status.Understood = describe(h.Intent)
	l.hush()
	switch h.Intent.(type) {
	case intent.Call:
		x.Outcome = Called
		l.open(l.o.FollowUp)
		l.say(ctx, x, audio.ToneHeard, l.o.ToneHeard)
		return
	case intent.Stop:
		report(Stopped)
		return
	case intent.Quiet:
		l.quiet = true
		l.openUntil = -1
	}
	out, err := l.o.Bench.Do(l.time(), h.Intent, jobs.Heard{Text: h.Text, Confidence: h.Confidence})
	if err != nil {
		l.o.Tell(err.Error())
		out.Reply = jobs.Reply{Kind: jobs.ReplyWarning, Text: "That could not be written down. Look at the screen."}
	}
	if len(out.Events) > 0 {
		l.practise = true
	}
	x.Reply, x.Events, x.Outcome = out.Reply, out.Events, Answered
	l.question, l.yesNo = false, false
	if out.Reply.Kind == jobs.ReplyQuestion || out.Reply.Kind == jobs.ReplyObjection {
		l.asked(out.Reply)
	}
	l.say(ctx, x, audio.ToneHeard, false)
}

// missed tells by its tone alone that what was said shortly after a reply did not
// count, and at other times nothing.
func (l *loop) missed(t *turn, report func(Outcome)) {
	if l.inWindow(t.start) && l.o.ToneMissed && l.o.Speaker != nil && l.talk == nil {
		l.tone(audio.ToneMissed)
		report(Missed)
		return
	}
	report(Ignored)
}

// asked notes that r waits for an answer.
func (l *loop) asked(r jobs.Reply) {
	l.question, l.yesNo = true, slices.Equal(r.Choices, []string{"yes", "no"})
}

// sayAgain asks for a sentence that was not understood.
const sayAgain = "Say again?"

// likely is the confidence from which a change that was called for is asked about
// by what it would be, and a yes carries it out. harmlessly is the same for what
// is carried out at once because it changes nothing that is relied on, and the
// answer names what it is about. Of 128 shop commands of synthetic voices in two
// conditions, 22 of 32 between 0.6 and the line to act were right, and of those
// that were wrong none was a question about something else that exists.
const (
	likely     = 0.5
	harmlessly = 0.6
)

// harmless: may h be carried out although it is not sure, where it was called for?
func harmless(h Hearing) bool {
	return h.Confidence >= harmlessly && !h.Figure && (h.Reading.Asks() || slices.Contains([]string{"note", "flag", "mark"}, h.Reading.Rule))
}

// plainQuestion: is h a question of so many words that nobody says them by chance,
// and can be answered though it is not sure and nobody called? The answer names what it
// is about; a figure it may have wrong. "Torque for the front cover long" of a
// synthetic voice at 12 dB was left alone at 0.62; "What did you make of that", of a
// book, had 0.56.
func plainQuestion(h Hearing) bool {
	words := strings.Fields(plainWords(h.Text))
	figures := slices.Contains([]string{"convert", "askJudge"}, h.Reading.Rule) || strings.ContainsAny(h.Text, "0123456789")
	asked := strings.HasPrefix(h.Reading.Rule, "ask") // "what will I do after that" opens a step
	return h.Confidence >= plainlyAsked && asked && len(words) >= fewestPlain && !figures
}

const plainlyAsked = 0.6

// is reports the dynamic type of an intent.
func is[T intent.Intent](in intent.Intent) bool {
	_, ok := in.(T)
	return ok
}

// describe is an intent's name with its fields, for the page.
func describe(in intent.Intent) string {
	return strings.TrimPrefix(fmt.Sprintf("%T", in), "intent.")
}

// ready stamps how long the answer took.
func (l *loop) ready(x *Exchange) {
	if l.o.Fast {
		return
	}
	x.Ready = l.since(x.End)
}

// since is the time passed since a moment on the audio clock, by the last
// frame's arrival.
func (l *loop) since(moment time.Duration) time.Duration {
	return l.o.Now().Sub(l.frameAt) + (l.at - moment)
}

// wallOf is the clock's time of a moment on the audio clock.
func (l *loop) wallOf(moment time.Duration) time.Time { return l.frameAt.Add(moment - l.at) }

// ownWords: is text the program's own voice come back through the microphone?
func (l *loop) ownWords(text string, t *turn) bool {
	if !t.over || text == "" {
		return false
	}
	for _, s := range l.recent {
		if l.o.Resembles(text, s.text) {
			return true
		}
	}
	return false
}

// press is the pedal, the key or the headset's button.
func (l *loop) press() {
	if l.talk != nil {
		l.hush()
	}
	if l.quiet {
		// The job keeps that it was told to be quiet; the key ends it there too.
		if _, err := l.o.Bench.Do(l.time(), intent.Listen{}, jobs.Heard{}); err != nil {
			l.o.Tell(err.Error())
		}
		l.quiet = false
	}
	l.keyed = true
	// What was heard so far was heard as if it needed the call word.
	l.forget(l.now)
	l.open(l.o.FollowUp)
	if l.o.ToneHeard && l.o.Speaker != nil {
		l.tone(audio.ToneHeard)
	}
}

// tick asks the bench what is due and says it when nobody speaks.
func (l *loop) tick(ctx context.Context) {
	now := l.time()
	if now.Sub(l.lastTick) >= time.Second || l.lastTick.IsZero() {
		l.lastTick = now
		due, err := l.o.Bench.Tick(now)
		if err != nil {
			l.o.Tell(err.Error())
		}
		l.due = append(l.due, due...)
	}
	busy := l.talk != nil || l.now != nil && !l.between() || len(l.waiting) > 0 || l.at < l.passed+breath
	if !busy && l.now == nil {
		l.prepare(ctx)
	}
	if len(l.due) == 0 || busy {
		return
	}
	x := Exchange{At: now, Start: l.at, End: l.at, Outcome: Alert, Reply: l.due[0]}
	l.due = l.due[1:]
	l.say(ctx, x, audio.ToneAttention, l.o.ToneAlert)
}

// breath is the pause in talk among people, or of a radio, in which the program
// may say what is due: a warning cannot wait for the end of a broadcast.
const breath = 600 * time.Millisecond

// between: has the talk under way paused, and was it not meant for the program?
func (l *loop) between() bool {
	return l.now.result != nil && !l.addressed(l.now) && !l.now.result.Called && l.seg.Quiet() >= breath
}

// show publishes the status ten times a second.
func (l *loop) show() {
	mode := Idle
	switch {
	case l.talk != nil:
		mode = Speaking
	case l.quiet:
		mode = Quiet
	case len(l.waiting) > 0 || l.now != nil && l.now.job != nil:
		mode = Thinking
	case l.now != nil || l.o.Address == Always || l.keyed || l.inWindow(l.at):
		mode = Listening
	}
	if mode == l.status.Mode && l.at-l.lastShow < 100*time.Millisecond {
		return
	}
	l.lastShow = l.at
	l.status.Mode = mode
	// -60 dB is the left end of the needle, full scale the right.
	l.status.Level = math.Max(0, math.Min(1, 1+float64(l.meter.Level())/60))
	l.status.Room = l.meter.Room()
	l.status.At = l.time()
	l.o.Publish(l.status)
}
