package feeds

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// offer is an anchor that the form of a rule offers.
type offer struct {
	at    calendar.At
	field string // of the form, which it needs; empty: none
	label string
}

// offered are those that it does; all others are for the rule's text.
var offered = []offer{
	{calendar.AtPhase, "sign", "a sign on the tree"},
	{calendar.AtDate, "date", "a day of the calendar"},
	{calendar.AtLastFrost, "c", "the last night of spring colder than"},
	{calendar.AtFirstFrost, "c", "the first night of autumn colder than"},
	{calendar.AtNightsAbove, "c", "nights staying warmer than"},
	{calendar.AtNightsBelow, "c", "nights staying colder than"},
	{calendar.AtWarmth, "c", "days and nights warmer on average than"},
	{calendar.AtCold, "c", "days and nights colder on average than"},
	{calendar.AtMidsummer, "", "midsummer"},
}

// ruleTyped fills the form of a rule as it is.
func ruleTyped(in *wording.Tongue, r *calendar.Rule) url.Values {
	v := url.Values{}
	v.Set("do", "yes")
	if r.Off {
		v.Set("do", "no")
	}
	opens, notBefore := parted(r.Opens)
	v.Set("opens_days", strconv.Itoa(opens.Days))
	v.Set("closes_days", strconv.Itoa(r.Closes.Days))
	if notBefore != nil {
		v.Set("not_before", notBefore.String())
	}
	if r.Every > 0 {
		v.Set("every", strconv.Itoa(r.Every))
	}
	v.Set("rest", in.Typed(r.Rest))
	v.Set("minutes", strconv.Itoa(r.Minutes))
	return v
}

// parted takes the day before which a window does not open from an anchor, where it has one.
func parted(a calendar.Anchor) (calendar.Anchor, *climate.MonthDay) {
	if len(a.Latest) == 2 && a.Days == 0 && a.Latest[1].At == calendar.AtDate && a.Latest[1].Days == 0 && !a.Latest[1].Next {
		return a.Latest[0], a.Latest[1].Date
	}
	return a, nil
}

// ruleOf makes of a rule what was typed into its form.
func ruleOf(was *calendar.Rule, f *pages.Form) *calendar.Rule {
	r := *was
	r.Off = f.Get("do") == "no"
	opens, _ := parted(was.Opens)
	opens = anchorOf(f, "opens", opens)
	if v := f.Get("not_before"); v != "" {
		if d := northernDay(f, "not_before", v); d != nil {
			opens = calendar.Anchor{Latest: []calendar.Anchor{opens, {At: calendar.AtDate, Date: d}}}
		}
	}
	r.Opens, r.Closes = opens, anchorOf(f, "closes", was.Closes)
	if was.Every > 0 || f.Get("every") != "" {
		r.Every = whole(f, "every", 1, 120, f.Tongue().Say("days"))
	}
	if v := f.Get("rest"); v != "" {
		r.Rest = fraction(f, "rest", 0, 4, f.Tongue().Say("growing seasons"))
	}
	if v := f.Get("minutes"); v != "" {
		r.Minutes = whole(f, "minutes", 1, 960, f.Tongue().Say("minutes"))
	}
	return &r
}

// anchorOf reads one end of a window.
func anchorOf(f *pages.Form, end string, was calendar.Anchor) calendar.Anchor {
	a := was
	if at := f.Get(end + "_at"); at != "" {
		i := slices.IndexFunc(offered, func(o offer) bool { return string(o.at) == at })
		if i < 0 {
			f.Fault(end+"_at", "Choose from the list.")
			return a
		}
		a = calendar.Anchor{At: calendar.At(at)}
		switch offered[i].field {
		case "sign":
			a.Phase = phenology.Phase(f.Get(end + "_sign"))
			if a.Phase == "" {
				f.Fault(end+"_sign", "Choose the sign.")
			}
		case "date":
			a.Date = northernDay(f, end+"_date", f.Get(end+"_date"))
		case "c":
			c := celsius(f, end+"_c", -30, 45)
			a.C = &c
		}
	}
	a.Days = 0
	if f.Get(end+"_days") != "" {
		a.Days = whole(f, end+"_days", -800, 400, f.Tongue().Say("days"))
	}
	return a
}

func northernDay(f *pages.Form, field, text string) *climate.MonthDay {
	var d climate.MonthDay
	if err := d.UnmarshalText([]byte(text)); err != nil {
		f.Fault(field, "Want a month and a day of the northern year, such as 03-10.")
		return nil
	}
	return &d
}

func whole(f *pages.Form, field string, low, high int, unit string) int {
	n, err := strconv.Atoi(f.Get(field))
	if err != nil || n < low || n > high {
		f.Fault(field, f.Tongue().Say("Want a whole number of {1}, {2} to {3}.", unit, low, high))
	}
	return n
}

func fraction(f *pages.Form, field string, low, high float64, unit string) float64 {
	x, err := wording.Read(f.Get(field))
	if err != nil || !(x >= low && x <= high) {
		f.Fault(field, f.Tongue().Say("Want a number of {1}, {2} to {3}.", unit, f.Tongue().Typed(low), f.Tongue().Typed(high)))
		return low
	}
	return x
}

// celsius reads a temperature in the unit of whoever types it; the bounds are in Celsius.
func celsius(f *pages.Form, field string, low, high float64) float64 {
	in := f.Tongue()
	x, err := wording.Read(f.Get(field))
	if err != nil || !(x >= in.Degrees(low) && x <= in.Degrees(high)) {
		f.Fault(field, in.Say("Want {1} from {2} to {3}.", in.Degree(), in.Typed(in.Degrees(low)), in.Typed(in.Degrees(high))))
		return low
	}
	return in.Celsius(x)
}

// ruleInputs lays out the form of a rule.
func ruleInputs(f *pages.Form, r *calendar.Rule) []pages.Input {
	in := []pages.Input{
		{Name: "do", Label: "Do you do this?", Required: true, Choices: []pages.Choice{{Value: "yes", Label: f.Tongue().Say("Yes, plan it")}, {Value: "no", Label: f.Tongue().Say("No: I do not do this, plan nothing by this rule")}}},
		{Name: "opens_days", Label: "Days added to where it opens", Hint: f.Tongue().Say("It opens by this: {1}. A number below nought is earlier.", r.Opens.Words()), Mode: "text", Most: 5},
		{Name: "closes_days", Label: "Days added to where it closes", Hint: f.Tongue().Say("It closes by this: {1}.", r.Closes.Words()), Mode: "text", Most: 5},
		{Name: "not_before", Label: "Not before", Hint: "A month and a day of the northern year, such as 03-10; in the south it is turned by half a year.", Most: 5},
	}
	if r.Every > 0 {
		in = append(in, pages.Input{Name: "every", Label: "Repeated every so many days", Mode: "numeric", Most: 3})
	}
	in = append(
		in,
		pages.Input{Name: "rest", Label: "Growing seasons of rest from hard work afterwards", Mode: "decimal", Most: 5},
		pages.Input{Name: "minutes", Label: "Minutes for one tree", Mode: "numeric", Most: 3},
	)
	return laidOut(f, in)
}

// anchorInputs lays out the fields by which an end of a window hangs on something else.
func anchorInputs(f *pages.Form, end string, signs []phenology.Phase) []pages.Input {
	kinds := []pages.Choice{{Label: f.Tongue().Say("as it is")}}
	for _, o := range offered {
		kinds = append(kinds, pages.Choice{Value: string(o.at), Label: f.Tongue().Say(o.label)})
	}
	of := []pages.Choice{{Label: f.Tongue().Say("none")}}
	for _, p := range signs {
		of = append(of, pages.Choice{Value: string(p), Label: f.Tongue().Lower(string(p))})
	}
	return laidOut(f, []pages.Input{
		{Name: end + "_at", Label: "Hang it on", Choices: kinds},
		{Name: end + "_sign", Label: "The sign", Choices: of},
		{Name: end + "_date", Label: "The day, as month and day", Hint: "Such as 03-10, of the northern year.", Most: 5},
		{Name: end + "_c", Label: f.Tongue().Say("The temperature in {1}", f.Tongue().Degree()), Mode: "text", Most: 6},
	})
}

func laidOut(f *pages.Form, in []pages.Input) []pages.Input {
	for i := range in {
		in[i] = f.Input(in[i])
	}
	return in
}

// signsOf lists the signs that all trees show which a rule is for.
func signsOf(l *calendar.Lore, r *calendar.Rule) []phenology.Phase {
	var out []phenology.Phase
	first := true
	for i := range l.Species {
		s := &l.Species[i]
		if !r.For.MatchesSpecies(s) {
			continue
		}
		if first {
			out, first = slices.Clone(s.Group.Phases()), false
		}
		out = slices.DeleteFunc(out, func(p phenology.Phase) bool { return !s.Shows(p) })
	}
	return out
}

// speciesTyped fills the form of a species as it is known.
func speciesTyped(in *wording.Tongue, s *calendar.Species) url.Values {
	v := url.Values{}
	v.Set("common", strings.Join(s.Common, ", "))
	if r := s.Repot; r != nil {
		v.Set("young", in.Typed(r.Young))
		v.Set("building", in.Typed(r.Building))
		v.Set("refined", in.Typed(r.Refined))
	}
	for field, c := range map[string]*float64{"roots": s.RootsKilledBelow, "crown": s.CrownHardy} {
		if c != nil {
			v.Set(field, in.Typed(in.Degrees(*c)))
		}
	}
	return v
}

// speciesOf makes of a species what was typed into its form.
func speciesOf(was *calendar.Species, f *pages.Form) *calendar.Species {
	s := *was
	s.Common = nil
	for _, n := range strings.Split(f.Get("common"), ",") {
		if n = strings.Join(strings.Fields(n), " "); n != "" {
			s.Common = append(s.Common, n)
		}
	}
	if len(s.Common) == 0 {
		s.Common = was.Common // a name is not taken away by leaving it out
	}
	if f.Get("young")+f.Get("building")+f.Get("refined") != "" {
		s.Repot = &calendar.RepotEvery{
			Young: fraction(f, "young", 0.5, 10, f.Tongue().Say("growing seasons")), Building: fraction(f, "building", 0.5, 10, f.Tongue().Say("growing seasons")), Refined: fraction(f, "refined", 0.5, 10, f.Tongue().Say("growing seasons")),
		}
	}
	if f.Get("roots") != "" {
		c := celsius(f, "roots", -30, 10)
		s.RootsKilledBelow = &c
	}
	if f.Get("crown") != "" {
		c := celsius(f, "crown", -60, 15)
		s.CrownHardy = &c
	}
	return &s
}

func speciesInputs(f *pages.Form) []pages.Input {
	const every = "In growing seasons, 0.5 to 10."
	return laidOut(f, []pages.Input{
		{Name: "common", Label: "Common names", Hint: "With commas between them; what you write here takes the place of those above."},
		{Name: "young", Label: "Between repots of a young tree", Hint: every, Mode: "decimal", Most: 4},
		{Name: "building", Label: "Between repots while it is built", Hint: every, Mode: "decimal", Most: 4},
		{Name: "refined", Label: "Between repots when refined", Hint: every, Mode: "decimal", Most: 4},
		{Name: "roots", Label: f.Tongue().Say("Potted roots are killed below, in {1}", f.Tongue().Degree()), Mode: "text", Most: 6},
		{Name: "crown", Label: f.Tongue().Say("A rested crown stands, in {1}", f.Tongue().Degree()), Mode: "text", Most: 6},
	})
}

// formFields name the fields of a form by those of the lore that they write.
var formFields = map[string]string{
	"opens": "opens_days", "closes": "closes_days", "every": "every", "rest": "rest", "minutes": "minutes", "off": "do",
	"common": "common", "repot.young": "young", "repot.building": "building", "repot.refined": "refined", "repot": "young",
	"roots_killed_below": "roots", "crown_hardy": "crown",
}
