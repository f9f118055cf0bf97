package scenario

import (
	"bytes"
	"context"
	"encoding/csv"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"sodalake/science/sky"
)

var update = flag.Bool("update", false, "write the example's weather anew")

const examples = "../../examples"

// greenhouseWeather draws the hours of the example: an invented highland, dry
// and bright, warming towards the rains.
func greenhouseWeather(tb testing.TB) []byte {
	tb.Helper()
	var n sky.Normals
	for i := range n {
		n[i] = sky.UnknownMonth()
		season := math.Cos(2 * math.Pi * (float64(i) - 10) / 12) // warmest in November
		n[i].GHIMJM2D = 20.5 + 3*season
		n[i].MinC, n[i].MaxC = 13+4.5*season, 27+4*season
		n[i].RHPct, n[i].WindMS = 52-9*season, 1.8
		n[i].RainMM, n[i].RainDays = 0, 0
	}
	g, err := sky.FromNormals(n, sky.Site{LatDeg: -14.2, LonDeg: 27.6, ElevationM: 1180})
	if err != nil {
		tb.Fatal(err)
	}
	start := time.Date(2026, 8, 30, 22, 0, 0, 0, time.UTC)
	s := g.Generate(start, 63, rand.New(rand.NewPCG(1180, 2026)))
	var b bytes.Buffer
	b.WriteString("time_utc_end,ghi_w_m2,t_air_c,rh_pct,wind_m_s\n")
	for i := range s.Hours {
		h := &s.Hours[i]
		fmt.Fprintf(&b, "%s,%.0f,%.1f,%.0f,%.1f\n", s.Start.Add(time.Duration(i+1)*time.Hour).Format("2006-01-02T15:04Z"), h.GHIWM2, h.AirC, h.RHPct, h.WindMS)
	}
	return b.Bytes()
}

// The committed weather is what the generator draws, to the last digit written.
func TestGreenhouseWeather(t *testing.T) {
	path := filepath.Join(examples, "greenhouse-hourly.csv")
	want := greenhouseWeather(t)
	if *update {
		if err := os.WriteFile(path, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	cells := func(raw []byte) [][]string {
		all, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	a, b := cells(got), cells(want)
	if len(a) != len(b) {
		t.Fatalf("%s has %d rows, the generator draws %d", path, len(a), len(b))
	}
	for i := 1; i < len(a); i++ {
		if a[i][0] != b[i][0] {
			t.Fatalf("row %d: stamp %s, drawn %s", i, a[i][0], b[i][0])
		}
		for k := 1; k < len(a[i]); k++ {
			x, _ := strconv.ParseFloat(a[i][k], 64)
			y, _ := strconv.ParseFloat(b[i][k], 64)
			if math.Abs(x-y) > 1.01 { // machines may round the last digit otherwise
				t.Fatalf("row %d, %s: %s, drawn %s", i, a[0][k], a[i][k], b[i][k])
			}
		}
	}
}

// beside opens the files of a folder.
func beside(dir string) func(string) (io.ReadCloser, error) {
	return func(name string) (io.ReadCloser, error) { return os.Open(filepath.Join(dir, name)) }
}

// greenhouse is the example, read.
func greenhouse(tb testing.TB) *File {
	tb.Helper()
	raw, err := os.ReadFile(filepath.Join(examples, "greenhouse.json"))
	if err != nil {
		tb.Fatal(err)
	}
	f, err := Read(raw)
	if err != nil {
		tb.Fatal(err)
	}
	return f
}

// The example runs, says something sensible and says it again alike.
func TestGreenhouse(t *testing.T) {
	run := func() *Result {
		var days int
		res, err := Run(context.Background(), greenhouse(t), beside(examples), true, func(day, of int) {
			if days++; day != days || of != 60 {
				t.Errorf("progress tells day %d of %d as the %dth", day, of, days)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		return res
	}
	res := run()
	if len(res.Days) != 60 || len(res.Hours) != 60*24 {
		t.Fatalf("%d days and %d hours, want 60 and %d", len(res.Days), len(res.Hours), 60*24)
	}
	var grams, mean float64
	for i, d := range res.Days {
		if want := time.Date(2026, 9, 1+i, 0, 0, 0, 0, time.UTC).Format(time.DateOnly); d.Date != want {
			t.Errorf("row %d is of %s, want %s", i, d.Date, want)
		}
		if !(d.TempMinC <= d.TempMeanC && d.TempMeanC <= d.TempMaxC) {
			t.Errorf("%s: temperatures %g, %g, %g are out of order", d.Date, d.TempMinC, d.TempMeanC, d.TempMaxC)
		}
		if d.DensityGPerL > 0.75 || d.DensityGPerL < 0.3 || d.PH25C < 9.4 || d.PH25C > 10.8 || d.EvaporationMM < 0 || d.EvaporationMM > 12 {
			t.Errorf("%s: %+v is no such pond", d.Date, d)
		}
		grams += d.HarvestedDryG
		mean += d.ProductivityGPerM2 / 60
	}
	// A shaded tunnel in a warm season: what farms with one report is 5 to 12
	// g/m²/d (common practice, no source).
	if mean < 5 || mean > 12 {
		t.Errorf("mean growth of %.1f g/m²/d", mean)
	}
	if grams < 2000 {
		t.Errorf("%.0f g harvested in two months", grams)
	}
	t.Logf("%.1f g/m²/d, %.0f g harvested", mean, grams)
	again := run()
	for i := range res.Days {
		if res.Days[i] != again.Days[i] {
			t.Fatalf("day %d differs from run to run: %+v and %+v", i, res.Days[i], again.Days[i])
		}
	}
	for i := range res.Hours {
		if res.Hours[i] != again.Hours[i] {
			t.Fatalf("hour %d differs from run to run", i)
		}
	}
	// Hours do not change days.
	without, err := Run(context.Background(), greenhouse(t), beside(examples), false, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(without.Hours) != 0 || without.Days[59] != res.Days[59] {
		t.Error("asking for hours changes the days")
	}
}

// Sixty days of the example: weather read and spread, sun, pond, rows.
func BenchmarkScenario60Days(b *testing.B) {
	raw, err := os.ReadFile(filepath.Join(examples, "greenhouse-hourly.csv"))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		f := greenhouse(b)
		open := func(string) (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(raw)), nil }
		if _, err := Run(context.Background(), f, open, false, nil); err != nil {
			b.Fatal(err)
		}
	}
}
