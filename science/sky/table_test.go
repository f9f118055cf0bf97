package sky

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"
)

// row is one line of a table in testdata.
type row map[string]string

func table(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var out []row
	for _, r := range all[1:] {
		m := row{}
		for i, c := range r {
			m[all[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func (r row) num(t testing.TB, col string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(r[col], 64)
	if err != nil {
		t.Fatalf("column %q: %v", col, err)
	}
	return x
}

func (r row) time(t testing.TB, col string) time.Time {
	t.Helper()
	x, err := time.Parse(time.RFC3339, r[col])
	if err != nil {
		t.Fatalf("column %q: %v", col, err)
	}
	return x
}

// worst keeps the largest difference of a column, to be told in the log.
type worst map[string]float64

func (w worst) check(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	d := math.Abs(got - want)
	if w != nil && !(d <= w[what]) {
		w[what] = d
	}
	if !(d <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %g (%s)", what, got, want, tol, source)
	}
}

func check(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	worst(nil).check(t, what, got, want, tol, source)
}
