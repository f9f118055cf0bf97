package scenario

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
)

// run reads and runs a tree; text is the weather file it names.
func run(tb testing.TB, tree map[string]any, text string) *Result {
	tb.Helper()
	res, err := tryRun(tb, tree, text)
	if err != nil {
		tb.Fatal(err)
	}
	return res
}

func tryRun(tb testing.TB, tree map[string]any, text string) (*Result, error) {
	tb.Helper()
	f, err := Read(raw(tb, tree))
	if err != nil {
		tb.Fatal(err)
	}
	return Run(context.Background(), f, func(name string) (io.ReadCloser, error) {
		if text == "" {
			return nil, errors.New("no such file")
		}
		return io.NopCloser(bytes.NewReader([]byte(text))), nil
	}, true, nil)
}

func near(tb testing.TB, what string, got, want, tol float64, source string) {
	tb.Helper()
	if !(math.Abs(got-want) <= tol) {
		tb.Errorf("%s: %.5g, want %.5g ± %.2g (%s)", what, got, want, tol, source)
	}
}

func TestRunRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		tree        map[string]any
		text, field string
	}{
		"no such weather file":                  {with(plain(), "weather", map[string]any{"hourly_csv": "nowhere.csv"}), "", "weather.hourly_csv"},
		"a weather file that is none":           {with(plain(), "weather", map[string]any{"hourly_csv": "x.csv"}), "a,b\n1,2\n", "hourly_csv"},
		"weather that ends before the scenario": {with(with(plain(), "weather", map[string]any{"hourly_csv": "x.csv"}), "days", 5), rows(96, nil), "weather"},
		"weather that begins after it":          {with(with(plain(), "weather", map[string]any{"hourly_csv": "x.csv"}), "start", "2026-04-20"), rows(96, nil), "weather"},
		"a pH that carbon cannot give":          {with(with(plain(), "medium.salts_g_per_l", map[string]any{"NaCl": 5.0}), "medium.ph_25c", 12.0), "", "medium"},
	} {
		_, err := tryRun(t, c.tree, c.text)
		var fe *farm.Error
		if !errors.As(err, &fe) || !strings.HasSuffix(fe.Field, c.field) {
			t.Errorf("%s: %v, want an error at %s", name, err, c.field)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	f, err := Read(raw(t, with(plain(), "days", 50)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Run(ctx, f, nil, false, func(day, _ int) {
		if day == 2 {
			cancel()
		}
	}); !errors.Is(err, context.Canceled) {
		t.Errorf("a run that was called off: %v", err)
	}
}

// A weather file that covers the days and not an hour more will do.
func TestHourlyToTheHour(t *testing.T) {
	tree := with(plain(), "weather", map[string]any{"hourly_csv": "x.csv", "wind_height_m": 10.0})
	res := run(t, tree, rows(72, nil))
	if len(res.Days) != 3 || len(res.Hours) != 72 || res.Hours[0].Time != "2026-05-01T01:00:00Z" || res.Hours[71].Time != "2026-05-04T00:00:00Z" {
		t.Fatalf("%d days, %d hours", len(res.Days), len(res.Hours))
	}
	for i, d := range res.Days {
		mean := 0.0
		for _, h := range res.Hours[24*i : 24*i+24] {
			mean += h.TempC / 24
		}
		near(t, "mean temperature of "+d.Date, d.TempMeanC, mean, 0.15, "the rows by the hour")
	}
	// Light as told, through to the rows: 0.45 of global by 4.57 µmol/J.
	near(t, "light of noon", res.Hours[12].PARUmolM2S, 0.45*4.57*800*math.Cos(0.5/12*math.Pi), 25, "McCree 1972, 4.57 µmol/J; half an hour past noon")
	if res.Hours[2].PARUmolM2S != 0 {
		t.Errorf("light at three in the morning: %g", res.Hours[2].PARUmolM2S)
	}
	// Wind told at 10 m blows less at 2 m than wind told at 2 m.
	calm := run(t, tree, rows(72, nil)).Days[2].EvaporationMM
	windy := run(t, with(tree, "weather.wind_height_m", 2.0), rows(72, nil)).Days[2].EvaporationMM
	if !(windy > calm*1.02) {
		t.Errorf("3.2 m/s at 2 m evaporate %.2f mm, at 10 m %.2f mm", windy, calm)
	}
	if bridged := run(t, tree, rows(72, func(i int, c map[string]string) {
		if i == 30 {
			c["t_air_c"] = ""
		}
	})); len(bridged.Notes) != 1 || !strings.Contains(bridged.Notes[0], "1 missing") {
		t.Errorf("a bridged value is not told: %q", bridged.Notes)
	}
}

func TestMonthly(t *testing.T) {
	tree := with(with(plain(), "weather", map[string]any{"monthly": months(nil), "wind_height_m": 10.0}), "days", 40)
	with(tree, "site.lat_deg", 12.0)
	a := run(t, tree, "")
	if b := run(t, tree, ""); a.Days[39] != b.Days[39] {
		t.Error("mean days differ from run to run")
	}
	drawn := run(t, with(tree, "seed", 7), "")
	if again := run(t, with(tree, "seed", 7), ""); drawn.Days[39] != again.Days[39] {
		t.Error("one seed draws two weathers")
	}
	if other := run(t, with(tree, "seed", 8), ""); drawn.Days[39] == other.Days[39] {
		t.Error("two seeds draw one weather")
	}
	spread := func(r *Result) float64 {
		var sum, sq float64
		for _, d := range r.Days {
			sum += d.TempMeanC
			sq += d.TempMeanC * d.TempMeanC
		}
		n := float64(len(r.Days))
		return math.Sqrt(sq/n - sum*sum/n/n)
	}
	if !(spread(drawn) > 2*spread(a)) {
		t.Errorf("drawn days spread by %.2f °C, mean days by %.2f", spread(drawn), spread(a))
	}
	// Across the turn of a year.
	turn := run(t, with(with(with(tree, "start", "2026-12-20"), "days", 30), "seed", nil), "")
	if turn.Days[29].Date != "2027-01-18" {
		t.Errorf("thirty days from 20 December end on %s", turn.Days[29].Date)
	}
	if len(a.Assumptions) == 0 || !strings.Contains(strings.Join(a.Assumptions, " "), "mean days") || !strings.Contains(strings.Join(drawn.Assumptions, " "), "seed 7") {
		t.Errorf("assumptions: %q, %q", a.Assumptions, drawn.Assumptions)
	}
}

func TestConstant(t *testing.T) {
	tree := plain()
	res := run(t, tree, "")
	lit := 0
	for _, h := range res.Hours[:24] {
		if h.PARUmolM2S > 0 {
			lit++
			near(t, "light", h.PARUmolM2S, 300*0.45*4.57, 0.01, "300 W/m², 0.45 × 4.57 µmol/J")
		}
	}
	if lit != 12 {
		t.Errorf("%d of 24 hours are lit, want 12 around noon", lit)
	}
	if res.Hours[5].PARUmolM2S != 0 || res.Hours[6].PARUmolM2S == 0 || res.Hours[17].PARUmolM2S == 0 || res.Hours[18].PARUmolM2S != 0 {
		t.Error("twelve hours of light are not those from six to six")
	}
	always := run(t, with(tree, "weather.constant.photoperiod_h", nil), "")
	for _, h := range always.Hours {
		if h.PARUmolM2S == 0 {
			t.Fatalf("without a photoperiod it is dark at %s", h.Time)
		}
	}
	// A room: lamp light by its photons, on the wall of a bottle as told.
	bottle := plain()
	bottle["vessel"] = map[string]any{"shape": "bottle", "diameter_cm": 28.0, "height_cm": 32.0, "shoulder_height_cm": 8.0, "neck_diameter_cm": 6.0, "level_cm": 30.0, "place": "indoors"}
	bottle["weather"] = map[string]any{"constant": map[string]any{"t_air_c": 27.0, "rh_pct": 50.0, "wind_m_s": 0.0, "par_umol_m2_s": 320.0, "photoperiod_h": 12.5}}
	with(bottle, "medium.ph_25c", nil) // fresh: its carbon has to last
	bottle["culture"] = map[string]any{"density_g_per_l": 0.12}
	bottle["days"] = 8
	room := run(t, bottle, "")
	near(t, "light on the wall", room.Hours[12].PARUmolM2S, 320, 0.5, "what the scenario says")
	days := math.Inf(1)
	for i, h := range room.Hours {
		if h.DensityGPerL >= 0.6 {
			days = float64(i+1) / 24
			break
		}
	}
	// 320 µmol all day are the 500 at noon of a sine of light.
	if days < 3.5 || days > 5.5 {
		t.Errorf("a bottle diluted 1:5 is dark again after %.1f days; growers: four to five (common practice, no source)", days)
	}
	if d := room.Days[7]; d.TempMeanC < 27 || d.TempMeanC > 31 {
		t.Errorf("in a room of 27 °C the bottle stands at %.1f °C, want that or some degrees more by its light", d.TempMeanC)
	}
	t.Logf("bottle %.1f days, %.1f °C", days, room.Days[7].TempMeanC)
}

// Plain water without a culture: a pan.
func TestPan(t *testing.T) {
	tree := map[string]any{
		"start": "2026-05-02", "days": 2, "site": map[string]any{"lat_deg": 38.0, "lon_deg": -119.0, "elevation_m": 1950.0, "timezone": "UTC"},
		"vessel": map[string]any{"shape": "cylinder", "diameter_m": 1.2065, "height_m": 0.254, "level_cm": 17.0},
		"medium": map[string]any{"salts_g_per_l": map[string]any{}}, "culture": map[string]any{"density_g_per_l": 0.0},
		"weather": map[string]any{"hourly_csv": "pan.csv", "wind_height_m": 10.0},
	}
	res := run(t, tree, rows(96, nil))
	area := math.Pi / 4 * 1.2065 * 1.2065
	full := area * 170
	gone := 0.0
	for _, d := range res.Days {
		gone += d.EvaporationMM
		near(t, "what is left "+d.Date, d.VolumeL, full-gone*area, 0.004*full, "the fall of the level is the evaporation; water swells some 0.3 % as it warms")
		if d.DensityGPerL != 0 || d.ProductivityGPerM2 != 0 || d.HarvestedDryG != 0 || d.ConductivityMSCM > 0.05 || d.PH25C < 5.3 || d.PH25C > 7.2 {
			t.Errorf("plain water: %+v", d)
		}
	}
	if len(res.Cautions) > 0 {
		t.Errorf("a pan of water calls for %q", res.Cautions)
	}
	// Until it is dry, and after.
	dry := run(t, with(with(tree, "vessel.level_cm", 1.0), "days", 3), rows(96, nil))
	last := dry.Days[2]
	if last.VolumeL > 0.1 || !strings.Contains(strings.Join(dry.Cautions, " "), "dry") {
		t.Errorf("1 cm of water after three days: %+v, cautions %q", last, dry.Cautions)
	}
	if b, err := json.Marshal(dry); err != nil || bytes.Contains(b, []byte("null")) {
		t.Errorf("a dry pan does not print: %v", err)
	}
}

func TestRules(t *testing.T) {
	// Water that nothing lives in keeps the pH it was brought to, told at 25 °C
	// whatever its warmth.
	idle := run(t, with(with(plain(), "culture.density_g_per_l", 0.0), "weather.constant.t_air_c", 12.0), "")
	near(t, "pH at 25 °C after a day", idle.Days[0].PH25C, 10, 0.015, "medium.ph_25c, and a day's breath")
	grown := func(tree map[string]any) *Result { return run(t, with(tree, "days", 12), "") }
	bare := grown(plain())
	for _, d := range bare.Days {
		if d.HarvestedDryG != 0 || d.FedG != 0 {
			t.Errorf("no rules, and yet %+v", d)
		}
	}
	above := grown(with(plain(), "harvest", map[string]any{"rule": "above", "density_g_per_l": 0.5, "leave_g_per_l": 0.4, "hour": 10.0}))
	total := 0.0
	for i, d := range above.Days {
		total += d.HarvestedDryG
		if d.DensityGPerL > 0.62 {
			t.Errorf("%s: %g g/L though it is harvested above 0.5", d.Date, d.DensityGPerL)
		}
		if d.HarvestedDryG > 0 {
			// At the full hour of the harvest it stands at what is left.
			h := above.Hours[24*i+10]
			near(t, "an hour after the harvest", h.DensityGPerL, 0.4, 0.012, "leave_g_per_l")
		}
	}
	if total == 0 {
		t.Error("nothing was harvested")
	}
	share := grown(with(plain(), "harvest", map[string]any{"rule": "fraction", "fraction": 0.25}))
	for i, d := range share.Days[1:] {
		before := share.Hours[24*(i+1)+7].DensityGPerL // at eight
		near(t, "a quarter of it", d.HarvestedDryG, 0.25*before*d.VolumeL, 0.05*d.HarvestedDryG, "the fraction")
	}
	// Without top-up the level falls, with it it does not; both give the same
	// water to the air.
	dry, wet := grown(plain()), grown(with(plain(), "water.rule", "top-up"))
	if !(dry.Days[11].VolumeL < 0.95*dry.Days[0].VolumeL) || !(wet.Days[11].VolumeL > 0.985*wet.Days[0].VolumeL) {
		t.Errorf("without top-up %g of %g L, with it %g of %g L", dry.Days[11].VolumeL, dry.Days[0].VolumeL, wet.Days[11].VolumeL, wet.Days[0].VolumeL)
	}
	if !(dry.Days[11].ConductivityMSCM > wet.Days[11].ConductivityMSCM) {
		t.Error("water that dries does not grow saltier")
	}
	// Replacing what growth took keeps growth and salts going.
	hungry, fed := with(plain(), "medium.salts_g_per_l.KNO3", 0.1), with(plain(), "medium.salts_g_per_l.KNO3", 0.1)
	with(hungry, "water.rule", "top-up")
	with(with(fed, "water.rule", "top-up"), "feed.rule", "replace")
	h, f := grown(hungry), grown(fed)
	if !(f.Days[11].DensityGPerL > 1.2*h.Days[11].DensityGPerL) {
		t.Errorf("fed %.3f, hungry %.3f g/L", f.Days[11].DensityGPerL, h.Days[11].DensityGPerL)
	}
	given, gain := 0.0, (f.Days[10].DensityGPerL-0.4)*f.Days[10].VolumeL
	for _, d := range f.Days {
		given += d.FedG
	}
	// Per gram dry: carbon dioxide 1.72, nitrate salts 0.6 to 0.72, others 0.15.
	near(t, "grams fed per gram grown", given/gain, 2.5, 0.25, "stoichiometry of C 47, N 10, P 1, K 2 %")
	none := run(t, with(plain(), "medium.salts_g_per_l.KNO3", 0.0), "")
	if len(none.Notes) != 1 || !strings.Contains(none.Notes[0], "no nitrogen") {
		t.Errorf("a medium without nitrogen: notes %q", none.Notes)
	}
}

// Days where clocks change: 23 and 25 hours, and one that has no midnight.
func TestClocks(t *testing.T) {
	for _, c := range []struct {
		zone, start string
		hours       []int
	}{
		{"Atlantic/Azores", "2026-03-28", []int{24, 23, 24}}, // clocks go from 0:00 to 1:00
		{"Atlantic/Azores", "2026-10-24", []int{24, 25, 24}},
		{"America/Los_Angeles", "2026-03-07", []int{24, 23, 24}},
		{"Australia/Lord_Howe", "2026-04-04", []int{24, 24, 24}}, // half an hour: 24.5
		{"Asia/Kathmandu", "2026-05-01", []int{24, 24, 24}},      // 5:45 ahead
	} {
		tree := with(with(plain(), "site.timezone", c.zone), "start", c.start)
		with(tree, "harvest", map[string]any{"rule": "above", "density_g_per_l": 0.3, "leave_g_per_l": 0.29, "hour": 0.5})
		res := run(t, tree, "")
		count := map[string]int{}
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range res.Hours {
			at, err := time.Parse(time.RFC3339, h.Time)
			if err != nil {
				t.Fatal(err)
			}
			count[at.Add(-time.Second).In(zone).Format(time.DateOnly)]++
		}
		day, _ := time.Parse(time.DateOnly, c.start)
		for i, want := range c.hours {
			date := day.AddDate(0, 0, i).Format(time.DateOnly)
			if res.Days[i].Date != date {
				t.Errorf("%s: row %d is of %s, want %s", c.zone, i, res.Days[i].Date, date)
			}
			if res.Days[i].HarvestedDryG <= 0 {
				t.Errorf("%s %s: no harvest at half past midnight, wherever that is", c.zone, date)
			}
			if count[date] < want-1 || count[date] > want || c.zone != "Australia/Lord_Howe" && c.zone != "Asia/Kathmandu" && count[date] != want {
				t.Errorf("%s %s: %d hours, want %d", c.zone, date, count[date], want)
			}
		}
	}
}

// A start in the middle of a day: its first row is that part of it, and a
// harvest whose hour is gone waits for the next day.
func TestStartInTheDay(t *testing.T) {
	tree := with(plain(), "start", "2026-05-01T15:00:00Z")
	with(tree, "harvest", map[string]any{"rule": "above", "density_g_per_l": 0.3, "leave_g_per_l": 0.29, "hour": 8.0})
	res := run(t, tree, "")
	if res.Days[0].Date != "2026-05-01" || res.Days[0].HarvestedDryG != 0 || res.Days[1].HarvestedDryG <= 0 {
		t.Errorf("%+v, then %+v", res.Days[0], res.Days[1])
	}
	if res.Hours[0].Time != "2026-05-01T16:00:00Z" {
		t.Errorf("the first hour ends at %s", res.Hours[0].Time)
	}
}

// Cautions are said once, and when they are due.
func TestCautions(t *testing.T) {
	hot := run(t, with(with(plain(), "weather.constant.t_air_c", 44.0), "weather.constant.rh_pct", 90.0), "")
	n := 0
	for _, c := range hot.Cautions {
		if strings.Contains(c, "40 °C") {
			n++
		}
	}
	if n != 1 {
		t.Errorf("water at %.1f °C: cautions %q", hot.Days[0].TempMaxC, hot.Cautions)
	}
	if res := run(t, with(plain(), "medium.ph_25c", 11.4), ""); !strings.Contains(strings.Join(res.Cautions, " "), "pH passes 11") {
		t.Errorf("pH %.2f, cautions %q", res.Days[0].PH25C, res.Cautions)
	}
	for _, c := range append(hot.Cautions, hot.Assumptions...) {
		if strings.Contains(strings.ToLower(c), "safe") {
			t.Errorf("nothing here can say so: %q", c)
		}
	}
}

// One file, whatever the order of its fields.
func TestSameRows(t *testing.T) {
	a := run(t, plain(), "")
	var tree map[string]any
	if err := json.Unmarshal(raw(t, plain()), &tree); err != nil {
		t.Fatal(err)
	}
	b := run(t, tree, "")
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("the same scenario gives other rows")
	}
}
