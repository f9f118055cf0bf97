package keeper

import (
	"math"

	"sodalake/science/growth"
	"sodalake/science/twin"
)

// shortNames are the nutrients of growth as limits are named.
var shortNames = [growth.Iron + 1]string{
	growth.None: "nutrients", growth.Nitrogen: "nitrogen", growth.Phosphorus: "phosphorus", growth.Potassium: "potassium",
	growth.Magnesium: "magnesium", growth.Sulphur: "sulfur", growth.Iron: "iron",
}

// limits turns the shares that stand into shares of what is missing, by their
// logarithms, which add up. What the nutrients hold back is divided among those
// that were the scarcest, by the light in which they were.
func limits(l twin.Limits) []Limit {
	missing := func(x float64) float64 { return -math.Log(math.Min(math.Max(x, 0.01), 1)) }
	all := []Limit{
		{"light", missing(l.Light)}, {"temperature", missing(l.Temperature)}, {"damage", missing(l.Damage)}, {"carbon", missing(l.Carbon)},
		{"ammonia", missing(l.Ammonia)}, {"oxygen", missing(l.Oxygen)}, {"salt", missing(l.Salt)},
	}
	short := 0.0
	for _, x := range l.ShortBy {
		short += x
	}
	for i, x := range l.ShortBy {
		if x > 0 {
			all = append(all, Limit{shortNames[i], missing(l.Nutrient) * x / short})
		}
	}
	sum := 0.0
	for _, x := range all {
		sum += x.Share
	}
	out := []Limit{}
	if sum <= 0 || l == (twin.Limits{}) {
		return out
	}
	for _, x := range all {
		if x.Share /= sum; x.Share >= 0.01 {
			out = append(out, x)
		}
	}
	sortLimits(out)
	return out
}
