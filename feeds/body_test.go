package feeds

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// FuzzConditions sends any header values: an answer is 200 with the whole body
// or 304 with none, and always has its tag.
func FuzzConditions(f *testing.F) {
	for _, s := range []string{"", "*", "gzip", "gzip;q=0, *;q=1", `W/"a", "b"`, ";;q=;,", "Mon, 01 Mar 2027 06:00:00 GMT", "gzip;q=NaN", "gzip;q=1e400"} {
		f.Add(s, s, s)
	}
	b, err := newBody("text/plain", "private", []byte("what is served"), time.Date(2027, time.March, 1, 6, 0, 0, 0, time.UTC))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, accept, tags, since string) {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Header["Accept-Encoding"] = []string{accept}
		if tags != "" {
			r.Header["If-None-Match"] = []string{tags}
		}
		r.Header["If-Modified-Since"] = []string{since}
		w := httptest.NewRecorder()
		b.ServeHTTP(w, r)
		whole := map[string]string{"": "what is served", "gzip": string(b.packed)}[w.Header().Get("Content-Encoding")]
		switch {
		case w.Code == http.StatusNotModified && w.Body.Len() == 0:
		case w.Code == http.StatusOK && w.Body.String() == whole:
		default:
			t.Errorf("accept %q, tags %q, since %q: %d with %d octets", accept, tags, since, w.Code, w.Body.Len())
		}
		if tag := w.Header().Get("ETag"); tag != b.tag && tag != b.packTag {
			t.Errorf("tag %q is none of ours", tag)
		}
		if tags == b.tag && w.Code == http.StatusOK {
			t.Error("sent again to whoever has it")
		}
	})
}

func BenchmarkUnchangedFeed(b *testing.B) {
	body, err := newBody(calendarKind, "private", []byte(strings.Repeat("x", 120_000)), time.Now())
	if err != nil {
		b.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.Header.Set("If-None-Match", body.tag)
	for b.Loop() {
		body.ServeHTTP(httptest.NewRecorder(), r)
	}
}
