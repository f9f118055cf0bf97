package units

import "fmt"

// Error says what of a text was not understood. It is an ordinary answer to
// ordinary typing: nothing changed, and Hint says what to write instead.
type Error struct {
	Kind    Kind     // what was looked for
	Text    string   // the whole text as given
	Part    string   // the part that was not understood, or Text
	Key     string   // names the trouble for a catalogue: "unknown_unit", "ask_ounce"
	Message string   // the trouble in one sentence, lower case, no full stop
	Hint    string   // what to write instead; may be empty
	Choices []string // where the text has several meanings: texts that have one each
}

// Error returns the kind and the message.
func (e *Error) Error() string { return e.Kind.String() + ": " + e.Message }

// Asks reports whether the text was understood but has more than one meaning.
func (e *Error) Asks() bool { return len(e.Choices) > 0 }

func fault(k Kind, text, part, key, hint, format string, args ...any) *Error {
	return &Error{Kind: k, Text: text, Part: part, Key: key, Hint: hint, Message: fmt.Sprintf(format, args...)}
}

// Note tells a decision that Parse took for the writer.
type Note struct {
	Key  string `json:"key"`  // for a catalogue: "us_cup"
	Text string `json:"text"` // in plain English: "US cup, 236.6 mL"
}
