package calc

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// From cloth to jar: rinse, press, dry, keep, count, gel, pcr, portion.

const exactLadder = `[{"bp":1500,"mm":12.2727},{"bp":1000,"mm":15.4348},{"bp":900,"mm":16.4286},{"bp":800,"mm":17.6316},{"bp":700,"mm":19.1176},{"bp":600,"mm":21.0},{"bp":500,"mm":23.4615},{"bp":400,"mm":26.8182},{"bp":300,"mm":31.6667},{"bp":200,"mm":39.2857},{"bp":100,"mm":53.0}]`

const studentLadder = `[{"bp":10000,"mm":20},{"bp":8000,"mm":22},{"bp":6000,"mm":23},{"bp":5000,"mm":24},{"bp":4000,"mm":26},{"bp":3000,"mm":29},{"bp":2500,"mm":32},{"bp":2000,"mm":34},{"bp":1500,"mm":38},{"bp":1000,"mm":46},{"bp":750,"mm":61}]`

// at follows a path of keys and indices into an answer.
func at(t *testing.T, m any, path ...any) any {
	t.Helper()
	for _, p := range path {
		switch k := p.(type) {
		case string:
			o, ok := m.(map[string]any)
			if !ok {
				t.Fatalf("%v has no %q", m, k)
			}
			m = o[k]
		case int:
			l, ok := m.([]any)
			if !ok || k >= len(l) {
				t.Fatalf("%v has no %d", m, k)
			}
			m = l[k]
		}
	}
	return m
}

func TestCountGelAndJarValues(t *testing.T) {
	const garwood = "garwood1936, table computed by an independent library"
	const pearson = "clopperpearson1934, computed by an independent library"
	const southern = "southern1979's law, c 12000, m₀ 5, L₀ −150"
	const student = "a public student gel, worked by an independent program"
	rows := []struct {
		name, input     string
		path            []any
		want, tolerance float64
		source          string
	}{
		{"count", `{"counted":10,"volume_ml":0.5}`, []any{"rate_per_ml"}, 20, 1e-12, "count over volume"},
		{"count", `{"counted":10,"volume_ml":0.5}`, []any{"low_per_ml"}, 4.7954 / 0.5, 2e-4, garwood},
		{"count", `{"counted":10,"volume_ml":0.5}`, []any{"high_per_ml"}, 18.3904 / 0.5, 2e-4, garwood},
		{"count", `{"counted":10,"volume_ml":0.5}`, []any{"upper_one_sided_per_ml"}, 16.9622 / 0.5, 2e-4, garwood},
		{"count", `{"counted":25,"volume_ml":1,"confidence":0.99}`, []any{"low_per_ml"}, 14.00, 5e-3, "a public statistical table, n = 25"},
		{"count", `{"counted":25,"volume_ml":1,"confidence":0.99}`, []any{"high_per_ml"}, 41.00, 5e-3, "a public statistical table, n = 25"},
		{"count", `{"counted":0,"volume_ml":3}`, []any{"upper_one_sided_per_ml"}, 2.9957 / 3, 2e-5, garwood},
		{"count", `{"counted":0,"volume_ml":3}`, []any{"low_per_ml"}, 0, 0, garwood},
		{"count", `{"counted":212,"fields":4,"field_area_mm2":1,"depth_mm":0.1,"dilution":2}`, []any{"rate_per_ml"}, 1.06e6, 1, "haemocytometer, by hand"},
		{"count", `{"counted":100,"volume_ml":1000,"dilution":0.1}`, []any{"rate_per_ml"}, 0.01, 1e-12, "ten volumes made into one"},
		{"count", `{"foreign":0,"seen":300,"confidence":0.95}`, []any{"share_upper_one_sided"}, 0.00994, 6e-6, "1 − 0.05^(1/300)"},
		{"count", `{"foreign":0,"seen":300,"confidence":0.95}`, []any{"share_high"}, 0.01222, 6e-6, pearson},
		{"count", `{"foreign":0,"seen":300}`, []any{"rule_of_three"}, 0.01, 1e-12, "hanleylippman1983"},
		{"count", `{"foreign":0,"seen":300}`, []any{"toxin_upper_ug_per_g"}, 9.94, 6e-3, "1 % of 1 mg/g"},
		{"count", `{"foreign":0,"seen":300}`, []any{"filaments_to_rule_out_limit"}, 3700, 50, "0.8 µg/g of 1 mg/g: about 3700"},
		{"count", `{"foreign":15,"seen":148}`, []any{"share_low"}, 0.05784, 6e-6, pearson},
		{"count", `{"foreign":15,"seen":148}`, []any{"wilson_high"}, 0.16049, 6e-6, "newcombe1998"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":21.3488},{"lane":"S","mm":24.2926},{"lane":"S","mm":31.8456}]}`, []any{"bands", 0, "size_bp"}, 584, 0.01, southern},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":21.3488},{"lane":"S","mm":24.2926},{"lane":"S","mm":31.8456}]}`, []any{"bands", 1, "size_bp"}, 472, 0.01, southern},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":21.3488},{"lane":"S","mm":24.2926},{"lane":"S","mm":31.8456}]}`, []any{"bands", 2, "size_bp"}, 297, 0.01, southern},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":24.2926}]}`, []any{"southern_m0_mm"}, 5, 1e-3, southern},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":24.2926}]}`, []any{"log_linear_r2"}, 0.974864, 1e-6, southern},
		{"gel", `{"ladder":` + studentLadder + `,"bands":[{"lane":"S","mm":27}]}`, []any{"bands", 0, "size_bp"}, 3593.41, 0.01, student},
		{"gel", `{"ladder":` + studentLadder + `,"bands":[{"lane":"S","mm":30}]}`, []any{"bands", 0, "log_linear_bp"}, 3442.57, 0.01, student},
		{"gel", `{"ladder":` + studentLadder + `,"bands":[{"lane":"S","mm":30}]}`, []any{"log_linear_slope_per_mm"}, -0.0278477, 1e-7, student},
		{"pcr", `{"samples":8}`, []any{"total_ul"}, 278.3, 1e-9, "11 tubes and a tenth, by hand"},
		{"pcr", `{"samples":8}`, []any{"parts", 0, "mix_ul"}, 151.25, 1e-9, "11 tubes and a tenth, by hand"},
		{"pcr", `{"samples":8}`, []any{"parts", 3, "mix_ul"}, 102.85, 1e-9, "11 tubes and a tenth, by hand"},
		{"pcr", `{"samples":8}`, []any{"left_ul"}, 25.3, 1e-9, "11 tubes and a tenth, by hand"},
		{"pcr", `{"samples":8,"extra_ul_per_tube":{"albumin":1}}`, []any{"parts", 4, "tube_ul"}, 7.5, 1e-9, "8.5 µL of water less 1"},
		{"pcr", `{"samples":8,"assay":"hep"}`, []any{"product_bp"}, 472, 1e-9, "jungblut2006"},
		{"pcr", `{"samples":8}`, []any{"agarose_g"}, 0.75, 1e-12, "1.5 % in 50 mL"},
		{"portion", `{"portion_g":5,"body_kg":60}`, []any{"microcystin_limit_ug_per_g"}, 0.48, 1e-9, "who1998: 0.04 µg/kg"},
		{"portion", `{"portion_g":3,"body_kg":20}`, []any{"microcystin_limit_ug_per_g"}, 0.267, 5e-4, "who1998: 0.04 µg/kg"},
		{"portion", `{"microcystin":"0.8 µg/g"}`, []any{"most_g_per_d"}, 3, 1e-9, "who1998: 2.4 µg a day"},
		{"portion", `{"portion_g":5,"lead":"3.0 mg/kg"}`, []any{"daily", 0, "in_portion_ug"}, 15, 1e-9, "3 mg/kg of 5 g"},
		{"portion", `{"lead":"3.0 mg/kg"}`, []any{"most_g_per_d"}, 0.5 / 3, 1e-9, "prop65: 0.5 µg a day"},
		{"portion", `{}`, []any{"energy_specific_kcal_per_100g"}, 290.17, 0.005, "usdasr28 prints 290"},
		{"portion", `{}`, []any{"energy_eu_kj_per_100g"}, 1636.5, 0.1, "eu1169, annex XIV"},
		{"portion", `{}`, []any{"energy_us_kcal_per_100g"}, 395.0, 0.05, "4-4-9"},
		{"portion", `{"portion_g":5}`, []any{"purines_mg"}, 63, 0.5, "purinetext"},
		{"portion", `{"portion_g":5}`, []any{"phenylalanine_exchanges"}, 2.8, 0.03, "usdasr28, 50 mg to an exchange"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":1.6,"outside_pct":100,"sodium_g_per_l":5.667}`, []any{"wash_ratio"}, 2, 1e-9, "0.8 L of liquor"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":1.6,"outside_pct":100,"steps":2}`, []any{"left_stirred"}, 0.25, 1e-9, "(1 + 2/2)^−2"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":1.6,"outside_pct":100}`, []any{"left_flushed"}, 0.1353, 5e-5, "e^−2"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":0,"outside_pct":50,"sodium_g_per_l":5.667}`, []any{"sodium_unrinsed_g_per_kg"}, 11.33, 5e-3, "2 kg of liquor on a kilogram at 5.667 g/L"},
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"capture_pct":100}`, []any{"dry_g"}, 250, 1e-9, "by hand"},
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"capture_pct":100,"pressed_kg":1}`, []any{"pressed_solids_pct"}, 25, 1e-9, "by hand"},
		{"press", `{"volume_l":2.5,"density_g_per_l":23.47,"capture_pct":100,"cloth_m2":0.0439,"poured":[{"min":0.28833,"l":0.5},{"min":0.68833,"l":1},{"min":1.2,"l":1.5},{"min":1.805,"l":2},{"min":3.36167,"l":3}]}`, []any{"cloth_min"}, 152.0 / 60, 0.03, "geankoplis2003, problem 14.2-1: 152 s"},
		{"dry", `{"paste_kg":4.75,"solids_pct":20,"outside_c":25,"outside_rh_pct":60,"drying_c":45}`, []any{"water_kg"}, 3.75, 1e-9, "4.75 kg of paste at 20 % make 1 kg at 5 %"},
		{"dry", `{"paste_kg":4.75,"solids_pct":20,"outside_c":25,"outside_rh_pct":60,"drying_c":45}`, []any{"air_kg_per_kg_water"}, 239.2, 0.3, "ashrae2017, worked by an independent program"},
		{"dry", `{"paste_kg":4.75,"solids_pct":20,"outside_c":25,"outside_rh_pct":60,"drying_c":45}`, []any{"heat_kj_per_kg_water"}, 4920, 10, "ashrae2017, worked by an independent program"},
		{"dry", `{"paste_kg":4.75,"outside_c":38,"outside_rh_pct":47,"drying_c":38}`, []any{"driest_low_pct"}, 5.5, 0.06, "the two isotherms at 47 %, by hand"},
		{"dry", `{"paste_kg":4.75,"outside_c":38,"outside_rh_pct":47,"drying_c":38}`, []any{"driest_high_pct"}, 9.6, 0.06, "the two isotherms at 47 %, by hand"},
		{"dry", `{"paste_kg":2,"outside_c":25,"outside_rh_pct":40,"control_solids_pct":18,"weighed":[{"min":0,"g":2000},{"min":300,"g":421}]}`, []any{"moisture_now_pct"}, 14.5, 0.05, "2 kg at 18 % stopped at 0.421 kg, by hand"},
		{"portion", `{"microcystin":"0.6 ± 0.2 µg/g"}`, []any{"most_g_per_d"}, 3, 1e-9, "2.4 µg a day over 0.8, the most that the result leaves open"},
		{"portion", `{"label":"eu"}`, []any{"label", 4, "says"}, 20, 1e-9, "eu1169: carbohydrate without fibre, 20.3 g"},
		{"portion", `{"label":"us","portion_g":10}`, []any{"label", 5, "says"}, 2, 1e-9, "cfr1019: carbohydrate with fibre, 2.39 g"},
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"capture_pct":100,"minutes":60}`, []any{"cloth_needed_m2"}, 500 / 822.88, 1e-5, "by hand: q + q²/1000 = 1500 gives 822.88 L on a square metre in an hour"},
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"capture_pct":100,"density_spread_pct":0,"pressed_kg":1}`, []any{"dry_high_g"}, 250, 1e-9, "no spread"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":1.6,"outside_pct":100,"sodium_g_per_l":5,"efficiency":0.7,"sodium_in_cells_g_per_kg":2}`, []any{"sodium_low_g_per_kg"}, 20*0.09 + 2, 1e-9, "4 L on a kilogram at 5 g/L, 0.3² left, 2 in the cells"},
		{"rinse", `{"paste_kg":1,"solids_pct":20,"wash_l":1.6,"outside_pct":100,"sodium_g_per_l":5,"efficiency":0.7,"sodium_in_cells_g_per_kg":2}`, []any{"sodium_high_g_per_kg"}, 20/3.0 + 2, 1e-9, "4 L on a kilogram at 5 g/L, 1/(1 + 2) left, 2 in the cells"},
		// The air is thinner at 1500 m (84.556 kPa): the same vapour is more water on dry air.
		{"dry", `{"paste_kg":2,"outside_c":25,"outside_rh_pct":60,"drying_c":45,"elevation_m":1500,"pick_up":1}`, []any{"wet_bulb_c"}, 24.226, 0.01, "ashrae2017, eq. 6 and 33, by bisection in another language"},
		{"dry", `{"paste_kg":2,"solids_pct":20,"solids_error_pct":2,"outside_c":25,"outside_rh_pct":60}`, []any{"product_high_g"}, 2000 * (0.20 + 1.28155*0.02) / 0.95, 0.01, "nine in ten of a normal spread"},
		{"keep", `{"form":"frozen","thickness_mm":10,"fan":true}`, []any{"freeze_h"}, 1.47, 0.1, "plank1913, by hand: 1 cm with a fan"},
		{"keep", `{"form":"frozen","thickness_mm":10}`, []any{"freeze_h"}, 3.85, 0.1, "plank1913, by hand: 1 cm in still air"},
		{"keep", `{"form":"dried","store_c":35}`, []any{"days"}, 365 / 2.850, 0.1, "arrhenius1889 by hand: 80 kJ/mol from 25 to 35 °C is 2.850"},
		{"keep", `{"way":[{"where":"wet","h":1.5,"temp_c":24}]}`, []any{"exposure", 0, "limit_used_pct"}, 50, 1e-9, "fda2022: 3 h over 21 °C"},
	}
	for _, r := range rows {
		got, ok := at(t, answer(t, r.name, r.input), r.path...).(float64)
		if !ok || math.Abs(got-r.want) > r.tolerance {
			t.Errorf("%s %s: %v = %.8g, want %.8g ± %g (%s)", r.name, r.input, r.path, got, r.want, r.tolerance, r.source)
		}
	}
}

func TestJarVerdicts(t *testing.T) {
	run := func(lanes, more string) string {
		return `{"ladder":` + exactLadder + `,"bands":[{"lane":"P","mm":24.29},{"lane":"S","mm":19.12},{"lane":"T","mm":24.4},{"lane":"T","mm":19.1}],"expected_bp":472,"lanes":` + lanes + more + `}`
	}
	all := `[{"lane":"P","kind":"positive"},{"lane":"N","kind":"no-template"},{"lane":"B","kind":"extraction-blank"},{"lane":"S","kind":"sample"},{"lane":"T","kind":"sample"}]`
	rows := []struct {
		name, input string
		path        []any
		want        string
	}{
		{"gel", run(all, `,"companion_bp":700`), []any{"calls", 0, "call"}, "not-found"},
		{"gel", run(all, `,"companion_bp":700`), []any{"calls", 1, "call"}, "found"},
		{"gel", run(all, `,"companion_bp":700,"neighbours_bp":[447]`), []any{"calls", 1, "call"}, "unclear"},
		{"gel", run(all, ``), []any{"calls", 0, "call"}, "invalid"},
		{"gel", run(`[]`, `,"companion_bp":700`), []any{"calls", 0, "call"}, "invalid"},
		// Two bands of a lane that was not described are one sample's.
		{"gel", run(`[{"lane":"P","kind":"positive"},{"lane":"N","kind":"no-template"},{"lane":"B","kind":"extraction-blank"}]`, `,"companion_bp":700`), []any{"calls", 1, "call"}, "found"},
		{"gel", run(`[{"lane":"P","kind":"positive"},{"lane":"N","kind":"no-template"},{"lane":"B","kind":"extraction-blank"}]`, `,"companion_bp":700`), []any{"calls", 0, "call"}, "not-found"},
		{"gel", run(`[{"lane":"P","kind":"positive"}]`, `,"companion_bp":700`), []any{"calls", 0, "reason"}, "no-no-template-control"},
		{"portion", `{"lead":"<5 mg/kg"}`, []any{"checks", 1, "verdict"}, "missing"},
		{"portion", `{"lead":"0.3 mg/kg"}`, []any{"checks", 1, "verdict"}, "passed"},
		{"portion", `{"lead":"3.2 mg/kg"}`, []any{"checks", 1, "verdict"}, "failed"},
		{"portion", `{}`, []any{"checks", 1, "verdict"}, "missing"},
		{"portion", `{"portion_g":5,"microcystin":"0.7 µg/g"}`, []any{"checks", 0, "verdict"}, "passed"},
		// 1 µg/g protects nobody at a high portion: 0.48 is what 5 g and 60 kg bear.
		{"portion", `{"portion_g":5,"microcystin":"0.7 µg/g"}`, []any{"checks", 1, "verdict"}, "failed"},
		{"portion", `{"portion_g":5,"microcystin":"<0.7 µg/g"}`, []any{"checks", 1, "verdict"}, "missing"},
		{"dry", `{"paste_kg":2,"outside_c":38,"outside_rh_pct":47,"drying_c":38}`, []any{"air_reaches_target"}, "failed"},
		{"dry", `{"paste_kg":2,"outside_c":38,"outside_rh_pct":47,"drying_c":38,"target_moisture_pct":7}`, []any{"air_reaches_target"}, "missing"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"drying_c":50}`, []any{"air_reaches_target"}, "passed"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40}`, []any{"end_constant_mass"}, "missing"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"weighed":[{"min":0,"g":2000},{"min":300,"g":421},{"min":340,"g":420.5}]}`, []any{"end_constant_mass"}, "passed"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"control_solids_pct":18,"weighed":[{"min":0,"g":2000},{"min":300,"g":421}]}`, []any{"end_control_sample"}, "failed"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"water_activity":0.59}`, []any{"end_water_activity"}, "missing"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"moisture_pct":10}`, []any{"end_water_activity"}, "missing"},
		{"keep", `{"way":[{"where":"wet","h":3.5,"temp_c":24}]}`, []any{"exposure", 0, "check"}, "failed"},
		{"keep", `{"way":[{"where":"wet","h":2.5,"temp_c":24}]}`, []any{"exposure", 0, "check"}, "passed"},
		{"keep", `{"way":[{"where":"wet","h":3.5,"temp_c":24}]}`, []any{"stage_limits"}, "failed: the lot goes on hold, until a person decides with a written reason; test S. aureus and B. cereus"},
		{"keep", `{}`, []any{"stage_limits"}, "missing: no way was noted"},
		{"keep", `{"way":[{"where":"wet","h":2.5,"temp_c":24},{"where":"wet","h":1,"temp_c":20}]}`, []any{"clock", 0, "due"}, "hold"},
		{"keep", `{"way":[{"where":"cold","h":5,"temp_c":9}]}`, []any{"clock", 0, "due"}, "discard-or-test"},
	}
	for _, r := range rows {
		if got := at(t, answer(t, r.name, r.input), r.path...); got != r.want {
			t.Errorf("%s %s: %v = %v, want %s", r.name, r.input, r.path, got, r.want)
		}
	}
	calls, _ := at(t, answer(t, "gel", run(`[{"lane":"P","kind":"positive"}]`, ``)), "calls").([]any)
	if len(calls) != 2 {
		t.Errorf("%d calls for the two samples S and T", len(calls))
	}
}

func TestJarRefuses(t *testing.T) {
	rows := []struct{ name, input, field string }{
		{"count", `{}`, "counted"}, {"count", `{"counted":-1,"volume_ml":1}`, "counted"}, {"count", `{"counted":12}`, "volume_ml"}, {"count", `{"counted":12,"volume_ml":0}`, "volume_ml"},
		{"count", `{"counted":12.5,"volume_ml":1}`, "counted"}, {"count", `{"foreign":0}`, "seen"}, {"count", `{"seen":300}`, "foreign"}, {"count", `{"foreign":4,"seen":3}`, "foreign"},
		{"count", `{"foreign":0,"seen":0}`, "seen"}, {"count", `{"counted":1,"volume_ml":1,"confidence":1}`, "confidence"}, {"count", `{"counted":1,"fields":2,"depth_mm":1}`, "field_area_mm2"},
		{"count", `{"field_counts":[1,-2],"volume_ml":1}`, "field_counts"}, {"count", `{"field_counts":[1.5],"volume_ml":1}`, "field_counts"}, {"count", `{"counted":1,"volume_ml":1,"fields":3}`, "volume_ml"},
		{"gel", `{}`, "ladder"}, {"gel", `{"ladder":[{"bp":1000,"mm":10},{"bp":500,"mm":20}],"bands":[{"lane":"S","mm":15}]}`, "ladder"},
		{"gel", `{"ladder":[{"bp":500,"mm":10},{"bp":1000,"mm":20},{"bp":300,"mm":30}],"bands":[{"lane":"S","mm":15}]}`, "ladder"},
		{"gel", `{"ladder":` + exactLadder + `}`, "bands"}, {"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":-2}]}`, "bands"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":25}],"lanes":[{"lane":"S","kind":"marker"}],"expected_bp":472}`, "lanes"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":25}],"lanes":[{"lane":"S","kind":"sample"}]}`, "expected_bp"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":25}],"assay":"none"}`, "assay"},
		{"pcr", `{"samples":8,"template_ul":30}`, "template_ul"}, {"pcr", `{"samples":0,"positive_controls":0,"no_template_controls":0,"extraction_blanks":0}`, "samples"}, {"pcr", `{"samples":8,"extra_ul_per_tube":{"albumin":20}}`, "template_ul"},
		{"portion", `{"lead":"0.3"}`, "lead"}, {"portion", `{"salmonella":"absent"}`, "salmonella"}, {"portion", `{"portion_g":-1}`, "portion_g"},
		{"rinse", `{"paste_kg":-1}`, "paste_kg"}, {"press", `{"volume_l":100,"density_g_per_l":0.5,"drained_kg":1,"pressed_kg":2}`, "pressed_kg"},
		{"press", `{"volume_l":100,"density_g_per_l":0.5,"cloth_m2":1,"poured":[{"min":10,"l":50}]}`, "poured"}, {"press", `{"volume_l":100,"density_g_per_l":0.5,"poured":[{"min":10,"l":50}]}`, "cloth_m2"},
		{"dry", `{"paste_kg":2,"outside_c":40,"outside_rh_pct":40,"drying_c":30}`, "drying_c"}, {"dry", `{"paste_kg":2,"solids_pct":60,"outside_c":20,"outside_rh_pct":40,"target_moisture_pct":50}`, "target_moisture_pct"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"weighed":[{"min":10,"g":100},{"min":5,"g":90}]}`, "weighed"},
		{"keep", `{"way":[{"where":"wet","h":-1,"temp_c":20}]}`, "way"}, {"keep", `{"way":[{"where":"pond","h":1,"temp_c":20}]}`, "way"}, {"keep", `{"form":"tinned"}`, "form"},
	}
	for _, r := range rows {
		got := refuse(t, r.name, r.input)
		if got.Field != r.field {
			t.Errorf("%s %s: field %q, want %q (%s)", r.name, r.input, got.Field, r.field, got.Message)
		}
	}
}

// Whatever is put in, no calculator of the jar calls food safe, clean or clear.
func TestNothingIsCalledSafe(t *testing.T) {
	inputs := map[string][]string{
		"count":   {`{"counted":0,"volume_ml":5}`, `{"foreign":0,"seen":100000}`, `{"foreign":3,"seen":100}`},
		"gel":     {`{"ladder":` + exactLadder + `,"bands":[{"lane":"P","mm":24.29},{"lane":"S","mm":19.12}],"assay":"hep","companion_bp":700,"lanes":[{"lane":"P","kind":"positive"},{"lane":"N","kind":"no-template"},{"lane":"B","kind":"extraction-blank"}]}`},
		"portion": {`{"microcystin":"<0.01 µg/g","lead":"<0.01 mg/kg","cadmium":"<0.01 mg/kg","mercury":"<0.001 mg/kg","arsenic":"<0.01 mg/kg","salmonella":"absent in 25 g","e_coli":"absent in 10 g"}`},
		"keep":    {`{"way":[{"where":"wet","h":1,"temp_c":20},{"where":"drying","h":3,"temp_c":42},{"where":"dry","h":3,"temp_c":20}]}`},
		"dry":     {`{"paste_kg":2,"outside_c":20,"outside_rh_pct":30,"drying_c":50,"water_activity":0.3}`},
	}
	for name, list := range inputs {
		for _, in := range list {
			raw, err := json.Marshal(answer(t, name, in))
			if err != nil {
				t.Fatal(err)
			}
			text := strings.ToLower(string(raw))
			for _, word := range []string{"safe", "is clean", "clear of", "harmless", "fit to eat"} {
				if strings.Contains(text, word) {
					t.Errorf("%s says %q of %s", name, word, in)
				}
			}
		}
	}
}

// What is off is said.
func TestJarWarns(t *testing.T) {
	rows := []struct{ name, input, says string }{
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"density_spread_pct":5,"pressed_kg":0.5}`, "weighs less than"},
		{"press", `{"volume_l":500,"density_g_per_l":0.5,"density_spread_pct":5,"pressed_kg":4}`, "weighs more than"},
		{"press", `{"volume_l":5000,"density_g_per_l":0.5,"cloth_m2":0.5}`, "more cloth"},
		{"dry", `{"paste_kg":2,"outside_c":38,"outside_rh_pct":47,"drying_c":38,"weighed":[{"min":0,"g":2000},{"min":300,"g":450},{"min":340,"g":449.5}]}`, "not that the product is dry enough"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"air_m3_per_h":300,"control_solids_pct":20,"weighed":[{"min":0,"g":2000},{"min":60,"g":1995}]}`, "stalled"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"drying_c":70}`, "scorches"},
		{"dry", `{"paste_kg":2,"outside_c":20,"outside_rh_pct":40,"moisture_pct":9}`, "without a measured water activity"},
		{"rinse", `{"paste_kg":2,"wash_l":1}`, "eat it today"},
		{"count", `{"foreign":1,"seen":100}`, "goes on hold"},
		{"count", `{"foreign":0,"seen":300}`, "toxin test is missing"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":25}],"expected_bp":472,"companion_bp":447}`, "cannot be told apart"},
		{"gel", `{"ladder":` + exactLadder + `,"bands":[{"lane":"S","mm":60}]}`, "beyond the ladder"},
		{"pcr", `{"samples":8,"positive_controls":0}`, "will be invalid"},
		{"pcr", `{"samples":8,"assay":"16s-359"}`, "16s-106"},
		{"portion", `{"portion_g":8}`, "more than is suggested"},
		{"portion", `{"microcystin":"<0.01 µg/g"}`, "no invitation"},
		{"portion", `{}`, "toxin and metals are missing"},
		{"keep", `{"form":"fresh","store_c":12}`, "Nothing is told"},
		{"keep", `{"form":"frozen","thickness_mm":50,"freezer_c":-10}`, "2 cm or less"},
	}
	for _, r := range rows {
		raw, err := json.Marshal(answer(t, r.name, r.input)["cautions"])
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(raw), r.says) {
			t.Errorf("%s %s does not say %q: %s", r.name, r.input, r.says, raw)
		}
	}
}

// What is typed into a form is read as it is from JSON.
func TestJarTyped(t *testing.T) {
	rows := []struct {
		name   string
		typed  map[string]string
		path   []any
		want   float64
		within float64
	}{
		{"count", map[string]string{"counted": "12", "volume_ml": "0.4 mL"}, []any{"rate_per_ml"}, 30, 1e-9},
		{"count", map[string]string{"field_counts": "3, 4, 5", "volume_ml": "1,2"}, []any{"rate_per_ml"}, 10, 1e-9},
		{"gel", map[string]string{"ladder": "1000 15.4348\n500 23.4615\n300 31.6667", "bands": "S1 24.2926"}, []any{"bands", 0, "size_bp"}, 472, 0.02},
		{"keep", map[string]string{"way": "wet 1.5 24\ndrying 4 42"}, []any{"clock", 1, "spent_h"}, 4, 1e-9},
	}
	for _, r := range rows {
		c, err := All().Get(r.name)
		if err != nil {
			t.Fatal(err)
		}
		raw, err := c.Typed(r.typed, Measure)
		if err != nil {
			t.Errorf("%s %v: %v", r.name, r.typed, err)
			continue
		}
		if got, _ := at(t, answer(t, r.name, string(raw)), r.path...).(float64); math.Abs(got-r.want) > r.within {
			t.Errorf("%s %v: %g, want %g", r.name, r.typed, got, r.want)
		}
	}
}

// More culture never needs less cloth, a wider doubt never narrows what is told,
// and every answer can be written as JSON.
func TestJarProperties(t *testing.T) {
	number := func(m map[string]any, key string) float64 { x, _ := m[key].(float64); return x }
	rapid.Check(t, func(rt *rapid.T) {
		v := rapid.Float64Range(10, 5000).Draw(rt, "litres")
		d := rapid.Float64Range(0.1, 2).Draw(rt, "density")
		s := rapid.Float64Range(1, 50).Draw(rt, "spread")
		ask := func(v, s float64) map[string]any {
			raw, _ := json.Marshal(map[string]any{"volume_l": v, "density_g_per_l": d, "density_spread_pct": s, "minutes": 60, "cloth_m2": 0.5})
			return answer(t, "press", string(raw))
		}
		a, more, wide := ask(v, s), ask(v*1.5, s), ask(v, s*1.5)
		if number(more, "cloth_needed_m2") <= number(a, "cloth_needed_m2") || number(more, "cloth_min") <= number(a, "cloth_min") {
			rt.Fatal("more culture needs less cloth")
		}
		if number(wide, "dry_low_g") > number(a, "dry_low_g") || number(wide, "dry_high_g") < number(a, "dry_high_g") {
			rt.Fatal("a wider doubt tells a narrower band")
		}
	})
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(0, 1000000).Draw(rt, "n")
		ml := rapid.Float64Range(0.001, 1000).Draw(rt, "ml")
		c := rapid.Float64Range(0.5, 0.999).Draw(rt, "c")
		raw, _ := json.Marshal(map[string]any{"counted": n, "volume_ml": ml, "confidence": c})
		m := answer(t, "count", string(raw))
		low, rate, high := number(m, "low_per_ml"), number(m, "rate_per_ml"), number(m, "high_per_ml")
		if !(low <= rate && rate <= high) || number(m, "upper_one_sided_per_ml") > high*(1+1e-12) || number(m, "lower_one_sided_per_ml") < low*(1-1e-12) {
			rt.Fatalf("%d in %g: %g, %g, %g", n, ml, low, rate, high)
		}
	})
}
