package audio

// VAD is a detector of voice activity. There are two: [Silero], a small neural
// net that holds in engine noise, and [Energy], which needs no model and does not.
type VAD interface {
	// Speech takes the next [FrameSize] samples of the stream and gives the
	// likelihood of speech in them, 0 to 1. A shorter frame counts as followed by silence.
	Speech(frame Samples) (float64, error)
	// Reset forgets the stream so far.
	Reset()
	// Name is what to tell the user: "silero" or "energy".
	Name() string
}

// Energy is the fallback detector: the level above a noise floor that follows
// the quietest of the last seconds. It takes any loud sound for speech; a
// hammer fires it. Make one with [NewEnergy].
type Energy struct {
	floor float64
	warm  int
}

// NewEnergy makes the fallback detector.
func NewEnergy() *Energy { return &Energy{} }

// Speech gives the likelihood of speech: 0.5 at 9 dB above the floor.
func (e *Energy) Speech(frame Samples) (float64, error) {
	rms := max(frame.RMS(), 1e-5)
	switch {
	case e.warm == 0:
		e.floor = min(rms, 0.01)
	case rms < e.floor:
		e.floor += (rms - e.floor) * 0.2
	default:
		e.floor *= 1.003 // 0.8 dB per second upwards, so that a new noise is learnt in some seconds
	}
	e.warm++
	ratio := rms / e.floor
	// 9 dB is a factor of 2.8; below -50 dBFS nothing counts.
	if rms < 0.003 {
		return 0, nil
	}
	p := (ratio/2.8 - 1) / 2
	return max(0, min(1, 0.5+p)), nil
}

// Reset forgets the noise floor.
func (e *Energy) Reset() { *e = Energy{} }

// Name is "energy".
func (e *Energy) Name() string { return "energy" }
