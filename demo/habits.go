package demo

import (
	"math"
	"time"

	"sodalake/science/brine"
	"sodalake/science/pond"
)

// clock is a time of a day with some minutes of disorder.
func (g *generator) clock(day time.Time, hour, minute int) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, hour, minute+int(math.Abs(g.noise(6))), 0, 0, Zone())
}

// date is a day of the season.
func date(m time.Month, d int) time.Time { return time.Date(2026, m, d, 0, 0, 0, 0, Zone()) }

func same(a, b time.Time) bool { return a.Format(time.DateOnly) == b.Format(time.DateOnly) }

// live is one day at the station.
func (g *generator) live(day time.Time) {
	last := same(day, Morning())
	n := int(day.Sub(begin()).Hours()/24 + 0.5)
	for i, id := range []string{"lantern-pond", "boat-pond", "cistern-tank"} {
		t := g.vessels[id]
		if t.pond.BiomassG <= 0 {
			continue
		}
		at := g.clock(day, 7, 4+7*i)
		if (n+i)%2 == 0 || last {
			g.to(t, at)
			g.disc(t, at)
			if (n+i)%3 == 0 || last {
				g.temperature(t, at.Add(time.Minute))
			}
		}
		if (n+2*i)%4 == 1 || last && id != "boat-pond" {
			g.acidity(t, at.Add(2*time.Minute), day)
		}
		if (n+i)%4 == 0 || last {
			g.stick(t, at.Add(3*time.Minute))
		}
		if last {
			continue
		}
		g.tend(t, at.Add(10*time.Minute), n)
	}
	g.turns(day) // after the morning's round
	b := g.vessels["sill-bottles"]
	if b.pond.BiomassG > 0 && n%9 == 4 {
		at := g.clock(day, 19, 5)
		g.to(b, at)
		g.disc(b, at)
	}
	if n%7 == 6 {
		at := g.clock(day, 21, 10)
		g.batch(at)
	}
	if last {
		g.lastMorning()
	}
}

// turns are the days on which something begins or goes wrong.
func (g *generator) turns(day time.Time) {
	switch {
	case same(day, date(3, 2)):
		b, at := g.vessels["sill-bottles"], g.clock(day, 10, 0)
		g.to(b, at)
		p := g.medium(10.8/b.n, 20)
		p.BiomassG = 0.45 * 10.8 / b.n
		b.pond.Do(&pond.Act{Pour: p}, nil)
		g.write(at, "lampkeeper", "", "sill-bottles", "inoculated", map[string]any{"volume_l": 10.8, "density_g_per_l": 0.45, "medium": map[string]any{"recipe": "station-medium"}}, "six bottles of a culture given by another station")
	case same(day, date(3, 26)):
		at := g.clock(day, 18, 0)
		g.all(at)
		tank, bottles := g.vessels["cistern-tank"], g.vessels["sill-bottles"]
		m := g.medium(30, 16)
		tank.pond.Do(&pond.Act{Pour: m}, nil)
		g.write(at, "lampkeeper", "", "cistern-tank", "mixed", map[string]any{"volume_l": 30.0, "medium": map[string]any{"recipe": "station-medium"}}, "")
		g.move(bottles, tank, 7, at.Add(10*time.Minute), "seven litres out of the bottles")
		b := g.medium(7/bottles.n, 20)
		bottles.pond.Do(&pond.Act{Pour: b}, nil)
		g.write(at.Add(20*time.Minute), "lampkeeper", "", "sill-bottles", "topped_up", map[string]any{"volume_l": 7.0, "with": "medium", "medium": map[string]any{"recipe": "station-medium"}}, "")
	case same(day, date(4, 5)), same(day, date(4, 12)), same(day, date(4, 18)):
		t, at := g.vessels["cistern-tank"], g.clock(day, 18, 20)
		g.to(t, at)
		litres := map[int]float64{5: 70, 12: 190, 18: 380}[day.Day()]
		g.pour(t, at, litres)
	case same(day, date(4, 25)):
		at := g.clock(day, 18, 10)
		g.all(at)
		pond1, tank := g.vessels["lantern-pond"], g.vessels["cistern-tank"]
		pond1.pond.Do(&pond.Act{Pour: g.medium(240, 17)}, nil)
		g.write(at, "lampkeeper", "", "lantern-pond", "mixed", map[string]any{"volume_l": 240.0, "medium": map[string]any{"recipe": "station-medium"}}, "")
		g.move(tank, pond1, 330, at.Add(30*time.Minute), "half of the tank")
		g.pour(tank, at.Add(50*time.Minute), 300)
	case same(day, date(5, 2)), same(day, date(5, 8)), same(day, date(5, 13)):
		t, at := g.vessels["lantern-pond"], g.clock(day, 18, 30)
		g.to(t, at)
		g.pour(t, at, map[int]float64{2: 150, 8: 190, 13: 180}[day.Day()])
	case same(day, date(5, 16)):
		at := g.clock(day, 18, 0)
		g.all(at)
		one, two := g.vessels["lantern-pond"], g.vessels["boat-pond"]
		two.pond.Do(&pond.Act{Pour: g.medium(180, 19)}, nil)
		g.write(at, "lampkeeper", "", "boat-pond", "mixed", map[string]any{"volume_l": 180.0, "medium": map[string]any{"recipe": "station-medium"}}, "")
		g.move(one, two, 300, at.Add(30*time.Minute), "")
		g.pour(one, at.Add(70*time.Minute), 280)
	case same(day, date(5, 23)):
		t, at := g.vessels["boat-pond"], g.clock(day, 18, 20)
		g.to(t, at)
		g.pour(t, at, 180)
		g.shade("lantern-pond", at.Add(10*time.Minute), 30)
	case same(day, date(5, 20)):
		bottles, at := g.vessels["sill-bottles"], g.clock(day, 11, 0)
		g.to(bottles, at)
		g.drawOff(bottles, at, 5)
		bottles.pond.Do(&pond.Act{Pour: g.medium(5/bottles.n, 21)}, nil)
		g.write(at.Add(5*time.Minute), "lampkeeper", "", "sill-bottles", "topped_up", map[string]any{"volume_l": 5.0, "with": "medium", "medium": map[string]any{"recipe": "station-medium"}}, "renewed")
	case same(day, date(5, 30)):
		g.shade("boat-pond", g.clock(day, 9, 20), 30)
	case same(day, date(6, 14)), same(day, date(6, 16)):
		// The trouble: urea by the handful into the tank, twice.
		t, at := g.vessels["cistern-tank"], g.clock(day, 18, 40)
		g.to(t, at)
		grams := map[int]float64{14: 55, 16: 60}[day.Day()]
		var give brine.Totals
		give[brine.Urea] = grams / 60.056
		t.pond.Do(&pond.Act{Salts: give}, nil)
		g.write(at, "galley", "", "cistern-tank", "fed", map[string]any{"salts_g": map[string]float64{"CO(NH2)2": grams}}, "it looked pale")
	case same(day, date(5, 4)), same(day, date(5, 25)), same(day, date(6, 8)):
		g.write(g.clock(day, 9, 40), "early-watch", "", "", "checked", map[string]any{"instrument": "ph-meter", "result": "good", "expected": 7.02, "read": 7.05, "slope_pct": 99.6, "temp_c": 20.0}, "")
	}
}

// pour puts new medium into a vessel.
func (g *generator) pour(t *truth, at time.Time, litres float64) {
	t.pond.Do(&pond.Act{Pour: g.medium(litres/t.n, t.pond.Heat.WaterC)}, nil)
	g.write(at, "lampkeeper", "", t.id, "topped_up", map[string]any{"volume_l": litres, "with": "medium", "medium": map[string]any{"recipe": "station-medium"}}, "")
}

// move takes culture from one vessel to another.
func (g *generator) move(from, to *truth, litres float64, at time.Time, text string) {
	g.to(from, at)
	g.to(to, at)
	d := from.pond.Do(&pond.Act{DrawL: litres / from.n}, nil)
	to.pond.Do(&pond.Act{Pour: d.Drawn.Scaled(from.n / to.n)}, nil)
	g.write(at, "lampkeeper", "", from.id, "split", map[string]any{"to": to.id, "volume_l": litres}, text)
}

func (g *generator) drawOff(t *truth, at time.Time, litres float64) {
	t.pond.Do(&pond.Act{DrawL: litres / t.n}, nil)
	g.write(at, "lampkeeper", "", t.id, "drew_off", map[string]any{"volume_l": litres}, "")
}

func (g *generator) shade(id string, at time.Time, pct float64) {
	t := g.vessels[id]
	g.to(t, at)
	t.pond.Setting.Shade = pct / 100
	g.write(at, "early-watch", "", id, "shaded", map[string]any{"shade_pct": pct}, "")
}

// disc is a reading of the stick; to a vessel's floor it is only a bound.
func (g *generator) disc(t *truth, at time.Time) {
	depth := t.disc/t.pond.DensityGL() + g.noise(0.18)
	floor := t.level() * 100
	if t.id == "sill-bottles" {
		floor = 10
	}
	if depth >= floor {
		g.write(at, "early-watch", "", t.id, "secchi", map[string]any{"secchi_cm": tidy(round(floor, 0.5)), "op": ">"}, "")
		return
	}
	g.write(at, "early-watch", "", t.id, "secchi", map[string]any{"secchi_cm": tidy(math.Max(round(depth, 0.1), 0.6)), "stirred_min_ago": 5.0}, "")
	if g.discs++; g.discs%11 == 5 {
		// Now and then a filter is dried and weighed beside it.
		dry := t.pond.DensityGL() * math.Exp(0.05*g.scales.NormFloat64())
		g.write(at.Add(9*time.Minute), "galley", "", t.id, "dry_weight", map[string]any{"dry_weight_g_per_l": tidy(round(dry, 0.01))}, "")
	}
}

func (g *generator) temperature(t *truth, at time.Time) {
	g.to(t, at)
	g.write(at, "early-watch", "", t.id, "temperature", map[string]any{"temp_c": tidy(round(t.pond.Heat.WaterC+g.noise(0.3), 0.5))}, "")
}

// acidity is a pH; on one day the decimal slipped.
func (g *generator) acidity(t *truth, at time.Time, day time.Time) {
	g.to(t, at)
	molal := t.pond.Molality()
	var w brine.Water
	if err := brine.New(brine.Pitzer).Solve(&molal, t.pond.Heat.WaterC, &w); err != nil {
		return
	}
	g.write(at, "early-watch", "", t.id, "ph", map[string]any{"ph": tidy(round(w.PH+0.03+g.noise(0.04), 0.01)), "instrument": "ph-meter"}, "")
}

func (g *generator) stick(t *truth, at time.Time) {
	g.to(t, at)
	g.write(at, "early-watch", "", t.id, "level", map[string]any{"level_cm": tidy(round(t.level()*100+g.noise(0.15), 0.1))}, "")
}

// tend is what the station does by habit: top up, harvest, feed.
func (g *generator) tend(t *truth, at time.Time, n int) {
	g.to(t, at)
	if full := t.pond.Shape.VolumeL(t.full); t.level() < t.full*0.93 && t.started() {
		litres := round(full-t.pond.VolumeL(), 5)
		if litres >= 10 {
			t.pond.Do(&pond.Act{WaterL: litres}, nil)
			g.write(at, "early-watch", "", t.id, "topped_up", map[string]any{"volume_l": litres, "with": "water"}, "")
		}
	}
	t.pause++
	// The demo opens on a pond that is dark and one that was thinned the day
	// before, however well the season grew.
	thin := t.id == "boat-pond" && same(at, date(6, 17)) && t.pond.DensityGL() > 0.4
	if !thin && (t.id == "cistern-tank" || t.pause < 5 || t.pond.DensityGL() < 0.52 || n < 75) {
		return
	}
	if t.id == "lantern-pond" && at.After(date(6, 11)) {
		return // a week without anybody free: it is dark when the demo opens
	}
	look := at.Add(4 * time.Minute)
	g.write(look, "galley", "", t.id, "microscope", map[string]any{"filaments_seen": 280.0 + math.Round(g.noise(20)), "foreign_seen": 0.0, "straight_seen": math.Abs(math.Round(g.noise(4)))}, "")
	share := 0.38
	if thin {
		share = 1 - 0.28/t.pond.DensityGL()
	}
	litres := round(t.pond.VolumeL()*share, 10)
	cut := at.Add(14 * time.Minute)
	g.to(t, cut)
	d := t.pond.Do(&pond.Act{ClothL: litres, CakeG: 4}, nil)
	paste := round(d.ClothG/0.2*(1+g.noise(0.05)), 10)
	g.write(cut, "galley", "", t.id, "harvested", map[string]any{"volume_l": litres, "mass_g": paste, "for_food": true, "lot": g.lotOf(t, cut, paste), "tools": []string{"cloth"}, "temp_c": 22, "fit": true}, "")
	t.pause = 0
	grams := round(d.ClothG*0.1*101.1/14.007, 10)
	feed := cut.Add(50 * time.Minute)
	g.to(t, feed)
	var give brine.Totals
	give[brine.K], give[brine.NO3] = grams/101.10, grams/101.10
	soda := round(d.ClothG*7.5, 50)
	give[brine.Na], give[brine.DIC] = soda/84.007, soda/84.007
	phosphate := round(d.ClothG*0.05, 5)
	give[brine.K] += 2 * phosphate / 174.18
	give[brine.PO4] += phosphate / 174.18
	t.pond.Do(&pond.Act{Salts: give}, nil)
	g.write(feed, "galley", "", t.id, "fed", map[string]any{"salts_g": map[string]float64{"KNO3": grams, "NaHCO3": soda, "K2HPO4": phosphate}}, "")
}

// started reports whether a vessel is past its filling.
func (t *truth) started() bool {
	t.filled = t.filled || t.pond.VolumeL() > 0.5*t.pond.Shape.VolumeL(t.full)
	return t.filled
}

// batch notes a week of the station's own weather.
func (g *generator) batch(at time.Time) {
	until := at.UTC().Truncate(time.Hour)
	from := until.Add(-7 * 24 * time.Hour)
	if len(g.entries) > 0 && from.Before(g.series.Start) {
		from = g.series.Start
	}
	g.weatherEntry(at, from, until)
}

func (g *generator) weatherEntry(at, from, until time.Time) {
	col := map[string][]float64{}
	for t := from; t.Before(until); t = t.Add(time.Hour) {
		i := int(t.Sub(g.series.Start) / time.Hour)
		if i < 0 || i >= len(g.series.Hours) {
			continue
		}
		h := g.series.Hours[i]
		wind := h.WindMS // the generator's wind stands at 2 m
		for k, x := range map[string]float64{
			"ghi_w_m2": round(h.GHIWM2, 1), "t_air_c": round(h.AirC, 0.1), "rh_pct": round(h.RHPct, 1), "wind_m_s": round(wind, 0.1), "rain_mm": round(h.RainMM, 0.1),
		} {
			col[k] = append(col[k], tidy(x))
		}
	}
	g.write(at, "station", siteID, "", "weather", map[string]any{
		"source": "weather mast of the station, invented", "made": "measured", "start": from.Format(time.RFC3339), "step_s": 3600, "wind_height_m": 2.0, "columns": col,
	}, "")
}

// lastMorning is what was noted on the day the demo opens and the evening
// before: the smell at the tank, the slipped pH at the pond, the mast's hours.
func (g *generator) lastMorning() {
	m := Morning()
	boat := g.vessels["boat-pond"]
	g.to(boat, m.Add(-12*time.Minute))
	g.write(m.Add(-12*time.Minute), "early-watch", "", "boat-pond", "ph", map[string]any{"ph": 7.14, "instrument": "ph-meter"}, "")
	g.write(m.Add(-9*time.Minute), "early-watch", "", "cistern-tank", "smell", map[string]any{"smell": "ammonia"}, "sharp when the lid comes off")
	g.weatherEntry(m.Add(-5*time.Minute), m.Add(-5*24*time.Hour).UTC().Truncate(time.Hour), m.UTC().Truncate(time.Hour))
}
