package calendar

import (
	"fmt"
	"strings"

	"budswell/climate"
)

// supplyJSON is where the weather of a plan comes from, in the public form.
type supplyJSON struct {
	Until *climate.Date   `json:"until"` // last day that is not foretold; null where there is none
	From  []climate.Share `json:"from"`  // of the year up to the plan's day
	Notes []string        `json:"notes"`
}

func supplyOf(s climate.Supply) supplyJSON {
	return supplyJSON{dayJSON(s.Until), append([]climate.Share{}, s.From...), append([]string{}, s.Notes...)}
}

// SupplyText says in sentences how far the weather of a plan of the given day
// reaches, of which sources it is, and how it was adjusted. There is always the
// first, which tells its age.
func SupplyText(s climate.Supply, on climate.Date) []string {
	out := []string{supplyAge(s, on)}
	for _, n := range s.Notes {
		if n != "" {
			out = append(out, strings.ToUpper(n[:1])+n[1:]+".")
		}
	}
	return out
}

func supplyAge(s climate.Supply, on climate.Date) string {
	var days []string
	for _, f := range s.From {
		days = append(days, fmt.Sprintf("%s from %s (%s)", count(float64(f.Days), "day"), f.Source, f.Kind))
	}
	of := ""
	if len(days) > 0 {
		of = ": of the last year " + strings.Join(days, ", ")
	}
	switch age := on - s.Until; {
	case !s.Until.Valid() && of == "":
		return "No weather of this place is known: dates rest on typical years."
	case !s.Until.Valid():
		return "Weather only as foretold" + of + "."
	case age > 1:
		return fmt.Sprintf("Weather until %v, %s ago%s.", s.Until, count(float64(age), "day"), of)
	}
	return fmt.Sprintf("Weather until %v%s.", s.Until, of)
}
