package main

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"putback/intent"
	"putback/jobs/measure"
)

// describe writes what an intent means in one line, for comparing: its name and
// every field that was said. How a figure was worded is left out, and so is the
// exact wording of a question; what it lets one choose from stays.
//
//	Removed Items=[Count=6 Size=[wrench 10 mm]] Where="front cover"
func describe(in intent.Intent) string {
	if u, ok := in.(intent.Unclear); ok {
		return strings.TrimSpace("Unclear " + strings.Join(quoted(u.Choices), " "))
	}
	v := reflect.ValueOf(in)
	return strings.TrimSpace(v.Type().Name() + " " + fields(v))
}

func fields(v reflect.Value) string {
	var parts []string
	for i := range v.NumField() {
		if f := v.Field(i); !f.IsZero() {
			name := v.Type().Field(i).Name
			if f.Kind() == reflect.Bool {
				parts = append(parts, name)
				continue
			}
			parts = append(parts, name+"="+value(f))
		}
	}
	return strings.Join(parts, " ")
}

func value(v reflect.Value) string {
	switch x := v.Interface().(type) {
	case measure.Quantity:
		return figure(x)
	case measure.Unit:
		return x.Symbol
	case time.Duration:
		return x.String()
	case intent.Size:
		return size(x)
	case string:
		return strconv.Quote(x)
	}
	switch v.Kind() {
	case reflect.Pointer:
		return value(v.Elem())
	case reflect.Slice:
		var list []string
		for i := range v.Len() {
			list = append(list, value(v.Index(i)))
		}
		return strings.Join(list, " + ")
	case reflect.Struct:
		return "[" + fields(v) + "]"
	}
	return fmt.Sprint(v.Interface())
}

func figure(q measure.Quantity) string {
	s := strconv.FormatFloat(q.Amount, 'g', 6, 64) + " " + q.Unit.Symbol
	if q.Tolerance != 0 {
		s += " ±" + strconv.FormatFloat(q.Tolerance, 'g', 6, 64)
	}
	return s
}

func size(s intent.Size) string {
	parts := []string{string(s.Kind)}
	if s.Kind == intent.SizeDrive {
		parts = append(parts, strings.ToLower(s.Said))
	}
	if s.Across.Given() {
		parts = append(parts, figure(s.Across))
	}
	if s.Designation != "" {
		parts = append(parts, s.Designation)
	}
	if s.Length.Given() {
		parts = append(parts, figure(s.Length)+" long")
	}
	return "[" + strings.Join(parts, " ") + "]"
}

func quoted(list []string) []string {
	var out []string
	for _, s := range list {
		out = append(out, strconv.Quote(s))
	}
	return out
}

var beside = regexp.MustCompile(`[,;:?!]+|\.+( |"|$)`)

// same reports whether two descriptions mean the same: upper case and
// punctuation are the model's choice inside dictated text, a place is the same
// with its article, and a part without a number is one part.
func same(a, b string) bool {
	plain := func(s string) string {
		s = strings.ToLower(beside.ReplaceAllString(s, "$1"))
		if strings.HasPrefix(s, "part") {
			s = strings.Replace(s+" ", " count=1 ", " ", 1)
		}
		return strings.Join(strings.Fields(strings.ReplaceAll(s, `="the `, `="`)), " ")
	}
	return plain(a) == plain(b)
}

// orElse parts the meanings of a command line that are equally right.
const orElse = " || "

// meant reports whether a description is one of those wanted.
func meant(got, wanted string) bool {
	return slices.ContainsFunc(strings.Split(wanted, orElse), func(w string) bool { return same(got, w) })
}

var torqueFigure = regexp.MustCompile(`[0-9.e+-]+ (N·m|lbf·ft|lbf·in|kgf·m|kgf·cm|daN·m|dN·m|N·cm|ozf·in)( ±[0-9.]+)?`)

// torques are the torque values in a description.
func torques(description string) []string {
	list := torqueFigure.FindAllString(description, -1)
	slices.Sort(list)
	return list
}
