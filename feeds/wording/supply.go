package wording

import (
	"strings"

	"budswell/calendar"
	"budswell/climate"
)

// Supply says up to which day weather is known, of which sources it is, and how it
// was adjusted: the last in English.
func (t *Tongue) Supply(s climate.Supply, on climate.Date) string {
	out := t.Supplied(s, on)
	if notes := Adjusted(s); notes != "" {
		out += " " + notes
	}
	return out
}

// Adjusted says how weather was adjusted, and what was left out of it, in English.
func Adjusted(s climate.Supply) string {
	var out []string
	for _, n := range s.Notes {
		if n = Sentence(Capital(n)); n != "" {
			out = append(out, n)
		}
	}
	return strings.Join(out, " ")
}

// Supplied says up to which day weather is known, and of which sources it is.
func (t *Tongue) Supplied(s climate.Supply, on climate.Date) string {
	out := t.Say("Weather is known up to {1}", t.Day(s.Until))
	switch age := int(on - s.Until); {
	case !s.Until.Valid():
		out = t.Say("Weather is only foretold here, not yet known")
	case age > 1:
		out = t.Say("Weather is known up to {1}, {2} ago", t.Day(s.Until), Amount{age, "day"})
	}
	parts := make([]string, 0, len(s.From))
	for _, f := range s.From {
		parts = append(parts, t.Say("{1} from {2} ({3})", Amount{f.Days, "day"}, t.source(f.Source), t.Lower(f.Kind.String())))
	}
	if len(parts) > 0 {
		out += t.Say("; of the last year {1}", strings.Join(parts, ", "))
	}
	return out + "."
}

// source is what people read of a source of weather: its own name, but for a place that is lent.
func (t *Tongue) source(name string) string {
	if name == calendar.LentWeather {
		return t.Say("a member's place")
	}
	return name
}

// Rests says what a plan's dates rest on, in terms that change from season to
// season and not from day to day.
func (t *Tongue) Rests(b climate.Basis) string {
	var parts []string
	if b.Years > 0 {
		parts = append(parts, t.Say("{1} of measured weather", Amount{b.Years, "season"}))
	}
	if b.Generated > 0 {
		parts = append(parts, t.Count(b.Generated, "generated season"))
	}
	out := Sentence(b.Source)
	if b.Source == calendar.LentWeather {
		out = Sentence(Capital(t.source(b.Source)))
	}
	if out != "" {
		out = strings.TrimSuffix(out, ".") + ": "
	}
	out += t.And(parts)
	if len(parts) == 0 {
		out += t.Say("no seasons to compare with")
	}
	if b.Normals != "" && b.Normals != b.Source {
		out += t.Say(", with the {1} for the usual year until the record is longer", b.Normals)
	}
	switch known := b.Measured + b.Predicted + b.Interpolated + b.Typical; {
	case known == 0 || b.Measured == 0:
		out += t.Say("; nothing was measured this year")
	case b.Typical*10 > known:
		out += t.Say("; parts of the past year were not measured, and typical values stand in")
	}
	return out + "."
}
