package speech

import (
	"strings"
	"time"
	"unicode/utf8"
)

// clause is a stretch of words spoken in one go and the pause after it.
type clause struct {
	words string
	pause time.Duration
}

// The pauses. A voice ends a sentence with some silence of its own, which
// joinable cuts off, so that these are the whole truth. Common practice, no
// source.
const (
	pauseSentence     = 260 * time.Millisecond
	pauseClause       = 120 * time.Millisecond
	pauseSlowSentence = 600 * time.Millisecond
	pauseSlowClause   = 350 * time.Millisecond
)

// firstClauseLimit is the length in bytes above which the first sentence is cut
// at a comma, so that the first sound does not wait for all of it.
const firstClauseLimit = 40

// longSentence is the length in bytes above which any sentence is cut at a
// comma. The voice was trained on sentences up to 400 phonemes.
const longSentence = 220

// clauses cuts a spelled-out text into what is rendered at once: sentences, the
// first one by clause, every one by clause when slow.
func clauses(words string, slow bool) []clause {
	var out []clause
	for _, sentence := range cutAfter(words, ".!?\n") {
		parts := []string{sentence}
		switch {
		case slow:
			parts = cutAfter(sentence, ",;:—")
		case len(out) == 0 && len(sentence) > firstClauseLimit:
			parts = firstClause(cutAfter(sentence, ",;:—"))
		case len(sentence) > longSentence:
			parts = gather(cutAfter(sentence, ",;:—"), longSentence)
		}
		for i, p := range parts {
			c := clause{p, pauseClause}
			if slow {
				c.pause = pauseSlowClause
			}
			if i == len(parts)-1 {
				c.pause = pauseSentence
				if slow {
					c.pause = pauseSlowSentence
				}
			}
			out = append(out, c)
		}
	}
	if n := len(out); n > 0 {
		out[n-1].pause = 0
	}
	return out
}

// firstClause keeps the first part alone when both it and the rest are worth
// speaking alone, and gathers the rest.
func firstClause(parts []string) []string {
	first := ""
	for i, p := range parts {
		first = strings.TrimSpace(first + " " + p)
		if len(first) >= 12 && i < len(parts)-1 {
			rest := strings.Join(parts[i+1:], " ")
			return append([]string{first}, gather(cutAfter(rest, ",;:—"), longSentence)...)
		}
	}
	return []string{first}
}

// gather joins parts again as long as they stay within limit bytes.
func gather(parts []string, limit int) []string {
	var out []string
	for _, p := range parts {
		if n := len(out); n > 0 && len(out[n-1])+len(p) < limit {
			out[n-1] += " " + p
			continue
		}
		out = append(out, p)
	}
	return out
}

// cutAfter cuts s after each mark that stands before a space or the end.
func cutAfter(s, marks string) []string {
	var out []string
	start := 0
	for i, r := range s {
		next := i + utf8.RuneLen(r)
		if r == utf8.RuneError {
			next = i + 1
		}
		if strings.ContainsRune(marks, r) && (next >= len(s) || s[next] == ' ' || s[next] == '\n') {
			if part := strings.TrimSpace(s[start:next]); part != "" {
				out = append(out, part)
			}
			start = next
		}
	}
	if part := strings.TrimSpace(s[start:]); part != "" {
		out = append(out, part)
	}
	return out
}

// joinable cuts the silence at both ends of a clause and appends the pause. A
// few milliseconds stay, so that no sound is cut.
func joinable(s []float32, rate int, first bool, pause time.Duration) []float32 {
	const quiet = 0.004
	from, to := 0, len(s)
	for from < to && s[from] < quiet && s[from] > -quiet {
		from++
	}
	for to > from && s[to-1] < quiet && s[to-1] > -quiet {
		to--
	}
	keep := rate / 100
	if !first {
		keep = rate / 50
	}
	from = max(0, from-keep)
	to = min(len(s), to+rate/25)
	out := make([]float32, 0, to-from+int(pause.Seconds()*float64(rate)))
	out = append(out, s[from:to]...)
	return append(out, make([]float32, int(pause.Seconds()*float64(rate)))...)
}
