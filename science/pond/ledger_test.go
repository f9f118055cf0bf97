package pond_test

import (
	"math"
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// season runs a pond for days with all that can happen to it, and its ledger.
func season(tb testing.TB, days int) (before, after pond.Account, led *pond.Ledger, v *pond.Vessel) {
	tb.Helper()
	c := climate{clear: 0.95, airC: 24, swingC: 8, rhPct: 55, windMS: 2, drift: 5, rain: 0.02, clouded: true}
	w := c.weather(tb, june, days)
	g, err := vessel.NewLiner(4, 3, 3.2, 2.2, 0.3)
	if err != nil {
		tb.Fatal(err)
	}
	p := standing(g)
	fill(tb, &p, farmMedium, 0.22, 0.3)
	hold(tb, &p, 10)
	p.TapC = 16
	p.Stir.LeakLPerD = 1.5
	var acts []pond.Act
	add := func(day, hour float64, a pond.Act) {
		a.At = june.Add(time.Duration((day*24 + hour) * float64(time.Hour)))
		acts = append(acts, a)
	}
	var nitrate, urea, soda brine.Totals
	nitrate[brine.K], nitrate[brine.NO3] = 0.9, 0.9
	urea[brine.Urea] = 0.5
	soda[brine.Na], soda[brine.DIC] = 6, 6
	acts = append(acts, pond.Act{At: june.Add(7*time.Hour + 3*time.Minute + 20*time.Second), Salts: nitrate})
	for d := 2.0; d < float64(days)-1; d++ {
		switch n := int(d); {
		case n%6 == 0:
			add(d, 7.21, pond.Act{ClothL: 600, CakeG: 4})
			add(d, 8.05, pond.Act{Salts: nitrate})
		case n%6 == 2:
			add(d, 9.5, pond.Act{FillToM: 0.22})
			add(d, 20, pond.Act{Salts: soda})
		case n%11 == 3:
			add(d, 18, pond.Act{DrawL: 150})
			add(d, 18.4, pond.Act{Pour: made(tb, hardMedium, 200, 18)})
		case n%13 == 4:
			add(d, 12, pond.Act{Salts: urea})
		case n == 27:
			add(d, 6, pond.Act{Pour: made(tb, farmMedium, 1500, 12)}) // over the rim
		case n == 31:
			add(d, 6, pond.Act{Setting: func(s *vessel.Setting) { s.Shade = 0.5 }})
		}
	}
	led = new(pond.Ledger)
	before = p.Holds()
	p.Run(june, june.AddDate(0, 0, days), w, acts, led, nil, nil)
	return before, p.Holds(), led, &p
}

// hardMedium has calcium enough to fall out as chalk.
var hardMedium = map[string]float64{"NaHCO3": 8, "KNO3": 2, "NaCl": 2, "CaCl2.2H2O": 0.3, "MgSO4.7H2O": 0.2, "KH2PO4": 0.1}

// closes checks that what is there now is what was there and what was booked.
func closes(tb testing.TB, what string, before, booked, after, turnover float64) {
	tb.Helper()
	if scale := math.Abs(before) + math.Abs(after) + turnover; math.Abs(before+booked-after) > 1e-9*scale {
		tb.Errorf("%s: %.12g and %.12g booked, there is %.12g: off by %.3g of %.3g", what, before, booked, after, before+booked-after, scale)
	}
}

// Water, dry matter, heat and every total, against the books of the laws.
func TestLedgerCloses(t *testing.T) {
	before, after, led, _ := season(t, 60)
	sum := led.Sum()
	turn := func(of func(a *pond.Account) float64) (x float64) {
		for i := range led {
			x += math.Abs(of(&led[i]))
		}
		return x
	}
	for _, c := range []struct {
		what string
		of   func(a *pond.Account) float64
	}{
		{"water", func(a *pond.Account) float64 { return a.WaterKg }},
		{"dry matter", func(a *pond.Account) float64 { return a.BiomassG }},
		{"heat", func(a *pond.Account) float64 { return a.HeatJ }},
		{"calcium in cells", func(a *pond.Account) float64 { return a.CalciumMol }},
		{"chalk on the floor", func(a *pond.Account) float64 { return a.SolidMol }},
		{"charge (alkalinity)", func(a *pond.Account) float64 { return a.Mol.AlkalinityEqKg() }},
	} {
		closes(t, c.what, c.of(&before), c.of(&sum), c.of(&after), turn(c.of))
	}
	for k := range after.Mol {
		closes(t, brine.Total(k).String(), before.Mol[k], sum.Mol[k], after.Mol[k], turn(func(a *pond.Account) float64 { return a.Mol[k] }))
	}
	// The season must have met every law, or the books say little.
	for l, a := range led {
		if a == (pond.Account{}) {
			t.Errorf("law %d booked nothing in the season", l)
		}
	}
}

// Elements in water, cells, floor and air together: only what is poured and
// taken moves them, and what the air takes or gives.
func TestElementsClose(t *testing.T) {
	before, after, led, v := season(t, 60)
	c := v.Growth.Composition()
	type in func(a *pond.Account) float64
	// Each element in an account, wherever it is.
	elements := map[string]in{
		"carbon": func(a *pond.Account) float64 {
			return a.Mol[brine.DIC] + a.Mol[brine.Urea] + a.BiomassG*c.C + a.SolidMol
		},
		"nitrogen": func(a *pond.Account) float64 {
			return a.Mol[brine.NO3] + a.Mol[brine.NO2] + a.Mol[brine.Ammonia] + 2*a.Mol[brine.Urea] + a.BiomassG*c.N
		},
		"phosphorus": func(a *pond.Account) float64 { return a.Mol[brine.PO4] + a.BiomassG*c.P },
		"sulphur":    func(a *pond.Account) float64 { return a.Mol[brine.SO4] + a.BiomassG*c.S },
		"potassium":  func(a *pond.Account) float64 { return a.Mol[brine.K] + a.BiomassG*c.K },
		"magnesium":  func(a *pond.Account) float64 { return a.Mol[brine.Mg] + a.BiomassG*c.Mg },
		"iron":       func(a *pond.Account) float64 { return a.Mol[brine.Iron] + a.BiomassG*c.Fe },
		"calcium":    func(a *pond.Account) float64 { return a.Mol[brine.Ca] + a.CalciumMol + a.SolidMol },
		"sodium":     func(a *pond.Account) float64 { return a.Mol[brine.Na] },
		"chlorine":   func(a *pond.Account) float64 { return a.Mol[brine.Cl] },
	}
	inside := []pond.Law{pond.Grown, pond.Hydrolysed, pond.FellOut, pond.Warmed, pond.Evaporated, pond.Rained}
	across := []pond.Law{pond.Poured, pond.Drawn, pond.Cloth, pond.CarbonToAir, pond.AmmoniaToAir, pond.Leaked, pond.Overflowed}
	for name, of := range elements {
		var moved, turnover float64
		for _, l := range across {
			moved += of(&led[l])
			turnover += math.Abs(of(&led[l]))
		}
		closes(t, name, of(&before), moved, of(&after), turnover)
		for _, l := range inside {
			if x := of(&led[l]); math.Abs(x) > 1e-9*(turnover+of(&before)) {
				t.Errorf("%s: law %d makes %.3g mol out of nothing", name, l, x)
			}
		}
	}
}

// The alkalinity that each law moves follows from the ions that it moves.
func TestAlkalinityByLaw(t *testing.T) {
	const source = "Wolf-Gladrow et al. 2007, Mar. Chem. 106:287, explicit conservative form; composition C 47, N 10, P 1.0, S 0.8, K 2.0, Mg 0.33, Ca 0.3 %"
	grow := func(nitrogen brine.Total) *pond.Ledger {
		v := raceway(t, zarrouk)
		p := v.Growth.Params()
		p.AmmoniaOnset, p.AmmoniaHalf = 40, 80 // let it grow whatever the ammonia
		v.Growth = growth.NewModel(p)
		v.Mol[brine.NO3] = 0
		v.Mol[nitrogen] += 30
		v.Mol[brine.Ca] = 5 // enough for the cells
		v.Settle()
		led := new(pond.Ledger)
		w := fair.weather(t, june, 4)
		v.Run(june, june.AddDate(0, 0, 4), w, nil, led, nil, nil)
		return led
	}
	perKg := func(led *pond.Ledger, laws ...pond.Law) float64 {
		eq := 0.0
		for _, l := range laws {
			eq += led[l].Mol.AlkalinityEqKg()
		}
		return eq / led[pond.Grown].BiomassG * 1000
	}
	nitrate, ammonium, urea := grow(brine.NO3), grow(brine.Ammonia), grow(brine.Urea)
	// What respiration gives back is ammonia, so nitrate-fed water keeps a
	// little less than by nitrate alone: allow for it by what was booked.
	back := func(led *pond.Ledger) float64 {
		return led[pond.Grown].Mol[brine.Ammonia] / led[pond.Grown].BiomassG * 1000
	}
	near(t, "eq/kg fed nitrate", perKg(nitrate, pond.Grown), 7.0+2*math.Max(back(nitrate), 0), 0.15, source)
	near(t, "eq/kg fed ammonium", perKg(ammonium, pond.Grown), -7.25, 0.15, source)
	// Urea gives two equivalents when it splits and takes them back as its
	// ammonia is eaten or blows off.
	split, blown := urea[pond.Hydrolysed].Mol, urea[pond.AmmoniaToAir].Mol
	near(t, "eq per urea split", split.AlkalinityEqKg()/-split[brine.Urea], 2, 1e-9, source)
	near(t, "eq per ammonia blown off", blown.AlkalinityEqKg()/-blown[brine.Ammonia], -1, 1e-9, source)
	eaten := -urea[pond.Grown].Mol[brine.Ammonia]
	near(t, "eq/kg fed urea", (urea[pond.Grown].Mol.AlkalinityEqKg()+eaten)/urea[pond.Grown].BiomassG*1000, -0.1, 0.05, source)
	near(t, "eq by carbon dioxide", nitrate[pond.CarbonToAir].Mol.AlkalinityEqKg(), 0, 1e-12, source)
}

// A parcel from one vessel to another is lost nowhere.
func TestParcelsBetweenVessels(t *testing.T) {
	a, b := raceway(t, farmMedium), raceway(t, zarrouk)
	b.Heat.WaterC = 14
	b.Damage, b.NightQ = 0.4, 0.01
	a.Damage, a.NightQ = 0.1, 0.05
	sum := func() pond.Account {
		x, y := a.Holds(), b.Holds()
		x.WaterKg += y.WaterKg
		x.BiomassG += y.BiomassG
		x.CalciumMol += y.CalciumMol
		x.HeatJ += y.HeatJ
		for k := range x.Mol {
			x.Mol[k] += y.Mol[k]
		}
		return x
	}
	damage := func() float64 { return a.Damage*a.BiomassG + b.Damage*b.BiomassG }
	before, hurt := sum(), damage()
	d := a.Do(&pond.Act{DrawL: 300}, nil)
	if math.Abs(d.DrawnL-300) > 1e-9 {
		t.Errorf("drew %g of 300 L", d.DrawnL)
	}
	b.Do(&pond.Act{Pour: d.Drawn}, nil)
	after := sum()
	closes(t, "water", before.WaterKg, 0, after.WaterKg, 0)
	closes(t, "dry matter", before.BiomassG, 0, after.BiomassG, 0)
	closes(t, "calcium in cells", before.CalciumMol, 0, after.CalciumMol, 0)
	closes(t, "heat", before.HeatJ, 0, after.HeatJ, 0)
	closes(t, "damage", hurt, 0, damage(), 0)
	for k := range after.Mol {
		closes(t, brine.Total(k).String(), before.Mol[k], 0, after.Mol[k], 0)
	}
	// Six bottles told as one: six times a sixth is the whole.
	x, y := d.Drawn.Scaled(1.0/6).Scaled(6), d.Drawn
	closes(t, "scaled", x.WaterKg, 0, y.WaterKg, 0)
	closes(t, "scaled salts", x.Mol[brine.Na], 0, y.Mol[brine.Na], 0)
}
