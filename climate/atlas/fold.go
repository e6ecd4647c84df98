package atlas

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// folded turns a name into the letters that people type for it: small, without
// diacritics, apostrophes left out, and one blank for all else that is not a letter or a number.
func folded(name string) string {
	var b strings.Builder
	b.Grow(len(name))
	gap := false
	put := func(s string) {
		if gap && b.Len() > 0 {
			b.WriteByte(' ')
		}
		gap = false
		b.WriteString(s)
	}
	if !ascii(name) {
		name = norm.NFKD.String(strings.ToValidUTF8(name, " "))
	}
	for _, c := range name {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
			put(string(c))
		case c >= 'A' && c <= 'Z':
			put(string(c + 'a' - 'A'))
		case unicode.Is(unicode.Mn, c), apostrophe(c):
		case unicode.IsLetter(c), unicode.IsDigit(c):
			c = unicode.ToLower(c)
			if s, ok := plain[c]; ok {
				put(s)
			} else {
				put(string(c))
			}
		default:
			gap = true
		}
	}
	return b.String()
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

// apostrophe reports what stands for a glottal stop or an elision, in the many ways
// in which romanised names write it.
func apostrophe(c rune) bool { return strings.ContainsRune("'`´ʹʻʼʽʾʿˈ‘’‛′", c) }

// plain are letters that keep their form when diacritics go.
var plain = map[rune]string{
	'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'đ': "d", 'ð': "d", 'þ': "th", 'ł': "l", 'ħ': "h",
	'ı': "i", 'ŋ': "n", 'ŧ': "t", 'ə': "a", 'ƙ': "k", 'ɗ': "d", 'ɓ': "b",
}
