package design_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/farm/design"
)

// month is a row of normals: sun in MJ/m²/d, mean air and half its daily range
// in °C, humidity in %, wind at 10 m in m/s.
func month(ghi, airC, half, rh, wind float64) map[string]any {
	return map[string]any{"ghi_mj_m2_d": ghi, "t_min_c": airC - half, "t_max_c": airC + half, "rh_pct": rh, "wind_m_s": wind}
}

func months(rows ...map[string]any) []any {
	out := make([]any, 12)
	for i := range out {
		out[i] = rows[i%len(rows)]
	}
	return out
}

// Climates of places in published work, from memory, not looked up.
var (
	malaga = months(
		month(9.4, 12.1, 4.6, 69, 2), month(13, 12.9, 4.6, 68, 2), month(17.6, 14.7, 4.8, 67, 2), month(20.9, 16.3, 4.9, 63, 2),
		month(24.5, 19.3, 5, 59, 2), month(27, 23, 5.2, 58, 2), month(27, 25.5, 5.3, 58, 2), month(24.1, 26, 5.1, 61, 2),
		month(19.1, 23.5, 4.7, 65, 2), month(13.7, 19.5, 4.4, 70, 2), month(10.1, 15.7, 4.4, 71, 2), month(8.3, 13.2, 4.4, 72, 2))
	florence = months(
		month(5.4, 6.5, 5, 75, 2.5), month(8.6, 7.8, 5.5, 70, 2.5), month(13, 10.6, 5.5, 68, 2.5), month(16.9, 13.6, 5.5, 68, 2.5),
		month(21.2, 18.2, 5.5, 66, 2.5), month(23.8, 22.1, 5.8, 64, 2.5), month(24.5, 25, 6, 60, 2.5), month(20.9, 24.9, 6, 62, 2.5),
		month(15.5, 20.8, 5.5, 68, 2.5), month(10.4, 16.2, 5, 73, 2.5), month(6.1, 11, 4.5, 77, 2.5), month(4.7, 7.2, 4.5, 77, 2.5))
	negev = months(
		month(11, 9.5, 5.5, 62, 3), month(14, 10.5, 5.5, 60, 3.2), month(18.5, 13.5, 6.5, 55, 3.3), month(23, 17.5, 7.5, 48, 3.3),
		month(26.5, 21.3, 7.7, 45, 3.3), month(29, 24, 7.5, 48, 3.3), month(28.3, 25.6, 7.4, 52, 3.3), month(26, 25.9, 7.1, 56, 3.2),
		month(22.4, 24, 7, 56, 3.1), month(17, 20.7, 6.7, 55, 2.8), month(12.6, 15.7, 6, 57, 2.7), month(10, 11.2, 5.5, 62, 2.8))
	valley = months(
		month(11.7, 12, 8, 45, 2.5), month(15.4, 14.5, 8.5, 42, 2.8), month(20, 17.5, 8.5, 38, 3.3), month(25, 21, 9, 32, 3.6),
		month(28, 25.5, 9.5, 30, 3.7), month(29.5, 30, 10, 28, 3.4), month(27.3, 33, 8.5, 38, 3.3), month(25.4, 32.8, 8.2, 40, 3.1),
		month(22, 29.5, 8.5, 38, 2.7), month(17.3, 23.3, 8.7, 38, 2.4), month(13, 16.5, 8.5, 42, 2.3), month(10.8, 12, 8, 45, 2.3))
	sahel = months(month(21.5, 27.5, 4.5, 70, 2.5))
)

// question is a raceway at a place; change may alter it before it is read.
func question(tb testing.TB, lat, elevation float64, monthly []any, change func(q, d map[string]any)) *design.Ask {
	tb.Helper()
	d := map[string]any{
		"name": "open", "vessel": map[string]any{"shape": "raceway", "length_m": 20.0, "width_m": 4.0, "mid_wall_m": 0.1, "level_cm": 15.0, "height_cm": 35.0},
		"stirring": map[string]any{"kind": "continuous"}, "medium": map[string]any{"recipe": "zarrouk", "ph_25c": 9.8},
		"ready_g_per_l": 0.45, "leave_g_per_l": 0.38,
	}
	q := map[string]any{"site": map[string]any{"lat_deg": lat, "lon_deg": 0.0, "elevation_m": elevation}, "years": 8, "seed": 1, "designs": []any{d}}
	if monthly != nil {
		q["weather"] = map[string]any{"monthly": monthly, "wind_height_m": 10.0}
	}
	if change != nil {
		change(q, d)
	}
	raw, err := json.Marshal(q)
	if err != nil {
		tb.Fatal(err)
	}
	a, err := design.Read(raw)
	if err != nil {
		tb.Fatal(err)
	}
	return a
}

func run(tb testing.TB, a *design.Ask) *design.Answer {
	tb.Helper()
	out, err := design.Run(context.Background(), a, nil)
	if err != nil {
		tb.Fatal(err)
	}
	return out
}

// over is the mean growth over some months [g/m²/d], at a quantile.
func over(o *design.Outcome, of func(m *design.Month) float64, list ...int) float64 {
	sum, days := 0.0, 0.0
	for _, m := range list {
		n := float64([]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[m-1])
		sum += n * of(&o.Months[m-1])
		days += n
	}
	return sum / days
}

func low(m *design.Month) float64  { return m.GrowthGM2.Low }
func mid(m *design.Month) float64  { return m.GrowthGM2.Mid }
func high(m *design.Month) float64 { return m.GrowthGM2.High }

// Yield by month against published sites. The sources print yields of a season
// and hardly any conditions: depth, density and climate are assumed by us, which
// moves a yield by 10 to 25 % by itself, and drawn days give some fifth less
// than mean days, for growth bends with light and warmth. What was reported
// must lie in the band of drawn years widened by 30 % on either side. Cool
// seasons come out low: that is known of the model and told in docs/scenario.md.
func TestPublishedSites(t *testing.T) {
	summer := []int{4, 5, 6, 7, 8, 9, 10}
	for _, c := range []struct {
		name          string
		lat, elev     float64
		monthly       []any
		levelCM       float64
		list          []int
		low, high     float64 // reported [g/m²/d]
		source        string
		change        func(q, d map[string]any)
		sunniestFirst bool
	}{
		{"Malaga", 36.7, 10, malaga, 15, []int{2, 3, 4, 5, 6, 7, 8, 9, 10, 11}, 8.2, 8.8, "Jiménez et al. 2003, Aquaculture 217:179–190 (abstract: 30–32 t/ha/y over ten months); light wind assumed", nil, true},
		{"Florence", 43.8, 40, florence, 15, summer, 1800.0 / 214, 1800.0 / 214, "Torzillo et al. 1986, Biomass 11:61–74 (abstract: 18 t/ha/y, over some 214 days)", func(_, d map[string]any) { d["winter"] = "indoors" }, true},
		{"Sede Boker, July", 30.9, 475, negev, 12, []int{7}, 11.5, 11.5, "Vonshak & Guy 1989, in Techniques and New Developments in Photosynthesis Research (abstract)", nil, true},
		{"desert valley in California", 33, -20, valley, 20, summer, 8, 10, "Belay 1997, in Vonshak (ed.), Spirulina platensis (Arthrospira), from memory: 8–10 g/m²/d over the season", nil, false},
		{"family pond, 14° N", 14, 20, sahel, 30, []int{4, 5, 6}, 8, 10, "school and family rule, 8–10 g/m²/d; common practice, no source", func(_, d map[string]any) {
			d["vessel"] = map[string]any{"shape": "liner", "top_length_m": 3.0, "top_width_m": 2.0, "bottom_length_m": 2.6, "bottom_width_m": 1.6, "depth_cm": 45.0, "level_cm": 30.0}
			d["ready_g_per_l"], d["leave_g_per_l"] = 0.4, 0.32
		}, false},
	} {
		a := question(t, c.lat, c.elev, c.monthly, func(q, d map[string]any) {
			d["vessel"].(map[string]any)["level_cm"] = c.levelCM
			if c.change != nil {
				c.change(q, d)
			}
		})
		o := &run(t, a).Outcomes[0]
		l, m, h := over(o, low, c.list...), over(o, mid, c.list...), over(o, high, c.list...)
		t.Logf("%-28s %4.1f (%.1f to %.1f) g/m²/d, reported %.1f to %.1f", c.name, m, l, h, c.low, c.high)
		if c.low > 1.3*h || c.high < 0.7*l {
			t.Errorf("%s: %.1f to %.1f g/m²/d, reported %.1f to %.1f (%s)", c.name, l, h, c.low, c.high, c.source)
		}
		if c.sunniestFirst { // a temperate year: midsummer beats spring and autumn, and those winter
			if y := o.Months; !(y[6].GrowthGM2.Mid > y[4].GrowthGM2.Mid && y[6].GrowthGM2.Mid > y[9].GrowthGM2.Mid && y[4].GrowthGM2.Mid > y[0].GrowthGM2.Mid) {
				t.Errorf("%s: July %.1f, May %.1f, October %.1f, January %.1f g/m²/d", c.name, y[6].GrowthGM2.Mid, y[4].GrowthGM2.Mid, y[9].GrowthGM2.Mid, y[0].GrowthGM2.Mid)
			}
		}
	}
}

// The other half of the earth is half a year on: the same climate turned round
// gives the same months turned round, within what drawing moves.
func TestSouthMirrorsNorth(t *testing.T) {
	turned := append(append([]any{}, florence[6:]...), florence[:6]...)
	north, south := run(t, question(t, 43.8, 40, florence, nil)), run(t, question(t, -43.8, 40, turned, nil))
	if north.FirstMonth != 7 || south.FirstMonth != 1 {
		t.Fatalf("the years begin in %d and %d, want 7 and 1", north.FirstMonth, south.FirstMonth)
	}
	for m := range 12 {
		a, b := north.Outcomes[0].Months[m].GrowthGM2.Mid, south.Outcomes[0].Months[(m+6)%12].GrowthGM2.Mid
		if math.Abs(a-b) > 1.5 { // the sun is 3 % nearer in January, and the draws differ
			t.Errorf("month %d: %.2f in the north, %.2f half a year on in the south", m+1, a, b)
		}
	}
}

// Nothing grows at a pole, and the answer says why instead of failing.
func TestPole(t *testing.T) {
	for _, lat := range []float64{90, -90, 78} {
		out := run(t, question(t, lat, 0, nil, func(q, d map[string]any) { q["years"], q["wish_g_per_week"] = 3, 500.0 }))
		o := &out.Outcomes[0]
		if o.YearKg.High > 0 || o.Season.NonePct < 99 || o.Season.First != nil || o.Season.LastRegrown != nil {
			t.Errorf("at %g°: %.2g kg, season %+v", lat, o.YearKg.High, o.Season)
		}
		if !strings.Contains(strings.Join(o.Limits, " "), design.TooCold) {
			t.Errorf("at %g° the limits are %v, want the cold", lat, o.Limits)
		}
		if o.Area == nil || o.Area.MeanM2 != nil || o.Area.YearM2 != nil || len(o.Area.EmptyMonths) != 12 {
			t.Errorf("at %g° an area of %+v", lat, o.Area)
		}
		if o.Cost != nil {
			t.Errorf("no price was told, and it costs %+v", o.Cost)
		}
		if raw, err := json.Marshal(out); err != nil {
			t.Errorf("at %g° the answer cannot be sent: %v (%.200s)", lat, err, raw)
		}
	}
}

// What came in is what came out: over a year the growth is the harvest and the
// change of what swims, less what drew off with it. Averages over members hide
// nothing here: months of growth and harvest sum alike within the stock.
func TestBooksClose(t *testing.T) {
	o := &run(t, question(t, 14, 20, sahel, func(q, _ map[string]any) { q["years"] = 2 })).Outcomes[0]
	grown := over(o, func(m *design.Month) float64 { return m.GrowthGM2.Mid }, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
	taken := over(o, func(m *design.Month) float64 { return m.YieldGM2D.Mid }, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
	stock := (0.45 - 0.3) * o.VolumeL / o.AreaM2 / 365 // most that may stand over [g/m²/d]
	if math.Abs(grown-taken) > stock+1e-6 {
		t.Errorf("grown %.3f, taken %.3f g/m²/d: more than %.3f apart", grown, taken, stock)
	}
	if math.Abs(taken-o.YearGM2D.Mid) > 1e-3*taken {
		t.Errorf("months sum to %.3f, the year is %.3f g/m²/d", taken, o.YearGM2D.Mid)
	}
	if want := o.YearGM2D.Mid * 365 * o.AreaM2 / 1000; math.Abs(want-o.YearKg.Mid) > 1e-3*want {
		t.Errorf("%.2f kg a year, the area says %.2f", o.YearKg.Mid, want)
	}
}

// A second design that is the first again brings the same in every year; and
// the answer does not hang on the number of cores.
func TestSameDraws(t *testing.T) {
	a := question(t, 43.8, 40, florence, func(q, d map[string]any) {
		q["years"] = 4
		other := map[string]any{}
		for k, v := range d {
			other[k] = v
		}
		other["name"] = "again"
		q["designs"] = []any{d, other}
	})
	out := run(t, a)
	if v := out.Versus; len(v) != 1 || v[0].MorePct.Low != 0 || v[0].MorePct.High != 0 || v[0].BetterPct != 0 {
		t.Errorf("the same twice differs: %+v", v)
	}
	old := runtime.GOMAXPROCS(1)
	alone := run(t, a)
	runtime.GOMAXPROCS(old)
	if !reflect.DeepEqual(out, alone) {
		t.Error("one core gives another answer than all")
	}
	a.Seed = 2
	if reflect.DeepEqual(out.Outcomes[0].YearKg, run(t, a).Outcomes[0].YearKg) {
		t.Error("another seed gives the same years")
	}
}

// A cover warms and a second film warms more in the cold half of the year; a
// denser cloth leaves less light and less evaporation.
func TestSideBySide(t *testing.T) {
	a := question(t, 43.8, 40, florence, func(q, d map[string]any) {
		q["years"] = 6
		with := func(name string, change func(d map[string]any)) map[string]any {
			other := map[string]any{}
			for k, v := range d {
				other[k] = v
			}
			other["name"] = name
			change(other)
			return other
		}
		q["designs"] = []any{d,
			with("tunnel", func(d map[string]any) { d["cover"] = map[string]any{"kind": "tunnel"} }),
			with("double", func(d map[string]any) { d["cover"] = map[string]any{"kind": "tunnel"}; d["second_cover"] = true }),
			with("shaded", func(d map[string]any) { d["shade_pct"] = 50.0 }),
		}
	})
	out := run(t, a)
	o := func(i int) *design.Outcome { return &out.Outcomes[i] }
	for _, m := range []int{11, 12, 1, 2, 3} {
		open, tunnel, double := o(0).Months[m-1].WaterC.Mid, o(1).Months[m-1].WaterC.Mid, o(2).Months[m-1].WaterC.Mid
		if !(open < tunnel && tunnel < double) {
			t.Errorf("month %d: %.1f °C open, %.1f in a tunnel, %.1f under two films", m, open, tunnel, double)
		}
	}
	if !(o(1).Season.LengthD.Mid > o(0).Season.LengthD.Mid+10) {
		t.Errorf("season of %.0f days open, %.0f in a tunnel", o(0).Season.LengthD.Mid, o(1).Season.LengthD.Mid)
	}
	if !(o(1).WaterM3.Mid < o(0).WaterM3.Mid && o(3).WaterM3.Mid < o(0).WaterM3.Mid) {
		t.Errorf("water: open %.1f, tunnel %.1f, shaded %.1f m³", o(0).WaterM3.Mid, o(1).WaterM3.Mid, o(3).WaterM3.Mid)
	}
	for i := range out.Outcomes {
		s := &o(i).Season
		if s.First == nil || s.Last == nil || s.LastRegrown == nil || s.Restart == nil {
			t.Fatalf("%s: %+v", o(i).Name, s)
		}
		// In the temperate north it begins in spring and ends in autumn, and the
		// last harvest that grows back comes before the last one.
		if !(s.First.Mid > "03" && s.First.Mid < "06-10" && s.Last.Mid > "09" && s.Last.Mid < "12" && s.LastRegrown.Mid < s.Last.Mid && s.Restart.Mid < s.First.Mid) {
			t.Errorf("%s: restart %v, first %v, last regrown %v, last %v", o(i).Name, *s.Restart, *s.First, *s.LastRegrown, *s.Last)
		}
		if s.LastRegrown.Early > s.LastRegrown.Mid || s.LastRegrown.Mid > s.LastRegrown.Late {
			t.Errorf("%s: dates out of order %v", o(i).Name, *s.LastRegrown)
		}
	}
}

// Areas and money are arithmetic on the yields: worked here anew.
func TestAreaAndMoney(t *testing.T) {
	a := question(t, 43.8, 40, florence, func(q, d map[string]any) {
		q["years"], q["wish_g_per_week"] = 5, 700.0
		d["stir_w"], d["stir_hours"] = 20.0, 12.0
		q["prices"] = map[string]any{"per_kg": map[string]any{"salts": 2.0, "CO2": 1.0}, "water_per_m3": 3.0, "power_per_kwh": 0.5, "build_per_m2": 40.0, "build_lasts_years": 8.0, "hours_per_harvest": 1.5, "work_per_hour": 10.0}
	})
	o := &run(t, a).Outcomes[0]
	if math.Abs(o.PowerKWh-20*12*365/1000.0) > 1e-9 {
		t.Errorf("%.3f kWh, 20 W × 12 h × 365 d are %.3f", o.PowerKWh, 20*12*365/1000.0)
	}
	want := map[string]float64{
		"carbon": o.CO2Kg.Mid, "water": 3 * o.WaterM3.Mid, "power": 0.5 * o.PowerKWh, "building": o.AreaM2 * 40 / 8, "work": 15 * o.HarvestDays.Mid, "filling": 3 * o.FillingM3,
	}
	for _, s := range o.FirstSaltsKg {
		want["filling"] += 2 * s.Kg
	}
	for _, s := range o.FeedKg {
		want["salts"] += 2 * s.Kg
	}
	sum := 0.0
	for _, p := range o.Cost.Parts {
		if math.Abs(p.PerYear-want[p.Key]) > 1e-9*want[p.Key] {
			t.Errorf("%s costs %g, worked by hand %g", p.Key, p.PerYear, want[p.Key])
		}
		sum += p.PerYear
	}
	if len(o.Cost.Parts) != 7 || math.Abs(sum-o.Cost.PerYear) > 1e-9 || math.Abs(*o.Cost.PerKg-sum/o.YearKg.Mid) > 1e-9 {
		t.Errorf("parts %+v sum to %g, told %g, %g a kg", o.Cost.Parts, sum, o.Cost.PerYear, *o.Cost.PerKg)
	}
	if got := *o.Area.MeanM2 * 7 * o.SeasonGM2D.Mid; math.Abs(got-700) > 1e-6 {
		t.Errorf("%.1f m² bring %.1f g a week, 700 were wished", *o.Area.MeanM2, got)
	}
	if o.Area.YearM2 != nil || *o.Area.SureM2 < *o.Area.MeanM2 || *o.Area.EveryM2 < *o.Area.MeanM2 {
		t.Errorf("%+v", o.Area)
	}
	// 75 m² of raceway at 15 cm: 0.15 × (20 × 4) m³ less the wall and the round ends.
	if o.VolumeL < 0.15*1000*o.AreaM2*0.98 || o.VolumeL > 0.15*1000*o.AreaM2*1.02 {
		t.Errorf("%.0f L on %.1f m² at 15 cm", o.VolumeL, o.AreaM2)
	}
}

func TestStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err := design.Run(ctx, question(t, 14, 20, sahel, nil), func(year, of int) {
		if calls++; calls == 2 {
			cancel()
		}
		if of != 8 || year < 1 || year > 8 {
			t.Errorf("year %d of %d", year, of)
		}
	})
	if !errors.Is(err, context.Canceled) || calls > 6 {
		t.Errorf("stopped with %v after %d years", err, calls)
	}
}

func TestRefused(t *testing.T) {
	good := `{"site":{"lat_deg":40,"lon_deg":0},"designs":[{"vessel":{"shape":"box","length_m":3,"width_m":1,"level_cm":15},"medium":{"recipe":"zarrouk"}}]}`
	if _, err := design.Read([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct{ old, new, field string }{
		{`"lat_deg":40,`, ``, "site.lat_deg"}, {`"lat_deg":40`, `"lat_deg":91`, "site.lat_deg"}, {`"lat_deg":40`, `"lat_deg":"x"`, "site.lat_deg"},
		{`"level_cm":15`, `"level_cm":-1`, "designs[0].vessel.level_cm"}, {`"box"`, `"cube"`, "designs[0].vessel.shape"},
		{`"recipe":"zarrouk"`, ``, "designs[0].medium"}, {`"zarrouk"`, `"soup"`, "designs[0].medium.recipe"},
		{`"designs"`, `"years":1,"designs"`, "years"}, {`"designs"`, `"years":100000,"designs"`, "years"}, {`"designs"`, `"wish_g_per_week":-3,"designs"`, "wish_g_per_week"},
		{`"designs"`, `"weather":{"constant":{"t_air_c":20}},"designs"`, "weather"}, {`"designs"`, `"weather":{"monthly":[{}]},"designs"`, "weather.monthly"},
		{`"designs"`, `"prices":{"power_per_kwh":-1},"designs"`, "prices.power_per_kwh"}, {`"designs"`, `"depth":3,"designs"`, "depth"},
		{`"medium"`, `"winter":"away","medium"`, "designs[0].winter"}, {`"medium"`, `"ready_g_per_l":0.2,"medium"`, "designs[0].leave_g_per_l"},
		{`"medium"`, `"stir_hours":25,"medium"`, "designs[0].stir_hours"}, {`"medium"`, `"stir_w":-1,"medium"`, "designs[0].stir_w"},
		{`"medium"`, `"cover":{"kind":"dome"},"medium"`, "designs[0].cover.kind"}, {`"medium"`, `"cover":{"kind":"tunnel","vents":"ajar"},"medium"`, "designs[0].cover.vents"},
		{`"level_cm"`, `"place":"indoors","level_cm"`, "designs[0].vessel.place"}, {`[{`, `[{"name":"a"},{`, "designs[0].vessel"}, {`}]}`, `}]`, ""},
	} {
		text := strings.Replace(good, r.old, r.new, 1)
		_, err := design.Read([]byte(text))
		var fe *farm.Error
		if !errors.As(err, &fe) || fe.Code != farm.Invalid || fe.Field != r.field {
			t.Errorf("%s: %v, field %q; want field %q", text, err, fieldOf(err), r.field)
		}
	}
	// A month that no sky can have.
	sun := months(month(60, 20, 5, 60, 2))
	raw, _ := json.Marshal(sun)
	_, err := design.Read([]byte(strings.Replace(good, `"designs"`, fmt.Sprintf(`"weather":{"monthly":%s},"designs"`, raw), 1)))
	if fieldOf(err) != "weather.monthly[0].ghi_mj_m2_d" {
		t.Errorf("60 MJ a day: %v", err)
	}
}

func fieldOf(err error) string {
	var fe *farm.Error
	if errors.As(err, &fe) {
		return fe.Field
	}
	return fmt.Sprintf("no farm error: %v", err)
}

// Whatever a stranger sends is a question or one error that is a farm's.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"site":{"lat_deg":40,"lon_deg":0},"designs":[{"vessel":{"shape":"box","length_m":3,"width_m":1,"level_cm":15},"medium":{"recipe":"zarrouk"}}]}`))
	f.Add([]byte(`{"designs":[{}]}`))
	f.Add([]byte(`null`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		a, err := design.Read(raw)
		var fe *farm.Error
		if err != nil && !errors.As(err, &fe) {
			t.Fatalf("%q: %v is no farm error", raw, err)
		}
		if err == nil && (len(a.Ponds) == 0 || a.Years < 2) {
			t.Fatalf("%q is taken as %+v", raw, a)
		}
	})
}

// One design through fifty drawn years, growth and weather drawn for each.
func BenchmarkFiftyYears(b *testing.B) {
	a := question(b, 43.8, 40, florence, func(q, _ map[string]any) { q["years"] = 50 })
	b.ReportAllocs()
	for b.Loop() {
		run(b, a)
	}
}
