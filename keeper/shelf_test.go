package keeper_test

import (
	"context"
	"math"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
)

// shelf writes lots down, invented.
func (w *world) shelf(at string) {
	w.t.Helper()
	w.write(
		w.entry(at, "", "recipe", body{"id": "rock-medium", "name": "Rock medium", "salts_g_per_l": body{"NaHCO3": 8, "KNO3": 2, "NaCl": 5}}),
		w.entry(at, "", "water", body{"id": "rain", "name": "Rain", "origin": "rain"}),
		w.entry(at, "", "supply", body{"id": "soda-a", "name": "soda", "salt": "NaHCO3", "mass_g": 5000, "price": 10}),
		w.entry(at, "", "supply", body{"id": "nitre-a", "name": "nitre", "salt": "KNO3", "mass_g": 10000, "price": 40}),
		w.entry(at, "", "supply", body{"id": "salt-a", "name": "salt", "salt": "NaCl", "mass_g": 3000}),
	)
}

func present(w *world) (p *farm.Present) {
	w.k.Read(func(x *farm.Present) { p = x })
	return p
}

// What runs out when is arithmetic; the amounts stand on the IUPAC weights and
// on the tenth of dry matter that is nitrogen (farm/advice, NitrogenShare).
func TestShelfReckons(t *testing.T) {
	w := newWorld(t, "2026-06-20T08:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.shelf("2026-06-01T08:10:00Z")
	at := moment(t, "2026-06-20T08:00:00Z")
	eaters := []keeper.Eater{{GrowthGPerD: num.Band{Low: 50, Mid: 100, High: 150}, SodaGPerG: 5, AirGPerD: 20}}
	s := keeper.ShelfOf(present(w), present(w).Shelf(at), eaters, at)
	need := map[string]keeper.Need{}
	for _, n := range s.Needs {
		need[n.Of] = n
	}
	day := func(t0 time.Time) float64 { return t0.Sub(at).Hours() / 24 }
	for _, c := range []struct {
		what      string
		got, want float64
		near      float64
		source    string
	}{
		{"saltpetre a day", need["potassium-nitrate"].RateGPerD.Mid, 100 * 0.10 * 101.10 / 14.007 / 0.99, 0.2, "IUPAC: KNO3 101.10, N 14.007; sold at 99 %"},
		{"saltpetre at most", need["potassium-nitrate"].RateGPerD.High, 150 * 0.10 * 101.10 / 14.007 / 0.99, 0.3, "the same"},
		{"soda a day", need["baking-soda"].RateGPerD.Mid, (100 - 20) * 5, 1e-9, "balance: what air does not feed"},
		{"soda at least", need["baking-soda"].RateGPerD.Low, (50 - 20) * 5, 1e-9, "balance"},
		{"soda lasts", day(need["baking-soda"].RunsOut.Mid), 5000.0 / 400, 1e-6, "division"},
		{"soda lasts at least", day(need["baking-soda"].RunsOut.Early), 5000.0 / 650, 1e-6, "division"},
		{"soda lasts at most", day(need["baking-soda"].RunsOut.Late), 5000.0 / 150, 1e-6, "division"},
		{"a litre", s.Litres[0].Value, 0.008*2 + 0.002*4, 1e-12, "8 g at 2 a kilogram, 2 g at 4"},
		{"a kilogram", s.Kilogram.Value, 0.10*1000*101.10/14.007/1000*4 + 4*2, 0.05, "721.8 g of saltpetre at 4, 4 kg of soda at 2"},
	} {
		if !(math.Abs(c.got-c.want) <= c.near) {
			t.Errorf("%s: %g, want %g within %g (%s)", c.what, c.got, c.want, c.near, c.source)
		}
	}
	if len(s.Litres) != 1 || len(s.Litres[0].Missing) != 1 || s.Litres[0].Priced != 2 {
		t.Errorf("a litre: %+v, want the salt without a price named", s.Litres)
	}
	if n := need["salt"]; n.ByForecast || !n.RunsOut.Mid.IsZero() || n.RateGPerD.High != 0 {
		t.Errorf("salt: %+v; nothing feeds it and none went", n)
	}
	if s.Needs[0].Of != "baking-soda" {
		t.Errorf("in front stands %s, want what runs out first", s.Needs[0].Of)
	}
	if idle := keeper.ShelfOf(present(w), present(w).Shelf(at), nil, at); idle.Eating || idle.Needs[0].RateGPerD.Mid != 0 {
		t.Errorf("nothing grows and nothing went: %+v", idle.Needs[0])
	}
}

// What no forecast feeds goes as it went in the last four weeks.
func TestShelfPast(t *testing.T) {
	w := newWorld(t, "2026-06-29T08:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.shelf("2026-06-01T08:00:00Z")
	w.note("2026-06-10T08:00:00Z", "one", "mixed", body{"volume_l": 56, "medium": body{"recipe": "rock-medium"}})
	at := moment(t, "2026-06-29T08:00:00Z")
	s := keeper.ShelfOf(present(w), present(w).Shelf(at), nil, at)
	for _, n := range s.Needs {
		if n.Of != "salt" {
			continue
		}
		// 56 L of 5 g/L in 28 days are 10 g a day; of 2720 g left they last 272 days.
		if math.Abs(n.PastGPerD-10) > 1e-9 || math.Abs(n.RunsOut.Mid.Sub(at).Hours()/24-272) > 1e-6 || n.RunsOut.Late != (time.Time{}) {
			t.Errorf("salt: %+v", n)
		}
		return
	}
	t.Error("salt is not among what is needed")
}

func TestKeeperShelf(t *testing.T) {
	w := season(t, small)
	w.shelf("2026-06-01T10:00:00Z")
	s, err := w.k.Shelf(context.Background(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Eating || len(s.Lots) != 3 || s.Needs[0].RateGPerD.Mid <= 0 || s.Needs[0].RunsOut.Mid.IsZero() {
		t.Errorf("shelf of a growing pond: %+v", s.Needs)
	}
	// Noted a moment ago, it is in the answer.
	w.note("2026-06-06T07:43:59Z", "one", "fed", body{"salts_g": body{"KNO3": 200}})
	s, err = w.k.Shelf(context.Background(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range s.Lots {
		if l.ID == "nitre-a" && math.Abs(l.LeftG-9800) > 1e-6 {
			t.Errorf("%g g of nitre are left, want 9800", l.LeftG)
		}
	}
}

func TestBench(t *testing.T) {
	w := season(t, small)
	w.shelf("2026-06-01T10:00:00Z")
	w.write(w.entry("2026-06-01T10:00:00Z", "", "instrument", body{"id": "meter", "measures": "ph", "make": "meter"}))
	w.note("2026-06-05T18:00:00Z", "one", "harvested", body{"volume_l": 100})
	b, err := w.k.Bench(context.Background(), time.Time{}, true)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Recipes) != 1 || len(b.Waters) != 1 || len(b.Shelf.Lots) != 3 || len(b.Vessels) != 3 {
		t.Fatalf("bench %+v", b)
	}
	if plain, err := w.k.Bench(context.Background(), time.Time{}, false); err != nil || len(plain.Vessels) != 3 || plain.Vessels[0].Medium == nil || plain.Vessels[0].Volume.Mid > 0 || len(plain.Shelf.Lots) != 3 {
		t.Errorf("without estimates: %+v, %v", plain, err)
	}
	one := b.Vessels[0]
	// 3 m x 2 m x 0.18 m are 1080 L; what is missing and what is there make that.
	if math.Abs(one.FullL-1080) > 1e-6 || math.Abs(one.MissingL.Mid+one.Volume.Mid-1080) > 1 || one.MissingL.Low > one.MissingL.High {
		t.Errorf("pond one: full %g, missing %+v, holds %+v", one.FullL, one.MissingL, one.Volume)
	}
	if one.DepthCM < 15 || one.DepthCM > 18.5 || one.Medium == nil || one.Medium.SaltsGPerL["NaHCO3"] != 6 || one.FeedSalt != "KNO3" || !one.Started || !one.Food {
		t.Errorf("pond one: %+v", one)
	}
	if one.RemovedG < 20 || one.RemovedG > 80 { // 100 L of about 0.45 g/L
		t.Errorf("100 L of harvest took %g g", one.RemovedG)
	}
	if len(one.PHReadings) != 1 || one.PHReadings[0].Value != 9.6 || one.PHReadings[0].TempC == nil || *one.PHReadings[0].TempC != 21 {
		t.Errorf("readings of pH %+v", one.PHReadings)
	}
	if one.MeterChecked {
		t.Error("the meter was never checked")
	}
	w.note("2026-06-06T07:00:00Z", "", "checked", body{"instrument": "meter", "result": "adjusted"})
	w.note("2026-06-06T07:10:00Z", "one", "smell", body{"smell": "ammonia"})
	b, err = w.k.Bench(context.Background(), time.Time{}, true)
	if err != nil {
		t.Fatal(err)
	}
	if one = b.Vessels[0]; !one.MeterChecked || !one.Ammonia {
		t.Errorf("checked %v, ammonia %v; both were noted", one.MeterChecked, one.Ammonia)
	}
	w.note("2026-06-06T07:20:00Z", "", "checked", body{"instrument": "meter", "result": "failed"})
	if b, _ = w.k.Bench(context.Background(), time.Time{}, true); b.Vessels[0].MeterChecked {
		t.Error("a meter that failed counts as checked")
	}
}

func BenchmarkBench(b *testing.B) {
	w := season(b, small)
	w.shelf("2026-06-01T10:00:00Z")
	if _, err := w.k.Bench(context.Background(), time.Time{}, true); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := w.k.Bench(context.Background(), time.Time{}, true); err != nil {
			b.Fatal(err)
		}
	}
}
