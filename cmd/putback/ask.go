package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"putback/jobs"
)

func askCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "ask QUESTION",
		Short: "one question, no job",
		Example: `  putback ask "66 inch pounds in newton metres"
  putback ask "is 70 foot-pounds too much for an M6"
  putback ask "set my wrench: 50 newton metres with a 50 mm crowfoot on 400"
  putback ask "pattern for 12 bolts"`,
		Args: atLeast(1),
		RunE: func(c *cobra.Command, args []string) error {
			bench, err := jobs.OpenMemory(jobs.Options{})
			if err != nil {
				return err
			}
			defer bench.Close()
			question := strings.Join(args, " ")
			t, err := newConversation(bench, "").words(time.Now(), question)
			if err != nil {
				return err
			}
			if asJSON {
				if err := json.NewEncoder(c.OutOrStdout()).Encode(t); err != nil {
					return err
				}
			} else if t.Intent != "" {
				fmt.Fprintln(c.OutOrStdout(), t.Reply)
			}
			if t.Intent == "" {
				return fmt.Errorf("did not understand %q; `putback ask --help` shows what can be asked", question)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "jsonl", false, "print one JSON object")
	return c
}
