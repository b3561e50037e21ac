package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putback/cmd/putback/internal/config"
)

func selftestCommand() *cobra.Command {
	var settings bool
	c := &cobra.Command{
		Use:     "selftest",
		Short:   "microphone, loudspeaker, model, voice, measured reaction time",
		Example: "  putback selftest\n  putback selftest --settings > config.yaml",
		Args:    exactly(0),
		RunE: func(c *cobra.Command, _ []string) error {
			if settings {
				_, err := fmt.Fprint(c.OutOrStdout(), config.Example)
				return err
			}
			return runSelftest(c)
		},
	}
	c.Flags().BoolVar(&settings, "settings", false, "print a whole settings file with its defaults")
	return c
}
