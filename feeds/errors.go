package feeds

import (
	"context"
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
)

// refusal is an error whose words are for the person who asked.
type refusal struct {
	kind  error // of calendar's kinds of error
	words string
}

func (e *refusal) Error() string { return e.words }
func (e *refusal) Unwrap() error { return e.kind }

func refuse(kind error, words string) error { return &refusal{kind, words} }

// answers is what each kind of error is told as.
var answers = []struct {
	kind   error
	status int
	words  string
}{
	{calendar.ErrNotFound, http.StatusNotFound, "There is nothing at this address. Links are case-sensitive and long: copy the whole of it."},
	{calendar.ErrGone, http.StatusGone, "This link was withdrawn. Ask for a new one, or make one on your page."},
	{calendar.ErrInvalid, http.StatusUnprocessableEntity, "What was sent cannot be taken as it is."},
	{calendar.ErrConflict, http.StatusConflict, "That is there already."},
	{errWait, http.StatusTooManyRequests, "Too many tries that failed. Wait a little, and try again."},
	{context.DeadlineExceeded, http.StatusServiceUnavailable, "This took too long. Try again in a minute."},
	{context.Canceled, http.StatusServiceUnavailable, "The request was given up."},
}

// answer returns the status of an error and what a person reads. The cause of an
// unknown error is for the log only.
func answer(err error) (status int, words string) {
	for _, a := range answers {
		if !errors.Is(err, a.kind) {
			continue
		}
		if r, ok := errors.AsType[*refusal](err); ok {
			return a.status, r.words
		}
		return a.status, a.words
	}
	if h, ok := errors.AsType[*echo.HTTPError](err); ok {
		switch h.Code {
		case http.StatusNotFound:
			return h.Code, answers[0].words
		case http.StatusForbidden:
			return h.Code, "This form is too old, or was not sent from this site. Go back, load the page again, and send it once more."
		case http.StatusBadRequest:
			return h.Code, "The form is not complete. Load the page again, and send it once more."
		case http.StatusRequestEntityTooLarge:
			return h.Code, "That is more than this form takes."
		}
		return h.Code, http.StatusText(h.Code) + "."
	}
	return http.StatusInternalServerError, "Something went wrong here, and it is not your fault. It was written down; try again later."
}
