package pages

import (
	"fmt"
	"regexp"
	"strings"
	"text/template/parse"
	"unicode"
)

// unit looks a line up and lays out what is said instead, which must not hold any of
// some letters.
func (r *rewriter) unit(pieces []piece, not string) []parse.Node {
	var asWas []parse.Node
	var key, words strings.Builder
	parts := map[string][]parse.Node{}
	var open []int
	fills, elements := 0, 0
	for _, p := range pieces {
		mark := ""
		switch {
		case p.nodes == nil:
			asWas = append(asWas, textNode(p.text))
			key.WriteString(p.text)
			words.WriteString(p.text)
			continue
		case p.tag == "":
			fills++
			mark = fmt.Sprintf("{%d}", fills)
		case !strings.HasPrefix(p.tag, "/"):
			elements++
			open = append(open, elements)
			mark = fmt.Sprintf("<%d>", elements)
		default:
			mark = fmt.Sprintf("</%d>", open[len(open)-1])
			open = open[:len(open)-1]
		}
		key.WriteString(mark)
		parts[mark] = p.nodes
		asWas = append(asWas, p.nodes...)
	}
	if !strings.ContainsFunc(words.String(), unicode.IsLetter) {
		return asWas
	}
	text := key.String()
	english := strings.Join(strings.Fields(text), " ")
	said, ok := r.say(english)
	if !ok {
		return asWas
	}
	blank := func(c rune) bool { return c == ' ' || c == '\n' || c == '\t' }
	lead := text[:len(text)-len(strings.TrimLeftFunc(text, blank))]
	tail := text[len(strings.TrimRightFunc(text, blank)):]
	out, err := lay(lead+said+tail, parts, not)
	if err != nil && r.fault == nil {
		r.fault = fmt.Errorf("pages: %s: %q for %q: %w", r.lang, said, english, err)
	}
	return out
}

// marks finds what stands for something else in a unit.
var marks = regexp.MustCompile(`\{\d+\}|</?\d+>`)

// lay puts the parts of a unit where a text has their marks: each once, and elements
// well within each other.
func lay(text string, parts map[string][]parse.Node, not string) ([]parse.Node, error) {
	var out []parse.Node
	var open []string
	used, at := map[string]bool{}, 0
	add := func(s string) error {
		if strings.ContainsAny(s, "<>"+not) {
			return fmt.Errorf("%q holds a sign that HTML reads otherwise", s)
		}
		if s != "" {
			out = append(out, textNode(s))
		}
		return nil
	}
	for _, found := range marks.FindAllStringIndex(text, -1) {
		mark := text[found[0]:found[1]]
		if err := add(text[at:found[0]]); err != nil {
			return nil, err
		}
		at = found[1]
		nodes, ok := parts[mark]
		switch {
		case !ok:
			return nil, fmt.Errorf("%s stands for nothing", mark)
		case used[mark]:
			return nil, fmt.Errorf("%s is there twice", mark)
		case strings.HasPrefix(mark, "</"):
			if len(open) == 0 || "</"+open[len(open)-1][1:] != mark {
				return nil, fmt.Errorf("%s ends what did not begin last", mark)
			}
			open = open[:len(open)-1]
		case strings.HasPrefix(mark, "<"):
			open = append(open, mark)
		}
		used[mark] = true
		out = append(out, nodes...)
	}
	if len(used) != len(parts) {
		return nil, fmt.Errorf("has %d of %d marks", len(used), len(parts))
	}
	return out, add(text[at:])
}
