package calendar

import "errors"

// Kinds of error that a caller acts on; test for them with errors.Is. Anything
// else is a fault of the program or of what it runs on.
var (
	ErrNotFound = errors.New("not found")
	ErrConflict = errors.New("already there")
	ErrInvalid  = errors.New("not valid")
	ErrGone     = errors.New("withdrawn") // was there and has been revoked
)
