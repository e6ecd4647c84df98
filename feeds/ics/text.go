package ics

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Longest texts, in runes: programs that show calendars cut or stumble above.
const (
	longestLine = 160
	longestText = 6000
)

// Text that real readers agree on holds no backslash (two of three misread an
// escaped one before n or a comma), no leading or trailing blank (one strips it)
// and is never empty (one drops it). RFC 5545, 3.3.11 forbids control
// characters other than tab.

// line returns s as one line of such text, or instead where nothing is left.
func line(s, instead string) string {
	s = cut(strings.Join(strings.Fields(text(s)), " "), longestLine)
	if !strings.ContainsFunc(s, shows) {
		return instead
	}
	return s
}

var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n", "\u2029", "\n", "\t", " ", `\`, "/")

// text cleans s and keeps its line ends, as LF.
func text(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = lineEnds.Replace(s)
	s = strings.Map(func(r rune) rune {
		if r >= ' ' && r < 0x7F || r == '\n' || unicode.IsGraphic(r) || joins(r) {
			return r
		}
		return -1
	}, s)
	return strings.TrimSpace(cut(strings.TrimSpace(s), longestText))
}

// joins reports whether r is one of the format characters that scripts and
// emoji need: zero-width joiners and the two direction marks. Overrides and
// isolates, which can make a text show as another, are not.
func joins(r rune) bool { return r >= '\u200C' && r <= '\u200F' }

func shows(r rune) bool { return unicode.IsGraphic(r) && !unicode.IsSpace(r) }

// cut shortens s to at most n runes and marks that it did.
func cut(s string, n int) string {
	if len(s) <= n || utf8.RuneCountInString(s) <= n {
		return s
	}
	return strings.TrimSpace(string([]rune(s)[:n-1])) + "…"
}
