package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// ear is one recogniser in a process of its own, so that its memory is its own
// and a crash is only its own row's. A line in is LANGUAGE<tab>FILE.wav, a line
// out is an answer.
type ear struct {
	cmd  *exec.Cmd
	in   io.WriteCloser
	out  *bufio.Scanner
	said *bytes.Buffer
}

// answer is a line of the process.
type answer struct {
	Ready bool   `json:"ready,omitempty"`
	Error string `json:"error,omitempty"`
	Text  string `json:"text"`
	// Verdict is empty for a recogniser that has none of its own.
	Verdict     string  `json:"verdict,omitempty"`
	Free        string  `json:"free,omitempty"`
	Second      string  `json:"second,omitempty"`
	LogProb     float64 `json:"logProb,omitempty"`
	Score       float64 `json:"score,omitempty"`
	FreeLogProb float64 `json:"freeLogProb,omitempty"`
	Posterior   float64 `json:"posterior,omitempty"`
	Confidence  float64 `json:"confidence,omitempty"`
}

// startEar starts the process and waits until its model is loaded.
func startEar(command []string) (*ear, error) {
	e := &ear{cmd: exec.Command(command[0], command[1:]...), said: &bytes.Buffer{}}
	e.cmd.Stderr = e.said
	// An interrupt from the keyboard is the bench's to deal with.
	e.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	var err error
	if e.in, err = e.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	out, err := e.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	e.out = bufio.NewScanner(out)
	e.out.Buffer(nil, 1<<20)
	if err := e.cmd.Start(); err != nil {
		return nil, err
	}
	a, err := e.read()
	if err == nil && !a.Ready {
		err = errors.New("it did not begin with a line that says it is ready")
	}
	if err != nil {
		e.close()
		return nil, err
	}
	return e, nil
}

func (e *ear) read() (answer, error) {
	var a answer
	if !e.out.Scan() {
		_ = e.in.Close()
		_ = e.cmd.Wait()
		lines := strings.Split(strings.TrimSpace(e.said.String()), "\n")
		return a, fmt.Errorf("it ended (%v): %s", e.cmd.ProcessState, lines[len(lines)-1])
	}
	if err := json.Unmarshal(e.out.Bytes(), &a); err != nil {
		return a, fmt.Errorf("its answer %q: %w", e.out.Text(), err)
	}
	if a.Error != "" {
		return a, errors.New(a.Error)
	}
	return a, nil
}

// ask has it hear a file. The time is taken here, the same way for every row:
// from handing over the file to the answer.
func (e *ear) ask(lang, file string) (answer, time.Duration, error) {
	begun := time.Now()
	if _, err := fmt.Fprintf(e.in, "%s\t%s\n", lang, file); err != nil {
		return answer{}, 0, err
	}
	a, err := e.read()
	return a, time.Since(begun), err
}

// peak is the most memory the process has had resident, in megabytes of 10⁶
// bytes; 0 when the system does not tell. The kernel counts it per program
// image (VmHWM), so the bench's own memory is not in it.
func (e *ear) peak() float64 {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", e.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(rest), "kB")), 64)
			if err == nil {
				return kb * 1024 / 1e6
			}
		}
	}
	return 0
}

func (e *ear) close() {
	_ = e.in.Close()
	_ = e.cmd.Wait()
}
