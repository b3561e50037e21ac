package main

import (
	"encoding/json"
	"fmt"
	"os"

	"putback/models"
)

// addToBill completes a CycloneDX bill of materials (JSON), which lists the
// Go modules, with what those tools cannot see: every package of the models'
// manifest with its SHA-256. Form: CycloneDX 1.6; the package addresses are
// purls.
func addToBill(path string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("reading the bill of materials: %w", err)
	}
	var bill map[string]any
	if err := json.Unmarshal(text, &bill); err != nil {
		return fmt.Errorf("reading the bill of materials %s: %w", path, err)
	}
	components, ok := bill["components"].([]any)
	if !ok {
		return fmt.Errorf("the bill of materials %s has no components", path)
	}
	listed := map[string]bool{} // two models can come in the same package
	for _, m := range models.List() {
		for _, p := range m.Packages {
			if listed[p.SHA256] {
				continue
			}
			listed[p.SHA256] = true
			components = append(components, component(m, p))
		}
	}
	bill["components"] = components
	text, err = json.MarshalIndent(bill, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(path, append(text, '\n'), 0o644)
}

// component is one package of a model as an entry of the bill.
func component(m models.Status, p models.Package) map[string]any {
	kind := "machine-learning-model"
	if m.Name == "onnxruntime" || m.Name == "whisper.cpp" {
		kind = "library"
	}
	registry := map[string]string{"PyPI": "pypi", "npm": "npm"}[p.Registry]
	purl := fmt.Sprintf("pkg:%s/%s@%s", registry, p.Name, p.Version)
	if p.Name[0] == '@' { // the purl form writes the sign of an npm scope in hexadecimal
		purl = fmt.Sprintf("pkg:%s/%%40%s@%s", registry, p.Name[1:], p.Version)
	}
	return map[string]any{
		"bom-ref":     purl,
		"type":        kind,
		"name":        p.Name,
		"version":     p.Version,
		"description": m.What,
		"purl":        purl,
		"hashes":      []any{map[string]any{"alg": "SHA-256", "content": p.SHA256}},
		"licenses":    []any{map[string]any{"license": map[string]any{"id": p.Licence}}},
	}
}
