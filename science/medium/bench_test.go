package medium_test

import (
	"testing"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/units"
)

// thirty returns a shelf of thirty ingredients with prices and stock, and the
// target of Zarrouk's medium, which it reaches.
func thirty(b testing.TB) (*medium.Shelf, medium.Target) {
	b.Helper()
	r, _ := medium.Find("zarrouk")
	target := medium.TargetOf(elementsOf(b, r.SaltsGPerL), 0, growth.DefaultComposition())
	left := map[string]bool{"sea-salt": true, "kieserite": true, "calcium-nitrate-fertiliser": true, "dkp-trihydrate": true, "gypsum": true, "iron-sulfate-dry": true}
	var items []medium.OnShelf
	for i, in := range medium.Ingredients() {
		if in.Step == medium.StepDechlorinate || in.Step == medium.StepTrace || in.Step == medium.StepAlkali || in.Food == medium.NotFood || in.Restricted != "" || left[in.ID] || in.ID == "ferric-chloride" {
			continue
		}
		if items = append(items, medium.OnShelf{Of: in, PricePerKg: 1 + float64(i*37%11), MostGPerL: 100}); len(items) == 30 {
			break
		}
	}
	for _, name := range []string{"20-20-20", "15-5-30 + 2 Mg", "boric acid"} {
		in, err := medium.Lookup(name, medium.US)
		if err != nil {
			b.Fatal(err)
		}
		if len(items) < 30 {
			items = append(items, medium.OnShelf{Of: in, PricePerKg: 4, MostGPerL: 100})
		}
	}
	if len(items) != 30 {
		b.Fatalf("%d ingredients", len(items))
	}
	s, err := medium.NewShelf(items, medium.Water{})
	if err != nil {
		b.Fatal(err)
	}
	return s, target
}

// The bar: a linear program of thirty ingredients under 5 ms.
func BenchmarkCheapest30(b *testing.B) {
	s, target := thirty(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := s.Cheapest(&target); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkClosest30(b *testing.B) {
	s, target := thirty(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := s.Closest(&target); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFewest30(b *testing.B) {
	s, target := thirty(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := s.Fewest(&target); err != nil {
			b.Fatal(err)
		}
	}
}

// The full Zarrouk medium: mixed, in water, as it reads, without what follows.
// A general geochemistry code takes 0.2 to 1.4 ms for its equilibrium alone.
func BenchmarkDissolveZarrouk(b *testing.B) {
	r, _ := medium.Find("zarrouk")
	m := mix(b, r.SaltsGPerL)
	s := brine.New(brine.Pitzer)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Dissolve(s); err != nil {
			b.Fatal(err)
		}
	}
}

// All that a mixing sheet tells of it, three weeks of standing with its spread
// and the days of carbon among it.
func BenchmarkPredictZarrouk(b *testing.B) {
	r, _ := medium.Find("zarrouk")
	m := mix(b, r.SaltsGPerL)
	s := brine.New(brine.Pitzer)
	c := growth.DefaultComposition()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := medium.Predict(s, &m, medium.Plain(), c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkScoopZarrouk(b *testing.B) {
	r, _ := medium.Find("zarrouk")
	d := doses(b, r.SaltsGPerL, 1000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := medium.Scoop(d, 1000, medium.Amounts{}, medium.Amounts{}, units.US); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadyMix(b *testing.B) {
	s := brine.New(brine.Pitzer)
	c := growth.DefaultComposition()
	r := medium.ReadyMix{GPerL: 20, PH: 8.4, PHErr: 0.1, MSCm: 18, MSErr: 0.03}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Guess(s, c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseLabel(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := medium.ParseLabel("NPK 12-12-17 (+2 MgO + 20 SO3), NO3-N 5, NH4-N 7", medium.EU); err != nil {
			b.Fatal(err)
		}
	}
}
