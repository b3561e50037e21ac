package speech

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// table is a JSON object kept as its text, with an index of where each value
// stands. The voice's dictionaries have a quarter of a million entries of which
// a conversation needs some hundred: decoding all of them took a third of a
// second and 50 MB.
type table struct {
	text string
	at   map[string]span
}

type span struct{ from, to uint32 }

// get gives the JSON text of a value.
func (t table) get(key string) (string, bool) {
	s, ok := t.at[key]
	return t.text[s.from:s.to], ok
}

// readTable reads a gzipped JSON file.
func readTable(path string) (table, error) {
	packed, err := os.ReadFile(path)
	if err != nil {
		return table{}, err
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return table{}, fmt.Errorf("%s: %w; run `putback models verify`", path, err)
	}
	var text strings.Builder
	text.Grow(4 * len(packed))
	if _, err := io.Copy(&text, z); err != nil {
		return table{}, fmt.Errorf("%s: %w; run `putback models verify`", path, err)
	}
	t, err := indexTable(text.String())
	if err != nil {
		return table{}, fmt.Errorf("%s: %w; run `putback models verify`", path, err)
	}
	return t, nil
}

var errNotObject = errors.New("not a JSON object")

// indexTable finds the keys and values of one JSON object. It checks the
// structure only as far as it needs it; a value is checked when it is decoded.
func indexTable(text string) (table, error) {
	t := table{text: text, at: make(map[string]span, len(text)/64)}
	i := skipSpace(text, 0)
	if i >= len(text) || text[i] != '{' {
		return table{}, errNotObject
	}
	i = skipSpace(text, i+1)
	if i < len(text) && text[i] == '}' {
		return t, nil
	}
	for {
		key, next, err := scanString(text, i)
		if err != nil {
			return table{}, err
		}
		if i = skipSpace(text, next); i >= len(text) || text[i] != ':' {
			return table{}, errNotObject
		}
		from := skipSpace(text, i+1)
		to, err := skipValue(text, from)
		if err != nil {
			return table{}, err
		}
		t.at[key] = span{uint32(from), uint32(to)}
		if i = skipSpace(text, to); i >= len(text) {
			return table{}, io.ErrUnexpectedEOF
		}
		switch text[i] {
		case '}':
			return t, nil
		case ',':
			i = skipSpace(text, i+1)
		default:
			return table{}, errNotObject
		}
	}
}

func skipSpace(text string, i int) int {
	for i < len(text) && strings.IndexByte(" \t\r\n", text[i]) >= 0 {
		i++
	}
	return i
}

// scanString reads the string that starts at i and gives where it ends.
func scanString(text string, i int) (string, int, error) {
	if i >= len(text) || text[i] != '"' {
		return "", 0, errNotObject
	}
	for j := i + 1; j < len(text); j++ {
		switch text[j] {
		case '\\':
			j++
		case '"':
			s, err := decodeString(text[i : j+1])
			return s, j + 1, err
		}
	}
	return "", 0, io.ErrUnexpectedEOF
}

// decodeString takes the quotes off, and the escapes where there are any.
func decodeString(quoted string) (string, error) {
	if len(quoted) >= 2 && quoted[0] == '"' && strings.IndexByte(quoted, '\\') < 0 {
		return quoted[1 : len(quoted)-1], nil
	}
	var s string
	err := json.Unmarshal([]byte(quoted), &s)
	return s, err
}

// skipValue gives the end of the value that starts at i.
func skipValue(text string, i int) (int, error) {
	depth := 0
	for j := i; j < len(text); j++ {
		switch text[j] {
		case '"':
			for j++; j < len(text) && text[j] != '"'; j++ {
				if text[j] == '\\' {
					j++
				}
			}
			if depth == 0 {
				if j >= len(text) {
					return 0, io.ErrUnexpectedEOF
				}
				return j + 1, nil
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth == 0 {
				return j, nil
			}
			if depth--; depth == 0 {
				return j + 1, nil
			}
		case ',':
			if depth == 0 {
				return j, nil
			}
		}
	}
	return 0, io.ErrUnexpectedEOF
}
