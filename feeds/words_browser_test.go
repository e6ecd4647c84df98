package feeds

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

// TestRulesInABrowser goes through the pages of rules on a phone as a person does, with
// axe-core on each where it is there: nothing sticks out, nothing breaks a rule.
func TestRulesInABrowser(t *testing.T) {
	tab := browser(t)
	axe, err := os.ReadFile(os.Getenv("BUDSWELL_AXE"))
	if err != nil {
		t.Log("without axe-core; name its axe.min.js in BUDSWELL_AXE")
	}
	b, _ := newDemo(t, loreDay)
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	b.must(b.store.PutClub(b.ctx(), storetest.Club("hills")))
	b.must(b.store.PutMember(b.ctx(), storetest.Member("hills", g.ID, calendar.Keeper)))
	_, err = b.store.Amend(b.ctx(), calendar.Amendment{
		Whose: calendar.Whose{Club: "hills"}, Subject: "caution hill-digging", At: loreDay, Who: g.ID, Why: "the law of the hills",
		Text: "cautions:\n  - {id: hill-digging, works: [collect], text: Ask at the forest office.}\n",
	}, 0)
	b.must(err)
	_, err = b.store.Amend(b.ctx(), calendar.Amendment{
		Whose: calendar.Whose{Grower: g.ID}, Subject: "rule gone-by-now", At: loreDay, Who: g.ID, Text: "rules: [{id: gone-by-now, amends: true, rest: 2}]",
	}, 0)
	b.must(err)
	ctx, done := context.WithTimeout(tab, 3*time.Minute)
	defer done()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	shot := func(name string) {
		t.Helper()
		wide, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](sticksOut))
		if err != nil || len(wide) > 0 {
			t.Errorf("%s sticks out: %v %v", name, wide, err)
		}
		if axe != nil {
			must(chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](string(axe)+";1")))
			faults, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](broken, chromedp.EvalAwaitPromise))
			if err != nil || len(faults) > 0 {
				t.Errorf("%s: %v %v", name, faults, err)
			}
		}
		keep(t, ctx, "rules-"+name)
	}
	text := func() string {
		t.Helper()
		s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("main").innerText`))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	open := func(path string) { t.Helper(); must(chromedp.Do(ctx, chromedp.Navigate(b.http.URL+path))) }
	must(chromedp.Do(ctx, chromedp.EmulateViewport(360, 1600)))
	open("/lore")
	shot("index-signed-out")
	open("/enter/" + b.key)
	for name, path := range map[string]string{
		"found": "/lore?q=maple", "rule": "/lore/rules/repot-deciduous", "species": "/lore/species/acer-japonicum", "own": ownDesk, "version": ownDesk + "/versions/1",
		"text": ownDesk + "/rules/repot-deciduous/text", "species-form": ownDesk + "/species/acer-campestre/edit", "add": ownDesk + "/add?what=rule", "club": deskOfClub("hills"),
	} {
		open(path)
		shot(name)
	}
	open(ownDesk + "/rules/repot-deciduous-field-soil/edit")
	must(chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](`document.getElementById("in-opens_days").value = "soon"; document.querySelector("main form").submit()`), chromedp.WaitVisible(chromedp.CSS("main .fault"))))
	shot("form-fault")
	must(chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](`document.getElementById("in-opens_days").value = "6"; document.querySelector("main form").submit()`), chromedp.WaitVisible(chromedp.CSS("main .change"))))
	shot("look")
	if said := text(); !strings.Contains(said, "moves") {
		t.Error(said)
	}
	must(chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](`document.querySelector('form[action$="/keep"]').submit()`), chromedp.WaitVisible(chromedp.CSS("main .said"))))
	shot("kept")
}
