package audio

import "slices"

// Somebody who speaks to the program stands nearer than the radio. A voice
// detector takes both for speech, so that a command in or directly behind a
// broadcast has no start and no end of its own. The level tells them apart: a
// step upwards begins an utterance, and below what was there before it is over.

const (
	// stepHistory is how far back the level is remembered.
	stepHistory = 62 // frames, 2 s
	// stepAfter is how much of an utterance must have passed before a step in
	// it counts: one voice begins softly and gets louder.
	stepAfter = 20 // frames, 0.64 s
	// stepUp is the rise above the loud frames of before that counts. Common
	// practice, no source: one voice's syllables differ by about as much.
	stepUp Decibels = 6
	// stepFrames of the last stepOf frames must be so loud; a hammer is one.
	stepFrames, stepOf = 3, 4
	// floorFrames is how much before an utterance tells what sounds behind it.
	floorFrames = stepAfter
	// clearBy is how far an utterance must stand above what was before it for
	// that to count as its silence.
	clearBy Decibels = 9
	// aboveFloor is what still counts as what was before, when it lasts
	// lowFrames: one voice has softer syllables.
	aboveFloor Decibels = 3
	lowFrames  int      = 5 // 160 ms
)

// levels remembers how loud the last frames were, the latest last.
type levels struct {
	list []Decibels
}

func (l *levels) push(d Decibels) {
	if len(l.list) == stepHistory {
		copy(l.list, l.list[1:])
		l.list = l.list[:stepHistory-1]
	}
	l.list = append(l.list, d)
}

// loud is the level that a tenth of the frames are above, of the last n but the
// latest skip; ok is false where there are too few to tell.
func (l *levels) loud(n, skip int) (d Decibels, ok bool) {
	to := len(l.list) - skip
	from := max(0, to-n)
	if to-from < stepAfter {
		return LevelFloor, false
	}
	sorted := slices.Sorted(slices.Values(l.list[from:to]))
	return sorted[len(sorted)*9/10], true
}

// step reports whether the level has risen in the latest frames above what the
// last n frames had before, and how many frames ago.
func (l *levels) step(n int) (ago int, ok bool) {
	if len(l.list) < stepOf {
		return 0, false
	}
	before, ok := l.loud(n-stepOf, stepOf)
	if !ok || l.list[len(l.list)-1] < before+stepUp {
		return 0, false
	}
	risen := 0
	for i := 1; i <= stepOf; i++ {
		if l.list[len(l.list)-i] >= before+stepUp {
			risen++
			ago = i
		}
	}
	return ago, risen >= stepFrames
}
