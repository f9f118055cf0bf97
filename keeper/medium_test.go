package keeper_test

import (
	"reflect"
	"testing"

	"sodalake/keeper"
)

// Medium from a batch that stood ready is what that batch was mixed from.
func TestMediumOfABatch(t *testing.T) {
	fill := func(pour func(w *world) body) keeper.Vessel {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", nil)
		made := w.entry("2026-06-02T08:00:00Z", "", "mixed", body{"volume_l": 500, "medium": soda})
		w.write(made)
		with := body{"batch": made.ID}
		if m := pour(w); m != nil {
			with = m
		}
		w.begin("2026-06-03T09:00:00Z")
		w.note("2026-06-04T09:00:00Z", "one", "harvested", body{"volume_l": 400, "filtrate_to": "drain"})
		w.note("2026-06-04T10:00:00Z", "one", "topped_up", body{"volume_l": 400, "with": "medium", "medium": with})
		return w.vessel("one")
	}
	batch := fill(func(*world) body { return nil })
	same := fill(func(*world) body { return soda })
	other := fill(func(*world) body { return body{"salts_g_per_l": body{"NaHCO3": 20, "NaCl": 1}} })
	if !reflect.DeepEqual(batch.Now.Bands, same.Now.Bands) {
		t.Errorf("the batch is another medium than its salts:\n%v\n%v", batch.Now.Bands, same.Now.Bands)
	}
	if reflect.DeepEqual(batch.Now.Bands, other.Now.Bands) {
		t.Error("what was poured makes no difference")
	}
}

// Culture from elsewhere may be days or weeks from fresh: its first pH is
// believed, worn or not, and narrows what is thought of it.
func TestFirstPHOfForeignCulture(t *testing.T) {
	recipe := body{"recipe": "zarrouk"} // mixed fresh it is near pH 8.7
	for _, ph := range []float64{8.9, 9.5, 10.1} {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", nil)
		w.note("2026-06-05T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": recipe})
		before := w.vessel("one").Now.Bands[keeper.PH25C]
		e := w.note("2026-06-06T07:40:00Z", "one", "ph", body{"ph": ph})
		if why, doubted := w.k.Doubted(e.ID); doubted {
			t.Errorf("pH %.1f is doubted (%v) where %.1f to %.1f was thought", ph, why, before.Low, before.High)
		}
		after := w.vessel("one").Now.Bands[keeper.PH25C]
		if !near(after.Mid, ph, 0.3) || after.High-after.Low > 0.8*(before.High-before.Low) {
			t.Errorf("after pH %.1f: %.2f (%.2f to %.2f), before it %.2f to %.2f", ph, after.Mid, after.Low, after.High, before.Low, before.High)
		}
	}
}
