package jobs

import (
	"regexp"
	"slices"
	"strings"

	"putback/intent"
	"putback/jobs/measure"
)

func (d *draft) note(text string) {
	if strings.TrimSpace(text) == "" {
		d.say(ReplyAnswer, "Note what?")
		return
	}
	d.add(KindNote, named{Text: text})
	d.say(ReplyReadBack, "Noted: %s.", short(strings.TrimSuffix(text, ".")))
}

// tellNotes reads the notes back, the newest first.
func (d *draft) tellNotes() {
	var list []string
	for _, n := range d.st.Notes {
		if n.Kind == KindNote {
			list = append(list, strings.TrimSuffix(n.Text, "."))
		}
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "No note is written down.")
		return
	}
	slices.Reverse(list)
	d.say(ReplyAnswer, "%s: %s.", capital(countOf(len(list), "note", "notes")), bounded(list, ";", maxWords-6))
}

func (d *draft) mark(label string) {
	d.add(KindMark, named{Text: label})
	d.say(ReplyReadBack, "Marked, %s", d.now.Format("15:04:05"))
	if label != "" {
		d.reply.Text += ": " + label
	}
}

// doubtRaise keeps a doubt open until it is settled by name or at its step.
func (d *draft) doubtRaise(text string) {
	if strings.TrimSpace(text) == "" {
		d.say(ReplyAnswer, "What is the doubt?")
		return
	}
	step := d.st.stepOfDoubt(text)
	d.add(KindDoubt, doubtRaised{Text: text, Step: step})
	d.say(ReplyReadBack, "Flagged: %s.", short(strings.TrimSuffix(text, ".")))
}

// stepOfDoubt is the step a doubt belongs to: the one whose name, parts or
// fasteners the text names wholly; else the open step, or where that handles
// nothing the last one done that did.
func (s *State) stepOfDoubt(text string) string {
	for _, st := range s.Steps {
		if st.Phase != s.stepPhase() {
			continue
		}
		for _, name := range append(append([]string{st.Name}, st.Parts...), st.Fasteners...) {
			if len(keyWords(name)) > 0 && hasWords(text, name) {
				return st.Name
			}
		}
	}
	open := s.open()
	if open != nil && len(open.Fasteners)+len(open.Parts) > 0 {
		return open.Name
	}
	var last *step
	for _, st := range s.Steps {
		if st.DoneSeq > 0 && len(st.Fasteners)+len(st.Parts) > 0 && (last == nil || st.DoneSeq > last.DoneSeq) {
			last = st
		}
	}
	switch {
	case last != nil:
		return last.Name
	case open != nil:
		return open.Name
	}
	return s.LastDone
}

func (d *draft) settle(v intent.Settle) {
	var open []int
	for i, dt := range d.st.Doubts {
		if !dt.Over {
			open = append(open, i)
		}
	}
	if len(open) == 0 {
		d.say(ReplyAnswer, "No doubt is open.")
		return
	}
	pick := -1
	if v.Name != "" {
		hits := find(v.Name, len(open), func(k int) []string { return []string{d.st.Doubts[open[k]].Text} })
		if len(hits) == 1 {
			pick = open[hits[0]]
		}
	} else if len(open) == 1 {
		pick = open[0]
	} else if st := d.st.open(); st != nil {
		if mine := d.st.doubtsFor(st); len(mine) == 1 {
			pick = mine[0]
		}
	}
	if pick >= 0 {
		d.settleOne(pick, v.How)
		return
	}
	var c []choice
	var said []string
	for n, i := range open[:min(len(open), 3)] {
		name := []string{"first", "second", "third"}[n]
		c = append(c, choice{name, func(d *draft) { d.settleOne(i, v.How) }})
		said = append(said, name+", "+short(d.st.Doubts[i].Text))
	}
	d.choose(ReplyQuestion, "Which doubt: "+strings.Join(said, "; ")+"?", true, c...)
}

func (d *draft) settleOne(i int, how string) {
	d.add(KindSettled, doubtSettled{Doubt: i + 1, How: how})
	d.say(ReplyReadBack, "Settled: %s.", short(strings.TrimSuffix(d.st.Doubts[i].Text, ".")))
}

func (d *draft) doubts() {
	var list []string
	for _, dt := range d.st.Doubts {
		if !dt.Over {
			list = append(list, strings.TrimSuffix(dt.Text, "."))
		}
	}
	if len(list) == 0 {
		d.say(ReplyAnswer, "No doubt is open.")
		return
	}
	d.say(ReplyAnswer, "%s: %s.", capital(countOf(len(list), "doubt", "doubts")), bounded(list, ";", maxWords-6))
}

// bounded joins entries until the words are used up, and counts the rest.
func bounded(list []string, sep string, limit int) string {
	var out []string
	n := 0
	for i, text := range list {
		text = short(text)
		if n += words(text); n > limit && i > 0 {
			return strings.Join(out, sep+" ") + sep + " and " + spell(len(list)-i) + " more"
		}
		out = append(out, text)
	}
	return strings.Join(out, sep+" ")
}

// underOf turns "gasket under the lid" into "lid gasket".
var underOf = regexp.MustCompile(`^(?:the )?(\S+) (?:under|in|on|behind|of|round) the (\S.*)$`)

// suspectName gives the suspect meant: by name, else the one last named.
func (d *draft) suspectName(name string) string {
	if name == "" {
		if n := len(d.st.Suspects); n > 0 {
			return d.st.Suspects[n-1].Name
		}
		return ""
	}
	name = underOf.ReplaceAllString(name, "$2 $1")
	hits := find(name, len(d.st.Suspects), func(i int) []string { return []string{d.st.Suspects[i].Name} })
	if len(hits) > 0 {
		return d.st.Suspects[hits[0]].Name
	}
	return strings.TrimPrefix(name, "the ")
}

func (d *draft) suspectNamed(name string) {
	name = d.suspectName(name)
	if name == "" {
		d.say(ReplyAnswer, "What do you suspect?")
		return
	}
	d.add(KindSuspect, named{Name: name})
	d.say(ReplyReadBack, "Suspect: %s.", name)
}

// leadingSuspect parts a text that begins with the name of a suspect: "the
// thermostat it opens in hot water".
func (s *State) leadingSuspect(text string) (name, rest string) {
	said := strings.TrimPrefix(text, "the ")
	for _, u := range s.Suspects {
		bare := strings.TrimPrefix(u.Name, "the ")
		if tail, ok := strings.CutPrefix(said, bare+" "); ok && len(bare) > len(name) {
			name, rest = u.Name, tail
		}
	}
	return name, rest
}

func (d *draft) evidenceFor(v intent.Evidence) {
	if v.Name == "" {
		if name, rest := d.st.leadingSuspect(v.Text); name != "" {
			v.Name, v.Text = name, rest
		}
	}
	name := d.suspectName(v.Name)
	if name == "" {
		// Nothing is suspected yet: the evidence waits for the name.
		d.ask = &question{holds: true, other: func(d *draft, text string, _ *measure.Quantity) bool {
			if normal(text) == "" {
				return false
			}
			v.Name = text
			d.evidenceFor(v)
			return true
		}}
		word := "Against"
		if v.For {
			word = "For"
		}
		d.say(ReplyQuestion, "%s what suspect?", word)
		return
	}
	if strings.TrimSpace(v.Text) == "" {
		d.say(ReplyAnswer, "What does? Say it with its reason.")
		return
	}
	d.add(KindEvidence, evidence{Suspect: name, For: v.For, Text: v.Text})
	word := "Against"
	if v.For {
		word = "For"
	}
	d.say(ReplyReadBack, "%s %s: %s.", word, name, short(strings.TrimSuffix(v.Text, ".")))
}

func (d *draft) ruleOut(v intent.RuleOut) {
	name := d.suspectName(v.Name)
	if name == "" {
		d.say(ReplyAnswer, "Rule out what?")
		return
	}
	d.add(KindRuledOut, named{Name: name, Text: v.Reason})
	d.say(ReplyReadBack, "%s ruled out", capital(name))
	if v.Reason != "" {
		d.reply.Text += ": " + short(v.Reason)
	}
	d.reply.Text += "."
	var open []string
	for _, u := range d.st.Suspects {
		if u.State == "open" {
			open = append(open, u.Name)
		}
	}
	if len(open) > 0 {
		d.room("Left: %s.", fewOf(open, 3))
	}
}

func (d *draft) culprit(name string) {
	name = d.suspectName(name)
	if name == "" {
		d.say(ReplyAnswer, "What is the culprit?")
		return
	}
	d.add(KindCulprit, named{Name: name})
	d.say(ReplyReadBack, "Culprit: %s.", name)
}

func (d *draft) faults() {
	if len(d.st.Suspects) == 0 {
		d.say(ReplyAnswer, "No suspect is named.")
		return
	}
	var open, out []string
	for _, u := range d.st.Suspects {
		switch u.State {
		case "culprit":
			d.say(ReplyAnswer, "The culprit is %s.", u.Name)
		case "ruled out":
			out = append(out, u.Name)
		default:
			open = append(open, u.Name)
		}
	}
	if len(open) > 0 {
		d.more("Open: %s.", fewOf(open, 3))
	}
	if len(out) > 0 {
		d.more("Ruled out: %s.", fewOf(out, 3))
	}
	d.reply.Kind = ReplyAnswer
}
