package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"putback/jobs"
)

// heard is one turn as `putback listen --jsonl` prints it.
type heard struct {
	Heard      string       `json:"heard"`
	Intent     string       `json:"intent"`
	Reply      string       `json:"reply"`
	Events     []jobs.Event `json:"events"`
	Outcome    string       `json:"outcome"`
	Confidence float64      `json:"confidence"`
	At         float64      `json:"at"`
	Until      float64      `json:"until"`
}

// start is where the turn began in the sound.
func (h heard) start() time.Duration { return time.Duration(h.At * float64(time.Second)) }

// changes are the events that the turn's words made; what the program notes by
// itself is not among them.
func (h heard) changes() int {
	n := 0
	for _, e := range h.Events {
		if !e.Auto {
			n++
		}
	}
	return n
}

// listen runs the program over one file, on a job of its own.
func listen(ctx context.Context, program, model, scratch, wav, mode string) ([]heard, error) {
	dir, err := os.MkdirTemp(scratch, "job-")
	if err != nil {
		return nil, fmt.Errorf("making a folder for the job: %w", err)
	}
	sheet := filepath.Join(dir, "boat-engine.yaml")
	settings := filepath.Join(dir, "settings")
	for file, text := range map[string][]byte{sheet: jobs.DemoSheetText(), settings: nil} {
		if err := os.WriteFile(file, text, 0o600); err != nil {
			return nil, fmt.Errorf("writing what the program needs: %w", err)
		}
	}
	cmd := exec.CommandContext(ctx, program, "listen", "--wav", wav, "--fast", "--jsonl", "--mute", "--address", mode, "--model", model,
		"--config", settings, "--job", filepath.Join(dir, "soak.putback"), "--sheet", sheet, "--clock", "2026-05-02T09:00:00Z")
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("listening to %s: %w: %s", wav, err, said.String())
	}
	var turns []heard
	for d := json.NewDecoder(&out); d.More(); {
		var h heard
		if err := d.Decode(&h); err != nil {
			return nil, fmt.Errorf("reading what the program printed: %w", err)
		}
		turns = append(turns, h)
	}
	return turns, nil
}
