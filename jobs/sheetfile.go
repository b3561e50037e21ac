package jobs

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"putback/intent"
	"putback/jobs/measure"
)

// The bounds of a sheet. One with 2 000 groups of fasteners is far inside them.
const (
	maxSheet    = 4 << 20 // bytes
	maxNodes    = 400_000 // visited, aliases counted each time
	maxDepth    = 12      // lists and maps within each other
	maxProblems = 200
	maxEntries  = 5000 // of a kind: groups, parts, steps
	maxHints    = 20   // searches for the name that was meant
)

// LoadSheet reads a sheet from a file. Without a usable sheet the result is nil
// and at least one problem is of severity error.
func LoadSheet(path string) (*Sheet, []Problem) {
	f, err := os.Open(path)
	if err != nil {
		return nil, []Problem{{File: path, Message: fmt.Sprintf("the sheet cannot be read: %v", err), Fix: "check the name and that the file may be read", Severity: SeverityError}}
	}
	defer f.Close()
	raw, err := io.ReadAll(io.LimitReader(f, maxSheet+1))
	if err != nil {
		return nil, []Problem{{File: path, Message: fmt.Sprintf("the sheet cannot be read: %v", err), Fix: "check that it is a file and may be read", Severity: SeverityError}}
	}
	return ParseSheet(path, raw)
}

// ParseSheet reads a sheet written in YAML; name stands in the problems, which
// come in the order of the file. The Sheet is nil when a problem is an error.
func ParseSheet(name string, raw []byte) (*Sheet, []Problem) {
	r := &sheetReader{file: name, sheet: &Sheet{}, entered: map[string]int{}}
	if len(raw) > maxSheet {
		r.whole("the sheet is larger than 4 MB", "a sheet is one page of text; split the job")
		return nil, r.problems
	}
	var doc yaml.Node
	dec := yaml.NewDecoder(bytes.NewReader(raw))
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			r.whole("the sheet is empty", "begin with a line like \"job: Front cover\"")
		} else {
			r.yamlError(err)
		}
		return nil, r.problems
	}
	var more yaml.Node
	if err := dec.Decode(&more); err == nil {
		r.problem(&more, SeverityError, "a second document begins here", "take out the line ---; a sheet is one document")
	} else if !errors.Is(err, io.EOF) {
		r.yamlError(err)
	}
	if len(doc.Content) > 0 {
		r.read(doc.Content[0])
	}
	if !r.failed {
		r.check()
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	if r.failed {
		return nil, r.problems
	}
	return r.sheet, r.problems
}

// sheetReader walks the YAML nodes, so that every problem has its place.
type sheetReader struct {
	file     string
	sheet    *Sheet
	problems []Problem
	failed   bool
	nodes    int
	depth    int
	at       map[string]*yaml.Node // where an entry stands: "fasteners/NAME", "steps/NAME"
	habits   measure.Habits
	entered  map[string]int // entries of a kind
	hints    int
}

func (r *sheetReader) problem(n *yaml.Node, sev Severity, message, fix string) {
	if sev == SeverityError {
		r.failed = true
	}
	if len(r.problems) == maxProblems {
		return
	}
	p := Problem{File: r.file, Message: message, Fix: fix, Severity: sev}
	if n != nil {
		p.Line, p.Column = n.Line, n.Column
	}
	r.problems = append(r.problems, p)
}

func (r *sheetReader) whole(message, fix string) { r.problem(nil, SeverityError, message, fix) }

func (r *sheetReader) bad(n *yaml.Node, message, fix string) {
	r.problem(n, SeverityError, message, fix)
}

var yamlLine = regexp.MustCompile(`line (\d+)`)

// yamlError places an error of the YAML parser, which tells the line only in its text.
func (r *sheetReader) yamlError(err error) {
	n := &yaml.Node{Column: 1}
	if m := yamlLine.FindStringSubmatch(err.Error()); m != nil {
		n.Line, _ = strconv.Atoi(m[1])
	}
	text := strings.TrimPrefix(yamlLine.ReplaceAllString(strings.TrimPrefix(err.Error(), "yaml: "), ""), ": ")
	fix := "check the indentation and the colons on this line and the one before"
	if strings.Contains(text, "tab") || strings.Contains(text, "cannot start any token") {
		fix = "indent with spaces, not tabs, and put text with : or # into quotes"
	}
	r.bad(n, "this is no readable YAML: "+text, fix)
}

// deeper guards against nests and against aliases that multiply.
func (r *sheetReader) deeper(n *yaml.Node) (*yaml.Node, bool) {
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	r.nodes++
	if r.nodes > maxNodes {
		if r.nodes == maxNodes+1 {
			r.bad(n, "the sheet repeats itself too often", "write the entries out instead of using * aliases")
		}
		return n, false
	}
	if r.depth > maxDepth {
		r.bad(n, "lists and maps are nested too deep here", "no entry of a sheet is nested deeper than four levels")
		return n, false
	}
	return n, true
}

type fields map[string]func(n *yaml.Node)

// known lists the keys in a stable order.
func (f fields) known() []string {
	var list []string
	for k := range f {
		list = append(list, k)
	}
	slices.Sort(list)
	return list
}

// object reads a map with known keys.
func (r *sheetReader) object(n *yaml.Node, what string, f fields) {
	n, ok := r.deeper(n)
	if !ok || n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		return
	}
	if n.Kind != yaml.MappingNode {
		r.bad(n, what+" should be keys and values", "write it as key: value, keys are "+andList(f.known()))
		return
	}
	r.depth++
	defer func() { r.depth-- }()
	seen := map[string]bool{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		key := normal(strings.ReplaceAll(k.Value, "_", " "))
		if seen[key] {
			r.bad(k, fmt.Sprintf("%q stands here twice", k.Value), "keep one of the two")
			continue
		}
		seen[key] = true
		set, ok := f[key]
		if !ok {
			r.bad(k, fmt.Sprintf("%s knows no key %q", what, k.Value), suggest(key, f.known()))
			continue
		}
		r.nodes++
		set(v)
	}
}

// entries reads a map of named things, or a list of maps with a name each.
func (r *sheetReader) entries(n *yaml.Node, kind, what string, f func(name string, at, v *yaml.Node)) {
	n, ok := r.deeper(n)
	if !ok || n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		return
	}
	r.depth++
	defer func() { r.depth-- }()
	one := func(name string, at, v *yaml.Node) {
		name = strings.Join(strings.Fields(name), " ")
		if !r.goodName(name, at, what) {
			return
		}
		if r.entered[kind]++; r.entered[kind] > maxEntries {
			if r.entered[kind] == maxEntries+1 {
				r.bad(at, fmt.Sprintf("there is more than %d times a %s", maxEntries, what), "split the job into several sheets")
			}
			return
		}
		key := kind + "/" + normal(name)
		if old := r.at[key]; old != nil {
			r.bad(at, fmt.Sprintf("there is a second %s %q (the first on line %d)", what, name, old.Line), "give it a name of its own")
			return
		}
		r.at[key] = at
		f(name, at, v)
	}
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			one(n.Content[i].Value, n.Content[i], n.Content[i+1])
		}
	case yaml.SequenceNode:
		for _, v := range n.Content {
			v, ok := r.deeper(v)
			if !ok {
				return
			}
			if v.Kind != yaml.MappingNode {
				r.bad(v, what+" needs a name", "write - {name: …}")
				continue
			}
			name := ""
			at := v
			rest := *v
			rest.Content = nil
			for i := 0; i+1 < len(v.Content); i += 2 {
				if v.Content[i].Value == "name" {
					at = v.Content[i+1]
					if word, ok := r.deeper(at); ok && word.Tag != "!!null" {
						name = word.Value
					}
				} else {
					rest.Content = append(rest.Content, v.Content[i], v.Content[i+1])
				}
			}
			one(name, at, &rest)
		}
	default:
		r.bad(n, "here names of "+what+"s are expected", "write each as NAME: {…}")
	}
}

// goodName keeps names sayable: something to speak, not too long, no control characters.
func (r *sheetReader) goodName(name string, at *yaml.Node, what string) bool {
	switch {
	case len(nameWords(name)) == 0:
		r.bad(at, "this "+what+" has no name that can be spoken", "name it with a word or two")
		return false
	case len(name) > 80:
		r.bad(at, "this name is too long to be spoken", "shorten it to a few words")
		return false
	case strings.ContainsFunc(name, func(c rune) bool { return c < ' ' || c == 0x7f || c == 0xfffd }):
		r.bad(at, "this name holds characters that are no text", "write it anew")
		return false
	}
	return true
}

func suggest(key string, known []string) string {
	best, at := 3, ""
	for _, k := range known {
		if d := intent.Distance(key, k); d < best {
			best, at = d, k
		}
	}
	if at != "" {
		return fmt.Sprintf("did you mean %q?", at)
	}
	return "its keys are " + andList(known)
}

func (r *sheetReader) text(n *yaml.Node, into *string) {
	n, ok := r.deeper(n)
	if !ok {
		return
	}
	if n.Kind != yaml.ScalarNode {
		r.bad(n, "a line of text is expected here", "write it on one line, in quotes when it holds a colon")
		return
	}
	if n.Tag != "!!null" {
		*into = strings.TrimSpace(n.Value)
		if len(*into) > 400 {
			r.bad(n, "this text is too long to be spoken", "keep it to one sentence")
		}
	}
}

func (r *sheetReader) texts(n *yaml.Node, into *[]string) {
	n, ok := r.deeper(n)
	if !ok {
		return
	}
	if n.Kind == yaml.ScalarNode {
		var s string
		r.text(n, &s)
		if s != "" {
			*into = append(*into, s)
		}
		return
	}
	if n.Kind != yaml.SequenceNode {
		r.bad(n, "a list is expected here", "write [one, two]")
		return
	}
	r.depth++
	defer func() { r.depth-- }()
	for _, c := range n.Content {
		var s string
		r.text(c, &s)
		if s != "" {
			*into = append(*into, s)
		}
	}
}

func (r *sheetReader) number(n *yaml.Node, into *int, what string) {
	n, ok := r.deeper(n)
	if !ok {
		return
	}
	v, err := strconv.Atoi(n.Value)
	if n.Kind != yaml.ScalarNode || err != nil || v < 0 || v > 10_000 {
		r.bad(n, what+" should be a whole number from 0 to 10 000", "write it in figures")
		return
	}
	*into = v
}

func (r *sheetReader) flag(n *yaml.Node, into *bool) {
	n, ok := r.deeper(n)
	if !ok {
		return
	}
	switch strings.ToLower(n.Value) {
	case "true", "yes":
		*into = true
	case "false", "no":
	default:
		r.bad(n, "yes or no is expected here", "write yes or no")
	}
}

// quantity reads a figure with its unit.
func (r *sheetReader) quantity(n *yaml.Node, dim measure.Dimension, into *measure.Quantity, example string) {
	var s string
	r.text(n, &s)
	if s == "" {
		return
	}
	q, err := r.habits.ParseAs(dim, s)
	if err == nil && q.Amount < 0 && dim != measure.Temperature {
		err = errors.New("it is below zero")
	}
	if err != nil {
		r.bad(n, fmt.Sprintf("%q is no usable figure: %v", s, err), "write it like "+example)
		return
	}
	*into = q
}

func (r *sheetReader) duration(n *yaml.Node, into *time.Duration) {
	var q measure.Quantity
	r.quantity(n, measure.Time, &q, "10 min or 2 h")
	if q.Given() {
		if q.SI() > 366*24*3600 {
			r.bad(n, "this is longer than a year", "check the unit")
			return
		}
		*into = time.Duration(q.SI() * float64(time.Second)).Round(time.Second)
	}
}

func (r *sheetReader) units(n *yaml.Node, dim measure.Dimension, into *[]measure.Unit) {
	var list []string
	r.texts(n, &list)
	for _, s := range list {
		u, err := measure.ParseUnitAs(dim, s)
		if err != nil || u.Dimension() != dim {
			r.bad(n, fmt.Sprintf("%q is no unit of %s", s, dim), "write N·m, lbf·ft, lbf·in for torque, mm or in for length")
			continue
		}
		*into = append(*into, u)
	}
}

// read takes the whole sheet.
func (r *sheetReader) read(n *yaml.Node) {
	r.at = map[string]*yaml.Node{}
	s := r.sheet
	if n.Kind != yaml.MappingNode {
		r.bad(n, "a sheet is keys and values", "begin with a line like \"job: Front cover\"")
		return
	}
	// The units come first wherever they stand: they settle doubtful words in figures.
	for i := 0; i+1 < len(n.Content); i += 2 {
		if normal(n.Content[i].Value) == "units" {
			r.object(n.Content[i+1], "units", fields{
				"torque": func(n *yaml.Node) { r.units(n, measure.Torque, &s.Units.Torque) },
				"length": func(n *yaml.Node) { r.units(n, measure.Length, &s.Units.Length) },
				"volume": func(n *yaml.Node) { r.units(n, measure.Volume, &s.Units.Volume) },
			})
		}
	}
	r.habits.Prefer = append(append(slices.Clone(s.Units.Torque), s.Units.Length...), s.Units.Volume...)
	r.object(n, "the sheet", fields{
		"job":     func(n *yaml.Node) { r.text(n, &s.Job) },
		"machine": func(n *yaml.Node) { r.text(n, &s.Machine) },
		"source":  func(n *yaml.Node) { r.text(n, &s.Source) },
		"units":   func(*yaml.Node) {},
		"wrenches": func(n *yaml.Node) {
			r.entries(n, "wrenches", "wrench", r.wrench)
		},
		"fasteners": func(n *yaml.Node) { r.entries(n, "fasteners", "fastener group", r.group) },
		"parts":     func(n *yaml.Node) { r.entries(n, "parts", "part", r.part) },
		"sealants":  func(n *yaml.Node) { r.entries(n, "sealants", "sealant", r.sealant) },
		"steps": func(n *yaml.Node) {
			r.object(n, "steps", fields{
				"strip": func(n *yaml.Node) { r.entries(n, "steps", "step", r.step(&s.Strip)) },
				"refit": func(n *yaml.Node) { r.entries(n, "steps", "step", r.step(&s.Refit)) },
			})
		},
		"fluids":      func(n *yaml.Node) { r.entries(n, "fluids", "fluid", r.fluid) },
		"limits":      func(n *yaml.Node) { r.entries(n, "limits", "measurement", r.limit) },
		"first start": func(n *yaml.Node) { r.texts(n, &s.FirstStart) },
		"places":      func(n *yaml.Node) { r.texts(n, &s.Places) },
		"words":       func(n *yaml.Node) { r.texts(n, &s.Words) },
	})
	if s.Job == "" && !r.failed {
		r.bad(n, "the sheet does not name its job", "add a line like \"job: Front cover\"")
	}
}

func (r *sheetReader) wrench(name string, at, n *yaml.Node) {
	w := SheetWrench{Name: name}
	r.object(n, "a wrench", fields{
		"range": func(n *yaml.Node) {
			var s string
			r.text(n, &s)
			if s == "" {
				return
			}
			g, err := measure.ParseRange(s)
			if err != nil || g.High.Unit.Dimension() != measure.Torque || g.Low.Amount < 0 || g.High.Amount <= g.Low.Amount {
				r.bad(n, fmt.Sprintf("%q is no range of a torque wrench", s), "write it like 5..25 N·m")
				return
			}
			w.Low, w.High = g.Low, g.High
		},
		"marks": func(n *yaml.Node) { r.quantity(n, measure.Torque, &w.Marks, "0.5 N·m") },
	})
	r.sheet.Wrenches = append(r.sheet.Wrenches, w)
}

func (r *sheetReader) part(name string, at, n *yaml.Node) {
	p := SheetPart{Name: name}
	r.object(n, "a part", fields{
		"count": func(n *yaml.Node) { r.number(n, &p.Count, "count") },
		"renew": func(n *yaml.Node) { r.renew(n, &p.Renew) },
		"have":  func(n *yaml.Node) { r.number(n, &p.Have, "have") },
		"spare": func(n *yaml.Node) { r.number(n, &p.Spare, "spare") },
		"place": func(n *yaml.Node) { r.text(n, &p.Place) },
	})
	r.sheet.Parts = append(r.sheet.Parts, p)
}

func (r *sheetReader) renew(n *yaml.Node, into *string) {
	r.text(n, into)
	switch *into {
	case "", "always", "if damaged", "never":
	default:
		r.bad(n, fmt.Sprintf("%q is no renew rule", *into), "write always, if damaged or never")
	}
}

func (r *sheetReader) sealant(name string, at, n *yaml.Node) {
	x := SheetSealant{Name: name}
	r.object(n, "a sealant", fields{
		"close within":  func(n *yaml.Node) { r.duration(n, &x.CloseWithin) },
		"torque within": func(n *yaml.Node) { r.duration(n, &x.TorqueIn) },
		"oil after":     func(n *yaml.Node) { r.duration(n, &x.OilAfter) },
		"cure":          func(n *yaml.Node) { r.duration(n, &x.Cure) },
		"source":        func(n *yaml.Node) { r.text(n, &x.Source) },
	})
	r.sheet.Sealants = append(r.sheet.Sealants, x)
}

func (r *sheetReader) fluid(name string, at, n *yaml.Node) {
	f := SheetFluid{Name: name}
	r.object(n, "a fluid", fields{
		"fill": func(n *yaml.Node) { r.quantity(n, measure.Volume, &f.Fill, "3.2 L") },
		"kind": func(n *yaml.Node) { r.text(n, &f.Kind) },
	})
	r.sheet.Fluids = append(r.sheet.Fluids, f)
}

func (r *sheetReader) limit(name string, at, n *yaml.Node) {
	l := SheetLimit{Name: name}
	read := func(into *measure.Quantity) func(n *yaml.Node) {
		return func(n *yaml.Node) { r.quantity(n, "", into, "0.30 mm") }
	}
	r.object(n, "a measurement", fields{
		"min":    read(&l.Min),
		"max":    read(&l.Max),
		"source": func(n *yaml.Node) { r.text(n, &l.Source) },
	})
	switch {
	case l.Min.Given() && l.Max.Given() && l.Min.Unit.Dimension() != l.Max.Unit.Dimension():
		r.bad(at, "min and max do not measure the same", "give both in one unit")
	case l.Min.Given() && l.Max.Given() && l.Min.SI() > l.Max.SI():
		r.bad(at, "min is above max", "exchange the two")
	case !l.Min.Given() && !l.Max.Given():
		r.problem(at, SeverityWarning, "this measurement has no limit", "give min, max or both")
	}
	r.sheet.Limits = append(r.sheet.Limits, l)
}

func (r *sheetReader) step(into *[]SheetStep) func(name string, at, n *yaml.Node) {
	return func(name string, at, n *yaml.Node) {
		s := SheetStep{Name: name}
		r.object(n, "a step", fields{
			"do":        func(n *yaml.Node) { r.text(n, &s.Do) },
			"caution":   func(n *yaml.Node) { r.text(n, &s.Caution) },
			"fasteners": func(n *yaml.Node) { r.texts(n, &s.Fasteners) },
			"parts":     func(n *yaml.Node) { r.texts(n, &s.Parts) },
			"after":     func(n *yaml.Node) { r.texts(n, &s.After) },
			"sealant":   func(n *yaml.Node) { r.text(n, &s.Sealant) },
			"fluids":    func(n *yaml.Node) { r.texts(n, &s.Fluids) },
			"measure":   func(n *yaml.Node) { r.texts(n, &s.Measure) },
			"tools":     func(n *yaml.Node) { r.texts(n, &s.Tools) },
			"undoes":    func(n *yaml.Node) { r.text(n, &s.Undoes) },
		})
		*into = append(*into, s)
	}
}
