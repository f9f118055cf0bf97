package keeper

import (
	"math"
	"slices"
	"time"

	"sodalake/farm"
)

// An own rule is read from the harvests of so many days, and from no fewer than
// so many of them.
const (
	ownDays  = 60
	ownLeast = 3
)

// ownRule reads from the journal what somebody usually takes and how dense the
// vessel then stood: the medians of the harvests of the last two months whose
// volume was noted.
func ownRule(p *farm.Present, tracks map[string]*track, at time.Time) (PlanRule, bool) {
	var shares, densities []float64
	for _, id := range sortedIDs(tracks) {
		t := tracks[id]
		if t.spec.Use == "reserve" || t.spec.Use == "starter" || t.spec.Retired {
			continue
		}
		for _, e := range p.Timeline(id, at.AddDate(0, 0, -ownDays), at) {
			if e.Kind.Name != "harvested" {
				continue
			}
			litres, told := e.Body.Number("volume_l")
			level, ok := midBefore(&t.past, LevelCM, e.Entry.At)
			density, ok2 := midBefore(&t.past, DensityGPerL, e.Entry.At)
			if !told || !ok || !ok2 {
				continue
			}
			if volume := t.base.Shape.VolumeL(level/100) * t.n; volume > 0 {
				shares, densities = append(shares, math.Min(litres/volume, 0.95)), append(densities, density)
			}
		}
	}
	if len(shares) < ownLeast {
		return PlanRule{}, false
	}
	return PlanRule{Rule: "own", Share: median(shares), AboveGL: median(densities), Seen: len(shares)}, true
}

// midBefore is what a quantity was last taken for before a moment.
func midBefore(p *past, q Quantity, t time.Time) (float64, bool) {
	i, _ := slices.BinarySearchFunc(p.times, t, func(a, b time.Time) int { return a.Compare(b) })
	if i == 0 || len(p.bands[q]) != len(p.times) || t.Sub(p.times[i-1]) > 12*time.Hour {
		return 0, false
	}
	return p.bands[q][i-1].Mid, true
}

func median(x []float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return x[len(x)/2]
}
