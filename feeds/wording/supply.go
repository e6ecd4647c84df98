package wording

import (
	"strings"

	"budswell/climate"
)

// Supply says up to which day weather is known, of which sources it is, and how it
// was adjusted.
func Supply(s climate.Supply, on climate.Date) string {
	out := "Weather is known up to " + Day(s.Until)
	switch age := int(on - s.Until); {
	case !s.Until.Valid():
		out = "Weather is only foretold here, not yet known"
	case age > 1:
		out += ", " + Count(age, "day") + " ago"
	}
	parts := make([]string, 0, len(s.From))
	for _, f := range s.From {
		parts = append(parts, Count(f.Days, "day")+" from "+f.Source+" ("+f.Kind.String()+")")
	}
	if len(parts) > 0 {
		out += "; of the last year " + strings.Join(parts, ", ")
	}
	out += "."
	for _, n := range s.Notes {
		if n = Sentence(Capital(n)); n != "" {
			out += " " + n
		}
	}
	return out
}
