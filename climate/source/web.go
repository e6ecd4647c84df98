package source

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"budswell/climate"
)

// Web asks web services. Its client bounds how long an answer takes and which hosts are reached.
type Web struct {
	Client *http.Client
	Agent  string // User-Agent: the program, and whom to write to
}

const (
	// maxReason bounds what is read of an answer that is an error.
	maxReason = 4 << 10

	// Bounds of what a provider may ask us to wait.
	shortestWait = time.Minute
	usualWait    = time.Hour
	longestWait  = 7 * 24 * time.Hour

	// longestExpiry bounds how long an answer is taken to be good, so that a
	// wrong clock somewhere does not stop the weather.
	longestExpiry = 48 * time.Hour
)

// reply is an answer with its body read whole.
type reply struct {
	body     []byte
	modified string
	expires  time.Time
	same     bool // 304
	notes    []string
}

// get asks for an address and takes an answer of one of the media types, of most
// bytes unpacked. modified is a Last-Modified of an answer that is kept.
func (w Web) get(ctx context.Context, address string, now time.Time, modified string, most int64, kinds ...string) (*reply, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, &climate.Refused{Why: fmt.Sprintf("address: %v", err)}
	}
	host := request.URL.Host
	request.Header.Set("User-Agent", w.Agent)
	request.Header.Set("Accept", strings.Join(kinds, ", "))
	if modified != "" {
		request.Header.Set("If-Modified-Since", modified)
	}
	answer, err := w.Client.Do(request)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", host, withoutAddress(err))
	}
	defer func() { _ = answer.Body.Close() }() // what was read of it is all that counts
	r := &reply{modified: answer.Header.Get("Last-Modified"), expires: expiry(answer.Header, now)}
	switch code := answer.StatusCode; {
	case code == http.StatusNotModified && modified != "":
		r.same, r.modified = true, modified
		return r, nil
	case code == http.StatusTooManyRequests || code == http.StatusServiceUnavailable:
		return nil, &climate.Later{Until: now.Add(wait(answer.Header.Get("Retry-After"), now)), Why: host + " answers " + answer.Status}
	case code == http.StatusNonAuthoritativeInfo:
		r.notes = append(r.notes, host+" answers 203: this version of its service is about to end")
	case code >= 400 && code < 500:
		return nil, &climate.Refused{Why: host + " answers " + answer.Status + reason(answer)}
	case code != http.StatusOK:
		return nil, fmt.Errorf("%s answers %s", host, answer.Status)
	}
	kind, _, err := mime.ParseMediaType(answer.Header.Get("Content-Type"))
	if err != nil || !slices.Contains(kinds, kind) {
		return nil, fmt.Errorf("%s answers with media type %.60q: want %s", host, answer.Header.Get("Content-Type"), strings.Join(kinds, " or "))
	}
	// The transport has unpacked the body by now, so that this bounds a bomb too.
	if r.body, err = io.ReadAll(io.LimitReader(answer.Body, most+1)); err != nil {
		return nil, fmt.Errorf("%s: the answer breaks off: %w", host, withoutAddress(err))
	}
	if int64(len(r.body)) > most {
		return nil, fmt.Errorf("%s answers with more than %d MB", host, most>>20)
	}
	return r, nil
}

// withoutAddress takes the address out of an error: it tells where the place is.
func withoutAddress(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// reason returns what a service says of an error in JSON, printable and short.
func reason(answer *http.Response) string {
	if kind, _, _ := mime.ParseMediaType(answer.Header.Get("Content-Type")); kind != "application/json" {
		return ""
	}
	var said struct {
		Reason string `json:"reason"`
	}
	body, err := io.ReadAll(io.LimitReader(answer.Body, maxReason))
	if err != nil || strict(body, &said) != nil || said.Reason == "" {
		return ""
	}
	text := strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, said.Reason)
	return fmt.Sprintf(": %.200s", text)
}

// wait reads Retry-After (RFC 9110, 10.2.3): seconds, or a time.
func wait(text string, now time.Time) time.Duration {
	d := usualWait
	if s, err := strconv.ParseInt(strings.TrimSpace(text), 10, 32); err == nil {
		d = time.Duration(s) * time.Second
	} else if at, err := http.ParseTime(text); err == nil {
		d = at.Sub(now)
	}
	return max(shortestWait, min(d, longestWait))
}

// expiry reads Expires; zero where there is none that lies ahead.
func expiry(h http.Header, now time.Time) time.Time {
	at, err := http.ParseTime(h.Get("Expires"))
	if err != nil || !at.After(now) {
		return time.Time{}
	}
	if most := now.Add(longestExpiry); at.After(most) {
		return most
	}
	return at.UTC()
}

// unpacked takes gzip off data that has it, up to [MaxSize].
func unpacked(name string, data []byte) ([]byte, error) {
	if !bytes.HasPrefix(data, []byte{0x1f, 0x8b}) {
		return data, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	out, err := io.ReadAll(io.LimitReader(z, MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("%s: gzip: %w: is the file cut off?", name, err)
	}
	if len(out) > MaxSize {
		return nil, &Error{File: name, Want: fmt.Sprintf("at most %d MB unpacked", MaxSize>>20)}
	}
	return out, nil
}
