package feeds

import (
	"net/url"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// TestFormsOfRulesAndSpecies: the form of every rule, sent as it is, changes nothing; that of
// every species likewise.
func TestFormsOfRulesAndSpecies(t *testing.T) {
	l, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i := range l.Rules {
		r := &l.Rules[i]
		f := &pages.Form{Typed: ruleTyped(wording.English, r)}
		if text := lore.AmendRule(r, ruleOf(r, f)); text != "" || len(f.Faults) > 0 {
			t.Errorf("%s: %v\n%s", r.ID, f.Faults, text)
		}
	}
	for i := range l.Species {
		s := &l.Species[i]
		f := &pages.Form{Typed: speciesTyped(wording.English, s)}
		if text := lore.AmendSpecies(s, speciesOf(s, f)); text != "" || len(f.Faults) > 0 {
			t.Errorf("%s: %v\n%s", s.Name, f.Faults, text)
		}
	}
}

// TestRuleForm: each thing that is changed in the form is one field of the amendment, and what
// was written as text before stays.
func TestRuleForm(t *testing.T) {
	g, err := lore.NewGround()
	if err != nil {
		t.Fatal(err)
	}
	below, _ := g.Lore().RuleByID("repot-deciduous")
	own, _ := g.With([]lore.File{{Name: "own", Text: []byte("rules: [{id: repot-deciduous, amends: true, needs: [{strength: strong}], opens: {latest: [{at: phase, phase: bud-swell}, {at: date, date: 03-10}]}}]")}})
	now, _ := own.RuleByID("repot-deciduous")
	const head = "rules:\n  - id: repot-deciduous\n    amends: true\n"
	for changes, want := range map[string]string{
		"":                          "    opens: {latest: [{at: phase, phase: bud-swell}, {at: date, date: 03-10}]}\n    needs: [{strength: strong}]\n",
		"not_before=":               "    needs: [{strength: strong}]\n",
		"not_before=03-20&rest=1,5": "    opens: {latest: [{at: phase, phase: bud-swell}, {at: date, date: 03-20}]}\n    needs: [{strength: strong}]\n    rest: 1.5\n",
		"not_before=&opens_days=-4": "    opens: {at: phase, days: -4, phase: bud-swell}\n    needs: [{strength: strong}]\n",
		"not_before=&opens_at=last-frost&opens_c=-2": "    opens: {at: last-frost, c: -2}\n    needs: [{strength: strong}]\n",
		"not_before=&do=no":                          "    needs: [{strength: strong}]\n    off: true\n",
	} {
		typed := ruleTyped(wording.English, now)
		v, err := url.ParseQuery(changes)
		if err != nil {
			t.Fatal(err)
		}
		for k := range v {
			typed.Set(k, v.Get(k))
		}
		f := &pages.Form{Typed: typed}
		got := lore.AmendRule(below, ruleOf(now, f))
		if got != head+want || len(f.Faults) > 0 {
			t.Errorf("%s: %v (-want +got)\n%s", changes, f.Faults, cmp.Diff(head+want, got))
		}
	}
	for changes, field := range map[string]string{
		"opens_days=x": "opens_days", "opens_days=401": "opens_days", "closes_days=-801": "closes_days", "not_before=02-30": "not_before", "not_before=10.3.": "not_before",
		"rest=5": "rest", "rest=NaN": "rest", "minutes=0": "minutes", "opens_at=moon": "opens_at", "opens_at=phase": "opens_sign", "opens_at=date&opens_date=x": "opens_date",
		"closes_at=warmth&closes_c=99": "closes_c",
	} {
		typed := ruleTyped(wording.English, now)
		v, _ := url.ParseQuery(changes)
		for k := range v {
			typed.Set(k, v.Get(k))
		}
		f := &pages.Form{Typed: typed}
		if ruleOf(now, f); len(f.Faults) != 1 || !strings.HasPrefix(f.Faults[field], "Want") && !strings.HasPrefix(f.Faults[field], "Choose") {
			t.Errorf("%s: %v", changes, f.Faults)
		}
	}
}

// FuzzRuleForm: what the form takes is an amendment that reads back as the rule that was meant,
// or is left out with faults.
func FuzzRuleForm(f *testing.F) {
	f.Add("opens_days=6&minutes=200")
	f.Add("opens_at=date&opens_date=03-10&closes_at=nights-above&closes_c=12.5&closes_days=-3")
	f.Add("not_before=02-29&do=no&rest=0&every=")
	f.Add("every=3&rest=1e-9&opens_days=%2B4&opens_at=phase&opens_sign=%00")
	g, err := lore.NewGround()
	if err != nil {
		f.Fatal(err)
	}
	below, _ := g.Lore().RuleByID("repot-deciduous")
	f.Fuzz(func(t *testing.T, query string) {
		changes, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		typed := ruleTyped(wording.English, below)
		for k := range changes {
			typed[k] = changes[k]
		}
		form := &pages.Form{Typed: typed}
		meant := ruleOf(below, form)
		text := lore.AmendRule(below, meant)
		if len(form.Faults) > 0 || text == "" {
			return
		}
		l, left := g.With([]lore.File{{Name: "own", Text: []byte(text)}})
		if len(left) > 0 {
			return
		}
		got, ok := ruleNamed(l, meant.ID)
		if !ok {
			t.Fatalf("%q loses the rule", text)
		}
		if d := cmp.Diff(meant, got, cmpopts.IgnoreFields(calendar.Rule{}, "Source", "From")); d != "" {
			t.Errorf("%q reads back as another: (-meant +got)\n%s", text, d)
		}
	})
}
