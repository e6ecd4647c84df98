package lore

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"budswell/calendar"
)

// What a source must say where nothing was published or looked up.
const (
	commonPractice = "common practice, no published source"
	fromMemory     = "from memory"
)

var (
	idForm   = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	citation = regexp.MustCompile(`\b(1[6-9]|20)\d\d\b|https://`)
)

// meaning lists the works that the program gives meaning to.
var meaning = []string{
	calendar.WorkCollect, calendar.WorkRepot, calendar.WorkPotChange, calendar.WorkRootFlare, calendar.WorkFirstStyle,
	calendar.WorkSecondStyle, calendar.WorkWire, calendar.WorkUnwire, calendar.WorkShow, calendar.WorkGone,
}

func (s *set) checkID(at *spot, id string) {
	if !idForm.MatchString(id) {
		s.faults.add(at, "want an id of small letters, digits and single hyphens")
	}
}

// checkText checks a text that people read.
func (s *set) checkText(at *spot, text string, longest int) {
	switch {
	case strings.TrimSpace(text) == "":
		s.faults.add(at, "is empty; say it in words, or leave the field out")
	case strings.TrimSpace(text) != text:
		s.faults.add(at, "begins or ends with a blank; take it away")
	case strings.ContainsRune(text, '\\'):
		s.faults.add(at, `holds a backslash; take it away`)
	case strings.ContainsFunc(text, unicode.IsControl):
		s.faults.add(at, "holds a line break or control character; write it on one line (or after >-)")
	case !calendar.ShowsAsWritten(text):
		s.faults.add(at, "holds a line separator, or a mark that turns the order of letters round; take it away")
	case utf8.RuneCountInString(text) > longest:
		s.faults.add(at, "has %d characters; want at most %d", utf8.RuneCountInString(text), longest)
	}
}

// checkSource checks that a source is named, or said not to be.
func (s *set) checkSource(at *spot, source string) {
	switch {
	case source == "":
		s.faults.add(at, "is missing; name a publication with its year, or say %q or %q", commonPractice, fromMemory)
	case !strings.Contains(source, commonPractice) && !strings.Contains(source, fromMemory) && !citation.MatchString(source):
		s.faults.add(at, "names no source; want a publication with its year or an https address, or %q, or %q", commonPractice, fromMemory)
	default:
		s.checkText(at, source, 400)
	}
}

// checkRange checks a number.
func (s *set) checkRange(at *spot, v, low, high float64, unit string) {
	if !(v >= low && v <= high) {
		s.faults.add(at, "want %v to %v%s", low, high, unit)
	}
}

// checkList checks that each item of a list is one of those that there are, and
// is given once.
func checkList[T ~string](s *set, at *spot, list []T, what string, all []T) {
	for i, v := range list {
		if !slices.Contains(all, v) {
			s.faults.add(at.item(i), "there is no such %s; want one of %s", what, names(all))
		}
		if slices.Contains(list[:i], v) {
			s.faults.add(at.item(i), "is given twice")
		}
	}
}

// checkWork checks that a work that is named exists; some names may stand for
// several works.
func (s *set) checkWork(at *spot, id string, group bool) {
	if group && (id == calendar.AnyHard || id == calendar.AnyRootWork) || s.knows("work", id) {
		return
	}
	for _, w := range s.works {
		if slices.Contains(w.value.Also, id) {
			s.faults.add(at, "want the id of the work, %s", w.value.ID)
			return
		}
	}
	more := ""
	if group {
		more = fmt.Sprintf(", %q or %q", calendar.AnyHard, calendar.AnyRootWork)
	}
	s.faults.add(at, "there is no such work; want the id of one%s%s", more, s.like("work", id))
}

// like returns the ids of the kind that begin most like id, to be appended to an
// error; nothing where fewer than three letters are the same.
func (s *set) like(kind, id string) string {
	var near []string
	most := 3
	for h := range s.known {
		k, v, _ := strings.Cut(h, " ")
		if k != kind {
			continue
		}
		same := 0
		for same < min(len(v), len(id)) && v[same] == id[same] {
			same++
		}
		if same > most {
			near, most = nil, same
		}
		if same == most {
			near = append(near, v)
		}
	}
	if len(near) == 0 {
		return ""
	}
	slices.Sort(near)
	return " (such as " + strings.Join(near, ", ") + ")"
}

func (s *set) checkCautions() {
	for _, c := range s.cautions {
		s.checkID(c.spot.at("id"), c.value.ID)
		s.checkText(c.spot.at("text"), c.value.Text, 400)
		checkList(s, c.spot.at("classes"), c.value.Classes, "class", calendar.Classes())
		for i, id := range c.value.Works {
			s.checkWork(c.spot.at("works").item(i), id, false)
		}
		if c.spot.has("region") {
			s.checkText(c.spot.at("region"), c.value.Region, 80)
		}
	}
}

// checkCautionIDs checks cautions that are named.
func (s *set) checkCautionIDs(at *spot, ids []string) {
	for i, id := range ids {
		if !s.knows("caution", id) {
			s.faults.add(at.item(i), "there is no such caution; want the id of one%s", s.like("caution", id))
		}
		if slices.Contains(ids[:i], id) {
			s.faults.add(at.item(i), "is given twice")
		}
	}
}

func (s *set) checkWorks() {
	used := map[string]bool{}
	for _, r := range s.rules {
		used[r.value.Work] = true
	}
	words := map[string]*spot{calendar.AnyHard: nil, calendar.AnyRootWork: nil}
	hards := []calendar.Hard{calendar.HardOnRoots, calendar.HardOnBranches, calendar.HardOnLeaves}
	for _, w := range s.works {
		s.checkID(w.spot.at("id"), w.value.ID)
		s.checkText(w.spot.at("title"), w.value.Title, 60)
		if w.value.Class == "" {
			s.faults.add(w.spot.at("class"), "is missing; want one of %s", names(calendar.Classes()))
		} else {
			checkList(s, &spot{items: []*spot{w.spot.at("class")}}, []calendar.Class{w.value.Class}, "class", calendar.Classes())
		}
		if w.value.Hard != calendar.HardOnNothing && !slices.Contains(hards, w.value.Hard) {
			s.faults.add(w.spot.at("hard"), "want one of %s, or the field left out", names(hards))
		}
		s.checkRange(w.spot.at("loses"), float64(w.value.Loses), 0, 1500, " days")
		s.checkCautionIDs(w.spot.at("cautions"), w.value.Cautions)
		if !used[w.value.ID] && w.value.ID != calendar.WorkGone {
			s.faults.add(w.spot.at("id"), "no rule is for this work; add one, or take the work out")
		}
		for i, word := range append([]string{w.value.ID}, w.value.Also...) {
			at := w.spot.at("id")
			if i > 0 {
				at = w.spot.at("also").item(i - 1)
				s.checkID(at, word)
			}
			if other, ok := words[word]; ok {
				if other == nil {
					s.faults.add(at, "stands for several works already; want another word")
				} else {
					s.faults.add(at, "is a word for a work already at %s", other)
				}
			}
			words[word] = at
		}
	}
	for _, id := range meaning {
		if !s.knows("work", id) {
			s.faults.add(&spot{file: "lore/works.yaml", line: 1, column: 1, field: "works"}, "want a work %s, to which the program gives meaning", id)
		}
	}
}

// names joins ids for an error.
func names[T ~string](ids []T) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return strings.Join(out, ", ")
}
