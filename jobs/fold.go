package jobs

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"putback/jobs/measure"
)

// foldVersion counts the changes of meaning of the fold; a stored checkpoint of
// another version is not used but rebuilt from the events.
const foldVersion = 3

// errLedger: an event would break the ledger.
var errLedger = errors.New("the ledger would no longer add up")

// apply folds one event into s, which must be a clone of its own. On an error s
// may be half changed and is to be thrown away.
func (s *State) apply(e Event) error {
	if err := s.fold(e); err != nil {
		return fmt.Errorf("event %d (%s): %w", e.Seq, e.Kind, err)
	}
	s.Seq = e.Seq
	if !e.Auto && e.Kind != KindStrike {
		s.Worked = e.At
	}
	return nil
}

func read[T any](e Event) (T, error) {
	var v T
	if err := json.Unmarshal(e.Data, &v); err != nil {
		return v, fmt.Errorf("its data cannot be read: %w", err)
	}
	return v, nil
}

// with reads the data of e as a T and hands it to f.
func with[T any](e Event, f func(T) error) error {
	v, err := read[T](e)
	if err != nil {
		return err
	}
	return f(v)
}

func (s *State) fold(e Event) error {
	switch e.Kind {
	case KindSheet:
		return with(e, func(v sheetRead) error {
			if v.Sheet == nil {
				return errors.New("it holds no sheet")
			}
			s.merge(v.File, v.Sheet, e.At)
			return nil
		})
	case KindGroup:
		return with(e, func(v groupNamed) error {
			if v.Name == "" || s.group(v.Name) != nil {
				return fmt.Errorf("the group %q is nameless or there already", v.Name)
			}
			s.addGroup(&group{Name: v.Name, Kind: v.Kind, Place: v.Place, Size: v.Size, SizeKind: v.SizeKind,
				Wrench: v.Wrench, Thread: v.Thread, Length: v.Length, LeftHand: v.LeftHand})
			s.speakOf(v.Name)
			return nil
		})
	case KindCounted, KindRemoved, KindLoosened, KindRefitted, KindRenewed, KindSnugged, KindDiscarded:
		return with(e, func(v groupCount) error {
			return s.ledger(v.Group, e, func(g *group) error {
				if e.Kind == KindCounted {
					g.CountAt = e.At
				}
				return g.count(e.Kind, v.N, e.Seq)
			})
		})
	case KindTorqued:
		return with(e, func(v groupTorqued) error {
			return s.ledger(v.Group, e, func(g *group) error {
				if v.Torque.Given() {
					g.DoneAt = v.Torque
				}
				return g.tighten(v.How, v.N)
			})
		})
	case KindCondition:
		return with(e, func(v groupCondition) error {
			return s.ledger(v.Group, e, func(g *group) error {
				what := v.What
				if v.N > 0 {
					what = fmt.Sprintf("%d %s", v.N, v.What)
				}
				if v.What == "left-hand" {
					g.LeftHand = true
				}
				g.Conditions = with1(g.Conditions, what)
				if spoilt[v.What] {
					g.Damaged += max(v.N, 1)
				}
				return nil
			})
		})
	case KindStowed:
		return with(e, func(v stowed) error {
			if v.Group != "" {
				return s.ledger(v.Group, e, func(g *group) error { g.Stow, g.StowAt = v.Stow, e.At; return nil })
			}
			p := s.editPart(v.Part)
			p.Where, p.WhereAt = v.Stow, e.At
			return nil
		})
	case KindTip:
		return with(e, func(v named) error {
			return s.ledger(v.Name, e, func(g *group) error {
				g.Tips = with1(g.Tips, v.Text)
				return nil
			})
		})
	case KindExcuse:
		return with(e, func(v named) error {
			return s.ledger(v.Name, e, func(g *group) error { g.Excuse = v.Text; return nil })
		})
	case KindSpec:
		return with(e, func(v groupSpec) error {
			return s.ledger(v.Group, e, func(g *group) error { g.specify(v, e.At); return nil })
		})
	case KindStep:
		return with(e, func(v stepState) error { return s.moveStep(v, e) })
	case KindInsert:
		return with(e, s.insertStep)
	case KindConstrain:
		return with(e, func(v stepAfter) error {
			s.After = with1(s.After, v)
			return nil
		})
	case KindStage:
		return with(e, func(v named) error {
			if v.Name == "start" {
				s.Phase = v.Name // the step in hand goes on
				return nil
			}
			if st := s.open(); st != nil && st.State == "open" {
				// Left for another part of the job, not done.
				edit(s.Steps, s.Current).State = "waiting"
			}
			s.Phase, s.Current = v.Name, -1
			if v.Name == "refit" {
				s.makeRefit()
			}
			return nil
		})
	case KindRun, KindRunBolt, KindRunBack, KindRunPause, KindRunResume, KindRunEnd:
		return s.foldRun(e)
	case KindWrench:
		return with(e, func(v named) error { s.Wrench = v.Name; return nil })
	case KindPartAside, KindPartHave, KindPartFitted, KindPartNeed:
		return with(e, func(v partCount) error { return s.movePart(e.Kind, v, e.At) })
	case KindDrained, KindFilled:
		return with(e, func(v fluidMoved) error {
			f := s.editFluid(v.Fluid)
			if e.Kind == KindDrained {
				f.Out, f.In, f.Drained = true, false, v.Amount
				f.Filled = measure.Quantity{}
			} else {
				f.In, f.Filled = true, v.Amount
			}
			return nil
		})
	case KindTimer, KindTimerSaid, KindTimerOff:
		return s.foldTimer(e)
	case KindNote, KindMark:
		return with(e, func(v named) error {
			s.Notes = append(s.Notes, &NoteView{Kind: e.Kind, Text: v.Text, At: e.At})
			return nil
		})
	case KindDoubt:
		return with(e, func(v doubtRaised) error {
			s.Doubts = append(s.Doubts, &doubt{Text: v.Text, Step: v.Step, At: e.At})
			return nil
		})
	case KindSettled:
		return with(e, func(v doubtSettled) error {
			if v.Doubt < 1 || v.Doubt > len(s.Doubts) {
				return fmt.Errorf("there is no doubt number %d", v.Doubt)
			}
			d := edit(s.Doubts, v.Doubt-1)
			d.Over, d.Ended = true, v.How
			return nil
		})
	case KindMeasured:
		return with(e, func(v measured) error {
			i, _ := s.limit(v.Name)
			if i < 0 {
				s.Limits = append(s.Limits, &limit{SheetLimit: SheetLimit{Name: v.Name}})
				i = len(s.Limits) - 1
			}
			l := edit(s.Limits, i)
			l.Value, l.At = v.Value, e.At
			return nil
		})
	case KindLimit:
		return with(e, func(v limitSet) error {
			i, _ := s.limit(v.Name)
			if i < 0 {
				s.Limits = append(s.Limits, &limit{SheetLimit: SheetLimit{Name: v.Name}})
				i = len(s.Limits) - 1
			}
			l := edit(s.Limits, i)
			if v.Min.Given() {
				l.Min = v.Min
			}
			if v.Max.Given() {
				l.Max = v.Max
			}
			l.Dictated, l.Source = e.At, ""
			return nil
		})
	case KindFill:
		return with(e, func(v fluidMoved) error {
			f := s.editFluid(v.Fluid)
			if v.Amount.Given() {
				f.Fill, f.FillAt = v.Amount, e.At
			}
			if v.Is != "" {
				f.Is, f.IsAt = v.Is, e.At
			}
			return nil
		})
	case KindSealant:
		return with(e, func(v sealantTime) error { return s.labelTime(v) })
	case KindTool:
		return with(e, s.setTool)
	case KindCaution, KindUses:
		return s.foldStep(e)
	case KindPartRule:
		return with(e, func(v partRule) error {
			p := s.editPart(v.Part)
			p.Renew, p.Ruled = v.Renew, true
			return nil
		})
	case KindStartLine:
		return with(e, func(v named) error { s.Starts = with1(s.Starts, v.Text); return nil })
	case KindSuspect:
		return with(e, func(v named) error { s.editSuspect(v.Name).State = "open"; return nil })
	case KindEvidence:
		return with(e, func(v evidence) error {
			u := s.editSuspect(v.Suspect)
			if v.For {
				u.For = with1(u.For, v.Text)
			} else {
				u.Against = with1(u.Against, v.Text)
			}
			return nil
		})
	case KindRuledOut:
		return with(e, func(v named) error {
			u := s.editSuspect(v.Name)
			u.State, u.Reason = "ruled out", v.Text
			return nil
		})
	case KindCulprit:
		return with(e, func(v named) error { s.editSuspect(v.Name).State = "culprit"; return nil })
	case KindPaused, KindResumed:
		s.Left = e.Kind == KindPaused
		return nil
	case KindQuiet:
		return with(e, func(v quietSet) error { s.Quiet = v.On; return nil })
	case KindChecked:
		return with(e, func(v named) error {
			s.Checked = with1(s.Checked, v.Name)
			return nil
		})
	case KindStrike, KindAmend:
		return errors.New("a strike or amendment is folded by the bench, not here")
	}
	return fmt.Errorf("this program does not know the kind %q: %w", e.Kind, ErrNewer)
}

// spoilt are the conditions after which a fastener is not to go back.
var spoilt = map[string]bool{"damaged": true, "broken": true, "rounded": true, "stripped": true, "bent": true,
	"stretched": true, "cross-threaded": true, "cracked": true, "worn": true, "torn": true, "perished": true, "flattened": true, "burnt": true, "frayed": true}

// with1 gives the list with v in it once, leaving the old list as it was.
func with1[T comparable](list []T, v T) []T {
	if slices.Contains(list, v) {
		return list
	}
	return append(slices.Clip(list), v)
}

// ledger edits one group and checks its invariant afterwards.
func (s *State) ledger(name string, e Event, f func(*group) error) error {
	i, ok := s.index[name]
	if !ok {
		return fmt.Errorf("there is no group %q", name)
	}
	g := edit(s.Groups, i)
	if err := f(g); err != nil {
		return err
	}
	s.speakOf(name)
	return g.check()
}

// check proves the invariant: removed = refitted + renewed + discarded + still
// out, nothing negative, nothing more in place than there is.
func (g *group) check() error {
	for _, n := range []int{g.Count, g.Removed, g.Refitted, g.Renewed, g.Discarded, g.out(), g.Loose, g.Back, g.Snug, g.Torqued, g.ByFeel, g.Unsure} {
		if n < 0 {
			return fmt.Errorf("%w: %s would have a negative number", errLedger, g.Name)
		}
	}
	if g.Removed != g.Refitted+g.Renewed+g.Discarded+g.out() {
		return fmt.Errorf("%w: %s", errLedger, g.Name)
	}
	if g.Count > 0 && g.holes()+g.touched() > g.Count {
		return fmt.Errorf("%w: %s has %d, and %d would be accounted for", errLedger, g.Name, g.Count, g.holes()+g.touched())
	}
	return nil
}

// take lowers the states in the given order by n altogether and gives what is left of n.
func take(n int, from ...*int) int {
	for _, f := range from {
		k := min(n, *f)
		*f -= k
		n -= k
	}
	return n
}

// count moves n of the group.
func (g *group) count(kind string, n int, seq int64) error {
	if n < 1 || n > 100_000 {
		return fmt.Errorf("%d is not a number of fasteners", n)
	}
	untouched := 1 << 30
	if g.Count > 0 {
		untouched = g.Count - g.holes() - g.touched()
	}
	switch kind {
	case KindCounted:
		g.Count = n
	case KindRemoved:
		if g.OffSeq == 0 || g.holes() == 0 {
			g.OffSeq = seq
		}
		rest := take(n, &g.Loose, &untouched)
		rest = take(rest, &g.Back, &g.Snug, &g.Unsure, &g.ByFeel, &g.Torqued)
		if rest > 0 {
			return fmt.Errorf("%w: %s has only %d in place", errLedger, g.Name, n-rest)
		}
		g.Removed += n
		g.Excuse, g.TipSaid = "", false
	case KindLoosened:
		rest := take(n, &untouched)
		rest = take(rest, &g.Back, &g.Snug, &g.Unsure, &g.ByFeel, &g.Torqued)
		if rest > 0 {
			return fmt.Errorf("%w: %s has only %d in place to loosen", errLedger, g.Name, n-rest)
		}
		g.Loose += n
	case KindRefitted:
		if n > g.out() {
			return fmt.Errorf("%w: only %d of %s are out", errLedger, g.out(), g.Name)
		}
		g.Refitted += n
		g.Back += n
	case KindRenewed:
		// New ones fill the holes of what was thrown away first, then replace what is out.
		if n > g.holes() {
			return fmt.Errorf("%w: only %d of %s are missing", errLedger, g.holes(), g.Name)
		}
		g.Discarded -= min(n, g.Discarded)
		g.Damaged = max(g.Damaged-n, 0)
		g.Renewed += n
		g.Back += n
	case KindDiscarded:
		if n > g.out() {
			return fmt.Errorf("%w: only %d of %s are out", errLedger, g.out(), g.Name)
		}
		g.Discarded += n
		g.Damaged = max(g.Damaged-n, 0)
	case KindSnugged:
		rest := take(n, &g.Back, &g.Loose)
		if rest = take(rest, &untouched); rest > 0 {
			return fmt.Errorf("%w: only %d of %s are in place and not yet tight", errLedger, n-rest, g.Name)
		}
		g.Snug += n
	}
	return nil
}

// tighten moves n in place to tight, by what is known of how.
func (g *group) tighten(how string, n int) error {
	if n < 1 {
		return fmt.Errorf("%d is not a number of fasteners", n)
	}
	untouched := 1 << 30
	if g.Count > 0 {
		untouched = g.Count - g.holes() - g.touched()
	}
	rest := take(n, &g.Snug, &g.Back, &g.Loose)
	switch how {
	case "wrench":
		// Tightening again by wrench what was only tight by feel makes it known.
		rest = take(rest, &g.Unsure, &g.ByFeel, &untouched)
		rest = take(rest, &g.Torqued)
		g.Torqued += n - rest
	case "feel":
		rest = take(rest, &g.Unsure, &untouched)
		g.ByFeel += n - rest
	default:
		rest = take(rest, &untouched)
		g.Unsure += n - rest
	}
	if rest > 0 {
		return fmt.Errorf("%w: %s has only %d in place to tighten", errLedger, g.Name, n-rest)
	}
	return nil
}
