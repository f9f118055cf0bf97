package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"sodalake/farm"
)

// Whatever figures come in, the answer is a refusal with a field or something
// that JSON can hold, and no start is let through with more urea than may stand.
func FuzzMediumFigures(f *testing.F) {
	f.Add(100.0, 8.0, 0.02, 2.0, 120.0, 25.0, 15.0, 9.5, 9.8)
	f.Add(0.05, 0.0, 0.06, 0.0, 0.0, 0.0, 0.5, 12.5, 7.0)
	f.Add(1e7, 200.0, 0.5, 100.0, 2e4, 50.0, 500.0, 6.5, 12.0)
	registry := All()
	f.Fuzz(func(t *testing.T, volume, soda, urea, nitrate, hardness, temp, depth, ph, to float64) {
		for _, x := range []struct{ name, input string }{
			{"mix", fmt.Sprintf(`{"volume_l":%g,"salts_g_per_l":{"NaHCO3":%g,"urea":%g,"KNO3":%g},"water_hardness_mg_per_l":%g,"temp_c":%g,"depth_cm":%g}`, volume, soda, urea, nitrate, hardness, temp, depth)},
			{"mix", fmt.Sprintf(`{"volume_l":%g,"salts_g_per_l":{"NaHCO3":%g,"KNO3":%g},"method":"closest","shelf":["baking soda","urea","20-20-20","saltpetre"],"stock_g":{"baking soda":%g}}`, volume, soda, nitrate, hardness)},
			{"mix", fmt.Sprintf(`{"volume_l":%g,"ready_mix_g_per_l":%g,"ready_mix_ph":%g}`, volume, soda, ph)},
			{"adjust-ph", fmt.Sprintf(`{"volume_l":%g,"ph":%g,"to_ph":%g,"temp_c":%g,"by":"caustic","ph_again":%g,"meter_checked":true,"standing_urea_mg_per_l":0}`, volume, ph, to, temp, ph)},
			{"adjust-ph", fmt.Sprintf(`{"volume_l":%g,"ph":%g,"to_ph":%g,"temp_c":%g,"depth_cm":%g}`, volume, ph, to, temp, depth)},
			{"feed", fmt.Sprintf(`{"dry_g":%g,"volume_l":%g,"nitrogen":"urea","temp_c":%g,"standing_urea_mg_per_l":%g}`, soda, volume, temp, hardness)},
			{"carbon", fmt.Sprintf(`{"salts_g_per_l":{"NaHCO3":%g,"KNO3":%g},"ph":%g,"until_ph":%g,"temp_c":%g}`, soda, nitrate, ph, to, temp)},
			{"salt", fmt.Sprintf(`{"volume_l":%g,"now_ms_per_cm":%g,"limit_ms_per_cm":%g,"evaporation_l_per_d":%g,"fed_g_per_d":{"KNO3":%g}}`, volume, temp, depth, soda, nitrate)},
			{"dechlorinate", fmt.Sprintf(`{"volume_l":%g,"free_chlorine_mg_per_l":%g,"by":"thiosulfate"}`, volume, urea)},
			{"volume", fmt.Sprintf(`{"by":"salt","salt_g":%g,"before_ms_per_cm":%g,"after_ms_per_cm":%g}`, soda, urea, nitrate)},
		} {
			c, err := registry.Get(x.name)
			if err != nil {
				t.Fatal(err)
			}
			out, err := c.Run([]byte(x.input))
			if err != nil {
				var fe *farm.Error
				if !errors.As(err, &fe) {
					t.Fatalf("%s %s: an error without a field: %v", x.name, x.input, err)
				}
				continue
			}
			raw, err := json.Marshal(out)
			if err != nil {
				t.Fatalf("%s %s answers what JSON cannot hold: %v", x.name, x.input, err)
			}
			var m map[string]any
			if err := json.Unmarshal(raw, &m); err != nil {
				t.Fatal(err)
			}
			if r, ok := m["reduced_nitrogen_as_urea_mg_per_l"].(float64); ok && r > 60.001 {
				t.Fatalf("%s %s lets %g mg/L of urea through", x.name, x.input, r)
			}
		}
	})
}
