package jobs

import (
	"bytes"
	"encoding/json"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"
)

func compiledSchema(t require.TestingT) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(SheetSchema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("sheet.schema.json", doc))
	s, err := c.Compile("sheet.schema.json")
	require.NoError(t, err)
	return s
}

// validate holds a YAML text against the schema, the way an editor does.
func validate(t require.TestingT, s *jsonschema.Schema, text []byte) error {
	var v any
	require.NoError(t, yaml.Unmarshal(text, &v))
	raw, err := json.Marshal(v)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	require.NoError(t, err)
	return s.Validate(doc)
}

func TestTheDemoSheetIsValidByTheSchema(t *testing.T) {
	s := compiledSchema(t)
	require.NoError(t, validate(t, s, DemoSheetText()))
	require.Error(t, validate(t, s, bytes.Replace(DemoSheetText(), []byte("torque: 10 N"), []byte("torqe: 10 N"), 1)))
}

// schemaPlaces are the maps of a sheet: a sheet with a key %s in that map, and
// where the schema describes it.
var schemaPlaces = []struct{ name, text, definition string }{
	{"the sheet", "{%s: 1}", ""},
	{"units", "{job: x, units: {%s: 1}}", "units"},
	{"wrench", "{job: x, wrenches: {a: {%s: 1}}}", "wrench"},
	{"fastener", "{job: x, fasteners: {a: {%s: 1}}}", "fastener"},
	{"part", "{job: x, parts: {a: {%s: 1}}}", "part"},
	{"sealant", "{job: x, sealants: {a: {%s: 1}}}", "sealant"},
	{"steps", "{job: x, steps: {%s: 1}}", "steps"},
	{"step", "{job: x, steps: {strip: {a: {%s: 1}}}}", "step"},
	{"fluid", "{job: x, fluids: {a: {%s: 1}}}", "fluid"},
	{"limit", "{job: x, limits: {a: {%s: 1}}}", "limit"},
}

// loaderKeys asks the loader itself for the keys of a map: it names them when
// it meets one it does not know.
func loaderKeys(t require.TestingT, text string) []string {
	_, problems := ParseSheet("x", []byte(strings.Replace(text, "%s", "qqqqqqqqqqqq", 1)))
	for _, p := range problems {
		if list, ok := strings.CutPrefix(p.Fix, "its keys are "); ok {
			return strings.FieldsFunc(strings.ReplaceAll(list, " and ", ", "), func(r rune) bool { return r == ',' })
		}
	}
	require.Fail(t, "the loader did not name its keys", "%s: %v", text, problems)
	return nil
}

func trimmed(list []string) []string {
	var out []string
	for _, s := range list {
		out = append(out, strings.TrimSpace(s))
	}
	slices.Sort(out)
	return out
}

func TestTheSchemaHasEveryKeyOfTheLoaderAndNoOther(t *testing.T) {
	type object struct {
		Properties map[string]json.RawMessage `json:"properties"`
	}
	var schema struct {
		object
		Definitions map[string]object `json:"definitions"`
	}
	require.NoError(t, json.Unmarshal(SheetSchema(), &schema))
	for _, p := range schemaPlaces {
		have := schema.Properties
		if p.definition != "" {
			have = maps.Clone(schema.Definitions[p.definition].Properties)
			delete(have, "name") // stands for the key in the list form
		}
		require.Equal(t, trimmed(loaderKeys(t, p.text)), slices.Sorted(maps.Keys(have)), p.name)
	}
}

// shape are the loader's words for what is wrong in the shape of a sheet, as
// opposed to its figures and names.
var shape = regexp.MustCompile(`knows no key|should be keys and values|a line of text is expected|a list is expected|yes or no is expected|should be a whole number|is no kind of fastener|is no renew rule|no material I have|is no order I know|needs a name|here names of|a position is|positions are|a printed order is a list|too long to be spoken|no name that can be spoken|does not name its job`)

// What the schema refuses the loader refuses, and what the loader refuses for
// its shape the schema refuses: an editor shows neither false alarms nor gaps.
func TestSchemaAndLoaderAgreeAboutTheShapeOfRandomSheets(t *testing.T) {
	s := compiledSchema(t)
	keys := map[string][]string{}
	for _, p := range schemaPlaces {
		keys[p.name] = trimmed(loaderKeys(t, p.text))
	}
	refused, taken := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		doc := randomSheet(t, keys)
		raw, err := json.Marshal(doc)
		require.NoError(t, err)
		bad := validate(t, s, raw)
		sheet, problems := ParseSheet("x", raw)
		if bad != nil {
			refused++
			if sheet != nil {
				t.Fatalf("the schema refuses what the loader takes:\n%s\n%v", raw, bad)
			}
			return
		}
		taken++
		for _, p := range problems {
			if p.Severity == SeverityError && shape.MatchString(p.Message) {
				t.Fatalf("the schema takes what the loader refuses:\n%s\n%v", raw, p)
			}
		}
	})
	if !t.Failed() {
		require.NotZero(t, refused)
		require.NotZero(t, taken)
	}
}

// randomSheet draws a sheet that is nearly right: mostly the values a key
// takes, now and then another's.
func randomSheet(t *rapid.T, keys map[string][]string) map[string]any {
	wrong := func() bool { return rapid.IntRange(0, 60).Draw(t, "wrong") == 0 }
	line := func() any {
		return rapid.SampledFrom([]any{"a word", "front cover", "8.8", 8.8, 12, true, nil, "", strings.Repeat("long ", 90)}).Draw(t, "line")
	}
	if rapid.Bool().Draw(t, "short lines only") {
		line = func() any { return rapid.SampledFrom([]any{"a word", "x", 3, nil}).Draw(t, "line") }
	}
	junk := func() any {
		return rapid.SampledFrom([]any{nil, true, 0, 3, -1, 10001, 2.5, "", "word", "yes", []any{}, []any{"a", 1}, []any{[]any{1, 2}}, map[string]any{}, map[string]any{"a": 1}, []any{map[string]any{"name": "b"}}}).Draw(t, "junk")
	}
	lines := func() any {
		if rapid.Bool().Draw(t, "one") {
			return line()
		}
		var list []any
		for range rapid.IntRange(0, 3).Draw(t, "lines") {
			list = append(list, line())
		}
		if list == nil {
			return []any{}
		}
		return list
	}
	number := func() any {
		return rapid.SampledFrom([]any{0, 1, 12, 10000, "4", 4.5, "four", -2, 20000, nil}).Draw(t, "number")
	}
	flag := func() any {
		return rapid.SampledFrom([]any{true, false, "yes", "No", "maybe", nil, 1}).Draw(t, "flag")
	}
	value := func(place, key string) any {
		if wrong() {
			return junk()
		}
		switch key {
		case "count", "have", "spare":
			return number()
		case "again", "oiled", "left hand":
			return flag()
		case "renew":
			return rapid.SampledFrom([]any{"always", "if damaged", "never", "", nil, "sometimes"}).Draw(t, "renew")
		case "into":
			return rapid.SampledFrom([]any{"steel", "aluminium", "", nil, "cheese"}).Draw(t, "into")
		case "kind":
			if place == "fastener" {
				return rapid.SampledFrom([]any{"bolt", "pin", "", nil, "bolts"}).Draw(t, "kind")
			}
			return line()
		case "order":
			return rapid.SampledFrom([]any{"cross", "spiral", nil, "zigzag", []any{1, 2}, []any{"1"}, []any{"one"}, []any{nil}, 3}).Draw(t, "order")
		case "at":
			return rapid.SampledFrom([]any{[]any{}, []any{[]any{0, 1}}, []any{[]any{0.5, "2"}}, []any{[]any{1}}, []any{3}, []any{[]any{1, 2e6}}, []any{[]any{"x", 1}}, "0 0"}).Draw(t, "at")
		case "torque", "stages", "wrench", "length", "range", "marks", "fill", "min", "max", "close within", "torque within", "oil after", "cure", "volume":
			return rapid.SampledFrom([]any{"10 N·m", "10 mm", "3 L", "10 min", nil, "", 4, true, "rubbish"}).Draw(t, "figure")
		case "place", "stow", "do", "caution", "source", "job", "machine", "thread", "class", "tool", "locker", "sealant", "undoes":
			return line()
		}
		return lines()
	}
	object := func(place string) any {
		if rapid.IntRange(0, 15).Draw(t, "no object") == 0 {
			return junk()
		}
		m := map[string]any{}
		for range rapid.IntRange(0, 4).Draw(t, "keys") {
			k := rapid.SampledFrom(keys[place]).Draw(t, "key")
			m[k] = value(place, k)
		}
		if wrong() {
			m[rapid.SampledFrom([]string{"name", "colour", "torqe"}).Draw(t, "odd key")] = line()
		}
		return m
	}
	entries := func(place string) any {
		names := []string{"a", "front cover short", "12", "***", "", strings.Repeat("x", 90)}
		if rapid.Bool().Draw(t, "map") {
			m := map[string]any{}
			for range rapid.IntRange(0, 2).Draw(t, "entries") {
				i := rapid.IntRange(0, 20).Draw(t, "name")
				m[names[max(i-15, 0)]] = object(place)
			}
			return m
		}
		list := []any{}
		for i := range rapid.IntRange(0, 2).Draw(t, "entries") {
			o := object(place)
			if m, ok := o.(map[string]any); ok && !wrong() {
				m["name"] = rapid.SampledFrom([]any{names[i], "b", 7, nil, []any{"c"}}).Draw(t, "name")
			}
			list = append(list, o)
		}
		return list
	}
	doc := map[string]any{}
	if !wrong() {
		doc["job"] = rapid.SampledFrom([]any{"x", "x", "x", 5, "", " ", nil}).Draw(t, "job")
	}
	for _, k := range keys["the sheet"] {
		if k == "job" || rapid.IntRange(0, 3).Draw(t, "has "+k) > 0 {
			continue
		}
		switch k {
		case "units":
			doc[k] = object("units")
		case "steps":
			m := map[string]any{"strip": entries("step")}
			if rapid.Bool().Draw(t, "refit") {
				m["refit"] = entries("step")
			}
			doc[k] = m
		case "wrenches":
			doc[k] = entries("wrench")
		case "fasteners", "parts", "sealants", "fluids", "limits":
			doc[k] = entries(strings.TrimSuffix(k, "s"))
		default:
			doc[k] = value("the sheet", k)
		}
		if wrong() {
			doc[k] = junk()
		}
	}
	return doc
}
