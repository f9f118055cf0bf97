package web

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/num"
	"sodalake/web/draw"
	"sodalake/words"
)

func TestPretty(t *testing.T) {
	for in, want := range map[string]string{
		"7 1/4 US cups": "7¼ US cups", "1/2 US cup and 2 1/2 tbsp": "½ US cup and 2½ tbsp", "1 metric cup and 1/2 tbsp": "1 metric cup and ½ tbsp",
		"1/8 tsp": "⅛ tsp", "3 cups": "3 cups", "": "", "11/2 odd": "11/2 odd", "1/5 odd": "1/5 odd",
	} {
		if got := pretty(in); got != want {
			t.Errorf("%q is written %q, want %q", in, got, want)
		}
	}
}

func TestGrams(t *testing.T) {
	w := words.New("en", words.Metric, nil)
	for g, want := range map[float64]string{1600: "1600 g", 40: "40 g", 87.43: "87.4 g", 4: "4.0 g", 0.3: "0.30 g", 0.04: "0.040 g", 12345: "12.35 kg", 25000: "25 kg", 9999.6: "10 kg", 99.96: "100 g"} {
		value, unit := grams(w, g)
		if got := value + " " + unit; got != want {
			t.Errorf("%g g are shown as %q, want %q", g, got, want)
		}
	}
	us := words.New("en", words.US, nil)
	// 16 oz make a pound, 453.59237 g: NIST HB 44, appendix C.
	for g, want := range map[float64]string{453.59237: "1 lb", 1000: "2 lb 3.3 oz", 200: "7.1 oz", 50: ""} {
		if got := pounds(us, g); got != want {
			t.Errorf("%g g are %q in a US kitchen, want %q", g, got, want)
		}
	}
	if got := pounds(w, 1000); got != "" {
		t.Errorf("a metric kitchen reads %q", got)
	}
}

// What is recorded is what was shown, within the last digit shown.
func TestWeighsAsShown(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.Float64Range(0.01, 50000).Draw(rt, "g")
		if got := weighs(g); math.Abs(got-g) > gramStep(g)*0.51 {
			rt.Fatalf("%g g are recorded as %g", g, got)
		}
	})
}

// Names that hold commas are told apart.
func TestMatch(t *testing.T) {
	names := []string{"salt", "salt substitute, plain", "calcium chloride", "calcium chloride, dry", "baking soda"}
	for what, want := range map[string][]int{
		"salt, salt substitute, plain": {0, 1}, "calcium chloride, dry": {3}, "calcium chloride, calcium chloride, dry, baking soda": {2, 3, 4}, "nothing of it": nil,
	} {
		if got := match(what, names, make([]bool, len(names))); !slices.Equal(got, want) {
			t.Errorf("%q is %v, want %v", what, got, want)
		}
	}
}

func TestCrosses(t *testing.T) {
	line := []draw.StandPoint{{Days: 0, Band: num.Band{Low: 8, Mid: 8, High: 8}}, {Days: 4, Band: num.Band{Low: 8.5, Mid: 9, High: 10}}, {Days: 10, Band: num.Band{Low: 8.9, Mid: 9.5, High: 10.4}}}
	got := crosses(line, 9)
	if math.Abs(got.Low-2) > 1e-9 || math.Abs(got.Mid-4) > 1e-9 || !math.IsNaN(got.High) {
		t.Errorf("passes 9 after %+v days, want 2, 4 and never", got)
	}
	if got := crosses(line, 7); got.Mid != 0 {
		t.Errorf("above it from the start: %+v", got)
	}
}
