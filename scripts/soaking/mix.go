package main

import (
	"math"
	"math/rand/v2"
	"time"

	"putback/audio"
)

// The kinds of piece.
const (
	kindTalk    = "talk"
	kindRadio   = "radio"
	kindSinging = "singing"
	kindChatter = "chatter"
	kindMusic   = "music"
	kindTools   = "tools"
	kindSilence = "silence"
	kindCommand = "command"
)

// piece is one stretch of the foreground: who sounds, from when to when.
type piece struct {
	kind, name string
	start, end time.Duration
	said       *command // of kindCommand
	snr        float64  // decibels above the bed at the least, of kindCommand
	peak       float64  // decibels of full scale, of kindCommand
}

// mix is one stretch of sound and what is where in it.
type mix struct {
	sound  audio.Samples
	bed    audio.Samples // what sounds behind the pieces
	pieces []piece
}

// at is the piece that began last before a moment; a moment's grace, because
// the segmenter reaches back to the first consonant.
func (m *mix) at(t time.Duration) *piece {
	found := &m.pieces[0]
	for i := range m.pieces {
		if m.pieces[i].start > t+300*time.Millisecond {
			break
		}
		found = &m.pieces[i]
	}
	return found
}

// commandsIn are the commands that begin in a turn from start to end. It may have
// begun before them, in what they interrupt, or in talk too soft to be heard.
func (m *mix) commandsIn(start, end time.Duration) []*piece {
	var list []*piece
	for i := range m.pieces {
		if p := &m.pieces[i]; p.kind == kindCommand && p.start > start && p.start < end {
			list = append(list, p)
		}
	}
	return list
}

// makeMix lays a bed of tools, music or quiet, and on it talk, radio, singing,
// chatter and silence, and an addressed command about as often as every says, by chance.
func makeMix(have *stock, said *spoken, mode string, stretch, every time.Duration, r *rand.Rand) *mix {
	m := &mix{sound: make(audio.Samples, audio.Count(stretch))}
	var own []*command
	for i := range said.clips {
		if said.clips[i].called == (mode == "call") {
			own = append(own, &said.clips[i])
		}
	}
	bed := makeBed(have, stretch, r)
	at := 2 * time.Second
	next := at + time.Duration(r.IntN(15))*time.Second
	for at < stretch-15*time.Second {
		p := piece{start: at}
		var sound audio.Samples
		if at >= next {
			c := own[r.IntN(len(own))]
			p.kind, p.name, p.said = kindCommand, c.text, c
			p.snr = []float64{12, 15, 18, 24}[r.IntN(4)]
			p.peak = -6 - 6*r.Float64()
			sound = leveled(c.sound, p.peak)
			duck(bed, audio.Count(at), sound, p.snr)
			next = at + every*2/3 + time.Duration(r.Int64N(int64(every*2/3)))
		} else {
			p.kind, p.name, sound = foreground(have, r)
			sound = leveled(sound, -30*r.Float64()-6)
		}
		from := audio.Count(at)
		sound = sound[:min(len(sound), len(m.sound)-from)]
		for i, v := range sound {
			m.sound[from+i] += v
		}
		p.end = at + sound.Duration()
		m.pieces = append(m.pieces, p)
		gap := time.Duration(300+r.IntN(3500)) * time.Millisecond
		if p.kind == kindCommand {
			gap = time.Duration(3+r.IntN(9)) * time.Second // the answer is listened to, or not
		}
		at = p.end + gap
	}
	m.pieces = append(m.pieces, piece{kind: kindSilence, name: "end", start: at, end: stretch})
	for i := range m.sound {
		m.sound[i] += bed[i]
	}
	m.bed = bed
	return m
}

// foreground chooses one stretch that is not meant for the program.
func foreground(have *stock, r *rand.Rand) (kind, name string, sound audio.Samples) {
	one := func(kind string, c clip) (string, string, audio.Samples) { return kind, c.name, c.sound }
	switch dice := r.IntN(100); {
	case dice < 35:
		return one(kindTalk, pick(r, have.talk))
	case dice < 55: // prompt after prompt, as on the radio
		for range 3 + r.IntN(6) {
			c := pick(r, have.radio)
			sound = append(sound, c.sound...)
			sound = append(sound, audio.Silence(time.Duration(100+r.IntN(900))*time.Millisecond)...)
			name += c.name + " "
		}
		return kindRadio, name, sound
	case dice < 67:
		return one(kindSinging, pick(r, have.singing))
	case dice < 80:
		return one(kindChatter, pick(r, have.chatter))
	case dice < 90:
		c := pick(r, have.tools)
		return kindTools, c.name, part(c.sound, time.Duration(3+r.IntN(10))*time.Second, r)
	}
	return kindSilence, "silence", audio.Silence(time.Duration(5+r.IntN(15)) * time.Second)
}

// makeBed is what sounds behind everything: by turns quiet, tools or music at
// levels from hardly heard to loud, over a hiss that never stops.
func makeBed(have *stock, stretch time.Duration, r *rand.Rand) audio.Samples {
	bed := make(audio.Samples, audio.Count(stretch))
	for i := range bed {
		bed[i] = float32(0.0006 * r.NormFloat64())
	}
	for at := 0; at < len(bed); {
		n := audio.Count(time.Duration(20+r.IntN(70)) * time.Second)
		var sound audio.Samples
		switch r.IntN(3) {
		case 1:
			sound = pick(r, have.tools).sound
		case 2:
			sound = pick(r, have.music).sound
		}
		if sound != nil {
			sound = part(sound, time.Duration(n)*time.Second/audio.Rate, r)
			gain := math.Pow(10, -(22+26*r.Float64())/20) / max(sound.RMS(), 1e-4)
			for i := 0; i < min(len(sound), len(bed)-at); i++ {
				fade := min(1, float64(i)/audio.Rate, float64(len(sound)-i)/audio.Rate)
				bed[at+i] += float32(max(-1, min(1, float64(sound[i])*gain*fade)))
			}
		}
		at += n
	}
	return bed
}

// part takes d out of a recording from a place by chance, around its end where it is short.
func part(s audio.Samples, d time.Duration, r *rand.Rand) audio.Samples {
	out := make(audio.Samples, audio.Count(d))
	from := r.IntN(len(s))
	for i := range out {
		out[i] = s[(from+i)%len(s)]
	}
	return out
}

// leveled gives s with its peak at so many decibels of full scale.
func leveled(s audio.Samples, peak float64) audio.Samples {
	gain := math.Pow(10, peak/20) / max(s.Peak(), 1e-6)
	out := make(audio.Samples, len(s))
	for i, v := range s {
		out[i] = v * float32(gain)
	}
	return out
}

// duck lowers the bed around a command where the command would not stand snr
// decibels above it, by the mixing rule of the recordings: the ratio of the
// largest energies of 2048 samples.
func duck(bed audio.Samples, from int, over audio.Samples, snr float64) {
	const edge = audio.Rate // a second of fade on each side
	to := min(len(bed), from+len(over))
	gain := math.Sqrt(loudest(over) / max(loudest(bed[from:to]), 1e-12) / math.Pow(10, snr/10))
	if gain >= 1 {
		return
	}
	for i := max(0, from-edge); i < min(len(bed), to+edge); i++ {
		g := gain
		if i < from {
			g += (1 - gain) * float64(from-i) / edge
		} else if i >= to {
			g += (1 - gain) * float64(i-to) / edge
		}
		bed[i] *= float32(g)
	}
}

// loudest is the largest sum of squares of 2048 samples.
func loudest(s audio.Samples) float64 {
	const frame = 2048
	var most float64
	for at := 0; at < len(s); at += frame {
		var sum float64
		for _, v := range s[at:min(at+frame, len(s))] {
			sum += float64(v) * float64(v)
		}
		most = max(most, sum)
	}
	return most
}
