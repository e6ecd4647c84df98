package feeds

import (
	"bytes"
	"cmp"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// plantingPage asks for trees.
func (s *Server) plantingPage(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	return s.plantingWith(c, g, http.StatusOK, &p, &pages.Form{In: tongueOf(c.Request().Context()), Typed: url.Values{"origin": {string(calendar.Collected)}}})
}

func (s *Server) plantingWith(c echo.Context, g calendar.Grower, status int, p *calendar.Place, f *pages.Form) error {
	ctx := c.Request().Context()
	v := &pages.Planting{
		CSRF: csrfToken(c), ID: p.ID, Name: p.Site.Name, Said: s.sessions.PopString(ctx, sessionSaid), Problem: f.Whole(),
		Species: speciesKnown(f.Tongue(), s.knownTo(ctx, g.ID)),
	}
	for _, in := range draftInputs(f, p.Benches) {
		if in.Required || in.Name == "had since" || in.Name == "last repot" {
			v.Inputs = append(v.Inputs, in)
			continue
		}
		v.More = append(v.More, in)
		v.MoreOpen = v.MoreOpen || in.Value != "" || in.Fault != ""
	}
	today, err := s.dayAt(p.Site)
	if err != nil {
		return err
	}
	trees, err := s.cfg.Store.Trees(ctx, g.ID)
	if err != nil {
		return err
	}
	v.Trees, _ = treeChoices(trees, p.ID, today)
	if v.Steps, err = s.steps(ctx, g, stepTrees); err != nil {
		return err
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Planting(b, v) })
}

// speciesKnown lists all names of all species.
func speciesKnown(in *wording.Tongue, l *calendar.Lore) []pages.Known {
	var out []pages.Known
	for i := range l.Species {
		sp := &l.Species[i]
		out = append(out, pages.Known{Name: sp.Name, About: strings.Join(sp.Common, ", ")})
		if in.Foreign() {
			if name := in.Common(sp.Name, nil); name != "" {
				out[len(out)-1].About = name
				out = append(out, pages.Known{Name: name, About: sp.Name})
			}
		}
		for _, name := range sp.Common {
			out = append(out, pages.Known{Name: name, About: sp.Name})
		}
	}
	slices.SortStableFunc(out, func(a, b pages.Known) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return out
}

// choicesOf lists ids to choose from, after one that chooses nothing.
func choicesOf[T ~string](in *wording.Tongue, none string, ids []T) []pages.Choice {
	out := []pages.Choice{{Label: in.Say(none)}}
	for _, id := range ids {
		out = append(out, pages.Choice{Value: string(id), Label: in.Name(string(id))})
	}
	return out
}

const dayHint = "A day, a month or a year: 2021-03-20, 2021-03 or 2021."

// inTheGround says what an empty day means, as a log without one does.
const inTheGround = "Left empty, a collected or field-grown tree is taken to stand in the ground still."

// draftInputs asks for the fields of a draft.
func draftInputs(f *pages.Form, benches []calendar.Bench) []pages.Input {
	in := f.Tongue()
	stand := []pages.Choice{{Label: in.Say("In the open")}}
	for _, b := range benches {
		stand = append(stand, pages.Choice{Value: b.ID, Label: pages.BenchOf(in, &b)})
	}
	all := []pages.Input{
		{Name: "name", Label: "What you call it", Required: true, Most: 100},
		{Name: "species", Label: "Species", Hint: "Botanical or English name; a genus alone will do where you do not know better.", List: "species-known", Required: true},
		{Name: "origin", Label: "Where it came from", Required: true, Choices: choicesOf(in, "", calendar.Origins())[1:]},
		{Name: "had since", Label: "Dug, or had, since", Hint: in.Say(dayHint) + " " + in.Say(inTheGround), Most: 10},
		{Name: "last repot", Label: "Last repotted", Hint: dayHint, Most: 10},
		{Name: "strength", Label: "How it grows", Choices: choicesOf(in, "As its log tells", calendar.Strengths())},
		{Name: "stage", Label: "How far it has come", Hint: "What was logged tells it, and little is logged yet: say it of a tree that is past its first years.", Choices: choicesOf(in, "As its log tells", calendar.Stages())},
		{Name: "container", Label: "What it stands in", Choices: choicesOf(in, "Not known", []string{calendar.Box, calendar.TrainingPot, calendar.FinalPot})},
		{Name: "litres", Label: litresLabel(in), Mode: "decimal", Most: 10},
		{Name: "bench", Label: "Bench", Choices: stand},
		{Name: "note", Label: "Note", Rows: 2, Most: 500},
	}
	for i := range all {
		all[i] = f.Input(all[i])
	}
	return slices.DeleteFunc(all, func(in pages.Input) bool { return in.Name == "bench" && len(benches) == 0 })
}

// litresLabel asks for the volume of a container, in the reader's unit.
func litresLabel(in *wording.Tongue) string {
	if in.Quarts() {
		return in.Say("US quarts that it holds")
	}
	return in.Say("Litres that it holds")
}

// draftOf reads a form as a draft, in litres; what is no number is left to be refused.
func draftOf(f *pages.Form) *calendar.Draft {
	d := &calendar.Draft{}
	for _, field := range calendar.DraftFields() {
		*field.Of(d) = f.Get(field.Name)
	}
	d.Species = f.Tongue().Botanical(d.Species)
	if x, err := wording.Read(d.Litres); err == nil && f.Tongue().Quarts() {
		d.Litres = number(f.Tongue().Litres(x))
	}
	return d
}

// mark adds the faults of a draft to its form.
func mark(f *pages.Form, faults []calendar.DraftFault) {
	for _, v := range faults {
		if in := f.Tongue(); v.Field == "litres" && in.Quarts() {
			f.Fault(v.Field, in.Say("Want {1} to {2} US quarts, or nothing where it is not known.", in.Number(math.Ceil(1000*in.Volume(0.05))/1000, 3), in.Number(math.Floor(in.Volume(500)), 0)))
			continue
		}
		f.Fault(v.Field, wording.Sentence(wording.Capital(v.Want)))
	}
}

// plant adds a tree.
func (s *Server) plant(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	f := &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}
	today, err := s.dayAt(p.Site)
	if err != nil {
		return err
	}
	trees, err := s.cfg.Store.Trees(ctx, g.ID)
	if err != nil {
		return err
	}
	t, faults := draftOf(f).Tree(s.knownTo(ctx, g.ID), &p, trees, today)
	if t == nil {
		mark(f, faults)
		return s.plantingWith(c, g, http.StatusUnprocessableEntity, &p, f)
	}
	if err := s.cfg.Store.PutTree(ctx, calendar.Kept{Tree: *t, Grower: g.ID, Place: p.ID}); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1} is kept.", t.Name))
	return c.Redirect(http.StatusSeeOther, placePath(p.ID, "/trees"))
}

// columnsOf says what the columns of a sheet hold.
func columnsOf(in *wording.Tongue, benches []calendar.Bench) []pages.Column {
	list := func(ids ...string) string { return in.Say("One of {1}.", strings.Join(ids, ", ")) }
	about := map[string]pages.Column{
		"name":       {Holds: in.Say("What you call the tree; each has a name of its own."), Such: "ridge maple"},
		"species":    {Holds: in.Say("Botanical or English name."), Such: "Acer campestre"},
		"origin":     {Holds: list(idsOf(calendar.Origins())...)},
		"had since":  {Holds: in.Say("When a collected or field-grown tree was dug; of others a note.") + " " + in.Say(dayHint) + " " + in.Say(inTheGround), Such: "2021"},
		"last repot": {Holds: in.Say(dayHint), Such: "2024-03"},
		"strength":   {Holds: list(idsOf(calendar.Strengths())...)},
		"stage":      {Holds: list(idsOf(calendar.Stages())...)},
		"bench":      {Holds: in.Say("Name of one of the benches of the place; there are none yet.")},
		"container":  {Holds: list(calendar.Box, calendar.TrainingPot, calendar.FinalPot)},
		"litres":     {Holds: in.Say("What the container holds in litres, 0.05 to 500."), Such: "4.5"},
		"note":       {Holds: in.Say("Anything.")},
	}
	if len(benches) > 0 {
		var names []string
		for _, b := range benches {
			names = append(names, b.Name)
		}
		about["bench"] = pages.Column{Holds: list(names...)}
	}
	var out []pages.Column
	for _, f := range calendar.DraftFields() {
		v := about[f.Name]
		v.Name = f.Name
		out = append(out, v)
	}
	return out
}

func idsOf[T ~string](ids []T) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

func (s *Server) sheetPage(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	return s.sheetWith(c, http.StatusOK, &p, &pages.SheetPage{Text: "name,species,origin,had since,last repot\n"})
}

func (s *Server) sheetWith(c echo.Context, status int, p *calendar.Place, v *pages.SheetPage) error {
	v.CSRF, v.ID, v.Name, v.Columns = csrfToken(c), p.ID, p.Site.Name, columnsOf(tongueOf(c.Request().Context()), p.Benches)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Sheet(b, v) })
}

// takeSheet checks a sheet of trees, or adds those of its rows that nothing is wrong with and
// keeps the others to be mended.
func (s *Server) takeSheet(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	text := strings.ReplaceAll(c.FormValue("text"), "\r\n", "\n")
	if text == "" {
		_, file, err := fileOf(c)
		if err != nil {
			return err
		}
		if text = string(file); text == "" {
			return s.sheetWith(c, http.StatusUnprocessableEntity, &p, &pages.SheetPage{Fault: tongueOf(ctx).Say("There is nothing in it. Paste a table, or pick a file, with a first row that names the columns.")})
		}
	}
	today, err := s.dayAt(p.Site)
	if err != nil {
		return err
	}
	trees, err := s.cfg.Store.Trees(ctx, g.ID)
	if err != nil {
		return err
	}
	sheet := calendar.ReadSheet(text, s.knownTo(ctx, g.ID), &p, trees, today)
	good := sheet.Trees()
	if c.FormValue("do") == "add" && len(good) > 0 {
		for _, t := range good {
			if err := s.cfg.Store.PutTree(ctx, calendar.Kept{Tree: t, Grower: g.ID, Place: p.ID}); err != nil {
				return err
			}
		}
		said := tongueOf(ctx).Say("{1} added.", wording.Amount{N: len(good), Thing: "tree"})
		if text = sheet.Bad(); text == "" {
			s.sessions.Put(ctx, sessionSaid, said)
			return c.Redirect(http.StatusSeeOther, placePath(p.ID, "/trees"))
		}
		for i := range good {
			trees = append(trees, calendar.Kept{Tree: good[i]})
		}
		v := sheetView(tongueOf(ctx), calendar.ReadSheet(text, s.knownTo(ctx, g.ID), &p, trees, today), text)
		v.Said = said + " " + tongueOf(ctx).Say("The rows below are kept here for you to mend.")
		return s.sheetWith(c, http.StatusOK, &p, v)
	}
	v := sheetView(tongueOf(ctx), sheet, text)
	status := http.StatusOK
	if v.Fault != "" || len(v.Bad) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.sheetWith(c, status, &p, v)
}

// sheetView lays a sheet out.
func sheetView(in *wording.Tongue, sheet *calendar.Sheet, text string) *pages.SheetPage {
	v := &pages.SheetPage{Text: strings.ToValidUTF8(text, "?"), Checked: true}
	for _, f := range sheet.Faults {
		v.Fault = in.Say("Nothing was added: {1}", wording.Sentence(f.Want))
		if f.Line > 0 {
			v.Fault = in.Say("Nothing was added. Row {1}: {2}", strconv.Itoa(f.Line), wording.Sentence(f.Want))
		}
	}
	for i := range sheet.Rows {
		r := &sheet.Rows[i]
		if r.Tree != nil {
			v.Good = append(v.Good, r.Tree.Name)
			continue
		}
		bad := pages.BadRow{Line: r.Line, Name: r.Draft.Name}
		for _, f := range r.Faults {
			bad.Faults = append(bad.Faults, pages.BadField{Field: cmp.Or(f.Field, in.Say("one more field")), Value: f.Value, Want: wording.Capital(f.Want)})
		}
		v.Bad = append(v.Bad, bad)
	}
	return v
}
