package nudge

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// ActPath is the path of links that act, before their secret; PreferencesPath that
// of the page on which a grower chooses what to be told.
const (
	ActPath         = "/act/"
	PreferencesPath = "/nudges"
)

func actLink(base string, l calendar.Link) string { return base + ActPath + l.Secret }

const onceEach = "To log it without signing in (each link works for three weeks, once for each tree):"

// acting returns the links that log something and still have their secret, and
// the one that ends the mail, nil where there is none.
func acting(links []calendar.Link) (log []calendar.Link, stop *calendar.Link) {
	for i := range links {
		switch l := &links[i]; {
		case l.Secret == "":
		case l.Does == calendar.StopMail:
			stop = l
		default:
			log = append(log, *l)
		}
	}
	return log, stop
}

const noMoreMail = "No more mail"

// tongueOf returns the language in which a nudge was written: that of the label of its
// link that ends the mail, which each has that is mailed. What is chosen later changes
// nothing of it, so that it is the same whenever it is sent.
func tongueOf(links []calendar.Link) *wording.Tongue {
	for _, l := range links {
		for _, v := range wording.Languages() {
			if in := wording.In(calendar.Locale{Language: v.Tag}, ""); l.Does == calendar.StopMail && l.Label == in.Say(noMoreMail) {
				return in
			}
		}
	}
	return wording.English
}

// linksText writes the links of a nudge as plain text.
func linksText(links []calendar.Link, base string) string {
	var b strings.Builder
	log, stop := acting(links)
	in := tongueOf(links)
	if len(log) > 0 {
		b.WriteString(in.Say(onceEach) + "\n")
		for _, l := range log {
			fmt.Fprintf(&b, "- %s\n  %s\n", clean(l.Label), actLink(base, l))
		}
		b.WriteString("\n")
	}
	fmt.Fprintf(&b, "%s: %s/\n%s: %s%s\n", in.Say("Your trees"), base, in.Say("What you are told, and when"), base, PreferencesPath)
	if stop != nil {
		fmt.Fprintf(&b, "%s: %s\n", in.Say(noMoreMail), actLink(base, *stop))
	}
	return b.String()
}

var mailHTML = template.Must(template.New("").Parse(`<!doctype html>
<html lang="{{.Lang}}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="light dark">
<title>{{.Title}}</title>
</head>
<body>
{{.Body}}{{if .Log}}<p>{{.Once}}</p>
<ul>
{{range .Log}}<li><a href="{{.URL}}">{{.Label}}</a></li>
{{end}}</ul>
{{end}}<p><a href="{{.Page}}">{{.Trees}}</a> · <a href="{{.Preferences}}">{{.Told}}</a>{{with .Stop}} · <a href="{{.}}">{{$.NoMore}}</a>{{end}}</p>
</body>
</html>
`))

// pageHTML writes a nudge with its links as a whole page of HTML.
func pageHTML(c calendar.Claimed, base string) (string, error) {
	log, stop := acting(c.Links)
	in := tongueOf(c.Links)
	data := struct {
		Title, Once, Page, Preferences, Stop string
		Lang, Trees, Told, NoMore            string
		Body                                 template.HTML
		Log                                  []linkJSON
	}{
		Title: clean(c.Title), Once: in.Say(onceEach), Page: base + "/", Preferences: base + PreferencesPath,
		Lang: in.Lang(), Trees: in.Say("Your trees"), Told: in.Say("What you are told, and when"), NoMore: in.Say(noMoreMail),
		Body: template.HTML(c.HTML), //nolint:gosec // written by letter.html from its template
		Log:  linksJSON(log, base),
	}
	if stop != nil {
		data.Stop = actLink(base, *stop)
	}
	var b bytes.Buffer
	if err := mailHTML.Execute(&b, data); err != nil {
		return "", err
	}
	return b.String(), nil
}
