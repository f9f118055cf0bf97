package medium

import (
	"math"

	"sodalake/science/growth"
)

// Removed returns the moles of each element that dryG grams of dry matter [g] of
// composition c took along [mol].
func Removed(dryG float64, c growth.Composition) Amounts {
	var a Amounts
	a[Carbon], a[Nitrogen], a[Phosphorus], a[Sulfur] = dryG*c.C, dryG*c.N, dryG*c.P, dryG*c.S
	a[Potassium], a[Magnesium], a[Calcium], a[Iron] = dryG*c.K, dryG*c.Mg, dryG*c.Ca, dryG*c.Fe
	return a
}

// Feed is what a harvest is replaced by.
type Feed struct {
	Doses   []Dose  // to be given in all, the reduced nitrogen last
	Reduced int     // index among them of the urea or ammonium salt; -1 is none
	Days    int     // over how many days that one is spread
	DayG    float64 // most of it on one day [g]
	Blocked string  // why none of it is given now: "smell", "cold", "hot", "pool", "volume", or empty
	Brings  Amounts // in all [mol]
	Needs   Amounts // what was taken [mol]
}

// Feeding is the pond that is fed.
type Feeding struct {
	VolumeLowL    float64 // low end of the volume [L]
	TempC         float64 // water [°C]
	AmmoniaSmell  bool    // it smells of ammonia
	StandingMgL   float64 // ammonium and urea in the water, as urea [mg/L]
	GivenTodayMgL float64 // of that, given in the last 24 h [mg/L]
}

// Replace returns what brings back what dryG [g] of dry matter took: nitrogen
// with the salt nitrogen, phosphorus, magnesium, potassium and sulfur with the
// others of salts, iron, in the amounts whose elements come nearest. Carbon is
// left out: air, carbon dioxide or soda bring it.
//
// Nitrogen that is or becomes ammonia is spread over days so that no day takes
// more than DayUreaMgL and never more than PoolUreaMgL stand, both at the low
// end of the volume; it waits while the water smells, is under 20 or above
// 37 °C, or the volume is not known. Nitrate has no such cap.
//
// Source: the caps as at DayUreaMgL and PoolUreaMgL; the temperatures are
// judgement, no source.
func Replace(dryG float64, c growth.Composition, nitrogen *Ingredient, salts []*Ingredient, at Feeding) (Feed, error) {
	f := Feed{Reduced: -1, Needs: Removed(dryG, c)}
	if !(dryG > 0) || math.IsInf(dryG, 0) {
		return f, wrong("dry_g", "", "dry_g %.6g must be above 0", dryG)
	}
	items := []OnShelf{{Of: nitrogen}}
	for _, s := range salts {
		if s.ID != nitrogen.ID {
			items = append(items, OnShelf{Of: s})
		}
	}
	shelf, err := NewShelf(items, Water{})
	if err != nil {
		return f, err
	}
	t := Target{Want: f.Needs}
	for _, e := range []Element{Nitrogen, Phosphorus, Magnesium, Iron, Potassium, Sulfur} {
		t.Weight[e] = 1
	}
	t.Weight[Nitrogen] = 10
	// Sulfur and potassium may come along in excess without harm, potassium with
	// saltpetre fourteen times over: hardly weighed.
	t.Weight[Sulfur], t.Weight[Potassium] = 0.05, 0.02
	for e := range t.High {
		t.High[e] = math.Inf(1)
	}
	x, brings, err := shelf.Closest(&t)
	if err != nil {
		return f, err
	}
	f.Brings = brings
	for j, g := range x {
		if g <= 1e-6*dryG {
			continue
		}
		f.Doses = append(f.Doses, Dose{Of: items[j].Of, MassG: g})
	}
	for i := range f.Doses { // the reduced one last
		y, err := f.Doses[i].Of.Yield(f.Doses[i].Of.Purity)
		if err != nil {
			return f, err
		}
		if a := y.elements(); a[Reduced] > 0 && f.Doses[i].Of.ID == nitrogen.ID {
			d := f.Doses[i]
			f.Doses = append(append(f.Doses[:i:i], f.Doses[i+1:]...), d)
			f.Reduced = len(f.Doses) - 1
			f.spread(UreaMgL(a[Reduced]), at)
			break
		}
	}
	return f, nil
}

// spread divides the reduced dose over days, where asUrea is the urea that a
// gram of it stands for, in milligrams [mg/g].
func (f *Feed) spread(asUrea float64, at Feeding) {
	d := &f.Doses[f.Reduced]
	switch {
	case at.VolumeLowL <= 0:
		f.Blocked = "volume"
	case at.AmmoniaSmell:
		f.Blocked = "smell"
	case at.TempC < 20:
		f.Blocked = "cold"
	case at.TempC > 37:
		f.Blocked = "hot"
	}
	if f.Blocked != "" {
		return
	}
	room := math.Min(DayUreaMgL-at.GivenTodayMgL, PoolUreaMgL-at.StandingMgL) // [mg/L]
	if room <= 0 {
		f.Blocked = "pool"
		return
	}
	f.DayG = math.Min(d.MassG, room*at.VolumeLowL/asUrea)
	perDay := math.Min(d.MassG, math.Min(DayUreaMgL, PoolUreaMgL)*at.VolumeLowL/asUrea)
	f.Days = int(math.Ceil(d.MassG/math.Min(f.DayG, perDay) - 1e-9))
}
