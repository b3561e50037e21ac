package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

// maxLine bounds one typed line, in bytes.
const maxLine = 64 << 10

func typeCommand() *cobra.Command {
	var f jobFlags
	var asJSON bool
	var clock string
	c := &cobra.Command{
		Use:   "type",
		Short: "the same conversation, typed: one line in, one reply out",
		Long: `Reads one line at a time from the terminal or a pipe, takes it as if it had been
spoken and prints the reply. Warnings of timers are printed when they fall due.

For scripts, --clock 2026-05-02T09:00:00Z starts a clock of the session's own; a
line "@ 20m" moves it on.`,
		Example: `  putback type --job cover.putback --sheet boat-engine.yaml
  echo "took four tens off the front cover" | putback type --job cover.putback --jsonl`,
		Args: exactly(0),
		RunE: func(c *cobra.Command, _ []string) (err error) {
			now, move, err := typedClock(clock)
			if err != nil {
				return errUsage{err}
			}
			bench, err := f.open(now(), "", c.ErrOrStderr())
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, bench.Close()) }()
			sayNotices(c.ErrOrStderr(), bench)
			s := typedSession{
				talk: newConversation(bench, ""), out: c.OutOrStdout(), json: asJSON, now: now, move: move,
				prompt: !asJSON && isTerminal(c.InOrStdin()),
			}
			return s.run(c.InOrStdin())
		},
	}
	f.add(c)
	c.Flags().BoolVar(&asJSON, "jsonl", false, "print one JSON object a line")
	c.Flags().StringVar(&clock, "clock", "", "start a clock of the session's own at this time (RFC 3339)")
	return c
}

// typedClock is the computer's clock, or one that starts at a given time and
// moves only when told.
func typedClock(start string) (now func() time.Time, move func(time.Duration), err error) {
	if start == "" {
		return time.Now, nil, nil
	}
	at, err := time.Parse(time.RFC3339, start)
	if err != nil {
		return nil, nil, fmt.Errorf("--clock %q is not a time like 2026-05-02T09:00:00Z: %w", start, err)
	}
	return func() time.Time { return at }, func(d time.Duration) { at = at.Add(d) }, nil
}

// typedSession reads lines and prints replies.
type typedSession struct {
	talk   *conversation
	out    io.Writer
	json   bool
	prompt bool
	now    func() time.Time
	move   func(time.Duration)
}

func (s *typedSession) run(in io.Reader) error {
	lines := bufio.NewScanner(in)
	lines.Buffer(make([]byte, 0, 4096), maxLine)
	for n := 1; ; n++ {
		if s.prompt {
			fmt.Fprint(s.out, "> ")
		}
		if !lines.Scan() {
			break
		}
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if by, ok := strings.CutPrefix(line, "@"); ok && s.move != nil {
			d, err := time.ParseDuration(strings.TrimSpace(by))
			if err != nil {
				return fmt.Errorf("line %d: %q is not a span of time like 20m: %w", n, by, err)
			}
			s.move(d)
			if err := s.due(); err != nil {
				return err
			}
			continue
		}
		if err := s.due(); err != nil {
			return err
		}
		t, err := s.talk.words(s.now(), line)
		if err != nil {
			return fmt.Errorf("line %d: %w", n, err)
		}
		if err := s.print(t); err != nil {
			return err
		}
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("reading what was typed (a line may have %d bytes): %w", maxLine, err)
	}
	return nil
}

// due prints what timers have to say.
func (s *typedSession) due() error {
	replies, err := s.talk.bench.Tick(s.now())
	if err != nil {
		return err
	}
	for _, r := range replies {
		if err := s.print(turn{Intent: "", Slots: map[string]any{}, Reply: r.Text, reply: r}); err != nil {
			return err
		}
	}
	return nil
}

func (s *typedSession) print(t turn) error {
	if s.json {
		return json.NewEncoder(s.out).Encode(t)
	}
	if t.Reply == "" {
		return nil
	}
	_, err := fmt.Fprintln(s.out, t.Reply)
	return err
}

// isTerminal reports whether r is a character device a person types at.
func isTerminal(r io.Reader) bool {
	f, ok := r.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
