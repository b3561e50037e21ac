package main

import (
	_ "embed"
	"fmt"
	"strings"
)

// commandLines are what the demo mechanic may say at the boat-engine job, one a
// line: the words, a tab, and what they must mean, as [describe] writes it.
//
//go:embed commands.txt
var commandLines string

// command is one line: what is said, and what it means.
type command struct{ said, want string }

// shopCommands reads the lines; an error names the one that cannot be read.
func shopCommands() ([]command, error) {
	var list []command
	seen := map[string]bool{}
	n := 0
	for line := range strings.Lines(commandLines) {
		n++
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		said, want, ok := strings.Cut(line, "\t")
		want = strings.TrimSpace(want)
		if !ok || said == "" || want == "" {
			return nil, fmt.Errorf("commands.txt:%d: %q is not words, a tab and a meaning", n, line)
		}
		if seen[said] {
			return nil, fmt.Errorf("commands.txt:%d: %q is there twice", n, said)
		}
		seen[said] = true
		list = append(list, command{said, want})
	}
	return list, nil
}
