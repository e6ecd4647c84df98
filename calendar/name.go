package calendar

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// ValidName reports whether a name, or another line that a person types, has 1 to
// most letters and shows as what it is wherever it is shown: UTF-8, not blank, without
// control characters, line separators, or the marks by which a text reverses the
// order of letters after it (Unicode Standard Annex 9, explicit formatting).
func ValidName(s string, most int) bool {
	return utf8.RuneCountInString(s) <= most && strings.TrimSpace(s) != "" && ShowsAsWritten(s)
}

// ShowsAsWritten reports whether a text shows as what it is, as [ValidName] has it, and on
// one line.
func ShowsAsWritten(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool {
		return unicode.IsControl(r) || unicode.In(r, unicode.Zl, unicode.Zp) || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069'
	})
}
