package feeds

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// localeForm holds how a grower reads, as it is.
func localeForm(in *wording.Tongue, l calendar.Locale) *pages.Form {
	return &pages.Form{In: in, Typed: url.Values{
		"language": {l.Language}, "temperature": {cmp.Or(l.Temperature, calendar.Celsius)}, "volume": {cmp.Or(l.Volume, calendar.InLitres)},
		"dates": {cmp.Or(l.Dates, calendar.DatesInWords)}, "week": {strconv.Itoa(int(l.WeekStart))},
	}}
}

// localeInputs asks how a grower reads. An example of each form of dates says more than
// a name.
func localeInputs(f *pages.Form) []pages.Input {
	in := f.Tongue()
	languages := []pages.Choice{{Label: in.Say("As the browser asks, English in calendars")}}
	for _, l := range wording.Languages() {
		languages = append(languages, pages.Choice{Value: l.Tag, Label: l.Name})
	}
	var dates []pages.Choice
	for _, form := range calendar.DateForms() {
		l := in.Locale()
		l.Language, l.Dates = in.Lang(), form
		label := wording.In(l, "").Day(climate.NewDate(2027, time.March, 9))
		if !slices.ContainsFunc(dates, func(c pages.Choice) bool { return c.Label == label }) {
			dates = append(dates, pages.Choice{Value: form, Label: label})
		}
	}
	var weeks []pages.Choice
	for _, d := range calendar.WeekStarts() {
		weeks = append(weeks, pages.Choice{Value: strconv.Itoa(int(d)), Label: in.Weekday(d)})
	}
	return []pages.Input{
		f.Input(pages.Input{Name: "language", Label: "Language", Hint: "Reasons, and what the rules say, are in English only.", Choices: languages}),
		f.Input(pages.Input{Name: "temperature", Label: "Temperatures", Required: true, Choices: []pages.Choice{{Value: calendar.Celsius, Label: "°C"}, {Value: calendar.Fahrenheit, Label: "°F"}}}),
		f.Input(pages.Input{Name: "volume", Label: "Volumes of pots", Required: true, Choices: []pages.Choice{{Value: calendar.InLitres, Label: in.Say("litres")}, {Value: calendar.InQuarts, Label: in.Say("US quarts")}}}),
		f.Input(pages.Input{Name: "dates", Label: "Dates", Required: true, Choices: dates}),
		f.Input(pages.Input{Name: "week", Label: "The week begins on", Required: true, Choices: weeks}),
	}
}

// putLocale keeps how a grower reads. Feeds are written anew by it.
func (s *Server) putLocale(c echo.Context, g calendar.Grower) error {
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	f := &pages.Form{Typed: typed, In: tongueOf(ctx)}
	day, err := strconv.Atoi(f.Get("week"))
	if err != nil {
		day = -1 // which is no day
	}
	l := calendar.Locale{
		Language: f.Get("language"), Temperature: f.Get("temperature"), Volume: f.Get("volume"), Dates: f.Get("dates"), WeekStart: time.Weekday(day),
	}
	if l.Temperature == calendar.Celsius { // what is usual is kept as nothing
		l.Temperature = ""
	}
	if l.Volume == calendar.InLitres {
		l.Volume = ""
	}
	if l.Dates == calendar.DatesInWords {
		l.Dates = ""
	}
	known := l.Language == "" || slices.ContainsFunc(wording.Languages(), func(v wording.Spoken) bool { return v.Tag == l.Language })
	if !known || l.Validate() != nil {
		return s.accountWith(c, g, http.StatusUnprocessableEntity, &pages.Account{
			Fault: f.Tongue().Say("Not kept: choose from the lists. Load the page again, and pick once more."), Reading: localeInputs(f),
		})
	}
	if err := s.cfg.Store.PutLocale(ctx, g.ID, l); err != nil {
		return err
	}
	speak(c, l)
	return s.said(c, "Kept: pages, calendars and forms go by it from now on.")
}
