package jobs

import _ "embed"

//go:embed sheet.schema.json
var sheetSchema []byte

// SheetSchema is the JSON Schema (draft 7) of a sheet, for editors that
// complete and check YAML by one. It knows the shape; what a figure can be
// only [ParseSheet] knows.
func SheetSchema() []byte { return append([]byte(nil), sheetSchema...) }
