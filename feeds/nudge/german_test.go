package nudge

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// The same messages in German: same ids and subjects, so that nothing is told twice when
// the language changes, and no English but reasons and names.
func TestTextsInGerman(t *testing.T) {
	english, days := Decide(everyKind())
	d := everyKind()
	d.In = wording.In(calendar.Locale{Language: "de", WeekStart: time.Monday}, "")
	german, daysToo := Decide(d)
	if len(english) != len(german) || fmt.Sprint(days) != fmt.Sprint(daysToo) {
		t.Fatalf("%d and %d messages", len(english), len(german))
	}
	// What the fixture itself says.
	theirs := strings.NewReplacer("the rule says so", "", "it rests after root work", "", "Sharp tools: eyes and hands. Look where you cut.", "", "a station", "", "a provider", "",
		"Shade from heat", "", "Out of the shade", "", "41 of 60 units of warmth", "")
	words := regexp.MustCompile(`(?i)\b(the|of|and|with|is|are|your|you|to|that|it|for|not|from|this|have|which)\b`)
	var text strings.Builder
	sealed(t, german)
	for i, n := range german {
		if n.ID != english[i].ID || fmt.Sprint(n.Subjects) != fmt.Sprint(english[i].Subjects) {
			t.Errorf("%s: another id, or subjects", n.Title)
		}
		page, err := pageHTML(calendar.Claimed{Nudge: n}, "https://trees.example")
		if err != nil || !strings.Contains(page, `<html lang="de">`) || !strings.Contains(page, "Keine E-Mails mehr</a>") {
			t.Errorf("%s: %v\n%s", n.Title, err, page)
		}
		all := fmt.Sprintf("Subject: %s\n\n%s\n%s\n", n.Title, n.Body, linksText(n.Links, "https://trees.example"))
		for line := range strings.Lines(theirs.Replace(all)) {
			if found := words.FindString(line); found != "" {
				t.Errorf("%s: %q in %s", n.Kind, found, line)
			}
		}
		text.WriteString("######## " + n.Kind + "\n" + all)
	}
	golden(t, "texts-german.golden", text.String())
}
