package live

import (
	"strings"
	"unicode"

	"putback/intent"
)

// beginsLike: do the first words of a text sound somewhat like the call word?
// Compared are the consonants, those that are taken for each other as one:
// "Tilled box", "Tim old docks" and "Tule docs" are what was read for "toolbox".
func beginsLike(text, callWord string) bool {
	want := consonants(callWord)
	if len(want) < 3 {
		return false // anything would sound like it
	}
	words := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\'' })
	for n := 1; n <= min(len(words), mumbledWords); n++ {
		have := consonants(strings.Join(words[:n], ""))
		apart := intent.Distance(have, want)
		if apart <= 1 || apart == mumbledMost && have[0] == want[0] {
			return true
		}
	}
	return false
}

// mayBegin: is text, read from sound, so that it is worth a second hearing whether
// the call word begins it? Its first sound is the call word's or like it, or
// nothing was read at all: "toolbox" was read as "2", "Coolbox" and "fuel box".
func mayBegin(text, callWord string) bool {
	have, want := consonants(text), consonants(callWord)
	if have == "" || want == "" {
		return want != ""
	}
	first := strings.TrimLeftFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if strings.IndexByte("aeiouhwy", first[0]) >= 0 {
		return beginsLike(text, callWord)
	}
	stop := func(c byte) bool { return strings.IndexByte("tkb", c) >= 0 }
	return have[0] == want[0] || stop(have[0]) && stop(want[0])
}

// A mumbled call word is mumbledWords words at most, and mumbledMost of its
// consonants may be others where the first is right.
const (
	mumbledWords = 4
	mumbledMost  = 2
)

// consonants writes a word by its consonants, a letter for each kind.
func consonants(word string) string {
	word = strings.NewReplacer("ch", "k", "th", "t", "ph", "f", "ck", "k", "x", "ks", "2", "t", "ce", "s", "ci", "s").Replace(strings.ToLower(word))
	var out []rune
	for _, r := range word {
		switch r {
		case 'd':
			r = 't'
		case 'c', 'g', 'q', 'j':
			r = 'k'
		case 'z':
			r = 's'
		case 'p', 'v', 'f':
			r = 'b'
		case 'm':
			r = 'n'
		case 'b', 'k', 'l', 'n', 'r', 's', 't':
		default:
			continue
		}
		if len(out) == 0 || out[len(out)-1] != r {
			out = append(out, r)
		}
	}
	return string(out)
}
