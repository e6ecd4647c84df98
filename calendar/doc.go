// Package calendar says what each tree needs and when: it turns the trade's
// rules, a site's weather and a tree's history into windows for work this year.
// It knows nothing of HTTP, iCalendar, mail or databases, and never reads the
// clock.
package calendar
