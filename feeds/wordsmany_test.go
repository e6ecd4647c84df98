package feeds

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"budswell/calendar"
)

// TestTooManyRules: who has written as much as may stand is told so in plain words, with what
// was typed.
func TestTooManyRules(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	for i := range calendar.MostAmendments {
		id := fmt.Sprintf("mine-%d", i)
		_, err := b.store.Amend(b.ctx(), calendar.Amendment{
			Whose: calendar.Whose{Grower: g.ID}, Subject: "caution " + id, At: b.now(), Who: g.ID, Text: "cautions: [{id: " + id + ", works: [repot], text: Mind it.}]",
		}, 0)
		b.must(err)
	}
	form := typedIn(t, b.page(ownDesk+"/add?what=caution"), ownDesk+"/look")
	a := b.sends(ownDesk+"/keep", form)
	if a.StatusCode != http.StatusConflict || typedIn(t, a, ownDesk+"/look").Get("text") != form.Get("text") ||
		!strings.Contains(a.text, fmt.Sprintf("Not kept: %d rules: want at most %d; withdraw some.", calendar.MostAmendments+1, calendar.MostAmendments)) {
		t.Errorf("%s\n%s", a.Status, text(a.node(t)))
	}
}
