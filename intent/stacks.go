package intent

import (
	"encoding/binary"
	"slices"
)

// stacks numbers sets of stacks of pending calls. Every way to have come to a
// place is one entry of its set, so that a rule called from sixty places at
// once is followed once. Set 0 holds the empty stack alone: no call is pending.
//
// Numbers and sets stay for good; sets that have the same members are the same.
type stacks struct {
	sets  []stackSet
	index map[string]int32
	key   []byte // scratch
}

// stackSet is one set. Each frame is the node to come back to and the set of
// what is pending there.
type stackSet struct {
	frames []frame
	empty  bool // the empty stack is a member: the sentence may end
	depth  int32
	// What may come after leaving the rule: see lookahead.
	gap, joined byteSet
	ends        bool
}

type frame struct{ back, parent int32 }

func newStacks() *stacks {
	return &stacks{sets: []stackSet{{empty: true, ends: true}}, index: map[string]int32{}}
}

// intern gives the number of a set, which may be unsorted and hold a frame
// twice. Frames that are too deep are left out.
func (s *stacks) intern(n *network, frames []frame, empty bool) int32 {
	frames = slices.DeleteFunc(frames, func(f frame) bool { return s.sets[f.parent].depth >= maxCallDepth })
	slices.SortFunc(frames, func(a, b frame) int {
		if a.back != b.back {
			return int(a.back) - int(b.back)
		}
		return int(a.parent) - int(b.parent)
	})
	frames = slices.Compact(frames)
	if len(frames) == 0 && empty {
		return 0
	}
	key := s.key[:0]
	for _, f := range frames {
		key = binary.LittleEndian.AppendUint32(key, uint32(f.back))
		key = binary.LittleEndian.AppendUint32(key, uint32(f.parent))
	}
	if empty {
		key = append(key, 1)
	}
	s.key = key
	if i, ok := s.index[string(key)]; ok {
		return i
	}
	set := stackSet{frames: slices.Clone(frames), empty: empty, ends: empty}
	for _, f := range frames {
		p := &s.sets[f.parent]
		set.depth = max(set.depth, p.depth+1)
		set.gap.join(&n.ahead.gap[f.back])
		set.joined.join(&n.ahead.joined[f.back])
		if n.ahead.blank[f.back] {
			set.gap.join(&p.gap)
			set.ends = set.ends || p.ends
		}
		if n.ahead.blankJoined[f.back] {
			set.joined.join(&p.joined)
		}
	}
	i := int32(len(s.sets))
	s.sets = append(s.sets, set)
	s.index[string(key)] = i
	return i
}

// union gives the set of all stacks of several sets.
func (s *stacks) union(n *network, numbers []int32) int32 {
	if len(numbers) == 1 {
		return numbers[0]
	}
	var frames []frame
	empty := false
	for _, i := range numbers {
		frames = append(frames, s.sets[i].frames...)
		empty = empty || s.sets[i].empty
	}
	return s.intern(n, frames, empty)
}
