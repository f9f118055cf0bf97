package canned

import (
	"context"
	"fmt"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
)

// secchiPerDensity is the product of disc depth and density that the canned
// farm draws with [cm·g/L]: an invented round number.
const secchiPerDensity = 1.26

// shape is what the ruler needs for one vessel.
type shape struct {
	now     float64 // density now [g/L]
	rate    float64 // growth [1/d]
	spread  float64 // half spread of the present, as a share [1]
	drop    float64 // days ago at which part was harvested; 0: never
	left    float64 // density left then [g/L]
	ph      float64
	phRise  float64 // [1/d]
	level   float64 // now [cm]
	loss    float64 // [cm/d]
	warm    float64 // mean water temperature [°C]
	swing   float64 // half swing of the day [°C]
	litres  float64
	known   bool
	ready   float64
	limited string
}

var shapes = map[string]shape{
	"lantern-pond": {now: .62, rate: .055, spread: .11, ph: 10.2, phRise: .03, level: 17.4, loss: .25, warm: 21.5, swing: 5, litres: 960, known: true, ready: .6, limited: "light"},
	"boat-pond":    {now: .47, rate: .06, spread: .1, drop: 5, left: .33, ph: 10.2, phRise: .035, level: 16, loss: .3, warm: 19, swing: 4, litres: 1190, known: true, ready: .6, limited: "temperature"},
	"cistern-tank": {now: .36, rate: .03, spread: .14, ph: 10.8, phRise: .06, level: 34, loss: .2, warm: 20, swing: 2.5, litres: 207, known: true, ready: .6, limited: "carbon"},
	"sill-bottles": {now: .46, rate: .01, spread: .3, ph: 10.1, phRise: .01, level: 14, loss: .02, warm: 21, swing: 1.5, litres: 7.8, known: true, limited: "light"},
}

// density is the median at t.
func (s shape) density(t time.Time) float64 {
	d := t.Sub(Now).Hours() / 24
	x := s.now * math.Exp(s.rate*d*(1-.03*math.Max(d, 0)))
	if s.drop > 0 && d < -s.drop+.05 {
		atDrop := s.left / math.Exp(-0*s.drop)
		x = atDrop * 1.9 * math.Exp(s.rate*(d+s.drop)*1.1)
	}
	hour := t.In(Zone).Hour()
	return x * (1 + .018*math.Sin(float64(hour-9)/24*2*math.Pi))
}

func (s shape) band(t time.Time) num.Band {
	d := t.Sub(Now).Hours() / 24
	w := s.spread
	if d > 0 {
		w += .012 * d
	} else {
		w *= 1 + .2*math.Sin(d*1.7)
	}
	x := s.density(t)
	return num.Band{Low: x * (1 - w), Mid: x, High: x * (1 + w)}
}

func around(x, half float64) num.Band { return num.Band{Low: x - half, Mid: x, High: x + half} }

func (s shape) temp(t time.Time) float64 {
	l := t.In(Zone)
	h := float64(l.Hour()) + float64(l.Minute())/60
	return s.warm + s.swing*math.Sin((h-9.5)/24*2*math.Pi) + 1.2*math.Sin(float64(l.YearDay()))
}

func (s shape) pH(t time.Time) float64 {
	d := t.Sub(Now).Hours() / 24
	return s.ph + s.phRise*d*.6 + .07*math.Sin(float64(t.In(Zone).Hour()-10)/24*2*math.Pi)
}

func (s shape) depth(t time.Time) float64 {
	d := t.Sub(Now).Hours() / 24
	if d < 0 {
		return s.level + .4*math.Abs(math.Sin(d*.6))*s.loss*3
	}
	return s.level - s.loss*d
}

func (s shape) estimate() keeper.Estimate {
	x := s.band(Now)
	temp := s.temp(Now)
	return keeper.Estimate{At: Now, Known: s.known, Bands: map[keeper.Quantity]num.Band{
		keeper.DensityGPerL: x, keeper.SecchiCM: {Low: secchiPerDensity / x.High, Mid: secchiPerDensity / x.Mid, High: secchiPerDensity / x.Low},
		keeper.PH25C: around(s.ph, .1), keeper.PH: around(s.ph+.05, .1), keeper.TempC: around(temp, .9), keeper.LevelCM: around(s.level, .15),
		keeper.VolumeL: around(s.litres, s.litres*.03), keeper.ConductivityM: around(20.4, .6), keeper.GrowthGPerDay: around(s.rate*s.now*s.litres*.9, s.rate*s.now*s.litres*.2),
	}}
}

func curves(s shape, from, to time.Time, step time.Duration) map[keeper.Quantity]keeper.Curve {
	out := map[keeper.Quantity]keeper.Curve{}
	put := func(q keeper.Quantity, t time.Time, b num.Band) {
		c := out[q]
		c.Times, c.Bands = append(c.Times, t), append(c.Bands, b)
		out[q] = c
	}
	for t := from; !t.After(to); t = t.Add(step) {
		ahead := math.Max(t.Sub(Now).Hours()/24, 0)
		put(keeper.DensityGPerL, t, s.band(t))
		put(keeper.PH25C, t, around(s.pH(t), .08+.015*ahead))
		put(keeper.TempC, t, around(s.temp(t), .6+.3*ahead))
		put(keeper.LevelCM, t, around(s.depth(t), .12+.08*ahead))
	}
	return out
}

var skies = []string{"bright", "bright", "grey", "hazy", "bright", "bright", "bright", "hazy", "hazy", "grey"}

// Forecast is ten days drawn with a ruler.
func (f *Farm) Forecast(_ context.Context, id string, at time.Time) (keeper.Forecast, error) {
	s, ok := shapes[id]
	if !ok || !f.has(id) {
		return keeper.Forecast{}, &farm.Error{Code: farm.NotFound, Field: "id", Message: fmt.Sprintf("vessel %q has no forecast yet", id)}
	}
	out := keeper.Forecast{
		Vessel: id, At: Now, Weather: "weather.demo", ReadyGPerL: s.ready,
		Past:   curves(s, Now.Add(-14*24*time.Hour), Now, 2*time.Hour),
		Ahead:  curves(s, Now, Now.Add(10*24*time.Hour), 2*time.Hour),
		Limits: limits(s.limited),
	}
	for i := range 10 {
		noon := time.Date(2026, 5, 14+i, 12, 0, 0, 0, Zone)
		b := s.band(noon)
		spread := .8 + .3*float64(i)
		out.Days = append(out.Days, keeper.Day{
			Date: noon.Format(time.DateOnly), Sky: skies[i], DensityGPerL: b, PH25C: around(s.pH(noon), .08+.015*float64(i)),
			TempMinC: around(s.warm-s.swing, spread*.6), TempMaxC: around(s.warm+s.swing, spread), LevelCM: around(s.depth(noon), .12+.08*float64(i)),
			Ready: s.ready > 0 && b.Mid >= s.ready,
		})
	}
	if s.now >= s.ready {
		out.ReadyNow = .62
	}
	out.Worth = worth(id)
	if s.ready > 0 && s.now < s.ready {
		cross := func(pick func(num.Band) float64) time.Time {
			for t := Now; t.Before(Now.Add(240 * time.Hour)); t = t.Add(time.Hour) {
				if pick(s.band(t)) >= s.ready {
					return t
				}
			}
			return time.Time{}
		}
		out.Ready = keeper.Window{
			Early: cross(func(b num.Band) float64 { return b.High }),
			Mid:   cross(func(b num.Band) float64 { return b.Mid }),
			Late:  cross(func(b num.Band) float64 { return b.Low }),
		}
	}
	return out, nil
}

func limits(first string) []keeper.Limit {
	all := []keeper.Limit{{Key: first, Share: .58}}
	share := []float64{.22, .12, .08}
	for _, k := range []string{"light", "temperature", "carbon", "nitrogen"} {
		if k != first && len(share) > 0 {
			all = append(all, keeper.Limit{Key: k, Share: share[0]})
			share = share[1:]
		}
	}
	return all
}

// worth are the readings that would narrow the next decision.
func worth(id string) []keeper.Worthwhile {
	switch id {
	case "boat-pond":
		return []keeper.Worthwhile{{Kind: "secchi", Share: .41}, {Kind: "temperature", Share: .12}, {Kind: "ph", Share: .06}}
	case "lantern-pond":
		return []keeper.Worthwhile{{Kind: "dry_weight", Share: .55}, {Kind: "secchi", Share: .2}}
	}
	return []keeper.Worthwhile{}
}

// readings turns a reading's values into what the charts show.
func readings(e farm.Entry, body farm.Body) []keeper.Reading {
	var out []keeper.Reading
	add := func(key string, q keeper.Quantity, spread func(float64) num.Band) {
		x, ok := body.Number(key)
		if !ok {
			return
		}
		op := body.Text("op")
		if op == "" {
			op = "="
		}
		r := keeper.Reading{EntryID: e.ID, At: e.At, Quantity: q, Value: x, Op: op, Spread: spread(x), By: e.By}
		if key == "ph" && x < 9.7 {
			r.Doubt = "far below everything else"
		}
		out = append(out, r)
	}
	add("secchi_cm", keeper.SecchiCM, func(x float64) num.Band {
		m := secchiPerDensity / x
		return num.Band{Low: m * .9, Mid: m, High: m * 1.12}
	})
	add("dry_weight_g_per_l", keeper.DensityGPerL, func(x float64) num.Band { return around(x, .03) })
	add("ph", keeper.PH, func(x float64) num.Band { return around(x, .08) })
	add("temp_c", keeper.TempC, func(x float64) num.Band { return around(x, .3) })
	add("level_cm", keeper.LevelCM, func(x float64) num.Band { return around(x, .2) })
	add("conductivity_ms_per_cm", keeper.ConductivityM, func(x float64) num.Band { return around(x, .4) })
	return out
}
