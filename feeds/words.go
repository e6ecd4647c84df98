package feeds

import (
	"bytes"
	"cmp"
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// The ways in which something is changed: by the form of a rule or of a species, by its
// text, or by taking back what was written.
const (
	modeRule     = "rule"
	modeSpecies  = "species"
	modeText     = "text"
	modeWithdraw = "withdraw"
)

// words is what is about to be written at a desk.
type words struct {
	desk    *desk
	written *written
	mode    string
	subject string // empty: what a text is about is not known yet
	after   int    // the version that was seen
	form    *pages.Form
	text    string
	faults  []pages.LookSay // of a text, line by line
	then    *knowing        // the lore with it; nil where it cannot be
}

// begun makes ready to change something.
func (s *Server) begun(ctx context.Context, d *desk, mode, subject string, typed url.Values) (*words, error) {
	w, err := s.deskWords(ctx, d)
	if err != nil {
		return nil, err
	}
	versions, err := s.cfg.Store.Versions(ctx, d.whose)
	if err != nil {
		return nil, err
	}
	return &words{desk: d, written: w, mode: mode, subject: subject, after: newestOf(versions, subject), form: &pages.Form{Typed: typed, In: tongueOf(ctx)}}, nil
}

// editRule shows the form of a rule.
func (s *Server) editRule(c echo.Context, d *desk) error {
	v, err := s.begun(c.Request().Context(), d, modeRule, "rule "+c.Param("rule"), nil)
	if err != nil {
		return err
	}
	r, ok := ruleNamed(v.written.now.lore, c.Param("rule"))
	if !ok {
		return calendar.ErrNotFound
	}
	v.form.Typed = ruleTyped(v.form.Tongue(), r)
	return s.wordsWith(c, http.StatusOK, v)
}

// editSpecies shows the form of a species.
func (s *Server) editSpecies(c echo.Context, d *desk) error {
	v, err := s.begun(c.Request().Context(), d, modeSpecies, "", nil)
	if err != nil {
		return err
	}
	sp, ok := speciesAt(v.written.now.lore, c.Param("species"))
	if !ok {
		return calendar.ErrNotFound
	}
	if v, err = s.begun(c.Request().Context(), d, modeSpecies, "species "+sp.Name, speciesTyped(tongueOf(c.Request().Context()), sp)); err != nil {
		return err
	}
	return s.wordsWith(c, http.StatusOK, v)
}

// asText shows the form of a text.
func (s *Server) asText(c echo.Context, d *desk, subject string, whole func(*calendar.Lore) (string, bool)) error {
	v, err := s.begun(c.Request().Context(), d, modeText, subject, url.Values{})
	if err != nil {
		return err
	}
	if a, ok := v.written.stands(subject); ok {
		v.form.Typed.Set("text", a.Text)
		return s.wordsWith(c, http.StatusOK, v)
	}
	text, ok := whole(v.written.now.lore)
	if !ok {
		return calendar.ErrNotFound
	}
	// Marked as an amendment: of what is not changed the lines can be taken out.
	head, rest, _ := strings.Cut(text, "\n    ")
	v.form.Typed.Set("text", "# Take out the lines that you leave as they are: they then follow what is below.\n"+head+"\n    amends: true\n    "+rest)
	return s.wordsWith(c, http.StatusOK, v)
}

func (s *Server) editRuleText(c echo.Context, d *desk) error {
	return s.asText(c, d, "rule "+c.Param("rule"), func(l *calendar.Lore) (string, bool) {
		r, ok := ruleNamed(l, c.Param("rule"))
		if !ok {
			return "", false
		}
		return lore.WriteRule(r), true
	})
}

func (s *Server) editSpeciesText(c echo.Context, d *desk) error {
	v, err := s.deskWords(c.Request().Context(), d)
	if err != nil {
		return err
	}
	sp, ok := speciesAt(v.now.lore, c.Param("species"))
	if !ok {
		return calendar.ErrNotFound
	}
	return s.asText(c, d, "species "+sp.Name, func(*calendar.Lore) (string, bool) { return lore.WriteSpecies(sp), true })
}

// addWords shows the form of a text with an example, or with a version to have back.
func (s *Server) addWords(c echo.Context, d *desk) error {
	ctx := c.Request().Context()
	from := c.QueryParam("from")
	if from == "" {
		example, ok := examples[c.QueryParam("what")]
		if !ok {
			return calendar.ErrNotFound
		}
		v, err := s.begun(ctx, d, modeText, "", url.Values{"text": {example}})
		if err != nil {
			return err
		}
		return s.wordsWith(c, http.StatusOK, v)
	}
	n, err := strconv.Atoi(from)
	if err != nil {
		return calendar.ErrNotFound
	}
	a, err := s.version(ctx, d, n)
	if err != nil {
		return err
	}
	v, err := s.begun(ctx, d, modeText, a.Subject, url.Values{"text": {a.Text}})
	if err != nil {
		return err
	}
	return s.wordsWith(c, http.StatusOK, v)
}

// version finds what was written at a desk under a number.
func (s *Server) version(ctx context.Context, d *desk, number int) (calendar.Amendment, error) {
	all, err := s.cfg.Store.Versions(ctx, d.whose)
	if err != nil {
		return calendar.Amendment{}, err
	}
	i := slices.IndexFunc(all, func(a calendar.Amendment) bool { return a.Number == number })
	if i < 0 {
		return calendar.Amendment{}, calendar.ErrNotFound
	}
	return all[i], nil
}

// drafted reads what was typed into a form, and lays it over the lore. What is wrong stands
// in the form, and then there is no lore with it.
func (s *Server) drafted(c echo.Context, d *desk) (*words, error) {
	typed, err := c.FormParams()
	if err != nil {
		return nil, err
	}
	ctx := c.Request().Context()
	v, err := s.begun(ctx, d, typed.Get("mode"), typed.Get("subject"), typed)
	if err != nil {
		return nil, err
	}
	// What was seen when the form was made, not what there is by now.
	if v.after, err = strconv.Atoi(cmp.Or(typed.Get("after"), "0")); err != nil {
		return nil, calendar.ErrInvalid
	}
	below, err := s.without(v.written, v.subject)
	if err != nil {
		return nil, err
	}
	v.why()
	kind, name, _ := strings.Cut(v.subject, " ")
	switch {
	case v.mode == modeWithdraw:
		if _, ok := v.written.stands(v.subject); !ok {
			return nil, refuse(calendar.ErrConflict, "There is nothing of yours any more that could be taken back.")
		}
		v.then = below
		return v, nil
	case v.mode == modeRule && kind == "rule":
		now, ok := ruleNamed(v.written.now.lore, name)
		was, below := ruleNamed(below.lore, name)
		if !ok || !below {
			return nil, calendar.ErrNotFound
		}
		v.text = lore.AmendRule(was, ruleOf(now, v.form))
	case v.mode == modeSpecies && kind == "species":
		slug := calendar.Slug(name)
		now, ok := speciesAt(v.written.now.lore, slug)
		was, below := speciesAt(below.lore, slug)
		if !ok || !below {
			return nil, calendar.ErrNotFound
		}
		v.text = lore.AmendSpecies(was, speciesOf(now, v.form))
	case v.mode == modeText:
		v.text = strings.ReplaceAll(typed.Get("text"), "\r\n", "\n")
		v.about()
	default:
		return nil, calendar.ErrInvalid
	}
	if v.text == "" && v.mode != modeText && len(v.form.Faults) == 0 {
		v.form.Fault("", "Nothing differs from what holds without it. Change something, or take back what you wrote.")
	}
	if len(v.form.Faults) == 0 && len(v.faults) == 0 {
		s.lay(v)
	}
	return v, nil
}

// why checks the reason that was given.
func (v *words) why() {
	switch why := v.form.Get("why"); {
	case why == "" && v.desk.whose.Club != "" && v.mode != modeWithdraw:
		v.form.Fault("why", "Want the reason: others will read it.")
	case len([]rune(why)) > calendar.MostWhy:
		v.form.Fault("why", v.form.Tongue().Say("Want at most {1} letters.", calendar.MostWhy))
	case !calendar.ShowsAsWritten(why):
		v.form.Fault("why", "Want text on one line, that shows as it is written.")
	}
}

// fault adds what is wrong with a text as a whole.
func (v *words) fault(said string) { v.faults = append(v.faults, pages.LookSay{Words: said}) }

func validText(s string) bool { return strings.ToValidUTF8(s, "") == s && !strings.ContainsRune(s, 0) }

// about finds what a text is about.
func (v *words) about() {
	in, subjects := v.form.Tongue(), lore.Subjects([]byte(v.text))
	switch {
	case len(v.text) > calendar.MostAmendmentText:
		v.fault(in.Say("It has {1} letters; want at most {2}.", len(v.text), calendar.MostAmendmentText))
	case !validText(v.text):
		v.fault(in.Say("Want text in UTF-8."))
	case v.subject != "" && len(subjects) > 0 && !slices.Contains(subjects, v.subject):
		v.fault(in.Say("It is not about the {1} any more; want that in it. To write of another, add that.", v.subject))
	case v.subject == "" && len(subjects) > 0:
		v.subject = subjects[0]
		if a, ok := v.written.stands(v.subject); ok {
			v.fault(in.Say("You have written of the {1} already, on {2}; change what stands, below what you have of your own.", v.subject, in.DayOf(a.At)))
			v.subject = ""
		}
	}
}

// lay lays the text over the lore and tells what is wrong with it.
func (s *Server) lay(v *words) {
	name := cmp.Or(v.subject, "text")
	then := s.with(v.desk, v.written, name, v.text)
	i := slices.IndexFunc(then.left, func(l lore.Left) bool { return l.File.Name == name && string(l.File.Text) == v.text })
	if i < 0 {
		if v.subject == "" || v.mode == modeText && len(lore.Subjects([]byte(v.text))) == 0 {
			v.fault(v.form.Tongue().Say("Want a rule, a caution or a species."))
			return
		}
		v.then = then
		return
	}
	var rest lore.Faults
	for _, f := range then.left[i].Faults {
		_, field, _ := strings.Cut(f.Field, ": ")
		if at, ok := formFields[field]; ok && v.mode != modeText {
			v.form.Fault(at, wording.Sentence(wording.Capital(f.Wrong)))
		} else if at, ok := formFields[beforeDot(field)]; ok && v.mode != modeText {
			v.form.Fault(at, wording.Sentence(wording.Capital(f.Wrong)))
		} else {
			rest = append(rest, f)
		}
	}
	v.faults = append(v.faults, pages.FaultsOf(v.form.Tongue(), rest, name)...)
}

func beforeDot(s string) string {
	head, _, _ := strings.Cut(s, ".")
	return head
}

// wordsWith shows the form, with what was typed and what is wrong.
func (s *Server) wordsWith(c echo.Context, status int, v *words) error {
	p := &pages.Words{
		CSRF: csrfToken(c), Path: v.desk.path, Club: v.desk.club.Name, Title: v.form.Tongue().Say("Write a rule"), Mode: v.mode, Subject: v.subject,
		After: strconv.Itoa(v.after), Problem: v.form.Whole(), Faults: v.faults,
	}
	kind, name, _ := strings.Cut(v.subject, " ")
	now := v.written.now.lore
	switch v.mode {
	case modeRule:
		r, ok := ruleNamed(now, name)
		if !ok {
			return calendar.ErrNotFound
		}
		page := pages.RulePageOf(v.form.Tongue(), now, r)
		p.Title, p.Below, p.Other = page.Title, page.From, v.desk.path+"/rules/"+name+"/text"
		p.Inputs = ruleInputs(v.form, r)
		signs := signsOf(now, r)
		for _, end := range []struct{ field, title string }{{"opens", v.form.Tongue().Say("Let it open by something else")}, {"closes", v.form.Tongue().Say("Let it close by something else")}} {
			in := anchorInputs(v.form, end.field, signs)
			open := slices.ContainsFunc(in, func(i pages.Input) bool { return i.Fault != "" || i.Name == end.field+"_at" && i.Value != "" })
			p.Ends = append(p.Ends, pages.WordsEnd{Title: end.title, Open: open, Inputs: in})
		}
	case modeSpecies:
		sp, ok := speciesAt(now, calendar.Slug(name))
		if !ok {
			return calendar.ErrNotFound
		}
		p.Title, p.Below, p.Other = sp.Name, pages.SpeciesPageOf(v.form.Tongue(), now, sp).From, v.desk.path+"/species/"+calendar.Slug(name)+"/text"
		p.Inputs = speciesInputs(v.form)
	case modeText:
		if kind != "" {
			p.Title = pages.SubjectWords(v.form.Tongue(), v.subject, now)
		}
		in := v.form.Input(pages.Input{Name: "text", Label: "The text", Hint: "YAML: names and values, in rows. What may stand there is below.", Rows: 24, Most: calendar.MostAmendmentText})
		if len(v.faults) > 0 {
			in.Fault = v.form.Tongue().Say("See above.")
		}
		p.Text = &in
	default:
		return calendar.ErrInvalid
	}
	p.Why = v.form.Input(pages.Input{Name: "why", Label: "Why you change it", Hint: "It stands in the history.", Required: v.desk.whose.Club != "", Most: calendar.MostWhy})
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Words(b, p) })
}

// keepWords writes what was looked at, as the next version.
func (s *Server) keepWords(c echo.Context, d *desk) error {
	ctx := c.Request().Context()
	v, err := s.drafted(c, d)
	if err != nil {
		return err
	}
	if v.then == nil {
		return s.wordsWith(c, http.StatusUnprocessableEntity, v)
	}
	if without, err := s.unplannable(ctx, v); err != nil || len(without) > 0 {
		if err == nil {
			err = refuse(calendar.ErrConflict, v.form.Tongue().Say("Not kept: a tree could then not be planned. {1}", strings.Join(without, " ")))
		}
		return err
	}
	a := calendar.Amendment{Whose: d.whose, Subject: v.subject, At: s.cfg.Now(), Who: d.who.ID, Why: v.form.Get("why"), Text: v.text, Withdrawn: v.mode == modeWithdraw}
	if _, err := s.cfg.Store.Amend(ctx, a, v.after); err != nil {
		return s.notKept(c, v, err)
	}
	in := v.form.Tongue()
	what := pages.SubjectName(in, v.subject)
	if d.whose.Club != "" {
		said := in.Say("{1}: kept; the club's regions are planned anew when they are next asked for.", what)
		if a.Withdrawn {
			said = in.Say("{1}: taken back; the club's regions are planned anew when they are next asked for.", what)
		}
		s.sessions.Put(ctx, sessionSaid, said)
		return c.Redirect(http.StatusSeeOther, d.path)
	}
	said := in.Say("{1}: kept, and planned anew.", what)
	if a.Withdrawn {
		said = in.Say("{1}: taken back, and planned anew.", what)
	}
	return s.afresh(c, d.who.ID, said, d.path)
}
