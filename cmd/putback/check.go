package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putback/jobs"
)

func checkCommand() *cobra.Command {
	var schema bool
	c := &cobra.Command{
		Use:   "check SHEET.yaml...",
		Short: "validate job sheets: line and column of each error, implausible torques",
		Example: `  putback check boat-engine.yaml
  putback check --schema > sheet.schema.json`,
		Args: func(c *cobra.Command, args []string) error {
			if schema {
				return exactly(0)(c, args)
			}
			return atLeast(1)(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if schema {
				_, err := c.OutOrStdout().Write(jobs.SheetSchema())
				return err
			}
			var bad int
			for _, path := range args {
				sheet, problems := jobs.LoadSheet(path)
				n := printProblems(c.OutOrStdout(), problems)
				bad += n
				if n == 0 && sheet != nil {
					fmt.Fprintf(c.OutOrStdout(), "%s: good, %d remarks; %d groups of fasteners, %d steps to strip, %d to refit\n",
						path, len(problems), len(sheet.Fasteners), len(sheet.Strip), len(sheet.Refit))
				}
			}
			if bad > 0 {
				return fmt.Errorf("errors: %d; each line above says where and what to do", bad)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&schema, "schema", false, "print the JSON Schema of a sheet, for an editor that completes the keys")
	return c
}
