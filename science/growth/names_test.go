package growth

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestNamesCoverParams(t *testing.T) {
	p := Default()
	seen := map[*float64]string{}
	for i := range table {
		at := table[i].at(&p)
		if other, ok := seen[at]; ok {
			t.Errorf("%s and %s are one field", table[i].Name, other)
		}
		seen[at] = table[i].Name
	}
	n := reflect.TypeOf(p).NumField() - 1 + reflect.TypeOf(p.Composition).NumField()
	if len(seen) != n {
		t.Errorf("table names %d of %d fields", len(seen), n)
	}
	spelled := map[string]string{}
	for _, name := range Names() {
		if name.Unit == "" || !(name.Low < name.High) {
			t.Errorf("%s: unit %q, bounds %g %g", name.Name, name.Unit, name.Low, name.High)
		}
		for _, s := range append([]string{name.Name}, name.Aliases...) {
			if other, ok := spelled[fold(s)]; ok && other != name.Name {
				t.Errorf("%q means both %s and %s", s, other, name.Name)
			}
			spelled[fold(s)] = name.Name
		}
	}
	if err := p.Validate(); err != nil {
		t.Errorf("defaults refused: %v", err)
	}
}

func TestSetAndGet(t *testing.T) {
	for _, r := range []struct {
		name string
		at   func(*Params) *float64
	}{
		{"I_k", func(p *Params) *float64 { return &p.IK }},
		{"ik_umol_m2_s", func(p *Params) *float64 { return &p.IK }},
		{"Y", func(p *Params) *float64 { return &p.Yield }},
		{"sigma", func(p *Params) *float64 { return &p.Sigma }},
		{"T_min", func(p *Params) *float64 { return &p.TMin }},
		{"Topt", func(p *Params) *float64 { return &p.TOpt }},
		{"t_max_c", func(p *Params) *float64 { return &p.TMax }},
		{"m30", func(p *Params) *float64 { return &p.Maintenance30 }},
		{"phi_h", func(p *Params) *float64 { return &p.NightShare }},
		{"rho", func(p *Params) *float64 { return &p.NightRatio }},
		{"k_d", func(p *Params) *float64 { return &p.DamageRate }},
		{"k_r", func(p *Params) *float64 { return &p.RepairRate }},
		{"x_c", func(p *Params) *float64 { return &p.Threshold }},
		{"k_q", func(p *Params) *float64 { return &p.KQ }},
		{"k_w", func(p *Params) *float64 { return &p.KWater }},
		{"K_C", func(p *Params) *float64 { return &p.KCarbon }},
		{"k_b", func(p *Params) *float64 { return &p.Bleaching }},
	} {
		p, want := Default(), 0.0
		want = *r.at(&p) * 1.01
		if want == 0 {
			want = 0.5
		}
		if err := p.Set(r.name, want); err != nil {
			t.Errorf("Set(%q): %v", r.name, err)
		}
		if got := *r.at(&p); got != want { // stored, not computed
			t.Errorf("Set(%q) left %g, want %g", r.name, got, want)
		}
		if got, ok := p.Get(r.name); !ok || got != want {
			t.Errorf("Get(%q) = %g, %v", r.name, got, ok)
		}
	}
}

func TestSetRefuses(t *testing.T) {
	p := Default()
	var unknown *UnknownNameError
	if err := p.Set("night_thing", 1); !errors.As(err, &unknown) || unknown.Hint != "night_share" {
		t.Errorf("unknown name: %v, hint %q", err, unknown.Hint)
	} else if want := `parameter "night_thing": unknown`; err.Error() != want {
		t.Errorf("error %q, want %q", err, want)
	}
	var bad *ParamError
	for _, v := range []float64{-1, 1e9, math.NaN(), math.Inf(1)} {
		if err := p.Set("I_k", v); !errors.As(err, &bad) || bad.Name != "ik_umol_m2_s" || !strings.Contains(err.Error(), "µmol/m²/s") {
			t.Errorf("Set(I_k, %g): %v", v, err)
		}
	}
	if p != Default() {
		t.Error("a refused value changed something")
	}
	for _, name := range []string{"", " ", "_"} {
		if p.Set(name, 1) == nil {
			t.Errorf("name %q taken", name)
		}
		if _, ok := p.Get(name); ok {
			t.Errorf("name %q known", name)
		}
	}
	for _, r := range []struct {
		field string
		set   func(*Params)
	}{
		{"t_min_c", func(p *Params) { p.TMin, p.TOpt, p.TMax = 29.5, 30, 31 }},
		{"t_max_c", func(p *Params) { p.TMax = 34.2 }},
		{"t_opt_c", func(p *Params) { p.TOpt = 20 }},
		{"ammonia_half_mm", func(p *Params) { p.AmmoniaHalf = 1 }},
		{"sigma_m2_g", func(p *Params) { p.Sigma = math.NaN() }},
		{"repair_rate_per_d", func(p *Params) { p.RepairRate = 0 }},
	} {
		p := Default()
		r.set(&p)
		if err := p.Validate(); !errors.As(err, &bad) || bad.Name != r.field {
			t.Errorf("Validate: %v, want %s refused", err, r.field)
		}
	}
}

func FuzzSet(f *testing.F) {
	f.Add("I_k", 195.0)
	f.Add("t.opt", 1e300)
	f.Fuzz(func(t *testing.T, name string, v float64) {
		p := Default()
		if err := p.Set(name, v); err != nil {
			if p != Default() {
				t.Fatal("a refused value changed something")
			}
			return
		}
		if got, ok := p.Get(name); !ok || got != v {
			t.Fatalf("Set(%q, %g) then Get gives %g, %v", name, v, got, ok)
		}
	})
}

func TestCorrelations(t *testing.T) {
	sd, corr := Spread()
	l, ok := cholesky(corr)
	if !ok {
		t.Fatal("correlations are not positive definite")
	}
	for i := range drawn {
		if lookup(sd[i].Name) == nil || !(sd[i].SD > 0) {
			t.Errorf("spread %+v", sd[i])
		}
		for j := range drawn {
			sum := 0.0
			for k := range drawn {
				sum += l[i][k] * l[j][k]
			}
			near(t, "l·lᵀ", sum, corr[i][j], 1e-12, "Cholesky")
			near(t, "symmetry", corr[i][j], corr[j][i], 0, "correlation")
		}
	}
	corr[0][1], corr[1][0] = 1.2, 1.2
	if _, ok := cholesky(corr); ok {
		t.Error("an impossible correlation passes as positive definite")
	}
}

func TestDrawsHaveTheSpread(t *testing.T) {
	sd, corr := Spread()
	p0 := Default()
	const n = 20000
	rng := rand.New(rand.NewPCG(7, 7))
	var sum [drawn]float64
	var cross [drawn][drawn]float64
	yield := 0.0
	for range n {
		p := drawStrain(rng, p0)
		var u [drawn]float64
		for i := range u {
			v, _ := p.Get(sd[i].Name)
			v0, _ := p0.Get(sd[i].Name)
			if sd[i].Log {
				u[i] = math.Log(v/v0) / sd[i].SD
			} else {
				u[i] = (v - v0) / sd[i].SD
			}
			sum[i] += u[i]
		}
		for i := range u {
			for j := range u {
				cross[i][j] += u[i] * u[j]
			}
		}
		yield += math.Pow(math.Log(Draw(rng, p0).Yield/p0.Yield), 2)
	}
	for i := range drawn {
		near(t, sd[i].Name+" mean", sum[i]/n, 0, 0.03, "20000 draws: 4 standard errors of 0.007")
		for j := range drawn {
			near(t, sd[i].Name+" with "+sd[j].Name, cross[i][j]/n, corr[i][j], 0.04, "correlations of our fit; 4 standard errors of 0.01")
		}
	}
	near(t, "yield with the pond's own spread", math.Sqrt(yield/n), math.Hypot(0.09, 0.15), 0.004, "log-normal 0.09 and 0.15 together")
}

func TestDrawIsSoundAndRepeats(t *testing.T) {
	a, b := rand.New(rand.NewPCG(3, 4)), rand.New(rand.NewPCG(3, 4))
	if Draw(a, Default()) != Draw(b, Default()) {
		t.Error("the same seed gave another draw")
	}
	rapid.Check(t, func(t *rapid.T) {
		p := Default()
		p.TMax = rapid.Float64Range(36, 60).Draw(t, "tmax")
		p.TMin = rapid.Float64Range(-5, 10).Draw(t, "tmin")
		if p.Validate() != nil {
			t.Skip("not a sound centre")
		}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for range 20 {
			p = Draw(rng, p) // a walk: far from the centre too
			if err := p.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
