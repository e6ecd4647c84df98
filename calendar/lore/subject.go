package lore

import "github.com/goccy/go-yaml/ast"

// Subjects lists what a text is about, such as "rule repot-deciduous", in the order in
// which it stands there, each once; none where it cannot be read. Whether it can hold is
// for [Ground.With] to say.
func Subjects(text []byte) []string {
	root, err := parse(text)
	if err != nil || root == nil {
		return nil
	}
	d := decoder{file: "text", faults: &faultList{}}
	pairs, ok := d.pairs(root, d.spot(root, ""))
	if !ok {
		return nil
	}
	var out []string
	seen := map[string]bool{}
	for _, p := range pairs {
		kind, ok := kinds[p.key]
		if !ok {
			continue
		}
		for _, n := range sequence(p.value) {
			key := "id"
			if kind == "species" || kind == "genus" {
				key = "name"
			}
			if subject := kind + " " + name(n, key); name(n, key) != "" && !seen[subject] {
				seen[subject] = true
				out = append(out, subject)
			}
		}
	}
	return out
}

// kinds are what the items of each key are.
var kinds = map[string]string{
	"species": "species", "works": "work", "rules": "rule", "cautions": "caution", "genera": "genus",
	"pests": "pest", "stages": "stage", "setbacks": "setback",
}

// sequence returns the items of a list; none of what is none.
func sequence(n ast.Node) []ast.Node {
	if s, ok := n.(*ast.SequenceNode); ok {
		return s.Values
	}
	return nil
}
