package models

import (
	"fmt"
	"io"
	"time"
)

// Printer is a Progress that writes a line a step, with sizes and times.
func Printer(w io.Writer) Progress {
	return func(s Step) {
		switch s.Stage {
		case Waiting:
			fmt.Fprintf(w, "waiting: another fetch is at work in %s\n", s.What)
		case Present:
			fmt.Fprintf(w, "%s: there and right, %s\n", s.Model, megabytes(s.Bytes))
		case Downloading:
			fmt.Fprintf(w, "%s: fetching %s, %s …\n", s.Model, s.What, megabytes(s.Bytes))
		case Downloaded:
			fmt.Fprintf(w, "%s: %s came whole, %s in %s\n", s.Model, s.What, megabytes(s.Bytes), seconds(s.Elapsed))
		case Making:
			if s.Bytes > 1e6 {
				fmt.Fprintf(w, "%s: making %s, %s …\n", s.Model, s.What, megabytes(s.Bytes))
			}
		case Done:
			fmt.Fprintf(w, "%s: ready, %s in %s\n", s.Model, megabytes(s.Bytes), seconds(s.Elapsed))
		}
	}
}

func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }

func seconds(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }
