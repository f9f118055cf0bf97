package process

// InputError says which input cannot be right, why, and what to do instead.
type InputError struct {
	Field  string // name of the input
	Reason string // what is wrong with it
	Hint   string // what to do, may be empty
}

func (e *InputError) Error() string { return e.Reason }

func bad(field, hint, reason string) error {
	return &InputError{Field: field, Reason: reason, Hint: hint}
}
