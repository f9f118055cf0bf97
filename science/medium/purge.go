package medium

import "math"

// Creep is a water whose salt, or one element of it, piles up.
type Creep struct {
	Now      float64 // content now, in any unit that is also that of Limit and Fill [any]
	Limit    float64 // content that is not to be passed [any]
	TopUp    float64 // content of the water that makes up what evaporates [any]
	Fill     float64 // content of what replaces a purge: fresh medium, or water [any]
	Fed      float64 // what a day's feed adds to a litre [any/d]
	VolumeL  float64 // [L]
	LostLD   float64 // evaporated in a day [L/d]
	CarriedD float64 // leaves with the harvest in a day, replaced like the purge [L/d]
}

// RatePerDay returns by how much the content rises in a day [any/d]:
//
//	dC/dt = E c/V + f − H (C − c_fill)/V
func (c *Creep) RatePerDay() float64 {
	return (c.LostLD*c.TopUp-c.CarriedD*(c.Now-c.Fill))/c.VolumeL + c.Fed
}

// Days returns for how long the content stays under its limit without a purge
// [d].
//
// Special cases: 0 where it is over it, +Inf where it never gets there.
func (c *Creep) Days() float64 {
	if c.Now >= c.Limit {
		return 0
	}
	in := c.LostLD*c.TopUp/c.VolumeL + c.Fed
	out := c.CarriedD / c.VolumeL     // [1/d]
	left := in - out*(c.Limit-c.Fill) // what still rises at the limit
	if left <= 0 {
		return math.Inf(1)
	}
	days := (c.Limit - c.Now) / left
	if x := days * out; x > 1e-12 {
		return math.Log1p(x) / out
	}
	return days
}

// Once returns the litres to draw off and replace to bring the content down to
// target [any] at one go [L]:
//
//	V_out = V (C − target)/(C − c_fill)
//
// Special cases: 0 where it is there already, NaN where what fills up holds as
// much as the target.
func (c *Creep) Once(target float64) float64 {
	if c.Now <= target {
		return 0
	}
	if c.Fill >= target {
		return nan
	}
	return c.VolumeL * (c.Now - target) / (c.Now - c.Fill)
}

// InParts returns the litres of each of n equal draws that together bring the
// content down to target [any], filled up and stirred after each [L]:
//
//	v = V (1 − ((target − c_fill)/(C − c_fill))^(1/n))
//
// Special cases: as Once.
func (c *Creep) InParts(target float64, n int) float64 {
	if c.Now <= target || n < 1 {
		return 0
	}
	if c.Fill >= target {
		return nan
	}
	return c.VolumeL * (1 - math.Pow((target-c.Fill)/(c.Now-c.Fill), 1/float64(n)))
}

// Steady returns the litres to draw off and replace each day so that the content
// stays at its limit for good [L/d]:
//
//	P = (E c + f V)/(limit − c_fill) − H
//
// Special cases: 0 where nothing piles up, NaN where what fills up holds as much
// as the limit.
func (c *Creep) Steady() float64 {
	in := c.LostLD*c.TopUp + c.Fed*c.VolumeL
	if in <= 0 {
		return 0
	}
	if c.Fill >= c.Limit {
		return nan
	}
	return math.Max(0, in/(c.Limit-c.Fill)-c.CarriedD)
}
