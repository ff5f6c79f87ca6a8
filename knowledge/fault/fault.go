// Package fault holds the kinds of refusal a member can be given. It knows nothing of what is refused.
package fault

import (
	"errors"
	"fmt"
)

// Kind says, from the asker's side, why a request was refused.
type Kind string

// The six kinds. Internal is whatever is not a *Error.
const (
	Unclear  Kind = "unclear"  // the request could not be understood
	Missing  Kind = "missing"  // what it names does not exist
	Taken    Kind = "taken"    // it clashes with what exists
	Barred   Kind = "barred"   // the asker may not do this
	Later    Kind = "later"    // not now; the same request may work later
	Internal Kind = "internal" // our own failure
)

// Error is a refusal: one full sentence that names the next step, and a cause for the log alone.
type Error struct {
	Kind  Kind
	Text  string
	Cause error
}

// New makes a refusal. The text is shown to the member as it is.
func New(kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Text: fmt.Sprintf(format, args...)}
}

// Because attaches the cause, which is logged and never shown.
func (e *Error) Because(cause error) *Error {
	e.Cause = cause
	return e
}

func (e *Error) Error() string {
	if e.Cause != nil {
		return e.Text + " (" + e.Cause.Error() + ")"
	}
	return e.Text
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// KindOf gives the kind of the first *Error in err's chain; Internal where there is none, "" for nil.
func KindOf(err error) Kind {
	if err == nil {
		return ""
	}
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}
