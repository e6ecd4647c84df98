package nudge

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/feeds/outward"
)

// messageVersion is the version of the form in which nudges are posted.
const messageVersion = 1

// messageJSON is what is posted to a webhook. Fields are only ever added within
// a version; a receiver leaves alone what it does not know.
type messageJSON struct {
	Version int        `json:"version"`
	ID      string     `json:"id"`   // of the nudge; the same by every channel
	Kind    string     `json:"kind"` // see Kinds; "several" holds more than one
	Urgent  bool       `json:"urgent"`
	Decided time.Time  `json:"decided"`
	Expires *time.Time `json:"expires"` // null: never
	Title   string     `json:"title"`
	Text    string     `json:"text"`  // as in the mail, without links
	About   []string   `json:"about"` // what it tells; each is told once
	Links   []linkJSON `json:"links"` // never null
	Page    string     `json:"page"`
}

// linkJSON is a link that logs something: GET shows what, POST does it.
type linkJSON struct {
	Does    string    `json:"does"` // "did:" with a work, "saw:" or "not-yet:" with a phase
	Label   string    `json:"label"`
	URL     string    `json:"url"`
	Trees   []string  `json:"trees"` // ids
	Expires time.Time `json:"expires"`
}

func linksJSON(links []calendar.Link, base string) []linkJSON {
	out := []linkJSON{}
	for _, l := range links {
		out = append(out, linkJSON{l.Does, clean(l.Label), actLink(base, l), l.Trees, l.Expires.UTC()})
	}
	return out
}

// messageOf writes a nudge as JSON. The same nudge gives the same bytes.
func messageOf(n *calendar.Nudge, base string) ([]byte, error) {
	log, _ := acting(n.Links)
	m := messageJSON{
		Version: messageVersion, ID: n.ID, Kind: n.Kind, Urgent: n.Urgent, Decided: n.Decided.UTC(),
		Title: n.Title, Text: n.Body, About: n.Subjects, Links: linksJSON(log, base), Page: base + "/",
	}
	if !n.Expires.IsZero() {
		at := n.Expires.UTC()
		m.Expires = &at
	}
	return json.Marshal(m)
}

const (
	secretPrefix = "whsec_"
	secretSize   = 32 // bytes; the specification asks for 24 to 64

	// postTime bounds one request to a webhook with its answer.
	postTime = 15 * time.Second

	// answerSize is how much of an answer is read.
	answerSize = 64 << 10

	// hookLease is how long the claim of a webhook's delivery holds.
	hookLease = postTime + time.Minute
)

// NewWebhookSecret draws the secret of a webhook, in the form of the Standard
// Webhooks specification: "whsec_" and the key in base 64.
func NewWebhookSecret(random io.Reader) (string, error) {
	key := make([]byte, secretSize)
	if _, err := io.ReadFull(random, key); err != nil {
		return "", fmt.Errorf("draw the secret of a webhook: %w", err)
	}
	return secretPrefix + base64.StdEncoding.EncodeToString(key), nil
}

// signature signs a message as the Standard Webhooks specification (version 1,
// symmetric) does: HMAC-SHA256 over id, time in seconds, and body, with dots between.
func signature(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(secret, secretPrefix))
	if err != nil {
		return "", errors.New("the webhook's secret is not in base 64")
	}
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "%s.%d.", id, at.Unix())
	mac.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}

// ended is that a webhook's receiver wants no more.
type ended struct{ error }

// answered is that a receiver answered, and took nothing.
type answered struct{ error }

// hook finds the webhook that a delivery is for.
func (s *Sender) hook(ctx context.Context, c *calendar.Claimed) (calendar.Webhook, error) {
	hook, err := s.store.Webhook(ctx, c.Grower, c.Delivery.To)
	switch {
	case errors.Is(err, calendar.ErrNotFound):
		return hook, refused{errors.New("the webhook is not there any more")}
	case err == nil && !hook.Ended.IsZero():
		return hook, refused{errors.New("the webhook was ended")}
	}
	return hook, err
}

// post hands a delivery to a webhook. A nil error says that it was taken.
func (s *Sender) post(ctx context.Context, c *calendar.Claimed, hook calendar.Webhook) error {
	body, err := messageOf(&c.Nudge, s.base)
	if err != nil {
		return refused{err}
	}
	now := s.now()
	signed, err := signature(hook.Secret, c.Delivery.ID, now, body)
	if err != nil {
		return refused{err}
	}
	ctx, cancel := context.WithTimeout(ctx, postTime)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, hook.URL, bytes.NewReader(body))
	if err != nil {
		return refused{errors.New("the webhook's address is not one")}
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "budswell")
	req.Header.Set("Webhook-Id", c.Delivery.ID)
	req.Header.Set("Webhook-Timestamp", strconv.FormatInt(now.Unix(), 10))
	req.Header.Set("Webhook-Signature", signed)
	answer, err := s.hooks.Do(req)
	if err != nil {
		// The address may hold a secret of the receiver's and is not repeated.
		if u, ok := errors.AsType[*url.Error](err); ok {
			err = u.Err
		}
		if errors.Is(err, outward.ErrRefused) {
			return refused{err}
		}
		return err
	}
	defer func() { _ = answer.Body.Close() }()
	// The rest is read so that the connection can serve again; what it says does
	// not matter, and neither does that it breaks off.
	_, _ = io.CopyN(io.Discard, answer.Body, answerSize)
	switch {
	case answer.StatusCode >= 200 && answer.StatusCode < 300:
		return nil
	case answer.StatusCode == http.StatusGone:
		return refused{ended{errors.New("the receiver answered 410: it wants no more")}}
	}
	return answered{fmt.Errorf("the receiver answered %d", answer.StatusCode)}
}
