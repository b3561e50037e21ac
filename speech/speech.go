// Package speech hears and speaks: recognition by whisper.cpp, held to a
// grammar, and the voice.
package speech

// Language is the set of texts a recognition is held to, as a deterministic
// byte automaton. It is safe for concurrent use. package intent provides it.
type Language interface {
	// Start is the state before the first byte.
	Start() int32
	// Step is the state after one more byte, or -1 when no text of the language goes on so.
	Step(state int32, b byte) int32
	// Accepts reports whether the text so far is a whole text of the language.
	Accepts(state int32) bool
	// Extends reports whether some byte can follow.
	Extends(state int32) bool
	// Meaning gives the likeliest meaning of a whole text; two texts with an
	// equal key mean the same. Weight, at most 0, is the natural logarithm of the
	// weights that the language gives what was chosen on the way, its free speech
	// left out. ok is false for a text that is not of the language.
	Meaning(text string) (key string, weight float64, ok bool)
}

// Careful is a [Language] with texts that break something when they are misheard:
// they are listened to twice before they are acted on.
type Careful interface {
	Language
	// Weighty reports whether a whole text is one of them, and whether it is told
	// and not only asked about: what is asked is answered with the figure in the
	// answer, and nothing is kept of it.
	Weighty(text string) (weighty, told bool)
}
