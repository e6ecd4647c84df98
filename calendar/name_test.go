package calendar

import (
	"strings"
	"testing"
)

func TestValidName(t *testing.T) {
	for _, s := range []string{"ridge maple", "old pine <b>", "黒松", "صنوبر 3", "x", "a\u200db", strings.Repeat("ä", 20)} {
		if !ValidName(s, 20) {
			t.Errorf("%q is no name", s)
		}
	}
	for _, s := range []string{"", " \u00a0", "a\nb", "a\r\nEND:VEVENT", "a\x00b", "a\x1b[31mb", "a\u0085b", "a\u2028b", "a\u202egnp.exe", "\u2066a\u2069", "a\xff", strings.Repeat("ä", 21)} {
		if ValidName(s, 20) {
			t.Errorf("%q is a name", s)
		}
	}
}
