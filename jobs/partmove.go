package jobs

import (
	"slices"
	"strings"

	"putback/intent"
)

// fastenerWords tell that bolts are meant and not the part they hold.
var fastenerWords = []string{"bolt", "nut", "screw", "stud", "clip", "washer", "fastener", "one", "pin", "plug"}

// movePart takes "took the belt off" and "the pump is back on" for the part
// where its name fits at least as well as that of any fasteners; true: it was a part.
func (d *draft) movePart(m move) bool {
	if m.where == "" || len(m.items) != 1 || m.kind != KindRemoved && m.kind != KindRefitted || len(m.fixed) > 0 {
		return false
	}
	if !d.namesOnly(m) {
		return false
	}
	best, bolts := 0.0, 0.0
	part := ""
	open := d.st.open()
	for _, p := range d.st.Parts {
		like := thingLikeness(m.where, p.Name)
		if like == 0 {
			continue
		}
		if open != nil && slices.Contains(open.Parts, p.Name) {
			like += 0.01
		}
		if like > best {
			best, part = like, p.Name
		}
	}
	for _, g := range d.st.Groups {
		for _, name := range groupNames(g) {
			bolts = max(bolts, likeness(m.where, name))
		}
	}
	if part == "" || best < bolts {
		return false
	}
	if m.kind == KindRemoved {
		d.partAside(intent.PartAside{Name: part, Where: d.sameStow(m.stow)})
	} else {
		d.partFitted(intent.PartFitted{Name: part, New: m.renewed}, false)
	}
	if m.condition != "" && d.ask == nil {
		d.add(KindNote, named{Text: part + ": " + m.condition})
		d.more("Noted: %s.", strings.TrimSuffix(m.condition, "."))
	}
	return true
}

// namesOnly tells that a move says nothing of fasteners but the name of what
// moved: "took the belt off".
func (d *draft) namesOnly(m move) bool {
	f := m.items[0]
	if !f.All || f.Count > 0 || f.Size != nil || f.Kind != "" || f.Length != "" || f.LeftHand || f.At != "" {
		return false
	}
	return !d.saidFasteners()
}

// saidFasteners tells that the sentence has a word for bolts in it.
func (d *draft) saidFasteners() bool {
	return slices.ContainsFunc(keyWords(d.heard.Text), func(w string) bool { return slices.Contains(fastenerWords, w) })
}

// singleThing tells that what came off is one thing the job had no name for:
// "pulled the thermostat housing, it's on the top shelf".
func (d *draft) singleThing(m move) bool {
	name := normal(m.where)
	return m.kind == KindRemoved && d.namesOnly(m) && (!strings.HasSuffix(name, "s") || strings.HasSuffix(name, "ss"))
}
