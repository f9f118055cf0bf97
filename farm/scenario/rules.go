package scenario

import (
	"math"

	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/pond"
)

// cakeWaterGPerG is the water that leaves with the pressed cake [g/g dry]:
// pressed to 20 % dry matter. Common practice, no source.
const cakeWaterGPerG = 4

// harvest takes what the rule says and returns the dry matter [g].
func (r *runner) harvest() float64 {
	h := &r.f.Harvest
	a := pond.Act{CakeG: cakeWaterGPerG}
	switch h.Rule {
	case "above":
		if r.v.DensityGL() <= h.DensityGPerL {
			return 0
		}
		a.KeepGL = math.Max(*h.LeaveGPerL, 1e-9)
	case "fraction":
		a.ClothL = *h.Fraction * r.v.VolumeL()
	default:
		return 0
	}
	return r.v.Do(&a, &r.led).ClothG
}

// feed gives back what growth took since the last feed, as salts and carbon
// dioxide, and returns their mass [g].
func (r *runner) feed() float64 {
	if r.f.Feed.Rule != "replace" {
		return 0
	}
	grown := r.led[pond.Grown].Mol
	var took brine.Totals
	for k := range took {
		took[k] = r.fed[k] - grown[k]
	}
	r.fed = grown
	f := model.Replace(&took)
	r.v.Do(&pond.Act{Salts: f.Totals}, &r.led)
	return f.Grams()
}
