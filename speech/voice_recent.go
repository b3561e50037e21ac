package speech

import (
	"sync"
	"time"
)

// recentTexts remembers the last texts that were spoken.
type recentTexts struct {
	mu    sync.Mutex
	texts []spokenText // oldest first
}

type spokenText struct {
	text string
	at   time.Time
}

// keepRecent is how many texts are remembered: more than can sound within the
// time a transcript lags behind.
const keepRecent = 16

func (r *recentTexts) add(text string, at time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if len(r.texts) == keepRecent {
		r.texts = append(r.texts[:0], r.texts[1:]...)
	}
	r.texts = append(r.texts, spokenText{text, at})
}

func (r *recentTexts) since(t time.Time) []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	var out []string
	for i := len(r.texts) - 1; i >= 0 && !r.texts[i].at.Before(t); i-- {
		out = append(out, r.texts[i].text)
	}
	return out
}
