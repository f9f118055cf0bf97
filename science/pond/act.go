package pond

import (
	"math"
	"slices"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/vessel"
)

// Act is one thing done to a vessel at one moment. The fields that are set say
// what: an act may draw, pour and change the setting at once.
type Act struct {
	At time.Time

	// Taking out, in this order.
	DrawL  float64 // culture drawn off or discarded [L]
	ClothL float64 // culture passed through the cloth, filtrate returned [L]
	CakeG  float64 // water that leaves with the cake per gram of dry matter [g/g]
	TakeG  float64 // dry matter that was weighed, instead of what ClothL holds; 0: by ClothL [g]
	KeepGL float64 // density to come down to, by cloth; 0: by ClothL [g/L]

	// Putting in.
	Pour    Parcel       // culture, medium or water, with its salts
	WaterL  float64      // plain water, at TapC of the vessel [L]
	FillToM float64      // level to fill up to with plain water; 0: not asked [m]
	Salts   brine.Totals // salts stirred in, carbon dioxide that dissolved as DIC [mol]

	// Changing where it stands; nil leaves it.
	Setting func(*vessel.Setting)
	Stir    func(*Stir)
}

// Done is what an act moved.
type Done struct {
	Drawn    Parcel  // culture that left by hand
	DrawnL   float64 // its volume [L]
	ClothG   float64 // dry matter of the cake [g]
	ClothL   float64 // culture that passed the cloth [L]
	PouredKg float64 // water put in [kg]
}

// Do applies an act and returns what it moved. led may be nil. What is more than
// there is becomes all that there is; what runs over the rim leaves with the
// next step.
func (v *Vessel) Do(a *Act, led *Ledger) Done {
	var d Done
	if volume := v.VolumeL(); a.DrawL > 0 && volume > 0 {
		d.DrawnL = min(a.DrawL, volume)
		d.Drawn = v.take(d.DrawnL/volume, led, Drawn)
	}
	if volume := v.VolumeL(); volume > 0 && v.BiomassG > 0 {
		share := 0.0
		switch {
		case a.KeepGL > 0:
			share = max(1-a.KeepGL*volume/v.BiomassG, 0)
		case a.TakeG > 0:
			share = min(a.TakeG/v.BiomassG, 1)
		case a.ClothL > 0:
			share = min(a.ClothL/volume, 1)
		}
		if share > 0 {
			d.ClothL = share * volume
			d.ClothG = v.press(share, a.CakeG, led)
		}
	}
	if a.Pour.WaterKg > 0 || a.Pour.BiomassG > 0 {
		v.put(&a.Pour, led, Poured)
		d.PouredKg += a.Pour.WaterKg
	}
	for k, mol := range a.Salts {
		v.Mol[k] += mol
		if led != nil {
			led[Poured].Mol[k] += mol
		}
	}
	water := a.WaterL
	if a.FillToM > 0 {
		v.pack()
		water += max(v.Shape.VolumeL(a.FillToM)-v.VolumeL(), 0)
	}
	if water > 0 {
		tap := v.TapC
		if math.IsNaN(tap) {
			tap = v.Heat.WaterC
		}
		p := Parcel{WaterKg: water * brine.PureWaterDensityKgL(tap), TempC: tap}
		v.put(&p, led, Poured)
		d.PouredKg += p.WaterKg
	}
	if a.Setting != nil {
		a.Setting(&v.Setting)
	}
	if a.Stir != nil {
		a.Stir(&v.Stir)
	}
	v.Settle()
	return d
}

// press takes a share of the biomass as cake with the medium that clings to it.
// cakeG is the water in the cake per gram of dry matter [g/g].
func (v *Vessel) press(share, cakeG float64, led *Ledger) float64 {
	p := Parcel{
		BiomassG: v.BiomassG * share, CalciumMol: v.calciumInCells * share,
		Damage: v.Damage, NightQ: v.NightQ, TempC: v.Heat.WaterC,
	}
	p.WaterKg = min(p.BiomassG*max(cakeG, 0)/1000, v.WaterKg)
	wet := 0.0
	if v.WaterKg > 0 {
		wet = p.WaterKg / v.WaterKg
	}
	v.WaterKg -= p.WaterKg
	v.BiomassG -= p.BiomassG
	v.calciumInCells -= p.CalciumMol
	for k := range v.Mol {
		p.Mol[k] = v.Mol[k] * wet
		v.Mol[k] -= p.Mol[k]
	}
	if led != nil {
		led[Cloth].parcel(&p, -1)
	}
	return p.BiomassG
}

// Weather is the outside on the grid of StepS: Outside[i] is the middle of the
// step that begins i steps after Start.
type Weather struct {
	Start   time.Time
	Outside []air.Outside
}

// Covers reports whether t lies within the weather.
func (w *Weather) Covers(t time.Time) bool {
	d := t.Sub(w.Start)
	return d >= 0 && d < time.Duration(len(w.Outside))*StepS*time.Second
}

// Run carries the vessel from one moment to another through the acts, which
// must be in order of time; those outside [from, to) are left aside. visit, if
// not nil, is called after every step with the moment of its end. done, if not
// nil, is called after every act. Steps are cut at acts and at from and to; a
// step takes the weather of the grid step it lies in.
//
// It panics when the weather does not cover the run, a slip of the caller.
func (v *Vessel) Run(from, to time.Time, w *Weather, acts []Act, led *Ledger, visit func(t time.Time, s *Seen), done func(i int, d Done)) {
	const step = StepS * time.Second
	at := from
	next, _ := slices.BinarySearchFunc(acts, from, func(a Act, t time.Time) int { return a.At.Compare(t) })
	var seen Seen
	for at.Before(to) {
		for next < len(acts) && !acts[next].At.After(at) {
			d := v.Do(&acts[next], led)
			if done != nil {
				done(next, d)
			}
			next++
		}
		since := at.Sub(w.Start)
		i := int(since / step)
		if since < 0 || i >= len(w.Outside) {
			panic("pond: no weather for " + at.Format(time.RFC3339))
		}
		end := w.Start.Add(time.Duration(i+1) * step)
		if end.After(to) {
			end = to
		}
		if next < len(acts) && acts[next].At.Before(end) {
			end = acts[next].At
		}
		v.Step(&w.Outside[i], end.Sub(at).Seconds(), led, &seen)
		at = end
		if visit != nil {
			visit(at, &seen)
		}
	}
}
