package power

import (
	"math"
	"slices"
)

// Run says when a load runs.
type Run uint8

// When a load runs.
const (
	Always  Run = iota
	ByClock     // between two hours of the day
	BySun       // while the panel's plane gets more than a threshold
)

// Load is one thing that draws power.
type Load struct {
	Name     string
	PowerW   float64 // while it runs [W]
	Duty     float64 // share of its time that it runs, as a timer's 15 minutes of the hour; 0 is taken as 1 [1]
	When     Run
	FromH    float64 // for ByClock, hour of the day; the span may pass midnight [h]
	ToH      float64 // for ByClock [h]
	AboveWM2 float64 // for BySun, on the plane of the panel [W/m²]
}

// EnergyWh returns what a load wants in the hour that begins at hourOfDay [h],
// with planeWM2 [W/m²] on the panel [Wh].
func (l *Load) EnergyWh(hourOfDay int, planeWM2 float64) float64 {
	duty := l.Duty
	if duty <= 0 {
		duty = 1
	}
	switch l.When {
	case ByClock:
		return l.PowerW * duty * overlap(float64(hourOfDay), l.FromH, l.ToH)
	case BySun:
		if planeWM2 > l.AboveWM2 {
			return l.PowerW * duty
		}
		return 0
	}
	return l.PowerW * duty
}

// DayWh returns what a load wants in a day with sunHours [h] of hours above its
// threshold [Wh].
func (l *Load) DayWh(sunHours float64) float64 {
	if l.When == BySun {
		duty := l.Duty
		if duty <= 0 {
			duty = 1
		}
		return l.PowerW * duty * sunHours
	}
	sum := 0.0
	for h := range 24 {
		sum += l.EnergyWh(h, 0)
	}
	return sum
}

// overlap is the share of the hour from h to h+1 that lies within from to to,
// hours of the day, the span perhaps through midnight. Equal ends are no time.
func overlap(h, from, to float64) float64 {
	part := func(a, b float64) float64 { return max(min(b, h+1)-max(a, h), 0) }
	if to >= from {
		return part(from, to)
	}
	return part(from, 24) + part(0, to)
}

// SunThreshold returns the radiation on the plane [W/m²] above which a load must
// run by the sun to run wantedH [h] in a mean day of these hours. Special case:
// 0 where there is not that much light.
func SunThreshold(hours []Hour, wantedH float64) float64 {
	days, last := 0, -1
	lit := make([]float64, 0, len(hours)/2)
	for i := range hours {
		if hours[i].YearDay != last {
			days, last = days+1, hours[i].YearDay
		}
		if hours[i].PlaneWM2 > 0 {
			lit = append(lit, hours[i].PlaneWM2)
		}
	}
	want := int(math.Round(wantedH * float64(days)))
	if want <= 0 {
		return math.Inf(1)
	}
	if want >= len(lit) {
		return 0
	}
	slices.Sort(lit)
	return lit[len(lit)-want-1]
}
