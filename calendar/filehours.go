package calendar

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"

	"budswell/climate"
)

// weekdayNamed returns the weekday of a name in small letters, such as saturday.
func weekdayNamed(name string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if strings.ToLower(d.String()) == name {
			return d, true
		}
	}
	return 0, false
}

// hours reads the time that the grower has.
func (r *fileReader) hours(n ast.Node, at string, h *Hours) {
	known := map[string]func(ast.Node, string){
		"minutes": func(n ast.Node, at string) { r.workMinutes(n, at, &h.Minutes, longestWork) },
		"set_up":  func(n ast.Node, at string) { r.workMinutes(n, at, &h.SetUp, longestSetUp) },
	}
	for d := time.Sunday; d <= time.Saturday; d++ {
		known[strings.ToLower(d.String())] = func(n ast.Node, at string) {
			r.inMinutes(n, at, &h.Weekdays[d], 0, longestDay)
		}
	}
	var extra []ast.Node
	known["away"] = func(n ast.Node, at string) {
		for i, item := range r.items(n, at) {
			r.absence(item, fmt.Sprintf("%s[%d]", at, i+1), h)
		}
	}
	known["extra"] = func(n ast.Node, at string) { extra = r.items(n, at) }
	known["helpers"] = func(n ast.Node, at string) {
		for i, item := range r.items(n, at) {
			r.helper(item, fmt.Sprintf("%s[%d]", at, i+1), h)
		}
	}
	r.fields(n, at, known)
	for i, item := range extra { // when the days away are known
		r.extraDay(item, fmt.Sprintf("%s.extra[%d]", at, i+1), h)
	}
}

func (r *fileReader) absence(n ast.Node, at string, h *Hours) {
	a := Absence{climate.NoDate, climate.NoDate}
	nodes := r.fields(n, at, map[string]func(ast.Node, string){"from": r.into(&a.From), "to": r.into(&a.To)}, "from")
	if nodes["to"] == nil {
		a.To = a.From
	}
	switch {
	case !a.From.Valid() || !a.To.Valid():
	case a.To < a.From:
		r.no(nodes["to"], at+".to", "lies before from, %v", a.From)
	default:
		h.Away = append(h.Away, a)
	}
}

func (r *fileReader) extraDay(n ast.Node, at string, h *Hours) {
	e := ExtraDay{On: climate.NoDate}
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"on":    r.into(&e.On),
		"hours": func(n ast.Node, at string) { r.inMinutes(n, at, &e.Minutes, 1, longestDay) },
	}, "on", "hours")
	if e.On.Valid() && h.away(e.On) {
		r.no(nodes["on"], at+".on", "lies in the days away; take it out here or there")
		return
	}
	if e.On.Valid() && e.Minutes > 0 {
		h.Extra = append(h.Extra, e)
	}
}

func (r *fileReader) helper(n ast.Node, at string, h *Hours) {
	p := Helper{On: climate.NoDate}
	day := ""
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"on": r.into(&p.On), "weekday": r.into(&day),
		"hours": func(n ast.Node, at string) { r.inMinutes(n, at, &p.Minutes, 1, mostHelp) },
		"hard":  r.into(&p.Hard),
	}, "hours")
	if nodes == nil {
		return
	}
	if (nodes["on"] == nil) == (nodes["weekday"] == nil) {
		r.no(n, at, "want exactly one of on and weekday")
		return
	}
	if node := nodes["weekday"]; node != nil && day != "" {
		d, ok := weekdayNamed(day)
		if !ok {
			r.no(node, at+".weekday", "want a day of the week in English and small letters, such as saturday")
			return
		}
		p.Weekday = d
	}
	if p.Minutes > 0 && (p.On.Valid() || day != "") {
		h.Helpers = append(h.Helpers, p)
	}
}

// inMinutes reads hours, which may have a fraction, into minutes.
func (r *fileReader) inMinutes(n ast.Node, at string, v *int, least, most int) {
	var hours float64
	if !r.value(n, at, &hours) {
		return
	}
	m := math.Round(60 * hours)
	if !(m >= float64(least) && m <= float64(most)) {
		low := "0"
		if least > 0 {
			low = "more than 0"
		}
		r.no(n, at, "want hours, %s to %d", low, most/60)
		return
	}
	*v = int(m)
}

// workMinutes reads minutes by kind of work.
func (r *fileReader) workMinutes(n ast.Node, at string, v *WorkMinutes, most int) {
	values := mappingValues(n)
	if values == nil {
		r.no(n, at, "want minutes by work, written {repot: 90}")
		return
	}
	*v = WorkMinutes{}
	for _, m := range values {
		key, ok := m.Key.(*ast.StringNode)
		if !ok {
			r.no(m.Key, at, "want the name of a work")
			continue
		}
		w, ok := r.lore.WorkByID(key.Value)
		minutes, field := 0, at+"."+key.Value
		switch {
		case !ok:
			r.no(key, at, "there is no such work%s", r.lore.nearWork(key.Value))
		case (*v)[w.ID] != 0:
			r.fault(key, field, "", w.ID+" is given twice; give it once")
		case m.Value == nil || m.Value.Type() == ast.NullType:
			r.fault(key, field, "", "has no value; give one or leave the field out")
		case r.value(m.Value, field, &minutes) && (minutes < 1 || minutes > most):
			r.no(m.Value, field, "want 1 to %d minutes", most)
		default:
			(*v)[w.ID] = minutes
		}
	}
}

// mappingValues returns the fields of n, nil where it has none.
func mappingValues(n ast.Node) []*ast.MappingValueNode {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}
	}
	return nil
}
