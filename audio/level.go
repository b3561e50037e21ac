package audio

import "math"

// Decibels is a level against full scale: 0 is the loudest sine, negative below.
type Decibels float64

// LevelFloor is the level given for silence.
const LevelFloor Decibels = -96

// LevelOf is the level of a root mean square, against the sine of peak 1.
func LevelOf(rms float64) Decibels {
	if rms <= 0 {
		return LevelFloor
	}
	return max(LevelFloor, Decibels(20*math.Log10(rms*math.Sqrt2)))
}

// Meter is the level meter: what a needle would show, and the noise of the room.
// Not safe for concurrent use.
type Meter struct {
	level, room Decibels
	warm        bool
	clipped     int
}

// Push takes the next frame, with whether it holds speech; speech does not
// count as the room's noise.
func (m *Meter) Push(f Samples, speech bool) {
	l := LevelOf(f.RMS())
	if !m.warm {
		m.warm, m.level, m.room = true, l, l
	}
	// Up at once, down by 20 dB a second, as a peak programme meter falls.
	m.level = max(l, m.level-Decibels(20*FrameTime.Seconds()))
	if !speech {
		m.room += (l - m.room) * Decibels(FrameTime.Seconds()/2) // 2 s
	}
	for _, v := range f {
		if v >= 0.999 || v <= -0.999 {
			m.clipped++
		}
	}
}

// Level is the current level.
func (m *Meter) Level() Decibels {
	if !m.warm {
		return LevelFloor
	}
	return m.level
}

// Room is the level of the room while nobody speaks.
func (m *Meter) Room() Decibels {
	if !m.warm {
		return LevelFloor
	}
	return m.room
}

// Clipped is the number of samples at full scale so far: the gain is too high.
func (m *Meter) Clipped() int { return m.clipped }
