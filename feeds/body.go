package feeds

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"
)

// body is an answer made once and served many times, plain and compressed. Each
// form has an entity tag of its own, as RFC 9110, 8.8.3 asks. Only the compressed one
// is kept, a twentieth of the other: nearly all who read it take that.
type body struct {
	kind     string // media type
	cache    string // Cache-Control
	packed   []byte // gzip
	tag      string
	packTag  string
	modified time.Time // to the second, UTC; zero: not told
}

func newBody(kind, cache string, plain []byte, modified time.Time) (*body, error) {
	packed, err := pack(plain, gzip.DefaultCompression)
	if err != nil {
		return nil, err
	}
	return keptBody(kind, cache, calendar.Body{Tag: tagOf(plain), Modified: modified, Packed: packed}), nil
}

func tagOf(plain []byte) string {
	h := sha256.Sum256(plain)
	return hex.EncodeToString(h[:12])
}

func pack(plain []byte, level int) ([]byte, error) {
	var z bytes.Buffer
	w, err := gzip.NewWriterLevel(&z, level)
	if err != nil {
		return nil, fmt.Errorf("compress: %w", err)
	}
	if _, err := w.Write(plain); err != nil {
		return nil, fmt.Errorf("compress: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("compress: %w", err)
	}
	return z.Bytes(), nil
}

func unpack(packed []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, fmt.Errorf("what is kept compressed: %w", err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		return nil, fmt.Errorf("what is kept compressed: %w", err)
	}
	return plain, nil
}

// keptBody is a body as it was made before.
func keptBody(kind, cache string, b calendar.Body) *body {
	return &body{
		kind: kind, cache: cache, packed: b.Packed, modified: b.Modified,
		tag: `"` + b.Tag + `"`, packTag: `"` + b.Tag + `-gz"`,
	}
}

// kept is a body as it is kept, under a name.
func (b *body) kept(name string) calendar.Body {
	return calendar.Body{Name: name, Tag: strings.Trim(b.tag, `"`), Modified: b.modified, Packed: b.packed}
}

// ServeHTTP answers GET and HEAD, conditional or not.
func (b *body) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	out, tag := b.packed, b.packTag
	packed := takesGzip(r.Header.Values("Accept-Encoding"))
	if !packed {
		tag = b.tag
	}
	h := w.Header()
	h.Set("Cache-Control", b.cache)
	h.Add("Vary", "Accept-Encoding")
	if !b.modified.IsZero() {
		h.Set("Last-Modified", b.modified.UTC().Format(http.TimeFormat))
	}
	if same := b.unchanged(r, tag); same != "" {
		h.Set("ETag", same)
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if !packed {
		var err error
		if out, err = unpack(b.packed); err != nil {
			http.Error(w, "What is kept here cannot be read. It is made anew tomorrow.", http.StatusInternalServerError)
			return
		}
	}
	h.Set("ETag", tag)
	h.Set("Content-Type", b.kind)
	h.Set("Content-Length", strconv.Itoa(len(out)))
	if packed {
		h.Set("Content-Encoding", "gzip")
	}
	w.WriteHeader(http.StatusOK)
	if r.Method != http.MethodHead {
		_, _ = w.Write(out) // the reader is gone; nothing to do about it
	}
}

// unchanged returns the tag of the form that the reader has already, or nothing
// (RFC 9110, 13.1.2 and 13.1.3). Either form is taken: both say the same.
func (b *body) unchanged(r *http.Request, tag string) string {
	if want := r.Header.Values("If-None-Match"); len(want) > 0 {
		for _, t := range strings.Split(strings.Join(want, ","), ",") {
			switch t = strings.TrimPrefix(strings.TrimSpace(t), "W/"); t {
			case "*":
				return tag
			case b.tag, b.packTag:
				return t
			}
		}
		return ""
	}
	since, err := http.ParseTime(r.Header.Get("If-Modified-Since"))
	if err != nil || b.modified.IsZero() || b.modified.After(since) {
		return ""
	}
	return tag
}

// takesGzip reads Accept-Encoding (RFC 9110, 12.5.3): gzip is sent where it is
// accepted and no less wanted than the plain form.
func takesGzip(values []string) bool {
	pack, plain, any := -1.0, -1.0, -1.0
	for _, item := range strings.Split(strings.Join(values, ","), ",") {
		coding, q, ok := weighed(item)
		if !ok {
			continue
		}
		switch coding {
		case "gzip", "x-gzip":
			pack = q
		case "identity":
			plain = q
		case "*":
			any = q
		}
	}
	if pack < 0 {
		pack = any
	}
	return pack > 0 && pack >= plain
}

// weighed parts an item of an Accept header into its name and weight; without a
// weight it is 1, and one that is no number from 0 to 1 makes the item none.
func weighed(item string) (name string, q float64, ok bool) {
	name, params, _ := strings.Cut(item, ";")
	if name = strings.ToLower(strings.TrimSpace(name)); name == "" {
		return "", 0, false
	}
	q = 1
	for _, p := range strings.Split(params, ";") {
		k, v, _ := strings.Cut(strings.TrimSpace(p), "=")
		if !strings.EqualFold(strings.TrimSpace(k), "q") {
			continue
		}
		f, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
		if err != nil || !(f >= 0 && f <= 1) {
			return "", 0, false
		}
		q = f
	}
	return name, q, true
}
