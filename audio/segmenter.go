package audio

import "time"

// DefaultPreRoll is the sound kept from before the first speech.
const DefaultPreRoll = 320 * time.Millisecond

// SegmenterConfig sets when speech begins and ends. A zero field takes its default.
type SegmenterConfig struct {
	// Threshold is the likelihood from which a frame is speech. Default 0.5.
	// Inside an utterance a frame counts as speech from 0.15 below it.
	Threshold float64
	// PreRoll is the sound kept from before the first frame of speech, so that
	// soft first syllables survive. Default [DefaultPreRoll].
	PreRoll time.Duration
	// MinSpeech is how much speech an utterance needs to begin. Default 96 ms.
	MinSpeech time.Duration
	// Pause is the silence after which [Paused] is reported. Default 160 ms.
	Pause time.Duration
	// End is the silence after which the utterance is over. Default 700 ms.
	End time.Duration
	// Max is the longest utterance; a longer one is cut. Default 25 s, for
	// whisper hears 30 s at most.
	Max time.Duration
}

func (c SegmenterConfig) withDefaults() SegmenterConfig {
	def := func(d *time.Duration, v time.Duration) {
		if *d == 0 {
			*d = v
		}
	}
	if c.Threshold == 0 {
		c.Threshold = 0.5
	}
	def(&c.PreRoll, DefaultPreRoll)
	def(&c.MinSpeech, 96*time.Millisecond)
	def(&c.Pause, 160*time.Millisecond)
	def(&c.End, 700*time.Millisecond)
	def(&c.Max, 25*time.Second)
	return c
}

// CutKind says what a frame did to the utterance.
type CutKind int

// The kinds of cut.
const (
	// Nothing: no change.
	Nothing CutKind = iota
	// Started: somebody began to speak.
	Started
	// Paused: speech stopped for [SegmenterConfig.Pause]; the utterance may go on.
	Paused
	// Resumed: after Paused, speech goes on.
	Resumed
	// Ended: the utterance is over.
	Ended
	// Overtaken: the utterance is over, and a louder one has begun in it or
	// directly behind it; [Segmenter.Start] says where.
	Overtaken
)

// Cut is what [Segmenter.Push] reports.
type Cut struct {
	Kind CutKind
	// Samples is the utterance so far with pre-roll, for Paused, Ended and
	// Overtaken. It is a copy.
	Samples Samples
	// Start and End are where its speech begins and the last speech ended on
	// the audio clock, pre-roll and trailing silence not counted.
	Start, End time.Duration
	// Speech is the detector's likelihood for the frame just pushed.
	Speech float64
	// Truncated: the utterance was cut because it reached its longest.
	Truncated bool
}

// Segmenter cuts a stream of frames into utterances. It has no clock of its
// own: the audio clock of the frames is its time, so a file gives the same cuts
// however fast it is read. Not safe for concurrent use.
type Segmenter struct {
	vad   VAD
	cfg   SegmenterConfig
	pre   Samples   // the last sound before speech
	likes []float64 // the likelihood of each frame of it that is no part of an utterance
	utt   Samples   // the current utterance
	run   time.Duration
	quiet time.Duration
	soft  time.Duration // what of quiet the detector takes for speech
	hush  time.Duration // since it last did
	in    bool
	pause bool
	start time.Duration
	last  time.Duration // end of the last speech frame
	at    time.Duration // end of the last frame

	levels  levels
	frames  int      // of the current utterance
	floor   Decibels // what sounded before it
	loudest Decibels // frame of the utterance
	low     int      // frames in a row that were no louder than the floor
}

// NewSegmenter makes a segmenter over the detector.
func NewSegmenter(vad VAD, cfg SegmenterConfig) *Segmenter {
	return &Segmenter{vad: vad, cfg: cfg.withDefaults()}
}

// Push takes the next frame. The error is the detector's.
func (s *Segmenter) Push(f Frame) (Cut, error) {
	p, err := s.vad.Speech(f.Samples)
	if err != nil {
		return Cut{}, err
	}
	cut := Cut{Speech: p}
	s.at = f.End()
	length := f.Samples.Duration()
	level := LevelOf(f.Samples.RMS())
	s.levels.push(level)
	if !s.in {
		s.pre = append(s.pre, f.Samples...)
		s.likes = append(s.likes, p)
		if most := int((softest+s.run)/length) + 1; len(s.likes) > most {
			s.likes = append(s.likes[:0], s.likes[len(s.likes)-most:]...)
		}
		if keep := Count(s.cfg.PreRoll + softest + s.run + length); len(s.pre) > keep {
			s.pre = append(s.pre[:0], s.pre[len(s.pre)-keep:]...)
		}
		if p < s.cfg.Threshold {
			s.run = 0
			return cut, nil
		}
		if s.run == 0 {
			s.start = f.At
		}
		s.run += length
		s.last = s.at
		if s.run < s.cfg.MinSpeech {
			return cut, nil
		}
		s.in, s.pause, s.quiet, s.soft, s.hush = true, false, 0, 0, 0
		passed := int(s.run / length)
		soft := s.softly(passed)
		passed += soft
		s.start -= time.Duration(soft) * length
		keep := min(len(s.pre), Count(s.cfg.PreRoll+time.Duration(passed)*length))
		s.utt = append(s.utt[:0], s.pre[len(s.pre)-keep:]...)
		s.pre, s.likes = s.pre[:0], s.likes[:0]
		s.begin(passed)
		cut.Kind, cut.Start, cut.End = Started, s.start, s.last
		return cut, nil
	}
	s.utt = append(s.utt, f.Samples...)
	s.frames++
	if ago, ok := s.levels.step(s.frames); ok && p >= s.cfg.Threshold {
		cut.Start, cut.End = s.start, min(s.last, s.at-time.Duration(ago)*length)
		cut.Kind = Overtaken
		cut.Samples = s.overtake(ago, length)
		return cut, nil
	}
	s.loudest = max(s.loudest, level)
	if p >= s.cfg.Threshold-0.15 && !s.sunk(level) {
		s.quiet, s.soft, s.hush, s.last = 0, 0, 0, s.at
		if s.pause {
			s.pause = false
			cut.Kind = Resumed
		}
	} else {
		s.quiet += length
		if s.hush += length; p >= s.cfg.Threshold-0.15 {
			s.soft += length
			s.hush = 0
		}
	}
	cut.Start, cut.End = s.start, s.last
	switch {
	case s.utt.Duration() >= s.cfg.Max:
		cut.Truncated = true
		fallthrough
	case s.quiet >= s.cfg.End:
		cut.Kind = Ended
		cut.Samples = s.Take()
	case s.quiet >= s.cfg.Pause && !s.pause:
		s.pause = true
		cut.Kind = Paused
		cut.Samples = append(Samples(nil), s.utt...)
	}
	return cut, nil
}

// Over loud music and tools the detector comes to its decision late: of the call
// word it may find each frame possible and none likely. So an utterance begins
// with the first frame that was possible, where less than possibleGap lies between
// one and the next, softest before the first likely one at the most.
const (
	possible    = 0.15
	possibleGap = 7 // frames
	softest     = time.Second
)

// softly is the number of frames before the last passed ones that belong to the
// same utterance.
func (s *Segmenter) softly(passed int) int {
	found := 0
	for back := 1; back <= len(s.likes)-passed && back-found <= possibleGap; back++ {
		if s.likes[len(s.likes)-passed-back] >= possible {
			found = back
		}
	}
	return found
}

// begin notes what sounded before an utterance of which some frames have passed.
func (s *Segmenter) begin(passed int) {
	s.frames, s.loudest, s.low = passed, LevelFloor, 0
	for _, l := range s.levels.list[len(s.levels.list)-passed:] {
		s.loudest = max(s.loudest, l)
	}
	s.floor, _ = s.levels.loud(floorFrames, passed)
}

// sunk: has the level been back for a while to what sounded before the
// utterance, where that stands well above it?
func (s *Segmenter) sunk(level Decibels) bool {
	if s.loudest < s.floor+clearBy || level >= s.floor+aboveFloor {
		s.low = 0
	} else {
		s.low++
	}
	return s.low >= lowFrames
}

// overtake ends the utterance that many frames ago, gives it, and begins
// another there, which shares its last sound as pre-roll.
func (s *Segmenter) overtake(ago int, length time.Duration) Samples {
	split := max(0, len(s.utt)-Count(time.Duration(ago)*length))
	before := append(Samples(nil), s.utt[:split]...)
	s.utt = append(s.utt[:0], s.utt[max(0, split-Count(s.cfg.PreRoll)):]...)
	s.start, s.last = s.at-time.Duration(ago)*length, s.at
	s.pause, s.quiet, s.soft, s.hush = false, 0, 0, 0
	s.begin(ago)
	return before
}

// Start is where the speech of the current utterance begins.
func (s *Segmenter) Start() time.Duration { return s.start }

// Speaking reports whether an utterance is under way.
func (s *Segmenter) Speaking() bool { return s.in }

// Quiet is how long the current utterance has been silent.
func (s *Segmenter) Quiet() time.Duration {
	if !s.in {
		return 0
	}
	return s.quiet
}

// Soft is how much of [Segmenter.Quiet] the detector takes for speech all the same:
// somebody else's in the background, or a last word said softly.
func (s *Segmenter) Soft() time.Duration { return s.soft }

// Hush is for how long the detector has taken nothing for speech, in the pause of
// [Segmenter.Quiet].
func (s *Segmenter) Hush() time.Duration { return s.hush }

// Sound is a copy of the utterance under way with its pre-roll, nil without one.
func (s *Segmenter) Sound() Samples {
	if !s.in {
		return nil
	}
	return append(Samples(nil), s.utt...)
}

// Take ends the current utterance at once and gives it: for a caller who knows
// that nothing more can follow. Without an utterance it gives nil.
func (s *Segmenter) Take() Samples {
	if !s.in {
		return nil
	}
	out := append(Samples(nil), s.utt...)
	// The silence behind it is the pre-roll of the next one.
	tail := min(len(s.utt), Count(min(s.quiet, s.cfg.PreRoll)))
	s.pre, s.likes = append(s.pre[:0], s.utt[len(s.utt)-tail:]...), s.likes[:0]
	s.utt = s.utt[:0]
	s.in, s.pause, s.run, s.quiet, s.soft, s.hush = false, false, 0, 0, 0, 0
	return out
}

// Flush ends the stream: an utterance under way is reported as [Ended].
func (s *Segmenter) Flush() Cut {
	if !s.in {
		return Cut{}
	}
	cut := Cut{Kind: Ended, Start: s.start, End: s.last}
	cut.Samples = s.Take()
	return cut
}

// Reset forgets everything, the detector's memory too.
func (s *Segmenter) Reset() {
	s.vad.Reset()
	*s = Segmenter{vad: s.vad, cfg: s.cfg}
}

// Utterances cuts a whole recording and gives its utterances in order.
func Utterances(sound Samples, vad VAD, cfg SegmenterConfig) ([]Cut, error) {
	seg := NewSegmenter(vad, cfg)
	var out []Cut
	for at := 0; at < len(sound); at += FrameSize {
		f := Frame{At: Samples(sound[:at]).Duration(), Samples: sound[at:min(at+FrameSize, len(sound))]}
		cut, err := seg.Push(f)
		if err != nil {
			return out, err
		}
		if cut.Kind == Ended {
			out = append(out, cut)
		}
	}
	if cut := seg.Flush(); cut.Kind == Ended {
		out = append(out, cut)
	}
	return out, nil
}
