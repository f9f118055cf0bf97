package sky

import (
	"fmt"
	"math"
)

// Ridge is one point of a skyline: how high the trees, hills or houses stand in
// one direction.
type Ridge struct {
	AzimuthDeg   float64 // direction from north, clockwise [°]
	ElevationDeg float64 // height above the horizontal [°]
}

// Skyline is what surrounds a place, as points in order of azimuth; between two
// points it runs straight, and from the last one on to the first.
type Skyline []Ridge

// Check returns an *InputError unless the points are in order, with azimuths in
// 0…360 and heights in 0…90.
func (k Skyline) Check() error {
	for i, r := range k {
		if !(r.AzimuthDeg >= 0 && r.AzimuthDeg <= 360) {
			return &InputError{Field: fmt.Sprintf("skyline[%d].azimuth_deg", i), Why: fmt.Sprintf("must lie between 0 and 360, got %g", r.AzimuthDeg)}
		}
		if !(r.ElevationDeg >= 0 && r.ElevationDeg <= 90) {
			return &InputError{Field: fmt.Sprintf("skyline[%d].elevation_deg", i), Why: fmt.Sprintf("must lie between 0 and 90, got %g", r.ElevationDeg)}
		}
		if i > 0 && !(r.AzimuthDeg > k[i-1].AzimuthDeg) {
			return &InputError{Field: fmt.Sprintf("skyline[%d].azimuth_deg", i), Why: "must be larger than the one before", Hint: "give the points clockwise from north"}
		}
	}
	return nil
}

// Height returns the height of the skyline in a direction [°], where azimuthDeg
// is from north, clockwise [°]. Special case: 0 for an empty skyline.
func (k Skyline) Height(azimuthDeg float64) float64 {
	n := len(k)
	if n == 0 {
		return 0
	}
	az := turn(azimuthDeg)
	i := 0 // the first point beyond az
	for i < n && k[i].AzimuthDeg <= az {
		i++
	}
	a, b := k[(i+n-1)%n], k[i%n]
	span := turn(b.AzimuthDeg - a.AzimuthDeg)
	if span <= 0 { // one point only, or the first at 0 and the last at 360
		return a.ElevationDeg
	}
	return a.ElevationDeg + (b.ElevationDeg-a.ElevationDeg)*turn(az-a.AzimuthDeg)/span
}

// Open returns the share of an evenly bright sky's light that reaches a level
// surface over the skyline [1]:
//
//	1/2π ∫ cos² h(φ) dφ
//
// Source: from the cosine law of a level surface; at a constant height it is
// cos² h (dozierfrew1990, Dozier & Frew 1990, IEEE Trans. Geosci. Remote Sens. 28:963).
func (k Skyline) Open() float64 {
	if len(k) == 0 {
		return 1
	}
	const n = 720
	sum := 0.0
	for i := range n {
		c := cosDeg(k.Height((float64(i) + 0.5) * 360 / n))
		sum += c * c
	}
	return math.Min(1, sum/n)
}
