package wording

import (
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/phenology"
)

func german(change ...func(*calendar.Locale)) *Tongue {
	l := calendar.Locale{Language: "de", WeekStart: time.Monday}
	for _, f := range change {
		f(&l)
	}
	return In(l, "")
}

func TestDaysInEachForm(t *testing.T) {
	d := climate.NewDate(2027, time.March, 9)
	for _, row := range []struct{ language, form, day, short, week string }{
		{"en", "", "9 March 2027", "9 Mar", "Tue 9 Mar 2027"},
		{"en", calendar.DatesInNumbers, "9/3/2027", "9/3", "Tue 9/3/2027"},
		{"en", calendar.DatesISO, "2027-03-09", "03-09", "Tue 2027-03-09"},
		{"en", calendar.DatesMonthFirst, "March 9, 2027", "Mar 9", "Tue Mar 9, 2027"},
		{"de", "", "9. März 2027", "9. März", "Di 9. März 2027"},
		{"de", calendar.DatesInNumbers, "9.3.2027", "9.3.", "Di 9.3.2027"},
		{"de", calendar.DatesISO, "2027-03-09", "03-09", "Di 2027-03-09"},
		{"de", calendar.DatesMonthFirst, "9. März 2027", "9. März", "Di 9. März 2027"},
	} {
		in := In(calendar.Locale{Language: row.language, Dates: row.form}, "")
		if got := [3]string{in.Day(d), in.ShortDay(d), in.WeekDay(d)}; got != [3]string{row.day, row.short, row.week} {
			t.Errorf("%s, %q: %q", row.language, row.form, got)
		}
	}
	for _, l := range languages {
		for _, form := range calendar.DateForms() {
			if f := l.Dates[form]; f.Day == "" || f.Short == "" || f.Week == "" {
				t.Errorf("%s has no form %s", l.Tag, form)
			}
		}
		if len(l.Months) != 12 || len(l.ShortMonths) != 12 || len(l.Weekdays) != 7 || len(l.ShortWeekdays) != 7 || len(l.Seasons) != 4 || l.Called == "" || l.Decimal == "" {
			t.Errorf("%s lacks names", l.Tag)
		}
	}
	if got := german().Day(climate.NoDate); got != "kein Tag" {
		t.Errorf("no day: %q", got)
	}
}

func TestWhichTongue(t *testing.T) {
	for _, row := range []struct{ chosen, accept, want string }{
		{"", "", "en"},
		{"", "de-AT,de;q=0.9,en;q=0.8", "de"},
		{"", "fr,en;q=0.5", "en"},
		{"", "fr", "en"},
		{"", "fr;q=0.9, gsw, de;q=0.1", "de"},
		{"", strings.Repeat("de,", 1000), "en"},
		{"", "\x00;;q=nonsense", "en"},
		{"de", "en", "de"},
		{"de-CH", "en", "de"},
		{"en", "de", "en"},
		{"tlh", "de", "en"},
	} {
		if got := In(calendar.Locale{Language: row.chosen}, row.accept).Lang(); got != row.want {
			t.Errorf("%q, %.40q: %s, want %s", row.chosen, row.accept, got, row.want)
		}
	}
}

func TestAmountsInTheirCase(t *testing.T) {
	in := german()
	for want, got := range map[string]string{
		"Öffnet in etwa 1 Tag":                            in.Say("Opens in about {1}", Amount{1, "day"}),
		"Öffnet in etwa 5 Tagen":                          in.Say("Opens in about {1}", Amount{5, "day"}),
		"Alle 5 Tage, solange das Zeitfenster offen ist.": in.Say("Every {1} while the window is open.", Amount{5, "day"}),
		"1 Baum hinzugefügt.":                             in.Say("{1} added.", Amount{1, "tree"}),
		"0 Bäume hinzugefügt.":                            in.Say("{1} added.", Amount{0, "tree"}),
		"1 day":                                           English.Count(1, "day"),
		"0 days":                                          English.Count(0, "day"),
		"2 Stunden":                                       in.Effort(120),
		"0,2 %":                                           in.Share(0.002),
		"eingetragen {2} x":                               fillOf("eingetragen {2} {1}", "x"),
		"{ {x} a":                                         fillOf("{ {x} {1}", "a"),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// fillOf fills a sentence that no language has.
func fillOf(s string, fill ...any) string { return English.Say(s, fill...) }

func TestSeasonsNorthSouthAndInTheTropics(t *testing.T) {
	for _, row := range []struct {
		month time.Month
		lat   float64
		en    string
		de    string
	}{
		{time.March, 50, "spring 2029", "Frühling 2029"},
		{time.March, -35, "autumn 2029", "Herbst 2029"},
		{time.October, -35, "spring 2029", "Frühling 2029"},
		{time.July, -35, "winter 2029", "Winter 2029"},
		{time.January, 50, "winter 2028/29", "Winter 2028/29"},
		{time.December, -35, "summer 2029/30", "Sommer 2029/30"},
		{time.March, 1.3, "Mar–May 2029", "März–Mai 2029"},
		{time.May, -10, "Mar–May 2029", "März–Mai 2029"},
		{time.January, 1.3, "Dec–Feb 2028/29", "Dez–Feb 2028/29"},
		{time.November, -23, "Sep–Nov 2029", "Sept–Nov 2029"},
		{time.December, 23.4, "Dec–Feb 2029/30", "Dez–Feb 2029/30"},
	} {
		d := climate.NewDate(2029, row.month, 10)
		if en, de := English.Season(d, row.lat), german().Season(d, row.lat); en != row.en || de != row.de {
			t.Errorf("%s at %v: %q, %q; want %q, %q", row.month, row.lat, en, de, row.en, row.de)
		}
		if row.lat > tropic || row.lat < -tropic {
			if s := calendar.SeasonOfYear(d, row.lat < 0); s != row.en {
				t.Errorf("%s at %v: the calendar says %q", row.month, row.lat, s)
			}
		}
	}
}

// TestTheLoreIsKnown holds English to the lore, and each other language to English.
func TestTheLoreIsKnown(t *testing.T) {
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	english := languages[0]
	if len(english.Works) != len(known.Works) || len(english.Cautions) != len(known.Cautions) {
		t.Errorf("en.yaml has %d works of %d and %d cautions of %d", len(english.Works), len(known.Works), len(english.Cautions), len(known.Cautions))
	}
	for i := range known.Works {
		if w := &known.Works[i]; english.Works[w.ID] != w.Title {
			t.Errorf("en.yaml: works: %s: %q", w.ID, w.Title)
		}
	}
	for _, c := range known.Cautions {
		if english.Cautions[c.ID] != c.Text {
			t.Errorf("en.yaml: cautions: %s: %q", c.ID, c.Text)
		}
	}
	for _, l := range languages[1:] {
		in := In(calendar.Locale{Language: l.Tag}, "")
		for i := range known.Works {
			if w := &known.Works[i]; l.Works[w.ID] == "" || in.Title(w.Title) != l.Works[w.ID] {
				t.Errorf("%s.yaml: works: lacks %s", l.Tag, w.ID)
			}
		}
		for _, c := range known.Cautions {
			if l.Cautions[c.ID] == "" {
				t.Errorf("%s.yaml: cautions: lacks %s", l.Tag, c.ID)
			}
			if said := in.Cautions([]string{c.Text}); c.ID != "look-first" && (len(said) != 1 || said[0] != Sentence(l.Cautions[c.ID])) {
				t.Errorf("%s: caution %s is said as %q", l.Tag, c.ID, said)
			}
		}
		for i := range known.Rules {
			if title := known.Rules[i].Title; title != "" && in.Title(title) == title {
				t.Errorf("%s.yaml: sentences: lacks the title %q", l.Tag, title)
			}
		}
		species := map[string]bool{}
		for i := range known.Species {
			species[known.Species[i].Name] = true
		}
		called := map[string]string{}
		for botanical, name := range l.Species {
			if !species[botanical] {
				t.Errorf("%s.yaml: species: %s is not in the lore", l.Tag, botanical)
			}
			if other := called[strings.ToLower(name)]; other != "" {
				t.Errorf("%s.yaml: species: %s and %s are both called %s", l.Tag, other, botanical, name)
			}
			called[strings.ToLower(name)] = botanical
			if in.Botanical(" "+strings.ToUpper(name)) != botanical {
				t.Errorf("%s: %s is not found as %s", l.Tag, name, botanical)
			}
		}
		t.Logf("measured: %s names %d of %d species", l.Tag, len(l.Species), len(species))
	}
	if got := german().Cautions([]string{"A caution of a club's own."}); got[0] != "A caution of a club's own." {
		t.Errorf("a caution that is not of the lore became %q", got)
	}
	if got := german().Title("A work of a club's own"); got != "A work of a club's own" {
		t.Errorf("a title that is not of the lore became %q", got)
	}
}

// TestEveryIDHasItsWords: what pages show of ids is named in each language.
func TestEveryIDHasItsWords(t *testing.T) {
	var ids []string
	for _, v := range calendar.Stages() {
		ids = append(ids, string(v))
	}
	for _, v := range calendar.Strengths() {
		ids = append(ids, string(v))
	}
	for _, v := range calendar.Classes() {
		ids = append(ids, string(v))
	}
	for _, v := range calendar.Origins() {
		ids = append(ids, string(v))
	}
	for _, v := range calendar.Looks() {
		ids = append(ids, string(v))
	}
	for _, g := range phenology.Groups() {
		ids = append(ids, string(g), "group "+string(g))
		for _, p := range g.Phases() {
			ids = append(ids, string(p))
		}
	}
	for _, v := range calendar.Roles() {
		ids = append(ids, string(v))
	}
	for _, v := range calendar.Traits() {
		ids = append(ids, string(v))
	}
	for _, v := range slices.Concat(calendar.BackBudGrades, calendar.RootWorkGrades, calendar.NewGrowthGrades, calendar.BleedingGrades) {
		ids = append(ids, string(v))
	}
	for _, v := range []phenology.Flush{phenology.VeryEarly, phenology.Early, phenology.Middle, phenology.Late, phenology.VeryLate} {
		ids = append(ids, string(v))
	}
	ids = append(ids, calendar.Box, calendar.TrainingPot, calendar.FinalPot)
	ids = append(ids, climate.ExposureNames()...)
	for _, k := range []climate.Kind{climate.Foretold, climate.Analysis, climate.FromStation, climate.OwnReading} {
		ids = append(ids, k.String())
	}
	for _, l := range languages[1:] {
		for _, id := range ids {
			if l.Names[id] == "" {
				t.Errorf("%s.yaml: names: lacks %s", l.Tag, id)
			}
		}
	}
}
