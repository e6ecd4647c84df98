package calendar

import "github.com/goccy/go-yaml/ast"

// FileLore returns the paths of further lore that a plan file names, so that the
// lore can be loaded before [ReadFile] checks the file against it, which tells
// what is wrong with the file.
func FileLore(text []byte) []string {
	r := &fileReader{}
	root := r.parse(text)
	if root == nil {
		return nil
	}
	var paths []string
	r.fields(root, "file", map[string]func(ast.Node, string){"lore": r.into(&paths)})
	return paths
}
