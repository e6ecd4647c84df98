package pages

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/template/parse"
	"unicode"
)

// rewriter puts another language into templates, whose own text is English. It walks
// their parse trees before they are first run, so that what html/template escapes is
// the new text. What stands between two elements that make lines of their own is one
// unit: its text with {1}, {2} ... for what is filled in, and <1>...</1> for elements
// within the line. Attributes that people read or hear are units of their own, and so
// are words that a template hands to another, which begin with a capital.
type rewriter struct {
	say   func(english string) (string, bool)
	lang  string          // of what is said
	inTag map[string]bool // templates that are called within a tag
	fault error           // the first
}

// within are the elements that stand within a line of text.
var within = []string{"a", "abbr", "b", "bdi", "cite", "code", "em", "i", "kbd", "small", "span", "strong", "sub", "sup", "time"}

// readAloud are the attributes whose text is for people.
var readAloud = []string{"aria-label", "title", "placeholder", "alt", "label"}

// mode is where in HTML a template stands between two nodes.
type mode struct {
	tag   bool   // between < and >
	quote byte   // of the attribute's value that it is in, or 0
	attr  string // name of the attribute last begun
	name  string // of the tag, with / before it where it ends an element; complete once a blank followed
	named bool
}

// piece is a part of a line: text, a tag, or something that fills in.
type piece struct {
	text  string // of text
	tag   string // name of a tag within a line, with / before it where it ends
	nodes []parse.Node
	wall  bool // it ends the line: a block's tag, a call, a branch with blocks in it
}

// rewrite rewrites all templates of a set, by name.
func (r *rewriter) rewrite(trees map[string]*parse.Tree) error {
	r.inTag = map[string]bool{}
	say := r.say
	r.say = func(string) (string, bool) { return "", false }
	for range 2 { // first only to see which templates are called within tags
		names := make([]string, 0, len(trees))
		for name := range trees {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			m := mode{tag: r.inTag[name], named: true}
			r.list(trees[name].Root, &m)
		}
		r.say = say
	}
	return r.fault
}

// list rewrites a list of nodes that begins in a mode, and leaves the mode in which
// it ends.
func (r *rewriter) list(l *parse.ListNode, m *mode) {
	if l == nil {
		return
	}
	var pieces []piece
	var tag []parse.Node // of the tag that is being read
	var value []parse.Node
	if m.tag {
		tag = []parse.Node{}
	}
	for _, n := range l.Nodes {
		text, ok := n.(*parse.TextNode)
		switch {
		case ok:
			r.text(string(text.Text), m, &pieces, &tag, &value)
		case m.tag && m.quote != 0 && slices.Contains(readAloud, m.attr):
			value = append(value, n)
		case m.tag:
			r.called(n)
			tag = append(tag, n)
		default:
			pieces = append(pieces, r.filled(n))
		}
	}
	if m.tag {
		pieces = append(pieces, piece{nodes: append(tag, value...), wall: true})
	}
	l.Nodes = r.lines(pieces)
}

// text reads a text node into pieces.
func (r *rewriter) text(s string, m *mode, pieces *[]piece, tag, value *[]parse.Node) {
	start := 0
	flush := func(end int) string {
		out := s[start:end]
		start = end
		return out
	}
	add := func(to *[]parse.Node, t string) {
		if t != "" {
			*to = append(*to, textNode(t))
		}
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case !m.tag && c == '<':
			if t := flush(i); t != "" {
				*pieces = append(*pieces, piece{text: t})
			}
			*m = mode{tag: true}
			*tag = nil
		case !m.tag:
		case m.quote != 0 && c == m.quote:
			if aloud := slices.Contains(readAloud, m.attr); aloud {
				add(value, flush(i))
				*tag = append(*tag, r.attribute(*value)...)
				*value = nil
			}
			m.quote = 0
		case m.quote != 0:
		case c == '"' || c == '\'':
			m.quote = c
			if slices.Contains(readAloud, m.attr) {
				add(tag, flush(i+1))
			}
		case c == '>':
			add(tag, flush(i+1))
			p := piece{tag: m.name, nodes: *tag, wall: true}
			if name := strings.TrimPrefix(m.name, "/"); slices.Contains(within, name) {
				p.wall = false
			}
			*pieces = append(*pieces, p)
			*m, *tag = mode{}, nil
		case c == ' ' || c == '\n' || c == '\t':
			m.named, m.attr = true, ""
		case c == '=':
		case !m.named:
			m.name += string(c)
		default:
			m.attr += string(c)
		}
	}
	rest := flush(len(s))
	switch {
	case m.tag && m.quote != 0 && slices.Contains(readAloud, m.attr):
		add(value, rest)
	case m.tag:
		add(tag, rest)
	case rest != "":
		*pieces = append(*pieces, piece{text: rest})
	}
}

func textNode(s string) *parse.TextNode {
	return &parse.TextNode{NodeType: parse.NodeText, Text: []byte(s)}
}

// called notes which templates are called within a tag.
func (r *rewriter) called(n parse.Node) {
	switch n := n.(type) {
	case *parse.TemplateNode:
		r.inTag[n.Name] = true
	default:
		for _, l := range branches(n) {
			for _, c := range l.Nodes {
				r.called(c)
			}
		}
	}
}

// branches returns the lists of a node that has some.
func branches(n parse.Node) (out []*parse.ListNode) {
	add := func(b *parse.BranchNode) {
		for _, l := range []*parse.ListNode{b.List, b.ElseList} {
			if l != nil {
				out = append(out, l)
			}
		}
	}
	switch n := n.(type) {
	case *parse.IfNode:
		add(&n.BranchNode)
	case *parse.WithNode:
		add(&n.BranchNode)
	case *parse.RangeNode:
		add(&n.BranchNode)
	}
	return out
}

// filled rewrites what stands between texts.
func (r *rewriter) filled(n parse.Node) piece {
	p := piece{nodes: []parse.Node{n}}
	switch n := n.(type) {
	case *parse.TemplateNode:
		p.wall = true
		r.words(n.Pipe)
	case *parse.ActionNode:
		p.wall = len(n.Pipe.Decl) > 0
		r.words(n.Pipe)
	case *parse.IfNode, *parse.WithNode, *parse.RangeNode:
		for _, l := range branches(n) {
			p.wall = p.wall || !inLine(l)
		}
		for _, l := range branches(n) {
			m := mode{}
			r.list(l, &m)
		}
	default:
		p.wall = true
	}
	return p
}

// tags finds the names of tags in text.
var tags = regexp.MustCompile(`<(/?[a-zA-Z!][a-zA-Z0-9]*)`)

// inLine reports whether all of a list can stand within a line.
func inLine(l *parse.ListNode) bool {
	for _, n := range l.Nodes {
		switch n := n.(type) {
		case *parse.TextNode:
			for _, found := range tags.FindAllStringSubmatch(string(n.Text), -1) {
				if !slices.Contains(within, strings.TrimPrefix(found[1], "/")) {
					return false
				}
			}
		case *parse.ActionNode:
			if len(n.Pipe.Decl) > 0 {
				return false
			}
		case *parse.IfNode, *parse.WithNode, *parse.RangeNode:
			for _, b := range branches(n) {
				if !inLine(b) {
					return false
				}
			}
		default:
			return false
		}
	}
	return true
}

// words rewrites the words for people that are written into a pipeline: texts that
// begin with a capital. Others are names within the program.
func (r *rewriter) words(p *parse.PipeNode) {
	if p == nil {
		return
	}
	for _, c := range p.Cmds {
		for _, arg := range c.Args {
			switch arg := arg.(type) {
			case *parse.StringNode:
				if first := []rune(arg.Text); len(first) > 0 && unicode.IsUpper(first[0]) {
					if s, ok := r.say(arg.Text); ok {
						arg.Text, arg.Quoted = s, strconv.Quote(s)
					}
				}
			case *parse.PipeNode:
				r.words(arg)
			}
		}
	}
}

// lines rewrites pieces line by line.
func (r *rewriter) lines(pieces []piece) []parse.Node {
	return r.apart(pieces, func(p *piece) bool { return p.wall })
}

// apart rewrites what stands between pieces that end a unit, each by itself, and leaves these
// as they are.
func (r *rewriter) apart(pieces []piece, ends func(*piece) bool) []parse.Node {
	var out []parse.Node
	from := 0
	for i := range pieces {
		if ends(&pieces[i]) {
			out = append(out, r.line(pieces[from:i])...)
			out = append(out, pieces[i].nodes...)
			from = i + 1
		}
	}
	return append(out, r.line(pieces[from:])...)
}

// line rewrites one unit. Elements that do not end where they began, in it, end it too.
func (r *rewriter) line(pieces []piece) []parse.Node {
	if !paired(pieces) {
		return r.apart(pieces, func(p *piece) bool { return p.tag != "" })
	}
	before, pieces, after := bare(pieces)
	return slices.Concat(before, r.unit(pieces, ""), after)
}

// paired reports whether each element that begins ends.
func paired(pieces []piece) bool {
	var open []string
	for _, p := range pieces {
		switch {
		case p.tag == "":
		case !strings.HasPrefix(p.tag, "/"):
			open = append(open, p.tag)
		case len(open) == 0 || "/"+open[len(open)-1] != p.tag:
			return false
		default:
			open = open[:len(open)-1]
		}
	}
	return len(open) == 0
}

// bare takes blanks, and elements that hold the whole line, off its ends.
func bare(pieces []piece) (before []parse.Node, rest []piece, after []parse.Node) {
	for len(pieces) > 0 {
		first, last := pieces[0], pieces[len(pieces)-1]
		switch {
		case first.text != "" && strings.TrimSpace(first.text) == "":
			before = append(before, textNode(first.text))
			pieces = pieces[1:]
		case last.text != "" && strings.TrimSpace(last.text) == "":
			after = append([]parse.Node{textNode(last.text)}, after...)
			pieces = pieces[:len(pieces)-1]
		case len(pieces) > 2 && first.tag != "" && last.tag == "/"+first.tag && paired(pieces[1:len(pieces)-1]):
			before = append(before, first.nodes...)
			after = append(slices.Clone(last.nodes), after...)
			pieces = pieces[1 : len(pieces)-1]
		default:
			return before, pieces, after
		}
	}
	return before, pieces, after
}

// attribute rewrites the value of an attribute.
func (r *rewriter) attribute(value []parse.Node) []parse.Node {
	var pieces []piece
	for _, n := range value {
		if t, ok := n.(*parse.TextNode); ok {
			pieces = append(pieces, piece{text: string(t.Text)})
		} else {
			pieces = append(pieces, piece{nodes: []parse.Node{n}})
		}
	}
	return r.unit(pieces, `"`)
}
