package speech

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// tokens cuts words into what the tagger and the lexicon look up: punctuation
// by itself, contractions in two ("do", "n't"), hyphenated words in three. It
// follows spaCy's English rules (MIT), as hibari-tts 0.2.1 has them, as far as
// text that [Spell] wrote can need them: there are no figures, units, addresses
// or currencies in it.
type tokenCutter struct {
	special map[string][]string
}

// token is one piece with what is known about it.
type token struct {
	text     string
	tag      string
	space    bool // a space follows
	phonemes string
	settled  bool // phonemes are known, maybe none
	inside   bool // a later part of a word
	apart    bool // to be set off by a space within its word
}

const (
	endMarks = "…,:;!?¿¡()[]{}<>_#*&"
	quotes   = "'\"”“`‘´’‚„»«"
)

// cut gives the tokens of one line of text, untagged.
func (c *tokenCutter) cut(text string) []token {
	var out []token
	fields := strings.Fields(text)
	for i, f := range fields {
		parts := c.split(f)
		for j, p := range parts {
			out = append(out, token{text: p, space: j == len(parts)-1 && i < len(fields)-1})
		}
	}
	return out
}

// split peels marks off both ends of a chunk, then cuts the rest at its hyphens.
func (c *tokenCutter) split(s string) []string {
	if sp, ok := c.special[s]; ok {
		return sp
	}
	var pre, suf []string
	for last := -1; s != "" && len(s) != last; {
		if _, ok := c.special[s]; ok {
			break
		}
		last = len(s)
		p := prefixLength(s)
		if p > 0 {
			if _, ok := c.special[s[p:]]; ok && s[p:] != "" {
				pre, s = append(pre, s[:p]), s[p:]
				break
			}
		}
		q := suffixLength(s[p:])
		if q > 0 {
			if _, ok := c.special[s[:len(s)-q]]; ok && len(s) > q {
				suf, s = append(suf, s[len(s)-q:]), s[:len(s)-q]
				break
			}
		}
		if p > 0 {
			pre = append(pre, s[:p])
		}
		if q > 0 {
			suf = append(suf, s[len(s)-q:])
		}
		s = s[p : len(s)-q]
	}
	out := pre
	if sp, ok := c.special[s]; ok {
		out = append(out, sp...)
	} else if s != "" {
		out = append(out, cutInside(s)...)
	}
	for i := len(suf) - 1; i >= 0; i-- {
		out = append(out, suf[i])
	}
	if len(out) > 1 {
		return c.rejoin(out)
	}
	return out
}

// rejoin puts pieces together again that spell a special case, "Sept" and ".".
func (c *tokenCutter) rejoin(parts []string) []string {
	var out []string
next:
	for i := 0; i < len(parts); {
		for _, k := range []int{3, 2} {
			if i+k <= len(parts) {
				if sp, ok := c.special[strings.Join(parts[i:i+k], "")]; ok {
					out = append(out, sp...)
					i += k
					continue next
				}
			}
		}
		out = append(out, parts[i])
		i++
	}
	return out
}

func prefixLength(s string) int {
	r, n := utf8.DecodeRuneInString(s)
	switch {
	case strings.HasPrefix(s, ".."):
		return len(s) - len(strings.TrimLeft(s, "."))
	case strings.ContainsRune("§%=—–+", r), strings.ContainsRune(endMarks, r), strings.ContainsRune(quotes, r):
		return n
	}
	return 0
}

func suffixLength(s string) int {
	if s == "" {
		return 0
	}
	r, n := utf8.DecodeLastRuneInString(s)
	for _, poss := range []string{"'s", "'S", "’s", "’S"} {
		if strings.HasSuffix(s, poss) {
			return len(poss)
		}
	}
	switch {
	case strings.HasSuffix(s, ".."):
		return len(s) - len(strings.TrimRight(s, "."))
	case strings.ContainsRune(endMarks+quotes+"—–", r):
		return n
	case r == '.':
		before, k := utf8.DecodeLastRuneInString(s[:len(s)-1])
		if k == 0 {
			return 0
		}
		if unicode.IsLower(before) || strings.ContainsRune("%-+"+endMarks+quotes, before) {
			return n
		}
		second, j := utf8.DecodeLastRuneInString(s[:len(s)-1-k])
		if j > 0 && unicode.IsUpper(before) && unicode.IsUpper(second) {
			return n
		}
	}
	return 0
}

// cutInside cuts at the marks between letters: "two-piece", "on/off".
func cutInside(s string) []string {
	rs := []rune(s)
	var out []string
	start := 0
	for i := 1; i < len(rs)-1; i++ {
		before, after := rs[i-1], rs[i+1]
		j := i + 1
		ok := false
		switch rs[i] {
		case '-':
			for j < len(rs)-1 && rs[j] == '-' && j-i < 3 {
				j++
			}
			ok = (unicode.IsLetter(before) || unicode.IsDigit(before)) && unicode.IsLetter(rs[j])
		case '–', '—', '~', ':', '<', '>', '=', '/':
			ok = (unicode.IsLetter(before) || unicode.IsDigit(before)) && unicode.IsLetter(after)
		case ',':
			ok = unicode.IsLetter(before) && unicode.IsLetter(after)
		case '.':
			if after == '.' {
				for j < len(rs) && rs[j] == '.' {
					j++
				}
				ok = true
				break
			}
			ok = (unicode.IsLower(before) || strings.ContainsRune(quotes, before)) && (unicode.IsUpper(after) || strings.ContainsRune(quotes, after))
		case '…':
			ok = true
		}
		if !ok {
			continue
		}
		if i > start {
			out = append(out, string(rs[start:i]))
		}
		out = append(out, string(rs[i:j]))
		start, i = j, j-1
	}
	if start < len(rs) {
		out = append(out, string(rs[start:]))
	}
	return out
}

// subtokens cuts a token into runs the lexicon can hold: hyphens and marks by
// themselves, "camelCase" in two.
func subtokens(s string) []string {
	rs := []rune(s)
	var out []string
	take := func(i, j int) int { out = append(out, string(rs[i:j])); return j }
	for i := 0; i < len(rs); {
		switch r := rs[i]; {
		case isApostrophe(r):
			j := i
			for j < len(rs) && isApostrophe(rs[j]) {
				j++
			}
			if i == 0 || j-i >= 2 || j == len(rs) {
				i = take(i, j)
			} else {
				i = j
			}
		case i+2 < len(rs) && unicode.IsUpper(r) && unicode.IsUpper(rs[i+1]) && unicode.IsLower(rs[i+2]):
			i = take(i, i+1)
		case r == '-' || r == '_':
			j := i
			for j < len(rs) && (rs[j] == '-' || rs[j] == '_') {
				j++
			}
			i = take(i, j)
		case unicode.IsLetter(r):
			j := i
			for j < len(rs) && unicode.IsLetter(rs[j]) {
				j++
				if j < len(rs) && unicode.IsLower(rs[j-1]) && unicode.IsUpper(rs[j]) {
					break
				}
			}
			if j == len(rs) || !unicode.IsUpper(rs[j]) {
				for j+1 < len(rs) && isApostrophe(rs[j]) && unicode.IsLetter(rs[j+1]) {
					j++
					for j < len(rs) && unicode.IsLetter(rs[j]) {
						j++
					}
				}
			}
			i = take(i, j)
		case unicode.IsDigit(r):
			j := i
			for j < len(rs) && unicode.IsDigit(rs[j]) {
				j++
			}
			i = take(i, j)
		default:
			i = take(i, i+1)
		}
	}
	return out
}

func isApostrophe(r rune) bool { return r == '\'' || r == '‘' || r == '’' }
