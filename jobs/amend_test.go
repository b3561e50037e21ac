package jobs

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"putback/intent"
)

// cover is a job in which four tens came off, a note was taken, and two went back.
func cover(t *testing.T) (b *Bench, off int64) {
	t.Helper()
	b, err := Open(filepath.Join(t.TempDir(), "cover.putback"), Options{Sheet: DemoSheet(), SheetFile: "boat-engine.yaml", Now: start})
	require.NoError(t, err)
	t.Cleanup(func() { b.Close() })
	now := start
	for i, in := range []intent.Intent{
		intent.Removed{Items: []intent.Fastener{tenMil(4)}, Where: "front cover"},
		intent.Note{Text: "the lower hose is cracked"},
		intent.Refitted{Items: []intent.Fastener{tenMil(2)}, Where: "front cover"},
	} {
		now = now.Add(time.Minute)
		out, err := b.Do(now, in, Heard{Text: fmt.Sprintf("%T", in), Confidence: 0.9})
		require.NoError(t, err)
		require.NotEmpty(t, out.Events, "%T: %s", in, out.Reply.Text)
		if i == 0 {
			off = out.Events[len(out.Events)-1].Seq
		}
	}
	return b, off
}

func coverOut(t *testing.T, b *Bench) int {
	t.Helper()
	for _, g := range b.View(start).Groups {
		if g.Name == "front cover short" {
			return g.Out
		}
	}
	t.Fatal("there is no group front cover short")
	return 0
}

func TestAnOlderEntryIsCorrectedAndWhatFollowedStandsOnIt(t *testing.T) {
	b, off := cover(t)
	require.Equal(t, 2, coverOut(t, b))
	later := start.Add(time.Hour)
	o, err := b.Amend(later, off, intent.Removed{Items: []intent.Fastener{tenMil(5)}, Where: "front cover"}, Heard{Text: "took five tens off the front cover"})
	require.NoError(t, err)
	require.Equal(t, 3, coverOut(t, b), "five came off and two went back")
	require.Equal(t, ReplyReadBack, o.Reply.Kind)
	require.Contains(t, o.Reply.Text, "Corrected: 5 off the front cover short")
	require.Len(t, o.Events, 1)
	require.Equal(t, fmt.Sprintf("corrected: entry %d: 5 off the front cover short", off), Words(o.Events[0]))

	seen := map[int64]bool{}
	for _, e := range b.View(later).Recent {
		seen[e.Seq] = e.Struck
	}
	require.True(t, seen[off], "the page shows that the old entry counts no more")
	require.False(t, seen[o.Events[0].Seq])

	// Corrected once more, by its own number or by the correction's.
	for i, seq := range []int64{off, o.Events[0].Seq} {
		_, err = b.Amend(later, seq, intent.Removed{Items: []intent.Fastener{tenMil(6 + i)}, Where: "front cover"}, Heard{})
		require.NoError(t, err)
		require.Equal(t, 4+i, coverOut(t, b))
	}
	// Correction after correction is taken back.
	for _, want := range []int{4, 3, 2} {
		_, err = b.Do(later, intent.Strike{}, Heard{Text: "strike that"})
		require.NoError(t, err)
		require.Equal(t, want, coverOut(t, b))
	}
	require.Empty(t, b.state.Amended)
}

func TestAnOlderEntryIsTakenBackWhereNothingBuildsOnIt(t *testing.T) {
	b, off := cover(t)
	before := wholeState(t, b.state)
	_, err := b.Amend(start.Add(time.Hour), off, intent.Strike{}, Heard{Text: "strike that"})
	require.ErrorIs(t, err, ErrBuiltOn)
	require.ErrorContains(t, err, fmt.Sprintf("correcting entry %d: entry %d, %q, would no longer fit", off, off+2, "2 back on the front cover short"))
	require.ErrorContains(t, err, "correct that one first")
	require.Equal(t, before, wholeState(t, b.state), "a refusal changes nothing")

	_, err = b.Amend(start.Add(time.Hour), off+2, intent.Strike{}, Heard{})
	require.NoError(t, err)
	require.Equal(t, 4, coverOut(t, b))
	o, err := b.Amend(start.Add(time.Hour), off, intent.Strike{}, Heard{})
	require.NoError(t, err)
	require.Equal(t, "Struck: 4 off the front cover short.", o.Reply.Text)
	require.Zero(t, coverOut(t, b))
	require.Len(t, b.View(start).Notes, 1, "what lay between stays")
}

func TestWhatCannotBeCorrectedIsRefusedInWords(t *testing.T) {
	b, off := cover(t)
	before := wholeState(t, b.state)
	now := start.Add(time.Hour)
	for _, c := range []struct {
		seq  int64
		in   intent.Intent
		want string
		is   error
	}{
		{99, intent.Note{Text: "x"}, "the job has entries 1 to 4", ErrNoEntry},
		{0, intent.Note{Text: "x"}, "the job has entries 1 to 4", ErrNoEntry},
		{1, intent.Note{Text: "x"}, "it is the sheet", ErrNoEntry},
		{off, intent.AskLeft{}, "that writes nothing down", nil},
		{off, intent.Yes{}, "write the whole entry", nil},
		{off, intent.Refitted{Items: []intent.Fastener{tenMil(2)}, Where: "front cover"}, "it leaves a question open", nil},
		{off, intent.Removed{Items: []intent.Fastener{tenMil(1)}, Where: "front cover"}, "would no longer fit", ErrBuiltOn},
	} {
		_, err := b.Amend(now, c.seq, c.in, Heard{})
		require.ErrorContains(t, err, c.want)
		if c.is != nil {
			require.ErrorIs(t, err, c.is)
		}
		require.Equal(t, before, wholeState(t, b.state), "a refusal changes nothing")
	}
	_, err := b.Do(now, intent.Strike{}, Heard{})
	require.NoError(t, err)
	for _, seq := range []int64{off + 2, b.state.Seq} {
		_, err = b.Amend(now, seq, intent.Note{Text: "x"}, Heard{})
		require.ErrorIs(t, err, ErrNoEntry, "a struck entry, and a strike")
	}
}

// stands folds from nothing what a history says still counts, by a rule written
// down apart from the program's.
func stands(t *rapid.T, events []Event) *State {
	gone, instead := map[int64]bool{}, map[int64]amend{}
	for _, e := range events {
		if e.Kind == KindStrike {
			var v strike
			require.NoError(t, json.Unmarshal(e.Data, &v))
			gone[v.Turn] = true
		}
	}
	for _, e := range events {
		if e.Kind == KindAmend && !gone[e.Turn] {
			var v amend
			require.NoError(t, json.Unmarshal(e.Data, &v))
			instead[v.Turn] = v
		}
	}
	s := newState()
	for _, e := range events {
		if e.Kind == KindStrike || e.Kind == KindAmend || gone[e.Turn] {
			continue
		}
		put := []Event{e}
		if a, ok := instead[e.Turn]; ok {
			if put = nil; e.Seq == e.Turn {
				for _, v := range a.Events {
					put = append(put, Event{Seq: e.Seq, Turn: e.Turn, At: e.At, Kind: v.Kind, Data: v.Data})
				}
			}
		}
		for _, v := range put {
			require.NoError(t, s.apply(v))
		}
	}
	return s
}

// Whatever older entries are corrected or taken back, between whatever is said:
// the state is what the standing entries fold to, and opening again, folding the
// journal, and an export and import all give that same state.
func TestCorrectionsReplayAndMove(t *testing.T) {
	dir := t.TempDir()
	n, made, refused := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		path := filepath.Join(dir, fmt.Sprintf("%d.putback", n))
		b, err := Open(path, Options{Sheet: DemoSheet(), SheetFile: "boat-engine.yaml", Now: start, NoCopy: true})
		require.NoError(t, err)
		hasty(t, b)
		defer func() { b.Close(); os.Remove(path) }()
		now := start
		for range rapid.IntRange(2, 30).Draw(t, "length") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{1, 5, 21, 400}).Draw(t, "seconds")) * time.Second)
			switch what := rapid.IntRange(0, 9).Draw(t, "what"); {
			case what == 0:
				_, err := b.Do(now, intent.Strike{}, Heard{})
				require.NoError(t, err)
			case what == 1:
				// Where the next opening begins is drawn too.
				b.saveCheckpoint()
			case what <= 4:
				in := saidIntent(t, nil)
				if rapid.IntRange(0, 3).Draw(t, "gone") == 0 {
					in = intent.Strike{}
				}
				seq := rapid.Int64Range(1, b.state.Seq).Draw(t, "entry")
				before := wholeState(t, b.state)
				_, err := b.Amend(now, seq, in, Heard{Text: "typed"})
				if err != nil {
					refused++
					require.False(t, errors.Is(err, ErrDamaged), "%v", err)
					require.Equal(t, before, wholeState(t, b.state), "a refusal changes nothing: %v", err)
				} else {
					made++
				}
			default:
				_, err := b.Do(now, saidIntent(t, nil), Heard{})
				require.NoError(t, err)
			}
			sound(t, b.state)
			events, err := b.History(0, 0)
			require.NoError(t, err)
			want, got := stands(t, events), *b.state
			got.Amended, want.Amended = nil, nil
			require.Equal(t, stateText(t, want), stateText(t, &got))
		}
		events, err := b.History(0, 0)
		require.NoError(t, err)
		f := newFolding()
		for _, e := range events {
			require.NoError(t, f.event(e))
		}
		require.Equal(t, wholeState(t, b.state), wholeState(t, f.st), "the journal folds to another state")
		st, _, err := b.journal.restore(0)
		require.NoError(t, err)
		require.Equal(t, wholeState(t, b.state), wholeState(t, st), "opening again gives another state")

		var sent, again bytes.Buffer
		require.NoError(t, Export(b, &sent))
		moved := path + ".moved"
		defer os.Remove(moved)
		_, err = Import("export", bytes.NewReader(sent.Bytes()), moved)
		require.NoError(t, err)
		m, err := Open(moved, Options{ReadOnly: true})
		require.NoError(t, err)
		defer m.Close()
		require.Equal(t, wholeState(t, b.state), wholeState(t, m.state))
		require.NoError(t, Export(m, &again))
		require.Equal(t, sent.String(), again.String())
	})
	t.Logf("%d corrections made, %d refused", made, refused)
	require.Positive(t, made)
	require.Positive(t, refused)
}
