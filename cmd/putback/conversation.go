package main

import (
	"cmp"
	"fmt"
	"io"
	"reflect"
	"sync"
	"time"

	"putback/intent"
	"putback/jobs"
)

// conversation joins the grammar and the bench: words go in, what was made of
// them and the answer come out. It keeps the grammar in step with the job's
// names. It is safe for concurrent use.
type conversation struct {
	bench    *jobs.Bench
	callWord string

	mu    sync.Mutex
	names intent.Vocabulary
	shop  *intent.Automaton
	loose *intent.Automaton // made when it is first wanted
}

func newConversation(b *jobs.Bench, callWord string) *conversation {
	return &conversation{bench: b, callWord: callWord}
}

// grammar is the automaton for what can be said now.
func (c *conversation) grammar() (*intent.Automaton, error) {
	names := c.bench.Vocabulary()
	if c.callWord != "" {
		names.CallWord = c.callWord
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.shop != nil && reflect.DeepEqual(names, c.names) {
		return c.shop, nil
	}
	shop, err := intent.Shop(names)
	if err != nil {
		return nil, fmt.Errorf("building the grammar from the job's names: %w", err)
	}
	c.shop, c.names, c.loose = shop, names, nil
	return shop, nil
}

// loosely is what a typed sentence outside the grammar says in its own order of
// words, nil nothing.
func (c *conversation) loosely(text string) (intent.Intent, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.loose == nil {
		loose, err := intent.Loose(c.names)
		if err != nil {
			return nil, fmt.Errorf("building the grammar from the job's names: %w", err)
		}
		c.loose = loose
	}
	return intent.UnderstandLoosely(c.loose, text), nil
}

// inRow is a typed sentence that tells several things, nil when it does not.
// Freely, its pieces may be in any order of words and one of them a remark.
func (c *conversation) inRow(shop *intent.Automaton, text string, freely bool) *intent.Row {
	return intent.InRow(text, freely, func(piece string) intent.Intent {
		if readings := shop.Parse(piece); len(readings) > 0 {
			if in, err := intent.FromReading(readings[0]); err == nil {
				return in
			}
		}
		if !freely {
			return nil
		}
		in, err := c.loosely(piece)
		if err != nil {
			return nil
		}
		return in
	})
}

// turn is one line in and what came of it, in the shape `type --jsonl` prints.
type turn struct {
	Heard  string         `json:"heard"`
	Intent string         `json:"intent"`
	Slots  map[string]any `json:"slots"`
	Reply  string         `json:"reply"`
	Events []jobs.Event   `json:"events"`

	reply jobs.Reply
}

// sayAgain is the answer to words that were meant for the companion and not understood.
var sayAgain = jobs.Reply{Kind: jobs.ReplyRepeat, Text: "Say again?"}

// words carries out one text. Text outside the grammar is answered with "Say
// again?" and changes nothing.
func (c *conversation) words(now time.Time, text string) (turn, error) {
	t := turn{Heard: text, Slots: map[string]any{}, Events: []jobs.Event{}}
	shop, err := c.grammar()
	if err != nil {
		return t, err
	}
	readings := shop.Parse(text)
	if asked := c.bench.Pending(); len(readings) == 0 && asked != nil && asked.Free && !c.bench.Quiet() {
		return c.answer(now, t, intent.Choice{Text: text}, 1)
	}
	straight := ""
	if len(readings) == 0 {
		if straight = intent.Straighten(text); straight != "" {
			readings = shop.Parse(straight)
		}
	}
	if len(readings) == 0 && c.bench.Quiet() {
		return t, nil // told to be quiet: no "Say again?" either
	}
	if len(readings) == 0 {
		if row := c.inRow(shop, cmp.Or(straight, text), false); row != nil {
			t.Intent = intent.Name(*row)
			return c.answer(now, t, *row, 1)
		}
		in, err := c.loosely(cmp.Or(straight, text))
		if err != nil {
			return t, err
		}
		if in != nil {
			t.Intent = intent.Name(in)
			return c.answer(now, t, in, 1)
		}
		if row := c.inRow(shop, cmp.Or(straight, text), true); row != nil {
			t.Intent = intent.Name(*row)
			return c.answer(now, t, *row, 1)
		}
		if guess := intent.Guess(shop, cmp.Or(straight, text)); guess != nil {
			return c.answer(now, t, *guess, 1)
		}
		t.reply, t.Reply = sayAgain, sayAgain.Text
		return t, nil
	}
	return c.act(now, t, readings[0], 1)
}

// correct makes an older entry of the journal what the text says, see
// [jobs.Bench.Amend].
func (c *conversation) correct(now time.Time, seq int64, text string) error {
	shop, err := c.grammar()
	if err != nil {
		return err
	}
	readings := shop.Parse(text)
	if len(readings) == 0 {
		readings = shop.Parse(intent.Straighten(text))
	}
	if len(readings) == 0 {
		return fmt.Errorf("%q was not understood: write it as you would say it, or \"strike that\" to take the entry back", text)
	}
	in, err := intent.FromReading(readings[0])
	if err != nil {
		return fmt.Errorf("understanding %q: %w", text, err)
	}
	_, err = c.bench.Amend(now, seq, in, jobs.Heard{Text: text, Confidence: 1})
	return err
}

// act carries out one reading.
func (c *conversation) act(now time.Time, t turn, r intent.Reading, confidence float64) (turn, error) {
	t.Intent, t.Slots = r.Rule, slotMap(r)
	in, err := intent.FromReading(r)
	if err != nil {
		return t, fmt.Errorf("understanding %q: %w", r.Text, err)
	}
	return c.answer(now, t, in, confidence)
}

// answer carries out one intent.
func (c *conversation) answer(now time.Time, t turn, in intent.Intent, confidence float64) (turn, error) {
	out, err := c.bench.Do(now, in, jobs.Heard{Text: t.Heard, Confidence: confidence})
	if err != nil {
		return t, err
	}
	t.reply, t.Reply = out.Reply, out.Reply.Text
	if out.Events != nil {
		t.Events = out.Events
	}
	return t, nil
}

// slotMap turns the slots of a reading into the shape of the JSON lines: a
// slot that occurs once is a string, one that occurs more often a list.
func slotMap(r intent.Reading) map[string]any {
	m := map[string]any{}
	for _, s := range r.Slots {
		switch have := m[s.Name].(type) {
		case nil:
			m[s.Name] = s.Value
		case string:
			m[s.Name] = []string{have, s.Value}
		case []string:
			m[s.Name] = append(have, s.Value)
		}
	}
	return m
}

// sayNotices prints what the bench found when it opened the job.
func sayNotices(w io.Writer, b *jobs.Bench) {
	for _, n := range b.Notices() {
		fmt.Fprintln(w, "putback: "+n)
	}
}
