package audio

import (
	"fmt"
	"os"

	ort "github.com/yalue/onnxruntime_go"

	"putback/audio/onnxrt"
)

// sileroContext is the number of samples of the frame before that the net sees
// in front of the new ones.
const sileroContext = 64

// Silero is the Silero voice detector, version 5 or 6 of its ONNX file. It is
// not safe for concurrent use. Close it when done.
type Silero struct {
	session *ort.AdvancedSession
	// The session reads these; the binding does not keep them alive.
	input, state, output, stateOut *ort.Tensor[float32]
	rate                           *ort.Scalar[int64]
	still                          int // frames since the last that could be heard
	unlike                         int // frames in a row that are surely no speech
}

// faint is the peak, -66 dB below full scale, under which nothing can be heard in a
// frame. After stillFrames of them, half a second, the net is not asked any more: it
// was a third of what listening to a silent room cost.
const (
	faint       = 1.0 / 2048
	stillFrames = 16
)

// The longer the net hears noise or music, the less it takes for speech in it: a
// sentence 12 dB above a tool, after ten seconds of it, had 0.1 to 0.5 and never began an
// utterance; with nothing remembered it had 0.9 and more. So after unlikeFrames, two
// seconds, below unlikeSpeech the net forgets what it heard. Of 40 sentences under which
// tools go on 6 dB below, 33 are cut out rightly so and 20 without, of 40 over music 39
// and 31 (scripts/soak -turns 40 -seed 22); it costs one to three beginnings a minute in noise, after
// one second it would be more.
const (
	unlikeSpeech = 0.02
	unlikeFrames = 64
)

// NewSilero loads the model file, after starting the ONNX runtime from
// library (see onnxrt.Init). Without either file it fails, and the caller falls
// back on [Energy] and says so.
func NewSilero(library, model string) (*Silero, error) {
	if _, err := os.Stat(model); err != nil {
		return nil, fmt.Errorf("load the voice detector: %w; run `putback models fetch`", err)
	}
	if err := onnxrt.Init(library); err != nil {
		return nil, fmt.Errorf("load the voice detector: %w", err)
	}
	s := &Silero{}
	if err := s.open(model); err != nil {
		s.Close()
		return nil, fmt.Errorf("load the voice detector %s: %w", model, err)
	}
	return s, nil
}

func (s *Silero) open(model string) (err error) {
	if s.input, err = ort.NewEmptyTensor[float32](ort.NewShape(1, sileroContext+FrameSize)); err != nil {
		return err
	}
	if s.state, err = ort.NewEmptyTensor[float32](ort.NewShape(2, 1, 128)); err != nil {
		return err
	}
	if s.stateOut, err = ort.NewEmptyTensor[float32](ort.NewShape(2, 1, 128)); err != nil {
		return err
	}
	if s.output, err = ort.NewEmptyTensor[float32](ort.NewShape(1, 1)); err != nil {
		return err
	}
	if s.rate, err = ort.NewScalar[int64](Rate); err != nil {
		return err
	}
	opts, err := onnxrt.Options()
	if err != nil {
		return err
	}
	defer opts.Destroy()
	s.session, err = ort.NewAdvancedSession(model,
		[]string{"input", "state", "sr"}, []string{"output", "stateN"},
		[]ort.Value{s.input, s.state, s.rate}, []ort.Value{s.output, s.stateOut}, opts)
	return err
}

// Speech gives the net's likelihood of speech in the frame.
func (s *Silero) Speech(frame Samples) (float64, error) {
	if len(frame) > FrameSize {
		return 0, fmt.Errorf("detect voice: frame of %d samples, want at most %d", len(frame), FrameSize)
	}
	if frame.Peak() >= faint {
		s.still = 0
	} else if s.still++; s.still > stillFrames {
		if s.still == stillFrames+1 {
			s.forget() // what comes next is a beginning
		}
		return 0, nil
	}
	in := s.input.GetData()
	copy(in, in[FrameSize:])
	n := copy(in[sileroContext:], frame)
	clear(in[sileroContext+n:])
	if err := s.session.Run(); err != nil {
		return 0, fmt.Errorf("detect voice: %w", err)
	}
	copy(s.state.GetData(), s.stateOut.GetData())
	p := float64(s.output.GetData()[0])
	if p >= unlikeSpeech {
		s.unlike = 0
	} else if s.unlike++; s.unlike >= unlikeFrames {
		s.forget()
	}
	return p, nil
}

// Reset forgets the stream so far.
func (s *Silero) Reset() {
	s.still = 0
	s.forget()
}

func (s *Silero) forget() {
	s.unlike = 0
	clear(s.input.GetData())
	clear(s.state.GetData())
}

// Name is "silero".
func (s *Silero) Name() string { return "silero" }

// Close releases the model. Speech must not be called afterwards.
func (s *Silero) Close() error {
	if s.session != nil {
		_ = s.session.Destroy()
		s.session = nil
	}
	for _, t := range []*ort.Tensor[float32]{s.input, s.state, s.output, s.stateOut} {
		if t != nil {
			_ = t.Destroy()
		}
	}
	if s.rate != nil {
		_ = s.rate.Destroy()
	}
	s.input, s.state, s.output, s.stateOut, s.rate = nil, nil, nil, nil, nil
	return nil
}
