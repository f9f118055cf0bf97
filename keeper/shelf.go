package keeper

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/num"
)

// Shelf is what stands on the shelf, what runs out when, and what it costs.
type Shelf struct {
	At time.Time
	farm.Shelf
	Needs    []Need // by ingredient, what runs out first in front
	Litres   []Cost // a litre of each medium of the farm
	Kilogram Cost   // what a kilogram grown takes off the shelf
	Eating   bool   // a culture grows, so that its feed can be told ahead
}

// Need is one ingredient: what is left of it in all lots, what goes, and until
// when it lasts.
type Need struct {
	Of         string // ingredient by its name in the table, or a ready mix by its recipe
	Name       string // what a grower says
	LeftG      float64
	AheadGPerD num.Band // what the growth of the forecast takes as feed [g/d]
	PastGPerD  float64  // what went in the last four weeks [g/d]
	RateGPerD  num.Band // what is reckoned with [g/d]
	RunsOut    Window   // zero: not within a year
	ByForecast bool     // the rate stands on the forecast; else on the last four weeks
	PricePerKg float64  // of what was bought last, in the farm's money; 0: not told
}

// Cost is what something costs of the shelf, as far as prices were told.
type Cost struct {
	ID      string
	Name    string
	Value   float64  // in the farm's money
	Priced  int      // ingredients that have a price
	Missing []string // names of those that have none
}

// Eater is a vessel whose culture grows, as the shelf sees it.
type Eater struct {
	GrowthGPerD num.Band // dry matter [g/d]
	SodaGPerG   float64  // baking soda that carries a gram of growth [g/g]
	AirGPerD    float64  // growth that air feeds [g/d]
}

// pastDays is how far back use is counted [d], and pastSpread how far either way
// the next weeks may lie from it [1]: judgement, no source.
const (
	pastDays   = 28
	pastSpread = 0.5
)

// lastsDays is the horizon of what runs out [d].
const lastsDays = 365

// usualFeed are the salts that give back what is not nitrogen, where the shelf
// has none of their kind.
var usualFeed = []string{"KH2PO4", "MgSO4.7H2O", "K2SO4", "FeSO4.7H2O"}

// shelves keeps the shelf as last read.
type shelves struct {
	mu     sync.Mutex
	reader *farm.ShelfReader
	seq    int64
	mark   time.Time
	shelf  farm.Shelf
}

// shelfAt is the shelf as it stands at a moment; it is read once for every ten
// minutes and every change of the journal. The caller holds k.mu.
func (k *Keeper) shelfAt(p *farm.Present, at time.Time) farm.Shelf {
	s := &k.shelves
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.reader == nil {
		s.reader, s.seq = farm.NewShelfReader(), -1
	}
	if mark := at.Truncate(10 * time.Minute); s.seq != p.Seq() || !s.mark.Equal(mark) {
		s.shelf, s.seq, s.mark = s.reader.Shelf(p, at.Add(time.Second)), p.Seq(), mark
	}
	return s.shelf
}

// Shelf is what stands on the shelf as of a moment; a zero at is now.
func (k *Keeper) Shelf(ctx context.Context, at time.Time) (Shelf, error) {
	at = k.moment(at)
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Shelf{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	var eaters []Eater
	for _, id := range sortedLooks(a) {
		if l := a.looks[id]; l.started && l.spec.Use != "reserve" && !l.spec.Retired {
			eaters = append(eaters, eaterOf(l))
		}
	}
	return ShelfOf(k.present, k.shelfAt(k.present, at), eaters, at), nil
}

func eaterOf(l *look) Eater {
	e := Eater{GrowthGPerD: l.now.Bands[GrowthGPerDay], SodaGPerG: l.perGram}
	if l.airDays > 0 {
		e.AirGPerD = 0.1 * l.now.Bands[VolumeL].Mid / l.airDays // airDays are those of 0.1 g/L
	}
	return e
}

// ShelfOf reckons what runs out and what things cost from the shelf s of a farm
// p whose cultures eat as eaters say, as of at.
func ShelfOf(p *farm.Present, s farm.Shelf, eaters []Eater, at time.Time) Shelf {
	out := Shelf{At: at, Shelf: s, Needs: []Need{}, Litres: []Cost{}}
	perKg := feedPerKg(p, s.Lots)
	ahead, grown := map[string]num.Band{}, num.Band{}
	var soda num.Band
	add := func(of string, b num.Band) {
		was := ahead[of]
		ahead[of] = num.Band{Low: was.Low + b.Low, Mid: was.Mid + b.Mid, High: was.High + b.High}
	}
	for _, e := range eaters {
		g := atLeastZero(e.GrowthGPerD)
		grown = num.Band{Low: grown.Low + g.Low, Mid: grown.Mid + g.Mid, High: grown.High + g.High}
		rest := atLeastZero(num.Band{Low: g.Low - e.AirGPerD, Mid: g.Mid - e.AirGPerD, High: g.High - e.AirGPerD})
		soda = num.Band{Low: soda.Low + rest.Low*e.SodaGPerG, Mid: soda.Mid + rest.Mid*e.SodaGPerG, High: soda.High + rest.High*e.SodaGPerG}
	}
	out.Eating = grown.Mid > 0
	for of, g := range perKg {
		add(of, num.Band{Low: grown.Low * g / 1000, Mid: grown.Mid * g / 1000, High: grown.High * g / 1000})
	}
	add("baking-soda", soda)
	prices := pricesOf(s.Lots)
	index := map[string]int{}
	for _, l := range s.Lots {
		if l.Of == "" {
			continue
		}
		i, known := index[l.Of]
		if !known {
			i = len(out.Needs)
			index[l.Of] = i
			out.Needs = append(out.Needs, Need{Of: l.Of, Name: nameOf(p, l.Of), PricePerKg: prices[l.Of]})
		}
		out.Needs[i].LeftG += l.LeftG
	}
	for i := range out.Needs {
		n := &out.Needs[i]
		n.AheadGPerD = ahead[n.Of]
		n.reckon(s.Lots, at)
	}
	slices.SortStableFunc(out.Needs, func(a, b Need) int { return soonest(a.RunsOut).Compare(soonest(b.RunsOut)) })
	out.costs(p, perKg, soda, grown, prices)
	return out
}

func atLeastZero(b num.Band) num.Band {
	return num.Band{Low: math.Max(b.Low, 0), Mid: math.Max(b.Mid, 0), High: math.Max(b.High, 0)}
}

// soonest is when something runs out more likely than not; what lasts stands
// last.
func soonest(w Window) time.Time {
	for _, t := range []time.Time{w.Mid, w.Late, w.Early} {
		if !t.IsZero() {
			return t
		}
	}
	return time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
}

// reckon fills in what went, what is reckoned with, and until when it lasts:
// feed by the forecast, new medium as in the last four weeks; what the forecast
// does not feed, all as in the last four weeks.
func (n *Need) reckon(lots []farm.Stock, at time.Time) {
	var all, poured float64
	days := 0.0
	for _, l := range lots {
		if l.Of != n.Of {
			continue
		}
		days = math.Max(days, math.Min(at.Sub(l.Since).Hours()/24, pastDays))
		for _, u := range l.Uses {
			if u.At.After(at) || at.Sub(u.At) > pastDays*24*time.Hour {
				continue
			}
			all += u.MassG
			if u.Kind != "fed" && u.Kind != "dosed" {
				poured += u.MassG
			}
		}
	}
	days = math.Max(days, 7) // one act in a lot's first days tells little
	n.PastGPerD = all / days
	n.ByForecast = n.AheadGPerD.Mid > 0
	past, from := all/days, num.Band{}
	if n.ByForecast {
		past, from = poured/days, n.AheadGPerD
	}
	n.RateGPerD = num.Band{Low: from.Low + past*(1-pastSpread), Mid: from.Mid + past, High: from.High + past*(1+pastSpread)}
	when := func(rate float64) time.Time {
		if rate <= 0 || n.LeftG/rate > lastsDays {
			return time.Time{}
		}
		return at.Add(time.Duration(n.LeftG / rate * 24 * float64(time.Hour)))
	}
	n.RunsOut = Window{Early: when(n.RateGPerD.High), Mid: when(n.RateGPerD.Mid), Late: when(n.RateGPerD.Low)}
}

// pricesOf is the price of a kilogram of each ingredient as last bought.
func pricesOf(lots []farm.Stock) map[string]float64 {
	out, since := map[string]float64{}, map[string]time.Time{}
	for _, l := range lots {
		if l.Of != "" && l.Price > 0 && l.MassG > 0 && !l.Since.Before(since[l.Of]) {
			out[l.Of], since[l.Of] = l.Price/l.MassG*1000, l.Since
		}
	}
	return out
}

// nameOf is what a grower says for an ingredient or a ready mix.
func nameOf(p *farm.Present, of string) string {
	if i, err := medium.Lookup(of, medium.US); err == nil {
		return i.Kitchen
	}
	if r, ok := p.Recipe(of, time.Time{}); ok {
		return cmp.Or(r.Name, r.ID)
	}
	return of
}

// feedPerKg is what a kilogram of dry matter takes as feed, by ingredient [g].
func feedPerKg(p *farm.Present, lots []farm.Stock) map[string]float64 {
	nitrogen, err := medium.Lookup(feedSalt(p), medium.US)
	if err != nil {
		return nil
	}
	var salts []*medium.Ingredient
	for _, word := range usualFeed {
		usual, err := medium.Lookup(word, medium.US)
		if err != nil {
			continue
		}
		salts = append(salts, onShelf(lots, usual))
	}
	// Enough water that no cap on a day's dose blocks it: it is the sum that is asked.
	f, err := medium.Replace(1000, growth.DefaultComposition(), nitrogen, salts, medium.Feeding{VolumeLowL: 1e6, TempC: 28})
	if err != nil {
		return nil
	}
	out := map[string]float64{}
	for _, d := range f.Doses {
		out[d.Of.ID] += d.MassG
	}
	return out
}

// onShelf is the ingredient that stands on the shelf in place of a usual one: of
// the same step of mixing, for a plain salt of the same element; else the usual
// one.
func onShelf(lots []farm.Stock, usual *medium.Ingredient) *medium.Ingredient {
	for _, l := range lots {
		if l.LeftG <= 0 || l.Of == "" {
			continue
		}
		i, err := medium.Lookup(l.Of, medium.US)
		if err != nil || i.Label != nil || i.Food == medium.NotFood {
			continue
		}
		if i.ID == usual.ID || i.Step == usual.Step && usual.Step != medium.StepSalt {
			return i
		}
	}
	return usual
}

// costs fills in what a litre of each medium and a kilogram grown cost.
func (s *Shelf) costs(p *farm.Present, perKg map[string]float64, soda, grown num.Band, prices map[string]float64) {
	for _, r := range p.Recipes() {
		if r.Use == "feed" || len(r.SaltsGPerL) == 0 {
			continue
		}
		s.Litres = append(s.Litres, costOf(r.ID, cmp.Or(r.Name, r.ID), r.SaltsGPerL, prices))
	}
	if len(s.Litres) == 0 {
		if r, ok := medium.Find(houseRecipe); ok {
			s.Litres = append(s.Litres, costOf(r.Name, r.Title, r.Weighed(), prices))
		}
	}
	grams := map[string]float64{}
	for of, g := range perKg {
		grams[of] += g
	}
	if grown.Mid > 0 && soda.Mid > 0 {
		grams["baking-soda"] += soda.Mid / grown.Mid * 1000
	}
	s.Kilogram = costOf("", "", grams, prices)
}

// costOf is what grams of ingredients by any word for them cost.
func costOf(id, name string, grams map[string]float64, prices map[string]float64) Cost {
	c := Cost{ID: id, Name: name, Missing: []string{}}
	for _, word := range sortedNames(grams) {
		if grams[word] <= 0 {
			continue
		}
		of := farm.IngredientOf(word)
		price, known := prices[of]
		if !known {
			if i, err := medium.Lookup(word, medium.US); err == nil {
				word = i.Kitchen
			}
			c.Missing = append(c.Missing, word)
			continue
		}
		c.Priced++
		c.Value += grams[word] / 1000 * price
	}
	return c
}

func sortedNames(m map[string]float64) []string {
	out := make([]string, 0, len(m))
	for name := range m {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}
