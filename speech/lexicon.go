package speech

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The phonemes are misaki's alphabet: IPA with one letter for each diphthong
// and affricate (A as in day, I as in my, O as in go, W as in now, Y as in boy).
const (
	primaryStress   = "ˈ"
	secondaryStress = "ˌ"
	vowels          = "AIOQWYaiuæɑɒɔəɛɜɪʊʌᵻ"
	consonants      = "bdfhjklmnpstvwzðŋɡɹɾʃʒʤʧθ"
	heavyPhonemes   = "AIOQWYʤʧ" // count twice in a word's weight
	flapping        = "AIOWYiuæɑəɛɪɹʊʌ"
)

// reading is what the dictionary holds for a word: one pronunciation, or one
// for each part of speech with "DEFAULT" for the rest. The key "None" is the
// strong form of a weak word, for the end of a clause.
type reading struct {
	only   string
	byTag  map[string]string
	tagged bool
}

// decodeReading reads a dictionary's value: a string, or an object of strings
// by part of speech, where null is no reading.
func decodeReading(value string) (reading, bool) {
	if strings.HasPrefix(value, `"`) {
		s, err := decodeString(value)
		return reading{only: s}, err == nil
	}
	r := reading{tagged: true}
	err := json.Unmarshal([]byte(value), &r.byTag)
	return r, err == nil
}

// dictionary maps a word to its reading. A word in lower case also answers to
// its capitalised form and the other way round.
type dictionary struct{ table }

func (d dictionary) value(w string) (string, bool) {
	if v, ok := d.table.get(w); ok {
		return v, true
	}
	if utf8.RuneCountInString(w) < 2 {
		return "", false
	}
	lower := strings.ToLower(w)
	switch w {
	case lower:
		if c := capitalised(lower); c != w {
			return d.table.get(c)
		}
	case capitalised(lower):
		return d.table.get(lower)
	}
	return "", false
}

func (d dictionary) get(w string) (reading, bool) {
	v, ok := d.value(w)
	if !ok {
		return reading{}, false
	}
	return decodeReading(v)
}

func (d dictionary) has(w string) bool { _, ok := d.value(w); return ok }

func capitalised(lower string) string {
	r, n := utf8.DecodeRuneInString(lower)
	return string(unicode.ToUpper(r)) + lower[n:]
}

// context is what a word's reading depends on: the sounds after it.
type wordContext struct {
	// next is the kind of the next phoneme: 'v' a vowel, 'c' a consonant, 0 a
	// pause or the end.
	next byte
	to   bool // the next word is "to"
}

// lexicon reads words: two dictionaries, the rules for -s, -ed and -ing, and
// the words whose sound depends on their neighbours. It is a port of the
// English rules of misaki 0.9.4 as hibari-tts 0.2.1 has them (both Apache-2.0).
type lexicon struct {
	gold, silver dictionary
}

// noStress leaves a word's stress as the dictionary has it.
const noStress = math.MinInt

func openLexicon(goldPath, silverPath string) (*lexicon, error) {
	gold, err := readTable(goldPath)
	if err != nil {
		return nil, fmt.Errorf("read the pronunciations: %w", err)
	}
	silver, err := readTable(silverPath)
	if err != nil {
		return nil, fmt.Errorf("read the pronunciations: %w", err)
	}
	return &lexicon{dictionary{gold}, dictionary{silver}}, nil
}

// read gives the phonemes of a word with its part of speech; "" and false when
// neither dictionaries nor rules know it.
func (l *lexicon) read(word, tag string, ctx wordContext) (string, bool) {
	word = strings.NewReplacer("‘", "'", "’", "'").Replace(word)
	stress := float64(noStress)
	switch {
	case word == strings.ToLower(word):
	case word == strings.ToUpper(word):
		stress = 2
	default:
		stress = 0.5
	}
	return l.word(word, tag, stress, ctx)
}

func (l *lexicon) word(word, tag string, stress float64, ctx wordContext) (string, bool) {
	if ps, ok := l.special(word, tag, stress, ctx); ok {
		return ps, true
	}
	lower := strings.ToLower(word)
	letters := utf8.RuneCountInString(word)
	if letters > 1 && allLetters(strings.ReplaceAll(word, "'", "")) && word != lower &&
		(tag != "NNP" || letters > 7) && !l.gold.has(word) && !l.silver.has(word) &&
		(word == strings.ToUpper(word) || tail(word) == strings.ToLower(tail(word))) &&
		(l.gold.has(lower) || l.silver.has(lower) || l.inflects(lower, tag, stress, ctx)) {
		word = lower
	}
	switch {
	case l.known(word):
		return l.lookup(word, tag, stress, ctx)
	case strings.HasSuffix(word, "s'") && l.known(word[:len(word)-2]+"'s"):
		return l.lookup(word[:len(word)-2]+"'s", tag, stress, ctx)
	case strings.HasSuffix(word, "'") && l.known(word[:len(word)-1]):
		return l.lookup(word[:len(word)-1], tag, stress, ctx)
	}
	if ps, ok := l.plural(word, tag, stress, ctx); ok {
		return ps, true
	}
	if ps, ok := l.past(word, tag, stress, ctx); ok {
		return ps, true
	}
	if stress == noStress {
		stress = 0.5
	}
	return l.gerund(word, tag, stress, ctx)
}

func (l *lexicon) inflects(word, tag string, stress float64, ctx wordContext) bool {
	for _, rule := range []func(string, string, float64, wordContext) (string, bool){l.plural, l.past, l.gerund} {
		if _, ok := rule(word, tag, stress, ctx); ok {
			return true
		}
	}
	return false
}

// special reads the words whose sound depends on what follows or on their part
// of speech, and the initialisms written with points.
func (l *lexicon) special(word, tag string, stress float64, ctx wordContext) (string, bool) {
	vowelNext := ctx.next == 'v'
	switch {
	case dotted(word):
		return l.letters(word)
	case word == "a" || word == "A":
		if tag == "DT" {
			return "ɐ", true
		}
		return "ˈA", true
	case word == "am" || word == "Am" || word == "AM":
		switch {
		case strings.HasPrefix(tag, "NN"):
			return l.letters(word)
		case ctx.next == 0 || word != "am" || (stress != noStress && stress > 0):
			r, ok := l.gold.get("am")
			return r.only, ok
		}
		return "ɐm", true
	case word == "an" || word == "An" || word == "AN":
		if word == "AN" && strings.HasPrefix(tag, "NN") {
			return l.letters(word)
		}
		return "ɐn", true
	case word == "I" && tag == "PRP":
		return secondaryStress + "I", true
	case (word == "by" || word == "By" || word == "BY") && wordClass(tag) == "ADV":
		return "bˈI", true
	case word == "to" || word == "To" || (word == "TO" && (tag == "TO" || tag == "IN")):
		switch ctx.next {
		case 'v':
			return "tʊ", true
		case 'c':
			return "tə", true
		}
		r, ok := l.gold.get("to")
		return r.only, ok && r.only != ""
	case word == "in" || word == "In" || (word == "IN" && tag != "NNP"):
		if ctx.next == 0 || tag != "IN" {
			return primaryStress + "ɪn", true
		}
		return "ɪn", true
	case word == "the" || word == "The" || (word == "THE" && tag == "DT"):
		if vowelNext {
			return "ði", true
		}
		return "ðə", true
	case tag == "IN" && (strings.EqualFold(word, "vs") || strings.EqualFold(word, "vs.")):
		return l.lookup("versus", "", noStress, ctx)
	case word == "used" || word == "Used" || word == "USED":
		r, ok := l.gold.get("used")
		if !ok || !r.tagged {
			return r.only, ok
		}
		if (tag == "VBD" || tag == "JJ") && ctx.to {
			return r.byTag["VBD"], true
		}
		return r.byTag["DEFAULT"], true
	}
	return "", false
}

// dotted reports an initialism with points: "T.D.C.".
func dotted(word string) bool {
	if !strings.Contains(strings.Trim(word, "."), ".") || !allLetters(strings.ReplaceAll(word, ".", "")) {
		return false
	}
	for _, part := range strings.Split(word, ".") {
		if len(part) > 2 {
			return false
		}
	}
	return true
}

// letters reads a word letter by letter.
func (l *lexicon) letters(word string) (string, bool) {
	var b strings.Builder
	for _, r := range word {
		if !unicode.IsLetter(r) {
			continue
		}
		p, ok := l.gold.get(string(unicode.ToUpper(r)))
		if !ok || p.tagged {
			return "", false
		}
		b.WriteString(p.only)
	}
	ps := applyStress(b.String(), 0)
	if i := strings.LastIndex(ps, secondaryStress); i >= 0 {
		ps = ps[:i] + primaryStress + ps[i+len(secondaryStress):]
	}
	return ps, true
}

// known reports whether lookup will find something for the word.
func (l *lexicon) known(word string) bool {
	if l.gold.has(word) || l.silver.has(word) {
		return true
	}
	if word == "" {
		return false
	}
	for _, r := range word {
		if (r < 'A' || r > 'Z') && (r < 'a' || r > 'z') {
			return false
		}
	}
	if len(word) == 1 {
		return true
	}
	if word == strings.ToUpper(word) && l.gold.has(strings.ToLower(word)) {
		return true
	}
	return tail(word) == strings.ToUpper(tail(word))
}

// lookup takes the word from the dictionaries, a name in capitals by its letters.
func (l *lexicon) lookup(word, tag string, stress float64, ctx wordContext) (string, bool) {
	name := false
	if word == strings.ToUpper(word) && !l.gold.has(word) {
		word = strings.ToLower(word)
		name = tag == "NNP"
	}
	r, ok := l.gold.get(word)
	if !ok && !name {
		r, ok = l.silver.get(word)
	}
	ps := r.only
	if ok && r.tagged {
		if _, strong := r.byTag["None"]; strong && ctx.next == 0 {
			tag = "None"
		} else if _, has := r.byTag[tag]; !has {
			tag = wordClass(tag)
		}
		p, has := r.byTag[tag]
		if !has {
			p = r.byTag["DEFAULT"]
		}
		ps = p
	}
	if ps == "" || (name && !strings.Contains(ps, primaryStress)) {
		if spelled, ok := l.letters(word); ok {
			return spelled, true
		}
	}
	if ps == "" {
		return "", false
	}
	return applyStress(ps, stress), true
}

// plural reads a word in -s by its stem.
func (l *lexicon) plural(word, tag string, stress float64, ctx wordContext) (string, bool) {
	if len(word) < 3 || !strings.HasSuffix(word, "s") {
		return "", false
	}
	n := len(word)
	stem := ""
	switch {
	case !strings.HasSuffix(word, "ss") && l.known(word[:n-1]):
		stem = word[:n-1]
	case (strings.HasSuffix(word, "'s") || (n > 4 && strings.HasSuffix(word, "es") && !strings.HasSuffix(word, "ies"))) && l.known(word[:n-2]):
		stem = word[:n-2]
	case n > 4 && strings.HasSuffix(word, "ies") && l.known(word[:n-3]+"y"):
		stem = word[:n-3] + "y"
	default:
		return "", false
	}
	ps, ok := l.lookup(stem, tag, stress, ctx)
	if !ok {
		return "", false
	}
	switch last := lastRune(ps); {
	case strings.ContainsRune("ptkfθ", last):
		return ps + "s", true
	case strings.ContainsRune("szʃʒʧʤ", last):
		return ps + "ᵻz", true
	}
	return ps + "z", true
}

// past reads a word in -ed by its stem.
func (l *lexicon) past(word, tag string, stress float64, ctx wordContext) (string, bool) {
	if len(word) < 4 || !strings.HasSuffix(word, "d") {
		return "", false
	}
	n := len(word)
	stem := ""
	switch {
	case !strings.HasSuffix(word, "dd") && l.known(word[:n-1]):
		stem = word[:n-1]
	case n > 4 && strings.HasSuffix(word, "ed") && !strings.HasSuffix(word, "eed") && l.known(word[:n-2]):
		stem = word[:n-2]
	default:
		return "", false
	}
	ps, ok := l.lookup(stem, tag, stress, ctx)
	if !ok {
		return "", false
	}
	rs := []rune(ps)
	switch last := rs[len(rs)-1]; {
	case strings.ContainsRune("pkfθʃsʧ", last):
		return ps + "t", true
	case last == 'd':
		return ps + "ᵻd", true
	case last != 't':
		return ps + "d", true
	case len(rs) < 2:
		return ps + "ɪd", true
	case strings.ContainsRune(flapping, rs[len(rs)-2]):
		return string(rs[:len(rs)-1]) + "ɾᵻd", true
	}
	return ps + "ᵻd", true
}

// gerund reads a word in -ing by its stem.
func (l *lexicon) gerund(word, tag string, stress float64, ctx wordContext) (string, bool) {
	if len(word) < 5 || !strings.HasSuffix(word, "ing") {
		return "", false
	}
	n := len(word)
	stem := ""
	switch {
	case n > 5 && l.known(word[:n-3]):
		stem = word[:n-3]
	case l.known(word[:n-3] + "e"):
		stem = word[:n-3] + "e"
	case n > 5 && doubled(word[:n-3]) && l.known(word[:n-4]):
		stem = word[:n-4]
	default:
		return "", false
	}
	ps, ok := l.lookup(stem, tag, stress, ctx)
	if !ok {
		return "", false
	}
	if rs := []rune(ps); len(rs) > 1 && rs[len(rs)-1] == 't' && strings.ContainsRune(flapping, rs[len(rs)-2]) {
		return string(rs[:len(rs)-1]) + "ɾɪŋ", true
	}
	return ps + "ɪŋ", true
}

// doubled reports a stem whose last consonant was doubled for an ending:
// "stopp", "panick".
func doubled(stem string) bool {
	n := len(stem)
	if n < 2 {
		return false
	}
	return (stem[n-1] == stem[n-2] && strings.IndexByte("bcdgklmnprstvxz", stem[n-1]) >= 0) || strings.HasSuffix(stem, "ck")
}

// wordClass widens a part of speech to its class, as the dictionary's keys have it.
func wordClass(tag string) string {
	switch {
	case strings.HasPrefix(tag, "VB"):
		return "VERB"
	case strings.HasPrefix(tag, "NN"):
		return "NOUN"
	case strings.HasPrefix(tag, "ADV"), strings.HasPrefix(tag, "RB"):
		return "ADV"
	case strings.HasPrefix(tag, "ADJ"), strings.HasPrefix(tag, "JJ"):
		return "ADJ"
	}
	return tag
}

// applyStress raises or lowers a word's stress: -2 takes all of it away, -1 and
// -0.5 weaken it, 0 to 1 give an unstressed word a secondary one, above 1 a
// primary one.
func applyStress(ps string, stress float64) string {
	primary, secondary := strings.Contains(ps, primaryStress), strings.Contains(ps, secondaryStress)
	switch {
	case stress == noStress:
		return ps
	case stress < -1:
		return strings.NewReplacer(primaryStress, "", secondaryStress, "").Replace(ps)
	case stress == -1 || ((stress == 0 || stress == -0.5) && primary):
		return strings.NewReplacer(secondaryStress, "", primaryStress, secondaryStress).Replace(ps)
	case (stress == 0 || stress == 0.5 || stress == 1) && !primary && !secondary:
		return stressBeforeVowel(secondaryStress + ps)
	case stress >= 1 && !primary && secondary:
		return strings.ReplaceAll(ps, secondaryStress, primaryStress)
	case stress > 1 && !primary && !secondary:
		return stressBeforeVowel(primaryStress + ps)
	}
	return ps
}

// stressBeforeVowel moves the mark at the start to right before the first
// vowel; without a vowel there is nothing to stress.
func stressBeforeVowel(ps string) string {
	rs := []rune(ps)
	v := slices.IndexFunc(rs, func(r rune) bool { return strings.ContainsRune(vowels, r) })
	if v < 0 {
		return string(rs[1:])
	}
	return string(rs[1:v]) + string(rs[0]) + string(rs[v:])
}

// stressWeight counts phonemes, the heavy ones twice.
func stressWeight(ps string) int {
	w := 0
	for _, r := range ps {
		w++
		if strings.ContainsRune(heavyPhonemes, r) {
			w++
		}
	}
	return w
}

func allLetters(s string) bool {
	for _, r := range s {
		if !unicode.IsLetter(r) {
			return false
		}
	}
	return s != ""
}

// tail is the word without its first letter.
func tail(word string) string {
	_, n := utf8.DecodeRuneInString(word)
	return word[n:]
}

func lastRune(s string) rune {
	r, _ := utf8.DecodeLastRuneInString(s)
	return r
}
