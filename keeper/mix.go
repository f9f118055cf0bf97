package keeper

import (
	"context"
	"time"

	"sodalake/farm"
	"sodalake/science/num"
)

// Bench is what the mixing bench needs to know of the farm.
type Bench struct {
	At      time.Time
	Recipes []farm.Recipe
	Waters  []farm.Water
	Shelf   farm.Shelf
	Vessels []BenchVessel
}

// BenchVessel is a vessel as the bench sees it: what is poured into it, what it
// is fed, and what is to be set right. Bands of what is not known are zero.
type BenchVessel struct {
	ID, Name string
	Started  bool // holds a culture
	Food     bool // grown to be eaten

	Volume   num.Band // [L]
	Level    num.Band // [cm]
	FullCM   float64  // level called full [cm]; 0 if it was never told
	MissingL num.Band // to that level [L]
	FullL    float64  // what it holds at that level [L]; 0 if the level was never told
	DepthCM  float64  // mean depth [cm]
	Temp     num.Band // water [°C]
	PH       num.Band // at the water's temperature [1]
	PH25     num.Band // at 25 °C [1]

	Medium *farm.MediumMix // what was poured in last as new medium; nil if that was never told

	FeedSalt      string   // what the farm feeds as nitrogen, by formula
	RemovedG      float64  // dry matter taken out since it was last fed [g]
	ReducedMgL    float64  // urea and ammonia standing, as urea, at the low volume [mg/L]
	ReducedDayMgL float64  // of those, given in the last 24 h [mg/L]
	FreeAmmoniaMM num.Band // free NH3 [mM]
	Ammonia       bool     // it smelled of ammonia in the last three days
	Growth        num.Band // net gain of a day [g/L/d]
	YieldGPerM2D  float64  // that gain from an area [g/m²/d]

	PHReadings   []PHReading // of the last week that are believed, the newest first
	MeterChecked bool        // a pH meter was checked and found good within a week
}

// PHReading is a pH as it was read.
type PHReading struct {
	At    time.Time
	Value float64  // [1]
	TempC *float64 // of the water then, if it was noted [°C]
}

// meterDays is for how long a check of a meter counts [d]: common practice, no
// source.
const meterDays = 7

// Bench is what the mixing bench needs as of a moment; a zero at is now. Without
// estimates the vessels carry only what is written down of them, and nothing
// waits for a twin.
func (k *Keeper) Bench(ctx context.Context, at time.Time, estimates bool) (Bench, error) {
	at = k.moment(at)
	if !estimates {
		return k.written(at), nil
	}
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Bench{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	out := Bench{At: at, Recipes: p.Recipes(), Waters: p.Waters(), Shelf: k.shelfAt(p, at)}
	_, zone, _ := site(p)
	said := map[string]int{}
	s := situation(p, a, zone)
	for i := range s.Vessels {
		said[s.Vessels[i].ID] = i
	}
	checked := meterChecked(p, at)
	for _, spec := range p.Vessels() {
		i, ok := said[spec.ID]
		if !ok {
			continue
		}
		l, v := a.looks[spec.ID], &s.Vessels[i]
		b := BenchVessel{
			ID: spec.ID, Name: spec.Name, Started: v.Started, Food: spec.Food, Volume: v.Volume, Level: v.Level, FullCM: spec.FullLevelCM,
			Temp: v.Temp, PH: l.now.Bands[PH], PH25: v.PH25, FeedSalt: v.FeedSalt, RemovedG: v.RemovedG, ReducedMgL: v.ReducedMgL,
			ReducedDayMgL: v.ReducedDayMgL, FreeAmmoniaMM: v.FreeAmmonia, Ammonia: v.SmellsOf == "ammonia", Growth: v.Growth, MeterChecked: checked,
		}
		if spec.FullLevelCM > 0 {
			b.FullL = l.t.base.Shape.VolumeL(spec.FullLevelCM/100) * l.t.n
			if v.Volume.Mid > 0 {
				b.MissingL = atLeastZero(num.Band{Low: b.FullL - v.Volume.High, Mid: b.FullL - v.Volume.Mid, High: b.FullL - v.Volume.Low})
			}
		}
		if v.AreaM2 > 0 {
			b.DepthCM = v.Volume.Mid / v.AreaM2 / 10
			b.YieldGPerM2D = v.Growth.Mid * v.Volume.Mid / v.AreaM2
		}
		if m, told := out.Shelf.Media[spec.ID]; told {
			b.Medium = &m
		}
		b.PHReadings = k.phReadings(p, l, at)
		out.Vessels = append(out.Vessels, b)
	}
	return out, nil
}

// written is the bench without any estimate.
func (k *Keeper) written(at time.Time) Bench {
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	out := Bench{At: at, Recipes: p.Recipes(), Waters: p.Waters(), Shelf: k.shelfAt(p, at)}
	for _, spec := range p.Vessels() {
		if spec.Retired {
			continue
		}
		b := BenchVessel{ID: spec.ID, Name: spec.Name, Food: spec.Food, FullCM: spec.FullLevelCM, FeedSalt: feedSalt(p)}
		if m, told := out.Shelf.Media[spec.ID]; told {
			b.Medium = &m
		}
		out.Vessels = append(out.Vessels, b)
	}
	return out
}

// phReadings are the readings of the last week that are believed, the newest
// first, at most three.
func (k *Keeper) phReadings(p *farm.Present, l *look, at time.Time) []PHReading {
	var out []PHReading
	line := p.Timeline(l.spec.ID, at.AddDate(0, 0, -7), at.Add(time.Second))
	for i := len(line) - 1; i >= 0 && len(out) < 3; i-- {
		for _, r := range line[i].Readings() {
			if r.Key != "ph" || r.Op != "=" || len(r.Doubts) > 0 || l.t.verdicts[r.EntryID+"/"+r.Key].doubt != "" {
				continue
			}
			x := PHReading{At: r.At, Value: r.Value}
			if t, ok := line[i].Body.Number("temp_c"); ok {
				x.TempC = &t
			}
			out = append(out, x)
		}
	}
	return out
}

// meterChecked reports whether an instrument that reads pH was checked and found
// or set good within a week.
func meterChecked(p *farm.Present, at time.Time) bool {
	reads := map[string]bool{}
	for _, i := range p.Instruments() {
		reads[i.ID] = i.Measures == "ph" && i.Make != "strip"
	}
	from := at.AddDate(0, 0, -meterDays)
	good := map[string]bool{}
	for _, ref := range p.KindRefs("checked", from, at.Add(time.Second)) {
		if e, ok := p.Event(ref.ID); ok && reads[e.Body.Text("instrument")] {
			good[e.Body.Text("instrument")] = e.Body.Text("result") != "failed"
		}
	}
	for _, yes := range good {
		if yes {
			return true
		}
	}
	return false
}
