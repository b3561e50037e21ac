package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// manCommand writes the manual pages, made from the same text as --help.
func manCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "man DIR",
		Short:   "write the manual pages into a folder",
		Example: "  putback man ~/.local/share/man/man1",
		Args:    exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return fmt.Errorf("making the folder for the manual pages: %w", err)
			}
			c.Root().DisableAutoGenTag = true
			return doc.GenManTree(c.Root(), &doc.GenManHeader{Title: "PUTBACK", Section: "1", Source: "Putback"}, args[0])
		},
	}
}
