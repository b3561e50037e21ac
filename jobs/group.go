package jobs

import (
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/fastening"
	"putback/jobs/measure"
)

// groupNames are the names a group answers to.
func groupNames(g *group) []string {
	list := []string{g.Name}
	if g.Place != "" {
		list = append(list, g.Place)
		list = append(list, g.Place+" "+g.Name)
	}
	if g.Size != "" && g.Place != "" {
		list = append(list, g.Place+" "+g.Size)
	}
	if g.Kind != "" {
		list = append(list, g.Name+" "+g.Kind)
	}
	return list
}

// fit says how well something said goes with what is known.
type fit int

const (
	fitNo fit = iota
	fitOpen
	fitYes
)

// sizeFits compares a spoken size with a group. A wrench size is compared with
// the head where it is known and else with the threads such a head goes with.
func sizeFits(z *intent.Size, g *group) fit {
	if z == nil {
		return fitOpen
	}
	said := normal(z.Said)
	if said != "" && (said == normal(g.Size) || said == normal(g.Tool) || singular(said) == singular(normal(g.Size))) {
		return fitYes
	}
	if z.Length.Given() && g.Length.Given() && !z.Length.Same(g.Length, 0.001) {
		return fitNo
	}
	switch z.Kind {
	case intent.SizeThread:
		if g.Thread == "" {
			return fitOpen
		}
		return yesNo(sameThread(z.Designation, g.Thread))
	case intent.SizeDrive:
		if g.Tool == "" {
			return fitOpen
		}
		return yesNo(said == normal(g.Tool))
	}
	if !z.Across.Given() {
		return fitOpen
	}
	if g.Wrench.Given() {
		if z.Across.Same(g.Wrench, 0.001) {
			return fitYes
		}
		if z.Kind == intent.SizeUnknown && threadNumber(g.Thread, z.Across) {
			return fitYes
		}
		return fitNo
	}
	if g.Thread != "" {
		if z.Kind == intent.SizeUnknown && threadNumber(g.Thread, z.Across) {
			return fitYes
		}
		return yesNo(headTakes(z.Across, g.Thread))
	}
	if g.Size != "" && g.SizeKind == string(z.Kind) {
		return fitNo
	}
	return fitOpen
}

func yesNo(b bool) fit {
	if b {
		return fitYes
	}
	return fitNo
}

func sameThread(a, b string) bool {
	if normal(a) == normal(b) {
		return true
	}
	x, err1 := fastening.LookThread(a)
	y, err2 := fastening.LookThread(b)
	// "M10" alone is said of the fine one too.
	return err1 == nil && err2 == nil && (x.Designation == y.Designation || x.Nominal == y.Nominal && (normal(a) == normal(x.Nominal) || normal(b) == normal(x.Nominal)))
}

// threadNumber tells whether the size is the thread's own diameter: "the tens" can be M10.
func threadNumber(thread string, q measure.Quantity) bool {
	t, err := fastening.LookThread(thread)
	if err != nil {
		return false
	}
	return q.Same(t.Diameter.Quantity(), 0.001)
}

// headTakes tells whether a wrench of that size can belong to the thread.
func headTakes(across measure.Quantity, thread string) bool {
	t, err := fastening.LookThread(thread)
	if err != nil {
		return false
	}
	for _, h := range append(fastening.ThreadsTaking(across), fastening.ThreadsForKey(across)...) {
		if h.Nominal == t.Nominal {
			return true
		}
	}
	return false
}

// lookGroups finds the groups a spoken place and batch can mean, in three steps: the
// name, then size, length, kind and position, then what can be done there.
func (s *State) lookGroups(where string, f *intent.Fastener, able func(*group) bool) []*group {
	var list []*group
	switch {
	case where != "":
		list = s.named(where)
		if len(list) == 0 {
			return nil
		}
	case s.again(f, able):
		return []*group{s.spokenOf()}
	case s.open() != nil && len(s.open().Fasteners) > 0:
		for _, name := range s.open().Fasteners {
			if g := s.group(name); g != nil {
				list = append(list, g)
			}
		}
		if found := narrow(list, f, able); len(found) > 0 && !s.elsewhere(f, found) {
			return found
		}
		list = s.Groups
	default:
		list = s.Groups
	}
	found := narrow(list, f, able)
	if where == "" && len(found) > 1 {
		// Nothing but "two more": the group last spoken of is meant when it can be.
		for _, g := range found {
			if g.Name == s.Last {
				return []*group{g}
			}
		}
	}
	return found
}

// elsewhere tells whether a length that was said is in the name of a group, and
// of none of those: "the long ones" are then not bolts of no known length.
func (s *State) elsewhere(f *intent.Fastener, found []*group) bool {
	if f == nil || f.Length == "" {
		return false
	}
	names := func(g *group) bool { return hasWords(g.Name, f.Length) }
	return !slices.ContainsFunc(found, names) && slices.ContainsFunc(s.Groups, names)
}

// named finds the groups of a name. A known name with a number behind it is
// that name, when the groups are not told apart by numbers.
func (s *State) named(where string) []*group {
	hits := func(name string) []*group {
		var list []*group
		for _, i := range find(name, len(s.Groups), func(i int) []string { return groupNames(s.Groups[i]) }) {
			list = append(list, s.Groups[i])
		}
		return list
	}
	list := hits(where)
	words := nameWords(where)
	if n := len(words); len(list) == 0 && n > 1 && hasNumber(words[n-1:]) && words[n-2] != "number" {
		list = slices.DeleteFunc(hits(strings.Join(words[:n-1], " ")), func(g *group) bool { return hasNumber(nameWords(g.Name)) })
	}
	return list
}

// hasNumber tells whether one of the words is a number in digits.
func hasNumber(words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.Trim(w, "0123456789") == "" })
}

// nearName is the longest known name of a group of the sheet, or of its place,
// that a name begins with; "" none.
func (s *State) nearName(said string) string {
	near := ""
	for _, g := range s.Groups {
		for _, name := range []string{g.Name, g.Place} {
			if g.FromSheet && name != "" && len(name) > len(near) && strings.HasPrefix(normal(bare(said))+" ", normal(name)+" ") {
				near = name
			}
		}
	}
	return near
}

// again tells whether a batch without a place goes on with the group last
// spoken of: nothing said speaks for another, and it can be done there.
func (s *State) again(f *intent.Fastener, able func(*group) bool) bool {
	g := s.spokenOf()
	if g == nil || able != nil && !able(g) {
		return false
	}
	if f != nil && f.Size != nil && sizeFits(f.Size, g) != fitYes {
		return false
	}
	return len(narrow([]*group{g}, f, nil)) > 0
}

// narrow keeps the groups that go with what was said of the batch.
func narrow(list []*group, f *intent.Fastener, able func(*group) bool) []*group {
	if f != nil {
		list = keepBest(list, func(g *group) fit { return sizeFits(f.Size, g) })
		if f.Length != "" {
			list = keepBest(list, func(g *group) fit { return lengthFits(f.Length, g, list) })
		}
		if f.Kind != "" {
			list = keepBest(list, func(g *group) fit {
				if g.Kind == "" {
					return fitOpen
				}
				if screwed[g.Kind] && screwed[f.Kind] && g.Kind != f.Kind {
					return fitOpen
				}
				return yesNo(g.Kind == f.Kind)
			})
		}
		if f.LeftHand && slices.ContainsFunc(list, func(g *group) bool { return g.LeftHand }) {
			list = keepBest(list, func(g *group) fit { return yesNo(g.LeftHand) })
		}
		if f.At != "" && len(list) > 1 {
			if at := keepBest(list, func(g *group) fit { return yesNo(hasWords(g.Name, f.At)) }); len(at) > 0 {
				list = at
			}
		}
	}
	if able != nil && len(list) > 1 {
		var can []*group
		for _, g := range list {
			if able(g) {
				can = append(can, g)
			}
		}
		if len(can) > 0 {
			list = can
		}
	}
	return list
}

// screwed are kinds that are called by each other's names.
var screwed = map[string]bool{"bolt": true, "screw": true}

// keepBest keeps the certain fits, or where there are none the possible ones.
func keepBest(list []*group, f func(*group) fit) []*group {
	var yes, open []*group
	for _, g := range list {
		switch f(g) {
		case fitYes:
			yes = append(yes, g)
		case fitOpen:
			open = append(open, g)
		}
	}
	if len(yes) > 0 {
		return yes
	}
	return open
}

func hasWords(name, part string) bool {
	have := keyWords(name)
	for _, w := range keyWords(part) {
		if !slices.Contains(have, w) {
			return false
		}
	}
	return true
}

// lengthFits compares "long" or "short" with a group: by its name, else by its
// shank among the others.
func lengthFits(word string, g *group, others []*group) fit {
	if hasWords(g.Name, word) {
		return fitYes
	}
	opposite := map[string]string{"long": "short", "short": "long"}[word]
	if opposite != "" && hasWords(g.Name, opposite) {
		return fitNo
	}
	if !g.FromSheet && !g.Length.Given() {
		// Named by being taken off without its length: the long ones are others.
		return fitNo
	}
	if !g.Length.Given() || len(others) < 2 {
		return fitOpen
	}
	for _, o := range others {
		if o == g || !o.Length.Given() {
			continue
		}
		if word == "long" && o.Length.SI() > g.Length.SI() || word == "short" && o.Length.SI() < g.Length.SI() {
			return fitNo
		}
	}
	return fitYes
}

// told tells groups apart in a question by what their names do not share.
func told(list []*group) []string {
	var out []string
	for _, g := range list {
		var rest []string
		for _, w := range nameWords(g.Name) {
			everywhere := true
			for _, o := range list {
				everywhere = everywhere && slices.Contains(nameWords(o.Name), w)
			}
			if !everywhere {
				rest = append(rest, w)
			}
		}
		if len(rest) == 0 {
			return groupNameList(list)
		}
		out = append(out, strings.Join(rest, " "))
	}
	for i, a := range out {
		if slices.Contains(out[i+1:], a) {
			return groupNameList(list)
		}
	}
	return out
}

func groupNameList(list []*group) []string {
	var out []string
	for _, g := range list {
		out = append(out, g.Name)
	}
	return out
}
