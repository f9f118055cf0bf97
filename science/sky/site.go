package sky

import (
	"fmt"
	"math"
)

// Site is a place on the earth.
type Site struct {
	LatDeg     float64 // geographic latitude, north positive [°]
	LonDeg     float64 // longitude, east positive [°]
	ElevationM float64 // height above the sea [m]
}

// InputError says which input cannot be used and why.
type InputError struct {
	Field string // name of the input as the outside knows it
	Why   string // what is wrong with it
	Hint  string // what to do next, may be empty
}

func (e *InputError) Error() string { return e.Field + ": " + e.Why }

// Check returns an *InputError for coordinates that are no place on the earth,
// or lie outside the heights that the formulas hold for.
func (s Site) Check() error {
	for _, r := range []struct {
		field  string
		got    float64
		lo, hi float64
	}{
		{"lat_deg", s.LatDeg, -90, 90},
		{"lon_deg", s.LonDeg, -360, 360},
		{"elevation_m", s.ElevationM, -500, 9000},
	} {
		if !(r.got >= r.lo && r.got <= r.hi) {
			return &InputError{Field: r.field, Why: fmt.Sprintf("must lie between %g and %g, got %g", r.lo, r.hi, r.got)}
		}
	}
	return nil
}

func sinDeg(d float64) float64 { return math.Sin(d * (math.Pi / 180)) }
func cosDeg(d float64) float64 { return math.Cos(d * (math.Pi / 180)) }
func tanDeg(d float64) float64 { return math.Tan(d * (math.Pi / 180)) }
func toDeg(r float64) float64  { return r * (180 / math.Pi) }

// turn brings an angle [°] into 0…360.
func turn(d float64) float64 {
	d = math.Mod(d, 360)
	if d < 0 {
		d += 360
	}
	return d
}

// halfTurn brings an angle [°] into −180…180.
func halfTurn(d float64) float64 {
	d = turn(d)
	if d > 180 {
		d -= 360
	}
	return d
}

func clamp(x, lo, hi float64) float64 { return math.Min(math.Max(x, lo), hi) }
