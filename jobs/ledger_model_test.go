package jobs

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/intent"
	"putback/jobs/measure"
)

// tray is the model of a group: one word for each fastener, where it is now.
// It shares nothing with the ledger, which only keeps sums.
type tray []string

const (
	fresh = "untouched"
	loose = "loose"
	out   = "out"
	gone  = "gone" // thrown away, its hole empty
	back  = "back"
	snug  = "snug"
	tight = "torqued"
	feel  = "by feel"
	hazy  = "unsure"
)

func (x tray) count(states ...string) int {
	n := 0
	for _, s := range x {
		if slices.Contains(states, s) {
			n++
		}
	}
	return n
}

// move turns n fasteners into to, those of the first state first.
func (x tray) move(n int, to string, from ...string) {
	for _, s := range from {
		for i := range x {
			if n > 0 && x[i] == s {
				x[i] = to
				n--
			}
		}
	}
	if n > 0 {
		panic("the model moved more than there is")
	}
}

// model is the whole of the record as the test sees it.
type model struct {
	trays   map[string]tray
	doubts  []bool // open
	timers  map[string]bool
	have    int // shaft seals at hand
	fitted  int
	run     string // group being tightened
	bolts   int    // bolts reported in the run
	total   int
	order   int // bolts the run was laid out for
	notes   int
	pending func(*model) // what yes does
}

func (m *model) copy() *model {
	c := *m
	c.pending = nil
	c.trays = map[string]tray{}
	for k, v := range m.trays {
		c.trays[k] = slices.Clone(v)
	}
	c.timers = map[string]bool{}
	for k, v := range m.timers {
		c.timers[k] = v
	}
	c.doubts = slices.Clone(m.doubts)
	return &c
}

func modelSheet() *Sheet {
	nm := func(n float64) measure.Quantity { return measure.Quantity{Amount: n, Unit: measure.NewtonMetre} }
	stages := []SheetStage{{Torque: nm(5)}, {Torque: nm(10)}}
	return &Sheet{Job: "model",
		Fasteners: []SheetGroup{
			{Name: "sump studs", Count: 8, Torque: nm(10), Stages: stages},
			{Name: "lid nuts", Count: 3, Torque: nm(10), Stages: stages[1:]},
			{Name: "fan screws", Count: 1, Torque: nm(5), Stages: stages},
		},
		Parts: []SheetPart{{Name: "gasket", Count: 2}},
	}
}

// The ledger agrees with a model that knows every fastener by itself, through
// random work, its questions, strikes and restarts.
func TestTheLedgerFollowsAModelThatKnowsEveryFastener(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := OpenMemory(Options{Sheet: modelSheet(), Now: start})
		require.NoError(t, err)
		defer b.Close()
		m := &model{trays: map[string]tray{}, timers: map[string]bool{}}
		for _, g := range modelSheet().Fasteners {
			m.trays[g.Name] = slices.Repeat(tray{fresh}, g.Count)
		}
		passes := map[string]int{"sump studs": 2, "lid nuts": 1, "fan screws": 2} // the sheet's stages
		var undo []*model
		now := start

		for range rapid.IntRange(5, 80).Draw(t, "length") {
			now = now.Add(time.Second)
			name := rapid.SampledFrom([]string{"sump studs", "lid nuts", "fan screws"}).Draw(t, "group")
			n := rapid.IntRange(1, 5).Draw(t, "n")
			x := m.trays[name]
			items := []intent.Fastener{{Count: n}}
			var in intent.Intent
			next := m.copy()
			nx := next.trays[name]
			acts := true // the record is expected to change
			asks := (func(*model))(nil)
			holes := x.count(out, gone)
			switch rapid.SampledFrom([]string{"off", "off", "loosen", "back", "back", "new", "snug", "torque", "feel", "bin", "swap", "doubt", "settle", "timer", "stop", "part", "run", "bolt", "bolt", "bolt", "bolt back", "note", "strike", "strike", "yes", "yes", "no"}).Draw(t, "work") {
			case "off":
				in = intent.Removed{Items: items, Where: name}
				if n > len(x)-holes {
					acts = false
					asks = func(m *model) {
						x := m.trays[name]
						for len(x)-x.count(out, gone) < n {
							x = append(x, fresh)
						}
						m.trays[name] = x
						x.move(n, out, loose, fresh, back, snug, hazy, feel, tight)
					}
					break
				}
				nx.move(n, out, loose, fresh, back, snug, hazy, feel, tight)
			case "loosen":
				in = intent.Loosened{Items: items, Where: name}
				if acts = n <= len(x)-holes-x.count(loose); acts {
					nx.move(n, loose, fresh, back, snug, hazy, feel, tight)
				}
			case "back", "new":
				v := intent.Refitted{Items: items, Where: name}
				put := func(x tray) { x.move(n, back, out) }
				renew := func(x tray) { x.move(n, back, gone, out) }
				if rapid.Bool().Draw(t, "new ones") {
					v.New, put = true, renew
				}
				in = v
				switch {
				case n > holes:
					acts = false
					if !(holes == 0 && x.count(fresh) == 0) {
						// It asks whether more came off; whether or no is another test's matter.
						asks = nil
					}
				case !v.New && n > x.count(out):
					acts, asks = false, func(m *model) { renew(m.trays[name]) }
				default:
					put(nx)
				}
			case "snug":
				in = intent.Refitted{Items: items, Where: name, Snug: true}
				need := max(n-x.count(back, loose), 0)
				switch {
				case need > holes:
					acts = false
				case need > x.count(out):
					acts, asks = false, func(m *model) {
						m.trays[name].move(need, back, gone, out)
						m.trays[name].move(n, snug, back, loose)
					}
				default:
					nx.move(need, back, out)
					nx.move(n, snug, back, loose, fresh)
				}
			case "torque", "feel":
				v := intent.Torqued{Items: items, Where: name, How: "wrench"}
				do := func(x tray) { x.move(n, tight, snug, back, loose, hazy, feel, fresh, tight) }
				free := len(x)
				if rapid.Bool().Draw(t, "by feel") {
					v.How = "feel"
					do = func(x tray) { x.move(n, feel, snug, back, loose, hazy, fresh) }
					free -= x.count(tight, feel)
				}
				in = v
				need := max(n-x.count(back, snug, loose), 0)
				switch {
				case n > free:
					acts = false
				case holes == 0:
					do(nx)
				case need > holes:
					acts = false
				case need > x.count(out):
					acts, asks = false, func(m *model) {
						m.trays[name].move(need, back, gone, out)
						do(m.trays[name])
					}
				default:
					nx.move(need, back, out)
					do(nx)
				}
			case "bin":
				in = intent.Discarded{Items: items, Where: name}
				if acts = n <= x.count(out); acts {
					nx.move(n, gone, out)
				}
			case "swap":
				in = intent.Discarded{Items: items, Where: name, New: true}
				if acts = n <= x.count(out); acts {
					nx.move(n, gone, out)
					nx.move(n, back, gone)
				}
			case "doubt":
				in = intent.Flag{Text: "something"}
				next.doubts = append(next.doubts, true)
			case "settle":
				in = intent.Settle{How: "seen"}
				open := 0
				for _, o := range m.doubts {
					if o {
						open++
					}
				}
				if acts = open == 1; acts {
					next.doubts[slices.Index(next.doubts, true)] = false
				} else if open > 1 {
					asks = nil
				}
			case "timer":
				who := rapid.SampledFrom([]string{"soak", "locker"}).Draw(t, "timer")
				in = intent.Timer{Name: who, For: 50 * time.Hour}
				next.timers[who] = true
			case "stop":
				who := rapid.SampledFrom([]string{"soak", "locker"}).Draw(t, "timer")
				in = intent.TimerOff{Name: who}
				if acts = m.timers[who]; acts {
					next.timers[who] = false
				}
			case "part":
				if rapid.Bool().Draw(t, "fit") {
					k := rapid.IntRange(1, 3).Draw(t, "parts")
					in = intent.PartFitted{Name: "gasket", Count: k, New: true}
					next.fitted += k
					next.have = max(m.have-k, 0)
				} else {
					k := rapid.IntRange(1, 5).Draw(t, "parts") // 0 is a number not said
					in = intent.PartHave{Name: "gasket", Count: k}
					next.have = k
				}
			case "run":
				in = intent.Tighten{Name: name}
				switch {
				case m.run != "":
					// One run at a time here; several are the other test's.
					continue
				case holes == len(x):
					acts = false
				case holes > 0:
					acts = false
					asks = func(m *model) {
						m.run, m.bolts, m.order = name, 0, len(m.trays[name])
						m.total = passes[name] * m.order
					}
				default:
					next.run, next.bolts, next.order, next.total = name, 0, len(x), passes[name]*len(x)
				}
			case "bolt":
				if m.run == "" {
					continue
				}
				in = intent.Done{}
				next.bolts++
				if next.bolts == next.total {
					y := next.trays[m.run]
					y.move(min(m.order, len(y)-y.count(out, gone)), tight, snug, back, loose, hazy, feel, fresh, tight)
					next.run, next.bolts, next.total = "", 0, 0
				}
			case "bolt back":
				if m.run == "" {
					continue
				}
				in = intent.BackOne{}
				if acts = m.bolts > 0; acts {
					next.bolts--
				}
			case "note":
				in = intent.Note{Text: "words"}
				next.notes++
			case "strike":
				in = intent.Strike{}
				if acts = len(undo) > 0; acts {
					next = undo[len(undo)-1].copy()
				}
			case "yes":
				if b.Pending() == nil || m.pending == nil {
					continue
				}
				in = intent.Yes{}
				m.pending(next)
			case "no":
				in = intent.No{}
				acts = false
			}
			if q := b.question; q != nil && q.holds && !q.old(now) {
				switch in.(type) {
				case intent.Strike: // of what is not written down yet
					next, acts = m.copy(), false
				case intent.Done:
					next, acts, asks = m.copy(), false, m.pending
				}
			}
			// An open question takes a free word as its answer; ours are whole sentences.
			o, err := b.Do(now, in, Heard{Text: "x", Confidence: 1})
			if err != nil {
				t.Fatalf("%#v: %v", in, err)
			}
			if acts != (len(o.Events) > 0) {
				t.Fatalf("%T %s %d of %v: expected a change: %v; said %q", in, name, n, x, acts, o.Reply.Text)
			}
			if acts {
				if _, ok := in.(intent.Strike); ok {
					undo = undo[:len(undo)-1]
				} else {
					undo = append(undo, m.copy())
				}
				m = next
			}
			m.pending = asks
			if asks != nil && b.Pending() == nil {
				t.Fatalf("%T %s %d of %v: expected a question; said %q", in, name, n, x, o.Reply.Text)
			}
			agree(t, m, b.state)
		}
	})
}

func agree(t *rapid.T, m *model, s *State) {
	for name, x := range m.trays {
		g := s.group(name)
		got := map[string]int{out: g.out(), gone: g.Discarded, loose: g.Loose, back: g.Back, snug: g.Snug, tight: g.Torqued, feel: g.ByFeel, hazy: g.Unsure,
			fresh: g.Count - g.holes() - g.touched()}
		for state, n := range got {
			if n != x.count(state) {
				t.Fatalf("%s: %d are %s in the ledger, %d in the model %v", name, n, state, x.count(state), x)
			}
		}
	}
	var doubts []bool
	for _, d := range s.Doubts {
		doubts = append(doubts, !d.Over)
	}
	if !slices.Equal(doubts, m.doubts) {
		t.Fatalf("doubts %v, in the model %v", doubts, m.doubts)
	}
	for who, runs := range m.timers {
		found := false
		for _, x := range s.Timers {
			found = found || x.Name == who && !x.Ended
		}
		if found != runs {
			t.Fatalf("timer %s runs: %v, in the model: %v", who, found, runs)
		}
	}
	if _, p := s.part("gasket"); p.Have != m.have || p.New != m.fitted {
		t.Fatalf("gaskets %d at hand and %d fitted, in the model %d and %d", p.Have, p.New, m.have, m.fitted)
	}
	if len(s.Notes) != m.notes {
		t.Fatalf("%d notes, in the model %d", len(s.Notes), m.notes)
	}
	run, bolts := "", 0
	if s.Run != nil {
		run = s.Run.Group
		bolts = len(s.Run.Done)
		for p := range s.Run.Pass {
			bolts += len(s.Run.bolts(p))
		}
	}
	if run != m.run || bolts != m.bolts {
		t.Fatalf("tightening %q at bolt %d, in the model %q at %d", run, bolts, m.run, m.bolts)
	}
}
