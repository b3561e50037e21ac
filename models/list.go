package models

import (
	"fmt"
	"io"
)

// Status is one line of List.
type Status struct {
	Model
	Fetched bool   // every file is there at its full size
	Path    string // where, or "" when not fetched
}

// List gives every model of the manifest and whether it is there.
func List() []Status {
	var list []Status
	for _, m := range manifest {
		path, err := Path(m.Name)
		list = append(list, Status{Model: m, Fetched: err == nil, Path: path})
	}
	return list
}

// WriteList writes the manifest for people: what each model is, its sizes,
// licence and packages, and where it lies.
func WriteList(w io.Writer) error {
	for _, s := range List() {
		where := s.Path
		if !s.Fetched {
			where = "not fetched (putback models fetch " + s.Name + ")"
		}
		_, err := fmt.Fprintf(w, "%s: %s\n    licence  %s\n    size     %s, %s to fetch\n", s.Name, s.What, s.Licence, megabytes(s.Bytes()), megabytes(s.PackageBytes()))
		if err != nil {
			return err
		}
		for _, p := range s.Packages {
			if _, err := fmt.Fprintf(w, "    from     %s, SHA-256 %s\n", p.describe(), p.SHA256); err != nil {
				return err
			}
		}
		if _, err := fmt.Fprintf(w, "    here     %s\n", where); err != nil {
			return err
		}
	}
	return nil
}
