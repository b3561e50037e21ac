package jobs

import (
	"fmt"
	"os"
)

// LoadSheet reads a sheet from a file. A nil Sheet comes with at least one problem of severity error.
func LoadSheet(path string) (*Sheet, []Problem) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, []Problem{{File: path, Message: fmt.Sprintf("the sheet cannot be read: %v", err), Fix: "check the name and that the file may be read", Severity: SeverityError}}
	}
	return ParseSheet(path, raw)
}

// ParseSheet reads a sheet; name stands in the problems.
func ParseSheet(name string, raw []byte) (*Sheet, []Problem) {
	return nil, []Problem{{File: name, Message: "the sheet parser is on its way", Severity: SeverityError}}
}
