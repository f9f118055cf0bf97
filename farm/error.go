package farm

import (
	"errors"
	"fmt"
)

// Code is one of the closed list of ways in which something can fail. Anything
// that is not one of the first four is Internal: logged in full, shown as one
// calm sentence.
type Code string

// The closed list of codes.
const (
	Invalid  Code = "invalid"   // what was given cannot be taken: a person can put it right
	NotFound Code = "not_found" // what was named is not there
	Conflict Code = "conflict"  // what was given stands against what is there already
	Denied   Code = "denied"    // this person may not do that
	Internal Code = "internal"  // our own fault, or the machine's
)

// Error is a failure that can be shown to a person. Message is lower case, its
// subject first; Field names the input it speaks of ("body.ph"); Hint, if any,
// says what to do next.
type Error struct {
	Code    Code   `json:"code"`
	Field   string `json:"field,omitempty"`
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

// Error returns the message alone: the field stands in it already.
func (e *Error) Error() string { return e.Message }

// CodeOf returns the code that err carries, Internal for an error that carries
// none and "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// invalid returns an Error of code Invalid.
func invalid(field, format string, args ...any) *Error {
	return &Error{Code: Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// hint returns e with a hint added.
func (e *Error) hint(format string, args ...any) *Error {
	e.Hint = fmt.Sprintf(format, args...)
	return e
}
