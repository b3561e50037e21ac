package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"putback/audio"
	"putback/models"
)

// What the recogniser is given decides what it can hear: a command counts as
// cut out where a turn begins with it and pauses at its end. This asks only the
// detector and the segmenter, so that hundreds of commands take seconds.

// The bounds within which a turn begins and ends with the command. The pre-roll
// lies before its start; up to a word of what came before does no harm.
const (
	startsEarly = 350 * time.Millisecond
	startsLate  = 280 * time.Millisecond
	endsEarly   = 400 * time.Millisecond
	endsLate    = 450 * time.Millisecond
)

// asidePause is the silence after which the listening loop ends talk that is no
// sentence of the grammar.
const asidePause = 320 * time.Millisecond

// scene is a background and where the commands stand in it.
type scene struct {
	name string
	// gap is the time between the background and the command, where it stops
	// for it; negative where it goes on underneath.
	gap time.Duration
	snr float64 // of the command against the background's loudest of each second
}

// cutOut plays every kind of background under and before commands.
func cutOut(o options, have *stock, said *spoken) error {
	vad, err := openDetector()
	if err != nil {
		return err
	}
	defer vad.Close()
	beds := map[string][]clip{
		kindTalk: have.talk, kindRadio: have.radio, kindSinging: have.singing,
		kindChatter: have.chatter, kindMusic: have.music, kindTools: have.tools,
	}
	const row = "%-10s  %-12s  %3s  %-9s  %10v  %11v  %6v  %14v\n"
	fmt.Printf(row, "background", "place", "dB", "cut out", "begun late", "begun early", "no end", "turns a minute")
	for _, kind := range []string{kindTalk, kindRadio, kindSinging, kindChatter, kindMusic, kindTools} {
		for _, gap := range []time.Duration{-1, 400 * time.Millisecond, time.Second} {
			for _, snr := range []float64{0, 6, 12, 18} {
				if gap < 0 && snr == 0 || gap >= 0 && snr != 0 && snr != 12 {
					continue
				}
				r := rand.New(rand.NewPCG(o.seed, uint64(snr)*7+uint64(gap/time.Millisecond)))
				sound, placed := lay(beds[kind], said, scene{kind, gap, snr}, o.turns, r)
				vad.Reset()
				got, err := weighCuts(sound, placed, vad)
				if err != nil {
					return err
				}
				place := "under"
				if gap >= 0 {
					place = fmt.Sprintf("%.1f s before", gap.Seconds())
				}
				fmt.Printf(row, kind, place, fmt.Sprintf("%.0f", snr), fmt.Sprintf("%d of %d", got.right, len(placed)), got.late, got.early, got.endless,
					fmt.Sprintf("%.1f", got.turns/sound.Duration().Minutes()))
			}
		}
	}
	return nil
}

// openDetector loads the voice detector of the program.
func openDetector() (*audio.Silero, error) {
	library, err := models.Path("onnxruntime")
	if err != nil {
		return nil, err
	}
	model, err := models.Path("silero")
	if err != nil {
		return nil, err
	}
	return audio.NewSilero(library, model)
}

// lay makes the sound of n commands in a scene and says where they are.
func lay(bed []clip, said *spoken, s scene, n int, r *rand.Rand) (audio.Samples, []piece) {
	const every = 10 * time.Second
	sound := audio.Silence(time.Duration(n)*every + 4*time.Second)
	for at := 0; at < len(sound); {
		c := pick(r, bed).sound
		at += copy(sound[at:], c) + audio.Count(200*time.Millisecond)
	}
	level(sound)
	var placed []piece
	for i := range n {
		c := &said.clips[r.IntN(len(said.clips))]
		voice := append(audio.Samples(nil), c.sound...)
		gain := 0.05 * math.Pow(10, s.snr/20) / math.Sqrt(loudest(voice)/2048)
		at := time.Duration(i)*every + 5*time.Second + time.Duration(r.IntN(2000))*time.Millisecond
		from := audio.Count(at)
		if s.gap >= 0 {
			// It stops for the command and goes on some seconds after it.
			clear(sound[from-audio.Count(s.gap) : min(len(sound), from+len(voice)+audio.Count(2*time.Second))])
		}
		for k, v := range voice {
			sound[from+k] += v * float32(gain)
		}
		placed = append(placed, piece{kind: kindCommand, name: c.text, start: at, end: at + voice.Duration(), said: c, snr: s.snr})
	}
	for i, v := range sound {
		sound[i] = float32(max(-1, min(1, float64(v)+0.0006*r.NormFloat64())))
	}
	return sound, placed
}

// level brings the loudest 2048 samples of the seconds to a level of 0.05 at the median.
func level(s audio.Samples) {
	var most []float64
	for at := 0; at+audio.Rate <= len(s); at += audio.Rate {
		if l := loudest(s[at : at+audio.Rate]); l > 1e-6 {
			most = append(most, l)
		}
	}
	slices.Sort(most)
	gain := 0.05 / math.Sqrt(most[len(most)/2]/2048)
	for i := range s {
		s[i] *= float32(gain)
	}
}

// cuts is what became of the commands of one scene.
type cuts struct {
	right, late, early, endless int
	turns                       float64
}

// weighCuts runs the segmenter as the listening loop does: the end of a turn
// that is a command is known at once, anything else is let pass after a short pause.
func weighCuts(sound audio.Samples, placed []piece, vad audio.VAD) (cuts, error) {
	var got cuts
	found := make([]struct{ start, end, late bool }, len(placed))
	near := func(t, to, early, late time.Duration) bool { return t >= to-early && t <= to+late }
	seg := audio.NewSegmenter(vad, audio.SegmenterConfig{Pause: 64 * time.Millisecond, End: 1500 * time.Millisecond})
	for at := 0; at+audio.FrameSize <= len(sound); at += audio.FrameSize {
		cut, err := seg.Push(audio.Frame{At: sound[:at].Duration(), Samples: sound[at : at+audio.FrameSize]})
		if err != nil {
			return got, err
		}
		begun, start := cut.Kind == audio.Started || cut.Kind == audio.Overtaken, cut.Start
		if begun {
			got.turns++
			start = seg.Start()
		}
		command := false
		for i, p := range placed {
			if start < p.start-time.Minute || start > p.end {
				continue
			}
			starts := near(start, p.start, startsEarly, startsLate)
			command = command || starts
			found[i].start = found[i].start || starts && cut.Kind != audio.Nothing
			found[i].late = found[i].late || begun && start > p.start+startsLate
			ends := near(cut.End, p.end, endsEarly, endsLate) && (cut.Kind == audio.Paused || cut.Kind == audio.Ended)
			if starts && ends && !found[i].end {
				found[i].end = true
				seg.Take()
			}
		}
		if !command && seg.Quiet() >= asidePause {
			seg.Take()
		}
	}
	for _, f := range found {
		switch {
		case f.end:
			got.right++
		case f.start:
			got.endless++
		case f.late:
			got.late++
		default:
			got.early++
		}
	}
	return got, nil
}
