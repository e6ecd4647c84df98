package pages

import (
	"budswell/calendar"
	"budswell/feeds/wording"
)

// Programs are those that connect with a password of their own.
type Programs struct {
	Connected []Program
	Secure    bool   // passwords are taken
	Fresh     *Fresh // one that was just made; it is shown once
	Wrong     string // why one was not made
}

// Program is a line of their list.
type Program struct {
	ID, Name, Made string
	Used           string // the day; empty: never
	Revoked        string // the day; empty: it may connect
}

// Fresh is what a program is told to connect.
type Fresh struct{ Name, Server, User, Secret string }

// ProgramOf describes a password.
func ProgramOf(in *wording.Tongue, p calendar.Password) Program {
	out := Program{ID: p.ID, Name: p.Name, Made: in.DayOf(p.Created)}
	if !p.Used.IsZero() {
		out.Used = in.DayOf(p.Used)
	}
	if !p.Revoked.IsZero() {
		out.Revoked = in.DayOf(p.Revoked)
	}
	return out
}
