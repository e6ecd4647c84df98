package pages

import (
	"io"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Act is the page of a link that logs something, or ends the mail.
type Act struct {
	Path  string // of the link
	Label string
	Stop  bool // it ends the mail
	Done  bool // the mail is ended

	Today, On string   // ISO
	Trees     []Choice // on which it can be logged yet
	Logged    []string // what was logged by the link and stands, as people read it
	Back      []string // what was taken back
	Fault     string
}

// LoggedBy describes what a link logged on a tree.
func LoggedBy(in *wording.Tongue, u calendar.LinkUse, tree, label string) string {
	return in.Say("{1}: {2}, on {3}", tree, label, in.WeekDay(u.Entry.On))
}

// Act writes the page.
func (p *Pages) Act(w io.Writer, a *Act) error { return p.write(w, "act.html", a) }
