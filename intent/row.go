package intent

import (
	"reflect"
	"slices"
	"strings"
)

// Row is several things said in one breath, in their order: "the seal is out, the
// diameter is 15.99". Said are their words.
type Row struct {
	Of   []Intent
	Said []string
}

func (Row) intent() {}

// longestRow is the most things that are taken out of one sentence.
const longestRow = 3

// InRow parts a sentence that is none of the language into several that are,
// nil when it cannot. read gives the meaning of one of them, nil none. With
// remarks, what follows something told and has no meaning of its own is kept as a
// note: "four off the pump, the back one needs a flex head".
func InRow(text string, remarks bool, read func(string) Intent) *Row {
	words := strings.Fields(text)
	if row := inRow(words, remarks, read, longestRow, nil); row != nil || !remarks {
		return row
	}
	for end := len(words) - 1; end > 0; end-- {
		rest, cut := cutAt(words, end)
		if !cut || !aRemark(words[:end], read) {
			continue
		}
		if last := told(trimmed(rest), nil, read); last != nil && changes(last) {
			return because(trimmed(words[:end]), last, trimmed(rest))
		}
	}
	return nil
}

func inRow(words []string, remarks bool, read func(string) Intent, most int, before Intent) *Row {
	for end := len(words) - 1; end > 0; end-- {
		rest, cut := cutAt(words, end)
		if !cut {
			continue
		}
		said := trimmed(words[:end])
		in := told(said, before, read)
		if in == nil {
			// "That's me done till Saturday, the sump's still open."
			if stop, ok := read(said).(Pause); ok && remarks && before == nil && forLong(said) && aRemark(rest, read) {
				return &Row{[]Intent{Note{Text: trimmed(rest)}, stop}, []string{trimmed(rest), said}}
			}
			continue
		}
		first := Row{Of: []Intent{in}, Said: []string{said}}
		if last := told(trimmed(rest), in, read); last != nil {
			return first.with(last, trimmed(rest))
		}
		if most > 2 {
			if more := inRow(rest, remarks, read, most-1, in); more != nil {
				return &Row{append(first.Of, more.Of...), append(first.Said, more.Said...)}
			}
		}
		if remarks && changes(in) && aRemark(rest, read) {
			return first.with(Note{Text: trimmed(rest)}, trimmed(rest))
		}
	}
	return nil
}

func (r Row) with(in Intent, said string) *Row {
	return &Row{append(r.Of, in), append(r.Said, said)}
}

// because puts a remark before what follows from it: as its reason where it can have one.
func because(remark string, in Intent, said string) *Row {
	switch v := in.(type) {
	case RuleOut:
		if v.Reason == "" {
			v.Reason = remark
			return &Row{[]Intent{v}, []string{remark + ", " + said}}
		}
	case Evidence:
		if v.Text == "" {
			v.Text = remark
			return &Row{[]Intent{v}, []string{remark + ", " + said}}
		}
	}
	return &Row{[]Intent{Note{Text: remark}, in}, []string{remark, said}}
}

// joints are the words that may stand between two things said.
var joints = setOf("and then also plus so")

// cutAt gives what follows word end-1 where one thing may be over there: after a
// mark, or before "and".
func cutAt(words []string, end int) ([]string, bool) {
	last := words[end-1]
	marked := strings.ContainsAny(last[len(last)-1:], ",;.:!?") || last == "-" || last == "–" || last == "—"
	rest := words[end:]
	joined := false
	for len(rest) > 1 && joints[strings.ToLower(strings.Trim(rest[0], ","))] {
		rest, joined = rest[1:], true
	}
	return rest, marked || joined
}

func trimmed(words []string) string {
	return strings.TrimRight(strings.Join(words, " "), " ,;.:!?-–—")
}

// told reads one piece; one that speaks of "it" is about what was told before.
func told(said string, before Intent, read func(string) Intent) Intent {
	if in := read(said); in != nil && fitsRow(in) {
		return in
	}
	if name := about(before); name != "" {
		words := strings.Fields(said)
		for i, w := range words {
			stands, ok := pronouns[strings.ToLower(w)]
			if !ok {
				continue
			}
			words[i] = "the " + name + stands
			if in := read(strings.Join(words, " ")); in != nil && fitsRow(in) {
				return in
			}
			break
		}
	}
	return nil
}

// pronouns stand for what was told before; some hold a verb.
var pronouns = map[string]string{"it": "", "it's": " is", "they": "", "they're": " are", "them": "", "those": "", "that": ""}

// about is the name of what was told or asked of, "" none.
func about(in Intent) string {
	if in == nil {
		return ""
	}
	v := reflect.ValueOf(in)
	for _, field := range []string{"Where", "Name"} {
		if f := v.FieldByName(field); f.IsValid() && f.Kind() == reflect.String && f.String() != "" {
			return f.String()
		}
	}
	return ""
}

// AskedOf is a question about something named, asked of another name; ok is false
// for what is none. A question that names nothing is none either.
func AskedOf(in Intent, name string) (again Intent, ok bool) {
	if !strings.HasPrefix(Name(in), "ask") {
		return nil, false
	}
	v := reflect.New(reflect.TypeOf(in)).Elem()
	v.Set(reflect.ValueOf(in))
	f := v.FieldByName("Name")
	if !f.IsValid() || f.Kind() != reflect.String || f.String() == "" {
		return nil, false
	}
	f.SetString(name)
	return v.Interface().(Intent), true
}

// fitsRow: is it something told or asked that can stand beside others?
func fitsRow(in Intent) bool {
	switch in.(type) {
	case Yes, No, Choice, Strike, Unclear, Quiet, Listen, Stop, Call, SayAgain, Slower, Help, Pause, Resume, Row:
		return false
	}
	return true
}

// changes: does it tell something of the job, beside which a remark is worth keeping?
func changes(in Intent) bool {
	switch v := in.(type) {
	case Removed, Loosened, Refitted, Torqued, Discarded, Condition, Stowed, PartAside, PartHave, PartFitted, PartNeeded,
		Drained, Filled, Sealed, Timer, Measure, Suspect, Evidence, RuleOut, Culprit, Settle:
		return true
	case Done:
		return v.Step != ""
	}
	return false
}

// takesBack are words that show that what follows is no remark but takes back or
// narrows what was said before; those of takesBackFirst do so at its beginning.
var (
	takesBack = setOf(`not never none nor wait sorry except unless if rather instead apart without
		actually maybe perhaps might should would could almost nearly scratch ignore forget he said says`)
	takesBackFirst = setOf("no or but only nothing what where when which who how why is are was do did can have")
)

// forLong: does somebody stop for longer than to answer the door?
func forLong(said string) bool {
	return slices.ContainsFunc(strings.Fields(strings.ToLower(said)), func(w string) bool { return longStops[w] })
}

var longStops = setOf("till until today tonight tomorrow day night week weekend home")

// missed is what is said not to be there when all is well.
var missed = setOf("leak leaks leaking play binding noise noises drip drips damage wear corrosion crack cracks rust smoke air bubbles weeping slack wobble rubbing trouble problem problems issues")

// aRemark: may the words stand by themselves as a note? Not when part of them means
// something to the job.
func aRemark(words []string, read func(string) Intent) bool {
	if len(words) < 2 || len(words) > longestNearest {
		return false
	}
	means := func(piece []string) bool { return read(trimmed(piece)) != nil }
	if means(words) {
		return false
	}
	for at := 1; at < len(words); at++ {
		if rest, cut := cutAt(words, at); cut && (means(words[:at]) || means(rest)) {
			return false
		}
	}
	if len(words) == 2 && (words[0] == "none" || words[0] == "nothing") && strings.HasSuffix(words[1], "ing") {
		return true // "none missing", "nothing rubbing"
	}
	if first := strings.ToLower(words[0]); first == "no" && missed[strings.ToLower(strings.Trim(words[1], ",;.:!?"))] {
		words = words[2:] // "no leaks"
	} else if takesBackFirst[strings.ToLower(strings.Trim(first, ",;.:!?"))] {
		return false
	}
	if len(words) == 0 {
		return true
	}
	return !slices.ContainsFunc(words, func(w string) bool {
		w = strings.ToLower(strings.Trim(w, ",;.:!?"))
		return takesBack[w] || strings.HasSuffix(w, "n't")
	}) && !strings.HasSuffix(words[len(words)-1], "?")
}
