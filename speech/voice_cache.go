package speech

import (
	"container/list"
	"sync"
)

// phraseKey is one clause at one pace; a voice never changes its pitch.
type phraseKey struct {
	words string
	speed float64
}

// phraseCache keeps rendered clauses, the least recently used thrown out first.
// Replies of the shop repeat ("Say again?", "Struck."), and a kept clause sounds
// without any synthesis.
type phraseCache struct {
	mu    sync.Mutex
	limit int // bytes; below 1 keeps nothing
	bytes int
	order *list.List // of *phrase, most recent first
	byKey map[phraseKey]*list.Element
}

type phrase struct {
	key     phraseKey
	samples []float32
}

func newPhraseCache(limit int) *phraseCache {
	return &phraseCache{limit: limit, order: list.New(), byKey: map[phraseKey]*list.Element{}}
}

func (p phrase) size() int { return 4*len(p.samples) + len(p.key.words) }

// get returns the kept samples, which the caller must not change.
func (c *phraseCache) get(key phraseKey) ([]float32, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.byKey[key]
	if !ok {
		return nil, false
	}
	c.order.MoveToFront(e)
	return e.Value.(*phrase).samples, true
}

// put keeps samples, which become the cache's own. A clause longer than a
// quarter of the cache is not kept: it would push out what repeats.
func (c *phraseCache) put(key phraseKey, samples []float32) {
	c.mu.Lock()
	defer c.mu.Unlock()
	p := &phrase{key, samples}
	if _, ok := c.byKey[key]; ok || p.size() > c.limit/4 {
		return
	}
	c.byKey[key] = c.order.PushFront(p)
	c.bytes += p.size()
	for c.bytes > c.limit {
		e := c.order.Back()
		old := c.order.Remove(e).(*phrase)
		delete(c.byKey, old.key)
		c.bytes -= old.size()
	}
}
