package compare_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"strings"
	"testing"

	"sodalake/document/compare"
	"sodalake/farm/scenario"
)

// run runs a tank of three square metres under constant weather.
func run(t *testing.T, name string, shadePct float64) (*scenario.File, *scenario.Result) {
	t.Helper()
	f, err := scenario.Read([]byte(fmt.Sprintf(`{"name":%q,"start":"2026-05-01","days":5,"shade_pct":%g,"vessel":{"shape":"box","length_m":3,"width_m":1,"level_cm":15},
"medium":{"salts_g_per_l":{"NaHCO3":10,"NaNO3":2,"K2HPO4":0.5,"K2SO4":0.5,"MgSO4.7H2O":0.2,"FeSO4.7H2O":0.01}},"culture":{"density_g_per_l":0.4},
"weather":{"constant":{"par_umol_m2_s":900,"photoperiod_h":12,"t_air_c":27}},"harvest":{"rule":"fraction","fraction":0.1},"feed":{"rule":"replace"},"water":{"rule":"top-up"}}`, name, shadePct)))
	if err != nil {
		t.Fatal(err)
	}
	res, err := scenario.Run(context.Background(), f, nil, false, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f, res
}

func both(t *testing.T) *scenario.Comparison {
	var c scenario.Comparison
	for _, s := range []struct {
		name  string
		shade float64
	}{{"open & bright", 0}, {"", 60}, {"", 60}} {
		f, res := run(t, s.name, s.shade)
		c.Add(f, "somewhere/dim.json", res)
	}
	c.Finish()
	return &c
}

// The summary is the sums and means of the rows, counted here anew.
func TestSummary(t *testing.T) {
	c := both(t)
	if got := []string{c.Scenarios[0].Name, c.Scenarios[1].Name, c.Scenarios[2].Name}; strings.Join(got, ",") != "open & bright,dim,dim (2)" {
		t.Errorf("names %q", got)
	}
	for _, s := range c.Scenarios {
		var grams, growth, evaporated, fed, hottest float64
		for _, d := range s.Result.Days {
			grams, growth, evaporated, fed = grams+d.HarvestedDryG, growth+d.ProductivityGPerM2, evaporated+d.EvaporationMM, fed+d.FedG
			hottest = max(hottest, d.TempMaxC)
		}
		for _, r := range []struct {
			what      string
			got, want float64
		}{{"harvest", s.Summary.HarvestedDryG, grams}, {"growth", s.Summary.GrowthGPerM2D, growth / 5}, {"evaporation", s.Summary.EvaporationMM, evaporated}, {"feed", s.Summary.FedG, fed}, {"heat", s.Summary.TempMaxC, hottest}} {
			if math.Abs(r.got-r.want) > 0.006 {
				t.Errorf("%s: %s %g, the rows say %g", s.Name, r.what, r.got, r.want)
			}
		}
		if s.Summary.HarvestDays != 5 || s.Summary.Days != 5 || s.Summary.Start != "2026-05-01" {
			t.Errorf("%s: %+v", s.Name, s.Summary)
		}
	}
	if !(c.Scenarios[1].Summary.GrowthGPerM2D < c.Scenarios[0].Summary.GrowthGPerM2D) || c.Scenarios[1].Summary != c.Scenarios[2].Summary {
		t.Errorf("shade of 60 %% in mild light does not lower growth: %+v", c.Scenarios)
	}
}

func TestRows(t *testing.T) {
	c := both(t)
	for _, r := range compare.Rows(c) {
		if len(r.Cells) != 3 || r.Cells[0].Than != "" {
			t.Errorf("%s: %+v", r.What, r.Cells)
		}
		if r.Cells[1] != r.Cells[2] {
			t.Errorf("%s: two equal scenarios differ: %+v", r.What, r.Cells)
		}
		if r.What == "mean growth" && !strings.HasPrefix(r.Cells[1].Than, "−") {
			t.Errorf("growth falls, the table says %q", r.Cells[1].Than)
		}
		if r.What == "days" && r.Cells[1].Than != "±0" {
			t.Errorf("days: %q, want ±0", r.Cells[1].Than)
		}
	}
}

// Every day of every scenario is in the CSV and on the page; what was written
// in a name cannot become markup or a formula.
func TestWritten(t *testing.T) {
	c := both(t)
	c.Scenarios[0].Name = `=1<script>x</script>`
	var b bytes.Buffer
	if err := compare.CSV(&b, c); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 1+15 || rows[0][0] != "scenario" || rows[1][0] != "'"+c.Scenarios[0].Name {
		t.Fatalf("%d rows, %v, %v", len(rows), err, rows[:2])
	}
	var page bytes.Buffer
	if err := compare.HTML(&page, c); err != nil {
		t.Fatal(err)
	}
	text := page.String()
	if strings.Contains(text, "<script") || strings.Contains(text, "http://") || strings.Contains(text, "https://") {
		t.Error("the page holds a script or an address")
	}
	if n := strings.Count(text, "<svg"); n != 7+3 {
		t.Errorf("%d drawings, want seven and three keys", n)
	}
	for _, s := range c.Scenarios {
		for _, d := range s.Result.Days {
			if !strings.Contains(text, compare.Cells(&d)[1]) {
				t.Errorf("the page lacks %+v", d)
			}
		}
	}
}

// Runs over other days are told.
func TestOtherDays(t *testing.T) {
	c := both(t)
	c.Scenarios[1].Result.Days = c.Scenarios[1].Result.Days[:3]
	c.Scenarios[1].Summary = scenario.Summarise(c.Scenarios[1].Result)
	c.Finish()
	if len(c.Notes) != 2 || !strings.Contains(c.Notes[0], "3 days") {
		t.Errorf("notes %q", c.Notes)
	}
	if s := scenario.Summarise(&scenario.Result{}); s.Days != 0 {
		t.Errorf("nothing sums to %+v", s)
	}
}
