package models

import (
	"bufio"
	"fmt"
	"io"
	"unicode/utf8"
)

// readVocabulary reads the first n tokens of a CTranslate2 vocabulary (one
// token a line, in rank order, in the printable spelling of byte-level BPE)
// and gives their bytes.
func readVocabulary(r io.Reader, n int) ([][]byte, error) {
	lines := bufio.NewScanner(r)
	tokens := make([][]byte, 0, n)
	for len(tokens) < n && lines.Scan() {
		token, err := decodeToken(lines.Text())
		if err != nil {
			return nil, fmt.Errorf("vocabulary line %d: %w", len(tokens)+1, err)
		}
		tokens = append(tokens, token)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("vocabulary line %d: %w", len(tokens)+1, err)
	}
	if len(tokens) < n {
		return nil, fmt.Errorf("vocabulary: %d tokens, the model needs %d", len(tokens), n)
	}
	return tokens, nil
}

// decodeToken turns the printable spelling of a token back into its bytes.
func decodeToken(s string) ([]byte, error) {
	token := make([]byte, 0, len(s))
	for i, r := range s {
		b, ok := bpeBytes[r]
		if !ok {
			return nil, fmt.Errorf("character %q at byte %d of %q stands for no byte", r, i, s)
		}
		token = append(token, b)
	}
	return token, nil
}

// bpeBytes maps each printable character of byte-level BPE to its byte: the
// printable Latin-1 characters stand for themselves, the other bytes follow
// from U+0100 on in ascending order. Source: bytes_to_unicode in the GPT-2
// encoder published with that model (MIT).
var bpeBytes = func() map[rune]byte {
	m := make(map[rune]byte, 256)
	next := rune(0x100)
	for b := range 256 {
		r := rune(b)
		if !('!' <= r && r <= '~' || '¡' <= r && r <= '¬' || '®' <= r && r <= 'ÿ') {
			r = next
			next++
		}
		m[r] = byte(b)
	}
	return m
}()

// spellToken is the inverse of decodeToken.
func spellToken(token []byte) string {
	s := make([]byte, 0, 2*len(token))
	for _, b := range token {
		s = utf8.AppendRune(s, bpeRunes[b])
	}
	return string(s)
}

var bpeRunes = func() (runes [256]rune) {
	for r, b := range bpeBytes {
		runes[b] = r
	}
	return runes
}()
