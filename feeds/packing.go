package feeds

import (
	"net/http"
	"regexp"
	"strings"
)

// mayPack reports whether a page may be compressed. Compressed, the size of a page tells whether
// words in it repeat: who can have a browser ask for a page with words of their choice in it,
// and watch the size of answers, guesses the rest letter by letter, such as the token of the forms, which is
// the same in each answer (BREACH: Gluck, Harris and Prado 2013, from memory). So only those pages are compressed
// that show nothing of what was asked for: read, found, and with no query but one of [harmless]. Were the
// token masked anew in each answer, the private words of a page could still be guessed; this way neither can.
// Nor are the pages of clubs, on which other members choose words: their names, their rules, their reasons.
// The cookie that the token is read from cannot be set by another host, by its prefix __Host-.
func mayPack(r *http.Request, status int) bool {
	if strings.HasPrefix(r.URL.Path, "/clubs/") || status != http.StatusOK || r.Method != http.MethodGet && r.Method != http.MethodHead {
		return false
	}
	return r.URL.RawQuery == "" && !r.URL.ForceQuery || harmless.MatchString(r.URL.RawQuery)
}

// harmless is a query of days and months, and of numbers, which a page shows in words of its own if at all, and of an id of a place,
// by which nothing is found that is not the grower's own.
var harmless = regexp.MustCompile(`^((month|more|on)=[0-9]{4}-[0-9]{2}(-[0-9]{2})?|from=[0-9]{1,4}|place=[A-Za-z0-9_-]{1,64})(&(month|more|on)=[0-9]{4}-[0-9]{2}(-[0-9]{2})?|&place=[A-Za-z0-9_-]{1,64})*$`)
