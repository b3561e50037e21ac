package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"putback/jobs"
)

func checkCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "check SHEET.yaml...",
		Short:   "validate job sheets: line and column of each error, implausible torques",
		Example: "  putback check boat-engine.yaml",
		Args:    atLeast(1),
		RunE: func(c *cobra.Command, args []string) error {
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
				return fmt.Errorf("%d errors; each line above says where and what to do", bad)
			}
			return nil
		},
	}
}
