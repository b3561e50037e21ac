package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// printTables prints the tables as Markdown.
func (r *results) printTables(w io.Writer, noises map[string]string) {
	if t := r.ordersTable(); len(t) > 1 {
		fmt.Fprintf(w, "\nOrders (%s noise). Accuracy: every slot right and none more. Rejected: asked about or ignored. Wrong: acted on and not right.\n\n", noises[ordersSet])
		printTable(w, t)
	}
	if t := r.conditionsTable(ordersSet); len(t) > 1 {
		fmt.Fprint(w, "\nOrders, where each clip went: acted on (right, wrong), asked about, ignored.\n\n")
		printTable(w, t)
	}
	if t := r.conditionsTable(shopSet); len(t) > 1 {
		fmt.Fprintf(w, "\nShop commands by synthetic voices (%s noise). Wrong torque: acted on with another torque than was said, of the clips with a torque.\n\n", noises[shopSet])
		printTable(w, t)
	}
	if t := r.conditionsTable(torqueSet); len(t) > 1 {
		fmt.Fprintf(w, "\nTorques told by synthetic voices (%s noise).\n\n", noises[torqueSet])
		printTable(w, t)
	}
	if t := r.voicesTable(); len(t) > 1 {
		fmt.Fprint(w, "\nShop commands by voice: acted on rightly.\n\n")
		printTable(w, t)
	}
	if t := r.talkTable(); len(t) > 1 {
		fmt.Fprintf(w, "\nTalk not meant for us (%s noise), heard in the shop's language.\n\n", noises[talkSet])
		printTable(w, t)
	}
}

// ends are the condition without noise and the noisiest, as far as they were run.
func (r *results) ends(set string) []string {
	var ats []string
	for _, at := range r.ats {
		if slices.ContainsFunc(r.rows, func(row string) bool { return len(r.of(row, set, at)) > 0 }) {
			ats = append(ats, at)
		}
	}
	if len(ats) > 2 {
		ats = []string{ats[0], ats[len(ats)-1]}
	}
	return ats
}

func (r *results) ordersTable() [][]string {
	var ats []string
	for _, at := range r.ats {
		if slices.ContainsFunc(r.rows, func(row string) bool { return len(r.of(row, ordersSet, at)) > 0 }) {
			ats = append(ats, at)
		}
	}
	ends := strings.Join(r.ends(ordersSet), " / ")
	head := append([]string{"", "clips"}, ats...)
	head = append(head, "rejected, "+ends, "wrong but acted on, "+ends, "p50", "p95", "peak memory")
	table := [][]string{head}
	for _, row := range r.rows {
		if why := r.why[row]; why != "" {
			table = append(table, []string{row, why})
			continue
		}
		all := score(r.all(row, ordersSet))
		if all.Clips == 0 {
			continue
		}
		line := []string{row, fmt.Sprint(len(r.of(row, ordersSet, ats[0])))}
		for _, at := range ats {
			t := score(r.of(row, ordersSet, at))
			line = append(line, share(t.Right, t.Clips))
		}
		var rejected, wrong []string
		for _, at := range r.ends(ordersSet) {
			t := score(r.of(row, ordersSet, at))
			rejected = append(rejected, share(t.rejected(), t.Clips))
			wrong = append(wrong, share(t.Wrong, t.Clips))
		}
		line = append(line, strings.Join(rejected, " / "), strings.Join(wrong, " / "),
			fmt.Sprintf("%.2f s", all.quantile(0.5)), fmt.Sprintf("%.2f s", all.quantile(0.95)), r.memory(row))
		table = append(table, line)
	}
	return table
}

func (r *results) memory(row string) string {
	if r.peak[row] == 0 {
		return "not told"
	}
	return fmt.Sprintf("%.0f MB", r.peak[row])
}

func (r *results) conditionsTable(set string) [][]string {
	head := []string{"", "", "clips", "accuracy", "acted on, right", "acted on, wrong", "asked", "ignored"}
	spoken := set == shopSet || set == torqueSet
	if spoken {
		head = append(head, "wrong torque", "p50", "p95", "peak memory")
	}
	table := [][]string{head}
	for _, row := range r.rows {
		for _, at := range r.ats {
			t := score(r.of(row, set, at))
			if t.Clips == 0 {
				continue
			}
			line := []string{row, at, fmt.Sprint(t.Clips), share(t.Right, t.Clips), share(t.RightActed, t.Clips), share(t.Wrong, t.Clips), share(t.Asked, t.Clips), share(t.Ignored, t.Clips)}
			if spoken {
				line = append(line, fmt.Sprintf("%d of %d", t.WrongTorque, t.Torque),
					fmt.Sprintf("%.2f s", t.quantile(0.5)), fmt.Sprintf("%.2f s", t.quantile(0.95)), r.memory(row))
			}
			table = append(table, line)
		}
	}
	return table
}

// voiceOf is the voice of a shop clip; its name begins with it.
func voiceOf(name string) string {
	v, _, _ := strings.Cut(name, "/")
	return v
}

func (r *results) voicesTable() [][]string {
	var voices []string
	for _, row := range r.rows {
		for _, o := range r.all(row, shopSet) {
			if v := voiceOf(o.File); !slices.Contains(voices, v) {
				voices = append(voices, v)
			}
		}
	}
	slices.Sort(voices)
	table := [][]string{append([]string{"", ""}, voices...)}
	for _, row := range r.rows {
		for _, at := range r.ats {
			list := r.of(row, shopSet, at)
			if len(list) == 0 {
				continue
			}
			line := []string{row, at}
			for _, v := range voices {
				t := score(slices.DeleteFunc(slices.Clone(list), func(o outcome) bool { return voiceOf(o.File) != v }))
				line = append(line, fmt.Sprintf("%d of %d", t.RightActed, t.Clips))
			}
			table = append(table, line)
		}
	}
	return table
}

func (r *results) talkTable() [][]string {
	table := [][]string{{"", "", "clips", "acted on", "of those with the call word", "asked about", "ignored"}}
	for _, row := range r.rows {
		for _, at := range r.ats {
			if t := score(r.of(row, talkSet, at)); t.Clips > 0 {
				table = append(table, []string{row, at, fmt.Sprint(t.Clips), fmt.Sprint(t.Acted), fmt.Sprint(t.Called), fmt.Sprint(t.Asked), fmt.Sprint(t.Ignored)})
			}
		}
	}
	return table
}

func share(n, of int) string {
	if of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f %%", 100*float64(n)/float64(of))
}

// printTable writes lines of cells as a Markdown table; the first is the head.
// A line that is shorter is filled up.
func printTable(w io.Writer, lines [][]string) {
	widths := make([]int, len(lines[0]))
	for _, l := range lines {
		for i, cell := range l {
			// A reason may be long; it does not widen the column.
			if len(l) == len(lines[0]) {
				widths[i] = max(widths[i], utf8.RuneCountInString(cell), 3)
			}
		}
	}
	for n, l := range lines {
		for i := range widths {
			cell := ""
			if i < len(l) {
				cell = l[i]
			}
			fmt.Fprintf(w, "| %s%s ", cell, strings.Repeat(" ", max(0, widths[i]-utf8.RuneCountInString(cell))))
		}
		fmt.Fprintln(w, "|")
		if n == 0 {
			for _, width := range widths {
				fmt.Fprintf(w, "|%s", strings.Repeat("-", width+2))
			}
			fmt.Fprintln(w, "|")
		}
	}
}
