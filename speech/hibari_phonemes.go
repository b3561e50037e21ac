package speech

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"unicode"
)

// phonemes turns spelled-out words into the sounds the net was trained on.
// Port of hibari-tts 0.2.1, which follows misaki 0.9.4 (both Apache-2.0).
type phonemes struct {
	words   *lexicon
	tagger  *tagger
	cutter  *tokenCutter
	unknown func(word string) (string, error)
}

const (
	junkMarks  = "',-._‘’/"
	pauseMarks = ";:,.!?—…"
	allMarks   = pauseMarks + "\"“”"
)

func openPhonemes(dir string, unknown func(string) (string, error)) (*phonemes, error) {
	words, err := openLexicon(filepath.Join(dir, "lexicon_us_gold.json.gz"), filepath.Join(dir, "lexicon_us_silver.json.gz"))
	if err != nil {
		return nil, err
	}
	tags, err := openTagger(filepath.Join(dir, "tagger.json.gz"))
	if err != nil {
		return nil, err
	}
	cutter := &tokenCutter{}
	path := filepath.Join(dir, "tokenizer_exceptions.json")
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the contractions: %w", err)
	}
	if err := json.Unmarshal(data, &cutter.special); err != nil {
		return nil, fmt.Errorf("read the contractions: %s: %w; run `putback models verify`", path, err)
	}
	return &phonemes{words, tags, cutter, unknown}, nil
}

// of gives the phonemes of one sentence or clause.
func (p *phonemes) of(text string) (string, error) {
	toks := p.cutter.cut(text)
	if len(toks) == 0 {
		return "", nil
	}
	plain := make([]string, len(toks))
	for i, t := range toks {
		plain[i] = t.text
	}
	for i, tag := range p.tagger.tag(plain) {
		toks[i].tag = tag
	}
	words := wordsOf(toks)
	// From the last word to the first: how "the" and "to" sound depends on what
	// follows.
	var ctx wordContext
	for i := len(words) - 1; i >= 0; i-- {
		next, err := p.readWord(words[i], ctx)
		if err != nil {
			return "", err
		}
		ctx = next
	}
	var b strings.Builder
	for _, w := range words {
		start := b.Len()
		for _, t := range w {
			if s := b.String(); t.apart && b.Len() > start && t.phonemes != "" && !strings.HasSuffix(s, " ") {
				b.WriteByte(' ')
			}
			b.WriteString(t.phonemes)
		}
		if w[len(w)-1].space {
			b.WriteByte(' ')
		}
	}
	return strings.TrimSpace(strings.NewReplacer("ɾ", "T", "ʔ", "t").Replace(b.String())), nil
}

// wordsOf cuts the tokens further and groups what stands together without a
// space. A mark that sounds by itself is settled here and stands alone.
func wordsOf(toks []token) [][]token {
	var words [][]token
	open := false // the last word may take more parts
	for _, t := range toks {
		parts := subtokens(t.text)
		for j, text := range parts {
			tk := token{text: text, tag: t.tag, space: j == len(parts)-1 && t.space}
			switch {
			case tk.tag == ":" && (tk.text == "-" || tk.text == "–"):
				tk.phonemes, tk.settled = "—", true
			case isMarkTag(tk.tag) && !latinOnly(tk.text):
				tk.phonemes, tk.settled = markPhonemes(tk), true
			}
			switch {
			case tk.settled:
				words, open = append(words, []token{tk}), false
			case open && !words[len(words)-1][len(words[len(words)-1])-1].space:
				tk.inside = true
				words[len(words)-1] = append(words[len(words)-1], tk)
			default:
				words, open = append(words, []token{tk}), !tk.space
			}
		}
	}
	return words
}

func isMarkTag(tag string) bool {
	return slices.Contains([]string{".", ",", "-LRB-", "-RRB-", "``", `""`, "''", ":", "$", "#", "NFP"}, tag)
}

func markPhonemes(t token) string {
	switch t.tag {
	case "-LRB-":
		return "("
	case "-RRB-":
		return ")"
	case "``":
		return "“"
	case `""`, "''":
		return "”"
	}
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(allMarks, r) {
			return r
		}
		return -1
	}, t.text)
}

func latinOnly(s string) bool {
	for _, r := range strings.ToLower(s) {
		if r < 'a' || r > 'z' {
			return false
		}
	}
	return true
}

// readWord fills in the phonemes of one word's parts: the longest run of parts
// the lexicon knows, from the end, and the unknown-word net for a word of which
// a part is not known. It returns what the word before will see.
func (p *phonemes) readWord(w []token, ctx wordContext) (wordContext, error) {
	if len(w) == 1 {
		t := &w[0]
		if !t.settled {
			ps, ok := p.words.read(t.text, t.tag, ctx)
			if !ok {
				var err error
				if ps, err = p.guess(t.text); err != nil {
					return ctx, err
				}
			}
			t.phonemes, t.settled = ps, true
		}
		return after(ctx, t.phonemes, t.text, t.tag), nil
	}
	left, right := 0, len(w)
	for left < right {
		text, tag, ready := "", "", true
		if !slices.ContainsFunc(w[left:right], func(t token) bool { return t.settled }) {
			text, tag = merged(w[left:right])
		} else {
			ready = false
		}
		ps, ok := "", false
		if ready {
			ps, ok = p.words.read(text, tag, ctx)
		}
		switch {
		case ok:
			w[left].phonemes, w[left].settled = ps, true
			for i := left + 1; i < right; i++ {
				w[i].phonemes, w[i].settled = "", true
			}
			ctx = after(ctx, ps, text, tag)
			right, left = left, 0
		case left+1 < right:
			left++
		default:
			right--
			if t := &w[right]; !t.settled {
				if !isJunk(t.text) {
					whole, _ := merged(w)
					ps, err := p.guess(whole)
					if err != nil {
						return ctx, err
					}
					for i := range w {
						w[i].phonemes, w[i].settled = "", true
					}
					w[0].phonemes = ps
					return ctx, nil
				}
				t.phonemes, t.settled = "", true
			}
			left = 0
		}
	}
	balance(w)
	return ctx, nil
}

// after is the context for the word before one that sounds as ps.
func after(ctx wordContext, ps, text, tag string) wordContext {
	out := wordContext{next: ctx.next, to: text == "to" || text == "To" || (text == "TO" && (tag == "TO" || tag == "IN"))}
	for _, r := range ps {
		switch {
		case strings.ContainsRune(pauseMarks, r):
			out.next = 0
		case strings.ContainsRune(vowels, r):
			out.next = 'v'
		case strings.ContainsRune(consonants, r):
			out.next = 'c'
		default:
			continue
		}
		break
	}
	return out
}

func isJunk(s string) bool { return strings.Trim(s, junkMarks) == "" }

// merged is the text of the parts and the tag of the one with most capitals and
// letters.
func merged(parts []token) (text, tag string) {
	var b strings.Builder
	best := -1
	for i, t := range parts {
		b.WriteString(t.text)
		if t.space && i < len(parts)-1 {
			b.WriteByte(' ')
		}
		weight := 0
		for _, r := range t.text {
			weight++
			if unicode.ToLower(r) != r {
				weight++
			}
		}
		if weight > best {
			best, tag = weight, t.tag
		}
	}
	return b.String(), tag
}

// balance lowers the stress of a compound's lighter parts: of two, four only
// the heavier half keeps its own.
func balance(w []token) {
	text, _ := merged(w)
	kinds := map[int]bool{}
	for _, r := range text {
		if strings.ContainsRune(junkMarks, r) {
			continue
		}
		switch {
		case unicode.IsLetter(r):
			kinds[0] = true
		case r >= '0' && r <= '9':
			kinds[1] = true
		default:
			kinds[2] = true
		}
	}
	apart := strings.ContainsAny(text, " /") || len(kinds) > 1
	for i := range w {
		switch {
		case !w[i].settled && i == len(w)-1 && len([]rune(w[i].text)) == 1 && strings.Contains(pauseMarks, w[i].text):
			w[i].phonemes = w[i].text
		case i > 0:
			w[i].apart = apart
		}
	}
	if apart {
		return
	}
	type part struct {
		primary bool
		weight  int
		at      int
	}
	var parts []part
	primaries := 0
	for i, t := range w {
		if t.phonemes != "" {
			pt := part{strings.Contains(t.phonemes, primaryStress), stressWeight(t.phonemes), i}
			parts = append(parts, pt)
			if pt.primary {
				primaries++
			}
		}
	}
	if len(parts) == 2 && len([]rune(w[parts[0].at].text)) == 1 {
		i := parts[1].at
		w[i].phonemes = applyStress(w[i].phonemes, -0.5)
		return
	}
	if len(parts) < 2 || primaries <= (len(parts)+1)/2 {
		return
	}
	sort.SliceStable(parts, func(i, j int) bool {
		if parts[i].primary != parts[j].primary {
			return !parts[i].primary
		}
		return parts[i].weight < parts[j].weight
	})
	for _, pt := range parts[:len(parts)/2] {
		w[pt.at].phonemes = applyStress(w[pt.at].phonemes, -0.5)
	}
}

// guess reads a word nobody knows, run of letters by run of letters.
func (p *phonemes) guess(word string) (string, error) {
	var out []string
	for _, run := range strings.FieldsFunc(word, func(r rune) bool { return !unicode.IsLetter(r) && !isApostrophe(r) }) {
		run = strings.Trim(run, "'‘’")
		if run == "" {
			continue
		}
		ps, err := p.unknown(run)
		if err != nil {
			return "", err
		}
		if ps != "" {
			out = append(out, ps)
		}
	}
	return strings.Join(out, " "), nil
}
