package speech

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	ort "github.com/yalue/onnxruntime_go"

	"putback/audio/onnxrt"
)

// unknownWords reads words that no dictionary has, by a small net from letters
// to phonemes. Its answer is one class a slot; repeats and blanks are dropped.
type unknownWords struct {
	session *ort.DynamicAdvancedSession
	letter  map[rune]int64
	phoneme []string // by class, 0 the blank
	longest int
}

func openUnknownWords(dir string) (*unknownWords, error) {
	path := filepath.Join(dir, "oov.json")
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the unknown-word net's alphabet: %w", err)
	}
	var meta struct {
		In      []string `json:"in"`
		Out     []string `json:"out"`
		Longest int      `json:"maxlen"`
	}
	if err := json.Unmarshal(data, &meta); err != nil {
		return nil, fmt.Errorf("read the unknown-word net's alphabet: %s: %w; run `putback models verify`", path, err)
	}
	u := &unknownWords{letter: map[rune]int64{}, phoneme: append([]string{""}, meta.Out...), longest: meta.Longest}
	for i, c := range meta.In {
		u.letter[firstRune(c)] = int64(i + 1)
	}
	if u.session, err = openSession(filepath.Join(dir, "oov.onnx"), []string{"chars"}, []string{"ids"}); err != nil {
		return nil, err
	}
	return u, nil
}

// openSession loads a graph with one thread that never spins.
func openSession(path string, in, out []string) (*ort.DynamicAdvancedSession, error) {
	opts, err := onnxrt.Options()
	if err != nil {
		return nil, err
	}
	defer func() { _ = opts.Destroy() }()
	s, err := ort.NewDynamicAdvancedSession(path, in, out, opts)
	if err != nil {
		return nil, fmt.Errorf("load %s: %w; run `putback models verify`", path, err)
	}
	return s, nil
}

// read gives a word's phonemes, "" when it has no letter of the alphabet.
func (u *unknownWords) read(word string) (string, error) {
	var ids []int64
	for _, r := range word {
		if id, ok := u.letter[r]; ok && len(ids) < u.longest {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return "", nil
	}
	in, err := ort.NewTensor(ort.NewShape(1, int64(len(ids))), ids)
	if err != nil {
		return "", fmt.Errorf("read the unknown word %q: %w", word, err)
	}
	defer func() { _ = in.Destroy() }()
	outs := []ort.Value{nil}
	if err := u.session.Run([]ort.Value{in}, outs); err != nil {
		return "", fmt.Errorf("read the unknown word %q: %w", word, err)
	}
	defer func() { _ = outs[0].Destroy() }()
	classes, ok := outs[0].(*ort.Tensor[int64])
	if !ok {
		return "", fmt.Errorf("read the unknown word %q: the net's answer is of type %T", word, outs[0])
	}
	var b strings.Builder
	last := int64(0)
	for _, c := range classes.GetData() {
		if c != last && c > 0 && int(c) < len(u.phoneme) {
			b.WriteString(u.phoneme[c])
		}
		last = c
	}
	return b.String(), nil
}

func (u *unknownWords) close() error { return u.session.Destroy() }
