package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"putback/intent"
)

// Parse reads the text of a settings file; name stands in its errors.
func Parse(name string, text []byte) (Config, error) {
	c := Default()
	if !utf8.Valid(text) {
		return Config{}, fmt.Errorf("%s: not UTF-8 text; save it as UTF-8", name)
	}
	var doc yaml.Node
	if err := yaml.NewDecoder(bytes.NewReader(text)).Decode(&doc); errors.Is(err, io.EOF) {
		return c, nil
	} else if err != nil {
		return Config{}, fmt.Errorf("%s: %s", name, strings.TrimPrefix(err.Error(), "yaml: "))
	}
	p := &parser{name: name}
	p.mapping(doc.Content[0], c.fields())
	if len(p.errs) > 0 {
		return Config{}, errors.Join(p.errs...)
	}
	if c.Settle > c.Expect || c.Linger > c.Expect || c.Settle > c.Linger {
		return Config{}, fmt.Errorf("%s: settle (%v), linger (%v) and expect (%v) must rise in this order", name, c.Settle, c.Linger, c.Expect)
	}
	return c, nil
}

// field reads one value into its place; the error says what can be written.
type field func(value *yaml.Node) error

// fields are the keys of the file.
func (c *Config) fields() map[string]field {
	return map[string]field{
		"microphone":      text(&c.Microphone),
		"loudspeaker":     text(&c.Loudspeaker),
		"playback":        choice(&c.Playback, "device", "system"),
		"pedal":           truth(&c.Pedal),
		"call word":       word(&c.CallWord),
		"address":         choice(&c.Address, "call", "open", "key"),
		"follow up":       duration(&c.FollowUp, 0, 10*time.Minute),
		"settle":          duration(&c.Settle, 100*time.Millisecond, 3*time.Second),
		"linger":          duration(&c.Linger, 100*time.Millisecond, 5*time.Second),
		"expect":          duration(&c.Expect, 300*time.Millisecond, 10*time.Second),
		"half duplex":     choice(&c.HalfDuplex, "auto", "yes", "no"),
		"echo":            choice(&c.Echo, "subtract", "leave"),
		"high pass":       number(&c.HighPass, 0, 400),
		"voice threshold": number(&c.Threshold, 0.05, 0.95),
		"voice":           choice(&c.Voice, "hibari", "flite", "none"),
		"speed":           number(&c.Speed, 0.5, 2),
		"volume":          number(&c.Volume, 0.1, 4),
		"pitch":           number(&c.Pitch, -12, 12),
		"tones": group(map[string]field{
			"heard": truth(&c.ToneHeard), "missed": truth(&c.ToneMissed), "attention": truth(&c.ToneAlert),
		}),
		"model":        text(&c.Model),
		"threads":      whole(&c.Threads, 0, 64),
		"torque units": list(&c.TorqueUnits, "N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm"),
		"board":        text(&c.Board),
	}
}

// parser collects mistakes.
type parser struct {
	name string
	errs []error
}

func (p *parser) fail(n *yaml.Node, err error) {
	p.errs = append(p.errs, fmt.Errorf("%s:%d:%d: %w", p.name, n.Line, n.Column, err))
}

// mapping reads the keys of n.
func (p *parser) mapping(n *yaml.Node, fields map[string]field) {
	if n.Kind == yaml.ScalarNode && n.Tag == "!!null" {
		return // only comments
	}
	if n.Kind != yaml.MappingNode {
		p.fail(n, errors.New("want lines of the form key: value"))
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if line, ok := seen[key.Value]; ok {
			p.fail(key, fmt.Errorf("%q stands on line %d already", key.Value, line))
			continue
		}
		seen[key.Value] = key.Line
		f, ok := fields[key.Value]
		if !ok {
			p.fail(key, unknownKey(key.Value, fields))
			continue
		}
		if err := f(value); err != nil {
			var inner groupError
			if errors.As(err, &inner) {
				p.fail(inner.at, inner.err)
				continue
			}
			p.fail(value, fmt.Errorf("%s: %w", key.Value, err))
		}
	}
}

// unknownKey names the nearest key, or all.
func unknownKey(key string, fields map[string]field) error {
	var names []string
	best, dist := "", 4
	for name := range fields {
		names = append(names, name)
		if d := intent.Distance(strings.ToLower(key), name); d < dist || d == dist && name < best {
			best, dist = name, d
		}
	}
	if best != "" {
		return fmt.Errorf("there is no key %q; did you mean %q?", key, best)
	}
	slices.Sort(names)
	return fmt.Errorf("there is no key %q; the keys are: %s", key, strings.Join(names, ", "))
}

func scalar(n *yaml.Node) (string, error) {
	if n.Kind != yaml.ScalarNode {
		return "", errors.New("want a single value")
	}
	if n.Tag == "!!null" {
		return "", nil
	}
	return strings.TrimSpace(n.Value), nil
}

func text(to *string) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err == nil {
			*to = s
		}
		return err
	}
}

// word is the call word: one or two words of letters.
func word(to *string) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		s = strings.ToLower(s)
		letters := strings.IndexFunc(s, func(r rune) bool { return (r < 'a' || r > 'z') && r != ' ' && r != '\'' }) < 0
		if !letters || len(s) < 4 || len(s) > 30 || len(strings.Fields(s)) > 2 {
			return fmt.Errorf("%q cannot be a call word; want one or two English words of letters, such as toolbox", s)
		}
		*to = strings.Join(strings.Fields(s), " ")
		return nil
	}
}

func choice(to *string, allowed ...string) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		if !slices.Contains(allowed, s) {
			return fmt.Errorf("%q; want %s", s, strings.Join(allowed, ", "))
		}
		*to = s
		return nil
	}
}

func truth(to *bool) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		switch strings.ToLower(s) {
		case "true", "yes", "on":
			*to = true
		case "false", "no", "off":
			*to = false
		default:
			return fmt.Errorf("%q; want true or false", s)
		}
		return nil
	}
}

func number(to *float64, low, high float64) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= low && v <= high) {
			return fmt.Errorf("%q; want a number from %g to %g", s, low, high)
		}
		*to = v
		return nil
	}
}

func whole(to *int, low, high int) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		v, err := strconv.Atoi(s)
		if err != nil || v < low || v > high {
			return fmt.Errorf("%q; want a whole number from %d to %d", s, low, high)
		}
		*to = v
		return nil
	}
}

func duration(to *time.Duration, low, high time.Duration) field {
	return func(n *yaml.Node) error {
		s, err := scalar(n)
		if err != nil {
			return err
		}
		v, err := time.ParseDuration(strings.ReplaceAll(s, " ", ""))
		if err != nil || v < low || v > high {
			return fmt.Errorf("%q; want a time from %v to %v, such as 250ms or 1.5s", s, low, high)
		}
		*to = v
		return nil
	}
}

func list(to *[]string, allowed ...string) field {
	return func(n *yaml.Node) error {
		if n.Kind != yaml.SequenceNode || len(n.Content) == 0 {
			return fmt.Errorf("want a list such as [%s]", strings.Join(allowed[:2], ", "))
		}
		var out []string
		for _, item := range n.Content {
			s, err := scalar(item)
			if err != nil {
				return groupError{item, err}
			}
			if !slices.Contains(allowed, s) {
				return groupError{item, fmt.Errorf("%q; want %s", s, strings.Join(allowed, ", "))}
			}
			out = append(out, s)
		}
		*to = out
		return nil
	}
}

// groupError is a mistake inside a nested value, with its own place.
type groupError struct {
	at  *yaml.Node
	err error
}

func (g groupError) Error() string { return g.err.Error() }

func group(fields map[string]field) field {
	return func(n *yaml.Node) error {
		if n.Kind != yaml.MappingNode {
			return errors.New("want {key: value, …}")
		}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key, value := n.Content[i], n.Content[i+1]
			f, ok := fields[key.Value]
			if !ok {
				return groupError{key, unknownKey(key.Value, fields)}
			}
			if err := f(value); err != nil {
				return groupError{value, fmt.Errorf("%s: %w", key.Value, err)}
			}
		}
		return nil
	}
}
