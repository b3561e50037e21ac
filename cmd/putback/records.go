package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"putback/board"
	"putback/jobs"
)

// readJob opens a job for reading, hands it to use and closes it.
func readJob(path string, use func(*jobs.Bench) error) error {
	bench, err := openExisting(path)
	if err != nil {
		return err
	}
	return errors.Join(use(bench), bench.Close())
}

func statusCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "status JOB",
		Short:   "where the job stands",
		Example: "  putback status cover.putback",
		Args:    exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			return readJob(args[0], func(b *jobs.Bench) error {
				view := b.View(time.Now())
				if asJSON {
					return indentedJSON(c.OutOrStdout(), view)
				}
				return jobs.WriteStatus(c.OutOrStdout(), view)
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the whole state as JSON")
	return c
}

func indentedJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

func historyCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "history JOB",
		Short:   "the events of the job, oldest first",
		Example: "  putback history cover.putback",
		Args:    exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			return readJob(args[0], func(b *jobs.Bench) error {
				events, err := b.History(0, 0)
				if err != nil {
					return err
				}
				for _, e := range events {
					if asJSON {
						if err := json.NewEncoder(c.OutOrStdout()).Encode(e); err != nil {
							return err
						}
						continue
					}
					fmt.Fprintf(c.OutOrStdout(), "%5d  %s  %s", e.Seq, e.At.Local().Format("2006-01-02 15:04:05"), jobs.Words(e))
					if e.Heard != "" {
						fmt.Fprintf(c.OutOrStdout(), "  (heard: %s)", e.Heard)
					}
					fmt.Fprintln(c.OutOrStdout())
				}
				return nil
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "jsonl", false, "print one JSON object a line")
	return c
}

func exportCommand() *cobra.Command {
	var asJSON bool
	var out string
	c := &cobra.Command{
		Use:   "export JOB",
		Short: "the record as CSV tables, or as JSON that `import` takes back",
		Example: `  putback export cover.putback --out tables/
  putback export cover.putback --json > cover.json`,
		Args: exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			return readJob(args[0], func(b *jobs.Bench) error {
				if !asJSON {
					if out == "" {
						return errUsage{errors.New("export: CSV is several tables: name a folder with --out DIR, or use --json")}
					}
					return jobs.ExportCSV(b, out, time.Now())
				}
				if out == "" {
					return jobs.Export(b, c.OutOrStdout())
				}
				return replaceFile(out, func(w io.Writer) error { return jobs.Export(b, w) })
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "JSON with every event")
	c.Flags().StringVar(&out, "out", "", "the folder for the CSV tables, or the JSON file")
	return c
}

func restoreCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "restore JOB",
		Short: "put the last good copy in the place of a damaged job file",
		Long: `Every job file has a copy beside it, JOB.last-good, as it was when it was last
closed or opened whole. This puts the copy in the file's place. The damaged file
is kept under another name: what was recorded after the copy was made stands
only there.`,
		Example: "  putback restore cover.putback",
		Args:    exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			damaged, err := jobs.Restore(args[0])
			if err != nil {
				return err
			}
			return readJob(args[0], func(b *jobs.Bench) error {
				out := c.OutOrStdout()
				fmt.Fprintf(out, "%s is back from its last good copy\n", args[0])
				if damaged != "" {
					fmt.Fprintf(out, "the damaged file is kept as %s\n", damaged)
				}
				recent := b.View(time.Now()).Recent
				if len(recent) == 0 {
					fmt.Fprintln(out, "the copy holds no entry")
					return nil
				}
				_, err := fmt.Fprintf(out, "its last entry is of %s: %s\nwhat you did after that, say again\n",
					recent[0].At.Local().Format("2 January 2006 15:04"), recent[0].Words)
				return err
			})
		},
	}
}

func importCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "import EXPORT.json JOB",
		Short:   "make a job file from an export",
		Example: "  putback import cover.json cover-again.putback",
		Args:    exactly(2),
		RunE: func(c *cobra.Command, args []string) error {
			in, err := os.Open(args[0])
			if err != nil {
				return fmt.Errorf("opening the export: %w", err)
			}
			defer in.Close()
			n, err := jobs.Import(args[0], in, args[1])
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: %d events\n", args[1], n)
			return nil
		},
	}
}

func reportCommand() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "report JOB",
		Short: "the report of the job: one HTML file, or PDF",
		Example: `  putback report cover.putback --out cover.html
  putback report cover.putback --out cover.pdf`,
		Args: exactly(1),
		RunE: func(c *cobra.Command, args []string) error {
			if out == "" {
				out = strings.TrimSuffix(args[0], filepath.Ext(args[0])) + ".html"
			}
			return readJob(args[0], func(b *jobs.Bench) error {
				events, err := b.History(0, 0)
				if err != nil {
					return err
				}
				o := board.ReportOptions{Now: time.Now(), Words: jobs.Words}
				view := b.View(time.Now())
				err = replaceFile(out, func(w io.Writer) error {
					if strings.EqualFold(filepath.Ext(out), ".pdf") {
						return writePDF(c.Context(), w, view, events, o)
					}
					return board.Report(w, view, events, o)
				})
				if err == nil {
					fmt.Fprintln(c.OutOrStdout(), out)
				}
				return err
			})
		},
	}
	c.Flags().StringVar(&out, "out", "", "the file to write, .html or .pdf (default: beside the job)")
	return c
}

// writePDF prints the report through a browser.
func writePDF(ctx context.Context, w io.Writer, view jobs.View, events []jobs.Event, o board.ReportOptions) error {
	var page bytes.Buffer
	if err := board.Report(&page, view, events, o); err != nil {
		return err
	}
	pdf, err := board.PDF(ctx, page.Bytes())
	if err != nil {
		return err
	}
	_, err = w.Write(pdf)
	return err
}

// replaceFile writes a file beside its final name and renames it, so that a
// half file never stands there.
func replaceFile(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".putback-*")
	if err != nil {
		return fmt.Errorf("making %s: %w", path, err)
	}
	defer os.Remove(f.Name())
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	err = errors.Join(err, f.Close())
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}
