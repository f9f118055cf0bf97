package keeper_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"sodalake/keeper"
)

// BenchmarkHarvestPlan is a ten-day plan with a hundred members, each under a
// weather of its own, from twins that are followed already. The bars of the
// project are 2 s for one vessel and 40 s for twenty, behind the answers.
func BenchmarkHarvestPlan(b *testing.B) {
	for _, vessels := range []int{1, 20} {
		b.Run(fmt.Sprintf("vessels=%d", vessels), func(b *testing.B) {
			w := newWorld(b, "2026-06-06T07:44:00Z", keeper.Options{Members: 100, Draws: 100, Seed: 7})
			w.describe("2026-06-01T08:00:00Z", nil)
			medium := body{"salts_g_per_l": body{"NaHCO3": 4, "Na2CO3": 7, "NaCl": 4, "KNO3": 2, "K2SO4": 0.8, "K2HPO4": 0.2, "MgSO4.7H2O": 0.2}}
			for i := range vessels {
				id := fmt.Sprintf("pond-%d", i+1)
				w.note("2026-06-01T08:00:00Z", "", "vessel", body{
					"id": id, "full_level_cm": 18, "place": "outdoors", "shade_pct": 50, "use": "grow", "stirring": body{"kind": "continuous"},
					"shape": body{"kind": "box", "length_m": 2 + 0.2*float64(i), "width_m": 2, "height_m": 0.3},
				})
				w.note("2026-06-04T09:00:00Z", id, "inoculated", body{"volume_l": 700 + 70*float64(i), "density_g_per_l": 0.3 + 0.02*float64(i), "medium": medium})
			}
			ctx := context.Background()
			if _, err := w.k.Today(ctx, time.Time{}); err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				p, err := w.k.HarvestPlanNow(ctx, time.Time{}, nil)
				if err != nil || p.Draws != 100 {
					b.Fatal(p, err)
				}
			}
		})
	}
}

// BenchmarkScaleUp is the way up from a bottle to a pond with tubs in between,
// whose growth is asked of the model each time.
func BenchmarkScaleUp(b *testing.B) {
	w := newWorld(b, "2026-06-06T07:44:00Z", keeper.Options{})
	w.describe("2026-06-01T08:00:00Z", nil)
	litres := 1.0
	if _, err := w.k.ScaleUp(context.Background(), time.Time{}, keeper.ScaleWish{To: "one"}); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		litres += 1e-6 // the same question would be answered from what is kept
		u, err := w.k.ScaleUp(context.Background(), time.Time{}, keeper.ScaleWish{StartL: litres, To: "one"})
		if err != nil || u.Stuck != nil {
			b.Fatal(u.Stuck, err)
		}
	}
}
