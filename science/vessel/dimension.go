package vessel

import (
	"fmt"
	"math"
)

// DimensionError tells which dimension of a vessel cannot be, and why.
type DimensionError struct {
	Field  string  // name of the dimension, with its unit
	Value  float64 // what was given, in the unit of Field [1]
	Reason string  // what is wrong with it
	Hint   string  // what to do about it, may be empty
}

// Error tells the field, the value and the reason in one line.
func (e *DimensionError) Error() string {
	return fmt.Sprintf("%s %s, not %.6g", e.Field, e.Reason, e.Value)
}

// largestM bounds each dimension [m]: nobody scoops a pond of ten kilometres,
// and a slip of the unit (cm taken for m) shows at once.
const largestM = 10000

// check collects the first impossible dimension.
type check struct{ err error }

func (c *check) refuse(field string, value float64, reason, hint string) {
	if c.err == nil {
		c.err = &DimensionError{Field: field, Value: value, Reason: reason, Hint: hint}
	}
}

// positive refuses a dimension that is not above 0 and finite.
func (c *check) positive(field string, value float64) {
	switch {
	case !(value > 0):
		c.refuse(field, value, "must be greater than 0", "")
	case math.IsInf(value, 1) || value > largestM:
		c.refuse(field, value, fmt.Sprintf("must be at most %d", largestM), "look at the unit: it is in metres")
	}
}

// notNegative refuses a dimension that is below 0 or not finite.
func (c *check) notNegative(field string, value float64) {
	switch {
	case !(value >= 0):
		c.refuse(field, value, "must not be negative", "")
	case math.IsInf(value, 1) || value > largestM:
		c.refuse(field, value, fmt.Sprintf("must be at most %d", largestM), "look at the unit: it is in metres")
	}
}

// below refuses a value that does not stay under a limit.
func (c *check) below(field string, value float64, limitField string, limit float64) {
	if c.err == nil && !(value < limit) {
		c.refuse(field, value, fmt.Sprintf("must be less than %s (%.6g)", limitField, limit), "")
	}
}

// atMost refuses a value above a limit.
func (c *check) atMost(field string, value float64, limitField string, limit float64) {
	if c.err == nil && !(value <= limit) {
		c.refuse(field, value, fmt.Sprintf("must not be greater than %s (%.6g)", limitField, limit), "")
	}
}
