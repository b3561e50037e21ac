package jobs

import (
	"slices"
	"strings"
)

// handOver says what was done, with its figures; the report has them all.
func (d *draft) handOver() {
	done, skipped := 0, 0
	for _, st := range d.st.Steps {
		switch st.State {
		case "done":
			done++
		case "skipped":
			skipped++
		}
	}
	off, back, torqued, feel := 0, 0, 0, 0
	for _, g := range d.st.Groups {
		off += g.Removed
		back += g.Refitted + g.Renewed
		torqued += g.Torqued
		feel += g.ByFeel + g.Unsure
	}
	if done+off+torqued == 0 {
		d.say(ReplyAnswer, "Nothing is done yet.")
		return
	}
	if i := slices.IndexFunc(d.st.Suspects, func(u *suspect) bool { return u.State == "culprit" }); i >= 0 {
		d.more("The fault was %s.", the(d.st.Suspects[i].Name))
	}
	d.more("%s done", capital(countOf(done, "step", "steps")))
	if skipped > 0 {
		d.reply.Text += ", " + spell(skipped) + " skipped"
	}
	d.reply.Text += "."
	var figures []string
	for _, f := range []struct {
		n    int
		what string
	}{{off, "off"}, {back, "back"}, {torqued, "torqued"}, {feel, "by feel"}} {
		if f.n > 0 {
			figures = append(figures, spell(f.n)+" "+f.what)
		}
	}
	if len(figures) > 0 {
		d.more("%s.", capital(strings.Join(figures, ", ")))
	}
	var fresh []string
	for _, p := range d.st.Parts {
		if p.New > 0 {
			fresh = append(fresh, p.Name)
		}
	}
	if len(fresh) > 0 {
		d.room("New: %s.", fewOf(fresh, 3))
	}
	if open := d.st.unfinished(d.now); len(open) > 0 {
		d.room("Open: %s.", bounded(open, ",", 10))
	} else {
		d.room("Nothing open.")
	}
	d.room("The report has every figure.")
	d.reply.Kind = ReplyAnswer
}
