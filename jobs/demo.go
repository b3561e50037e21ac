package jobs

import _ "embed"

//go:embed demo/boat-engine.yaml
var demoSheet []byte

// DemoSheetText is the YAML of the invented boat-engine job, demo data only.
func DemoSheetText() []byte { return append([]byte(nil), demoSheet...) }

// DemoSheet is the invented boat-engine job, demo data only.
func DemoSheet() *Sheet {
	s, problems := ParseSheet("boat-engine.yaml", demoSheet)
	if s == nil {
		panic("the embedded demo sheet does not parse: " + problems[0].Message)
	}
	return s
}
