package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what was answered into the scripts")

// TestMain lets the scripts call the program, and `talk`, which plays a
// conversation to it.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"putback": func() { os.Exit(run()) },
		"talk":    func() { os.Exit(talk()) },
	})
}

func TestScripts(t *testing.T) {
	sheet, err := filepath.Abs("../../jobs/demo/boat-engine.yaml")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SHEET", sheet)
			return nil
		},
	})
}

// talk plays a conversation file to `putback type` and prints it again with the
// answers that came: `talk FILE CLOCK JOB [SHEET]`. In the file "> " begins
// what is said, "@ 20m" lets time pass, "# " is a remark; every other line is an
// answer. A script compares the two with cmp.
func talk() int {
	if len(os.Args) < 4 {
		fmt.Fprintln(os.Stderr, "talk: FILE CLOCK JOB [SHEET]")
		return 2
	}
	script, err := os.ReadFile(os.Args[1])
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	args := []string{"type", "--jsonl", "--clock", os.Args[2], "--job", os.Args[3]}
	if len(os.Args) > 4 {
		args = append(args, "--sheet", os.Args[4])
	}
	answers, err := answersTo(script, args)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	out := bufio.NewWriter(os.Stdout)
	defer out.Flush()
	// What was said before the first line said, and after each, comes in order.
	next := 0
	for line := range strings.Lines(string(script)) {
		line = strings.TrimRight(line, "\n")
		switch {
		case strings.HasPrefix(line, "> "):
			fmt.Fprintln(out, line)
			for ; next < len(answers); next++ {
				if answers[next].Heard == "" {
					fmt.Fprintln(out, "  "+answers[next].Reply) // unasked, before the answer
					continue
				}
				if answers[next].Reply != "" {
					fmt.Fprintln(out, "  "+answers[next].Reply)
				}
				next++
				break
			}
		case strings.HasPrefix(line, "@"):
			fmt.Fprintln(out, line)
			for ; next < len(answers) && answers[next].Heard == ""; next++ {
				fmt.Fprintln(out, "  "+answers[next].Reply)
			}
		case line == "" || strings.HasPrefix(line, "#"):
			fmt.Fprintln(out, line)
		}
	}
	return 0
}

type answer struct{ Heard, Reply string }

// answersTo gives what the program says to the lines of a conversation.
func answersTo(script []byte, args []string) ([]answer, error) {
	var said bytes.Buffer
	for line := range strings.Lines(string(script)) {
		if text, ok := strings.CutPrefix(line, "> "); ok {
			said.WriteString(text)
		} else if strings.HasPrefix(line, "@") {
			said.WriteString(line)
		}
	}
	c := exec.Command("putback", args...)
	c.Stdin = &said
	var bad bytes.Buffer
	c.Stderr = &bad
	printed, err := c.Output()
	if err != nil {
		return nil, errors.Join(err, errors.New(bad.String()))
	}
	var list []answer
	for line := range bytes.Lines(printed) {
		var a answer
		if err := json.Unmarshal(line, &a); err != nil {
			return nil, fmt.Errorf("the program printed %q: %w", line, err)
		}
		list = append(list, a)
	}
	return list, nil
}
