package keeper_test

import (
	"context"
	"fmt"
	"maps"
	"testing"
	"time"
)

// whole is a medium that lacks nothing [g/L]; invented.
func whole(change func(salts map[string]float64)) body {
	s := map[string]float64{"NaHCO3": 10, "Na2CO3": 2, "NaCl": 2, "KNO3": 2, "K2SO4": 0.8, "K2HPO4": 0.3, "MgSO4.7H2O": 0.2, "FeSO4.7H2O": 0.01}
	if change != nil {
		change(s)
	}
	return body{"salts_g_per_l": s}
}

// What limits growth now: take one thing away, or bring too much of it, and its
// share leads; without that it does not. Which way each goes is what the words
// mean, no figure is asked.
func TestWhatLimits(t *testing.T) {
	share := func(change func(map[string]float64), density float64, shade float64, cold bool) map[string]float64 {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", func(site body) {
			if cold {
				n := normals()
				for i := range n {
					n[i].TMinC, n[i].TMaxC = 4, 11
				}
				site["normals"] = n
			}
		})
		w.note("2026-06-05T09:00:00Z", "one", "inoculated", body{"volume_l": 900, "density_g_per_l": density, "medium": whole(change)})
		w.note("2026-06-05T09:01:00Z", "one", "shaded", body{"shade_pct": shade})
		f, err := w.k.Forecast(context.Background(), "one", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		out, sum := map[string]float64{}, 0.0
		for i, l := range f.Limits {
			out[l.Key] = l.Share
			sum += l.Share
			if i > 0 && l.Share > f.Limits[i-1].Share {
				t.Errorf("limits do not fall: %v", f.Limits)
			}
		}
		if sum < 0.9 || sum > 1+1e-9 { // parts under a hundredth are left out
			t.Errorf("shares add up to %.3f: %v", sum, f.Limits)
		}
		return out
	}
	base := share(nil, 0.4, 50, false)
	for _, c := range []struct {
		key     string
		change  func(map[string]float64)
		density float64
		shade   float64
		cold    bool
		least   float64
	}{
		{"nitrogen", func(s map[string]float64) { s["KNO3"] = 0.002 }, 0.4, 50, false, 0.3},
		{"phosphorus", func(s map[string]float64) { s["K2HPO4"] = 0.0005 }, 0.4, 50, false, 0.2},
		{"iron", func(s map[string]float64) { delete(s, "FeSO4.7H2O") }, 0.4, 50, false, 0.2},
		{"magnesium", func(s map[string]float64) { delete(s, "MgSO4.7H2O") }, 0.4, 50, false, 0.3},
		{"carbon", func(s map[string]float64) { maps.Copy(s, map[string]float64{"NaHCO3": 0.2, "Na2CO3": 2}) }, 0.4, 50, false, 0.2},
		{"salt", func(s map[string]float64) { s["NaCl"] = 60 }, 0.4, 50, false, 0.3},
		{"light", nil, 1.2, 90, false, 0.8},
		{"temperature", nil, 0.4, 50, true, 0.25},
		{"damage", nil, 0.06, 0, true, base["damage"] + 0.05},
		{"ammonia", func(s map[string]float64) { s["NH4Cl"] = 1 }, 0.4, 50, false, 0.2},
	} {
		got := share(c.change, c.density, c.shade, c.cold)
		if got[c.key] < c.least || c.key != "light" && got[c.key] < base[c.key]+0.03 {
			t.Errorf("%s: %.2f of what is missing, it was %.2f without; want at least %.2f; all: %s", c.key, got[c.key], base[c.key], c.least, fmt.Sprint(got))
		}
	}
}
