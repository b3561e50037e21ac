package selftest

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"putback/audio"
)

// room listens to the room while nobody speaks, and to the loudspeaker in it.
func (t *test) room(ctx context.Context) {
	mic, err := t.OpenMicrophone()
	if err != nil {
		t.add(Line{Part: "level", Found: err.Error(), Bad: true})
		return
	}
	defer mic.Close()
	heard, err := listen(ctx, mic, t.Listen, t.VAD)
	if err != nil {
		t.add(Line{Part: "level", Found: "listening: " + err.Error(), Bad: true})
		return
	}
	t.add(judgeLevel(heard))
	t.add(judgeNoise(heard, t.Settings.HighPass > 0))
	t.echo(ctx, mic)
}

// roomSound is what a few seconds of the room gave.
type roomSound struct {
	sound   audio.Samples
	lost    int           // samples
	took    time.Duration // by the clock
	speech  int           // frames that the detector takes for speech
	frames  int
	clipped int
}

func listen(ctx context.Context, mic audio.Source, d time.Duration, vad audio.VAD) (r roomSound, err error) {
	ctx, cancel := context.WithTimeout(ctx, d+10*time.Second)
	defer cancel()
	begun := time.Now()
	for r.sound.Duration() < d {
		f, err := mic.Next(ctx)
		if errors.Is(err, context.DeadlineExceeded) {
			return r, fmt.Errorf("the microphone gave %.1f s of sound in %.0f s", r.sound.Duration().Seconds(), time.Since(begun).Seconds())
		}
		if err != nil {
			return r, err
		}
		r.sound = append(r.sound, f.Samples...)
		r.lost += f.Lost
		r.frames++
		if vad != nil {
			p, err := vad.Speech(f.Samples)
			if err != nil {
				return r, err
			}
			if p > 0.5 {
				r.speech++
			}
		}
		for _, v := range f.Samples {
			if math.Abs(float64(v)) >= 0.999 {
				r.clipped++
			}
		}
	}
	r.took = time.Since(begun)
	return r, nil
}

// judgeLevel says whether the microphone gives sound at all, and whole.
func judgeLevel(r roomSound) Line {
	l := Line{Part: "level"}
	level := audio.LevelOf(r.sound.RMS())
	l.Found = fmt.Sprintf("%.0f dB, loudest %.0f dB", level, audio.LevelOf(r.sound.Peak()/math.Sqrt2))
	switch {
	case r.sound.Peak() < 1e-5:
		// A virtual device is silent as well; a real one never quite is.
		l.Found = "the microphone gives no sound at all, not even its own hiss"
		l.Change = append(l.Change, "unmute it in the system's sound settings and on the headset; with a virtual device this is as it should be")
	case r.clipped > len(r.sound)/1000:
		l.Found += fmt.Sprintf("; %.1f %% of it is cut off at the top", 100*float64(r.clipped)/float64(len(r.sound)))
		l.Change = append(l.Change, "turn the microphone's gain down in the system's sound settings until nothing is cut off")
	}
	if r.lost > audio.Rate/20 {
		l.Found += fmt.Sprintf("; %.2f s were lost", float64(r.lost)/audio.Rate)
		l.Change = append(l.Change, "close other programs: this computer does not get round to its microphone")
	}
	return l
}

// judgeNoise says what the room's noise means for being understood.
func judgeNoise(r roomSound, filtered bool) Line {
	level := audio.LevelOf(r.sound.RMS())
	l := Line{Part: "noise"}
	switch {
	case level < -50:
		l.Found = fmt.Sprintf("a quiet room (%.0f dB)", level)
	case level < -35:
		l.Found = fmt.Sprintf("some noise (%.0f dB)", level)
	default:
		l.Found = fmt.Sprintf("a loud room (%.0f dB)", level)
		l.Change = append(l.Change, "wear the microphone or bring it within half a metre of the mouth")
	}
	if rumble := lowShare(r.sound); rumble > 0.8 && level > -50 && !filtered {
		l.Found += fmt.Sprintf(", %.0f %% of it below 80 Hz", 100*rumble)
		l.Change = append(l.Change, "set high pass: 80 in the settings; it takes the rumble out")
	}
	if r.frames > 0 && r.speech > r.frames/10 {
		l.Found += fmt.Sprintf("; %.0f %% of it sounds like speech", 100*float64(r.speech)/float64(r.frames))
		l.Change = append(l.Change, "turn the radio away from the microphone, or raise voice threshold in the settings towards 0.8; if somebody spoke, run this again in silence")
	}
	return l
}

// lowShare is the share of the power below 80 Hz.
func lowShare(s audio.Samples) float64 {
	all := s.RMS()
	if all == 0 {
		return 0
	}
	high := append(audio.Samples(nil), s...)
	audio.NewHighPass(80).Filter(high)
	return math.Max(0, 1-math.Pow(high.RMS()/all, 2))
}

// echo plays the attention tone and looks for it in the microphone.
func (t *test) echo(ctx context.Context, mic audio.Source) {
	out, err := t.OpenLoudspeaker()
	if err != nil {
		t.add(Line{Part: "own voice", Found: "no loudspeaker: " + err.Error(), Change: []string{"replies are printed only until there is one"}})
		return
	}
	defer out.Close()
	tone := audio.ToneAttention.Sound()
	if err := out.Play(ctx, tone); err != nil {
		t.add(Line{Part: "own voice", Found: "the loudspeaker does not play: " + err.Error(), Change: []string{"set playback: system in the settings, which plays another way"}})
		return
	}
	heard, err := listen(ctx, mic, 1500*time.Millisecond, nil)
	if err != nil {
		t.add(Line{Part: "own voice", Found: "listening: " + err.Error()})
		return
	}
	t.add(judgeEcho(heard.sound, tone, t.Settings.HalfDuplex, t.Settings.Echo))
}

// judgeEcho finds the tone in what was heard and says what that means.
func judgeEcho(heard, tone audio.Samples, half, echo string) Line {
	l := Line{Part: "own voice"}
	weaker, found := findTone(heard, tone)
	if !found {
		l.Found = "the microphone does not hear the loudspeaker"
		if half == "auto" || half == "yes" {
			l.Change = []string{"with a headset, half duplex: no in the settings lets every command interrupt; if you heard no tone, turn the loudspeaker up"}
		}
		return l
	}
	l.Found = fmt.Sprintf("comes back into the microphone %.0f dB weaker", weaker)
	if half == "no" {
		l.Change = append(l.Change, "set half duplex: auto in the settings, or it will hear its own replies as commands")
	}
	if weaker < 6 && echo != "subtract" {
		l.Change = append(l.Change, "set echo: subtract in the settings, or move the loudspeaker away from the microphone")
	}
	return l
}

// findTone looks for tone in heard by correlation of its power at its own
// pitch and gives by how many decibels it is weaker.
func findTone(heard, tone audio.Samples) (weaker float64, found bool) {
	var own float64
	for _, v := range tone {
		own += float64(v) * float64(v)
	}
	best, at := 0.0, -1
	for i := 0; i+len(tone) <= len(heard); i++ {
		var dot float64
		for k, v := range tone {
			dot += float64(v) * float64(heard[i+k])
		}
		if a := math.Abs(dot); a > best {
			best, at = a, i
		}
	}
	if at < 0 {
		return 0, false
	}
	var there float64
	for k := range tone {
		there += float64(heard[at+k]) * float64(heard[at+k])
	}
	if there == 0 || best/math.Sqrt(own*there) < 0.4 {
		return 0, false
	}
	return -20 * math.Log10(best/own), true
}
