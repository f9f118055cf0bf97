package twin

import (
	"bytes"
	"math"
	"runtime"
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
)

const dicIndex = brine.DIC

func wrap(w ...*pond.Weather) []*pond.Weather { return w }

// story lets an ensemble live through four days of readings and acts.
func story(e *Ensemble) {
	w := wrap(flatWeather(begins, 6, 800, 25), flatWeather(begins, 6, 600, 22))
	e.Assimilate(ReadSecchi(2.8))
	e.Advance(begins.Add(26*time.Hour), w, nil)
	e.Assimilate(ReadPH(9.9, false))
	e.Assimilate(ReadLevel(14.5))
	e.Do(func(_ int, m *Member) { m.Do(&pond.Act{ClothL: 300, CakeG: 4, WaterL: 40}) })
	e.Advance(begins.Add(50*time.Hour), w, nil)
	e.Assimilate(ReadTemp(23))
	e.Assimilate(ReadSecchi(3.4))
	e.Assimilate(ReadConductivity(15))
	e.Advance(begins.Add(96*time.Hour), w, nil)
}

// TestSameOnAnyCores asks for the same bytes on one, two and eight cores, and
// other ones for another seed.
func TestSameOnAnyCores(t *testing.T) {
	was := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(was)
	var first []byte
	for _, cores := range []int{1, 2, 8} {
		runtime.GOMAXPROCS(cores)
		e := started(t, Config{Members: 45, Draws: 2, Seed: 31})
		story(e)
		b := e.Freeze()
		if first == nil {
			first = b
		} else if !bytes.Equal(first, b) {
			t.Errorf("%d cores gave other bytes than one", cores)
		}
	}
	runtime.GOMAXPROCS(was)
	e := started(t, Config{Members: 45, Draws: 2, Seed: 32})
	story(e)
	if bytes.Equal(first, e.Freeze()) {
		t.Error("another seed gave the same bytes")
	}
}

func TestCopyIsIndependent(t *testing.T) {
	e := started(t, Config{Members: 24, Draws: 2, Seed: 33})
	e.Freeze() // settled, so that the bytes below change by what is done alone
	before := e.Freeze()
	c := e.Copy()
	story(c)
	if !bytes.Equal(before, e.Freeze()) {
		t.Error("what happened to a copy changed the original")
	}
	story(e)
	if !bytes.Equal(e.Freeze(), c.Freeze()) {
		t.Error("the original did not go the way of its copy")
	}
}

// TestReplay asks that a run from a checkpoint equals the straight one, cut at
// the same moments.
func TestReplay(t *testing.T) {
	w := wrap(flatWeather(begins, 8, 700, 24))
	days := func(e *Ensemble, from, to int) {
		for d := from; d < to; d++ {
			e.Advance(begins.AddDate(0, 0, d+1), w, nil)
			e.Assimilate(ReadSecchi(2.8 - 0.1*float64(d)))
		}
	}
	straight := started(t, Config{Members: 30, Draws: 1, Seed: 34})
	days(straight, 0, 3)
	check := straight.Copy()
	days(straight, 3, 6)
	// A late entry goes another way first; then the checkpoint is run again.
	other := check.Copy()
	other.Assimilate(ReadSecchi(2.0))
	days(other, 3, 6)
	days(check, 3, 6)
	if !bytes.Equal(straight.Freeze(), check.Freeze()) {
		t.Error("the checkpoint went another way than the straight run")
	}
	if bytes.Equal(straight.Freeze(), other.Freeze()) {
		t.Error("a late entry changed nothing")
	}
}

func lnDensity(e *Ensemble) (mean, sd float64) {
	x := make([]float64, len(e.Members))
	for i := range x {
		x[i] = math.Log(e.Members[i].Pond.DensityGL())
	}
	m, v := moments(x)
	return m, math.Sqrt(v)
}

func TestBelievedAndDoubted(t *testing.T) {
	e := started(t, Config{Members: 150, Draws: 1, Seed: 35})
	_, sd := lnDensity(e)
	v := e.Assimilate(ReadSecchi(2.8))
	_, now := lnDensity(e)
	if !v.Believed || !(now < sd) {
		t.Errorf("believed %v, spread %.3f after %.3f", v.Believed, now, sd)
	}
	mean, _ := lnDensity(e)
	for _, r := range []Reading{ReadSecchi(28), ReadSecchi(0.28), ReadLevel(75), ReadTemp(60), ReadPH(4.1, false), ReadDryWeight(4), ReadConductivity(0.15)} {
		v := e.Assimilate(r)
		if v.Believed || v.Slip <= believe {
			t.Errorf("%s %.2f was believed: %+v", r.Kind, r.Value, v.Innovation)
		}
	}
	after, _ := lnDensity(e)
	if after != mean {
		t.Error("a doubted reading moved the density")
	}
	c := e.Copy()
	c.fit = [NumKinds]fit{}
	d := started(t, Config{Members: 150, Draws: 1, Seed: 35})
	d.Assimilate(ReadSecchi(2.8))
	d.fit = [NumKinds]fit{}
	if !bytes.Equal(c.Freeze(), d.Freeze()) {
		t.Error("doubted readings changed more than the book of fits")
	}
	// The nearer to doubt, the less a reading moves for its distance.
	move := func(cm float64) float64 {
		c := e.Copy()
		was, _ := lnDensity(c)
		c.Assimilate(ReadSecchi(cm))
		is, _ := lnDensity(c)
		return math.Abs(is-was) / math.Abs(math.Log(cm/2.8))
	}
	if near, far := move(2.6), move(1.85); !(far < 0.95*near) {
		t.Errorf("a far reading moves %.3f of its distance, a near one %.3f", far, near)
	}
}

func TestOneSidedReadings(t *testing.T) {
	e := started(t, Config{Members: 150, Draws: 1, Seed: 36})
	mean, sd := lnDensity(e)
	// Seen to the floor at 3.6 cm: thinner than thought.
	v := e.Assimilate(Reading{Kind: Secchi, Value: math.Log(3.6), Sigma: 0.08, Op: '>', Slip: 4.4})
	m, s := lnDensity(e)
	if !v.Believed || !(m < mean-0.1*sd) || !(s < sd) {
		t.Errorf("seen to the floor: believed %v, mean %.3f from %.3f, spread %.3f from %.3f", v.Believed, m, mean, s, sd)
	}
	// Seen beyond 1 cm: everybody knew.
	m, s = lnDensity(e)
	v = e.Assimilate(Reading{Kind: Secchi, Value: math.Log(1.0), Sigma: 0.25, Op: '>', Slip: 4.4})
	m2, s2 := lnDensity(e)
	if !v.Believed || math.Abs(m2-m) > 0.01*s || math.Abs(s2-s) > 0.01*s {
		t.Errorf("seen to 1 cm moved the density by %.4f and its spread by %.4f", m2-m, s2-s)
	}
	// Beyond 40 cm: a slip.
	if v = e.Assimilate(Reading{Kind: Secchi, Value: math.Log(40), Sigma: 0.01, Op: '>', Slip: 4.4}); v.Believed {
		t.Error("seen beyond 40 cm was believed")
	}
	if v = e.Assimilate(ReadColour("cannot_see_hand")); !v.Believed {
		t.Error("a hand out of sight was doubted")
	}
}

func TestEmptyVessel(t *testing.T) {
	base := box(t, 4, 0)
	w := flatWeather(begins, 3, 800, 25)
	base.Heat = base.Setting.Start(&w.Outside[0], 20)
	base.Start()
	e := New(&base, begins, Config{Members: 20, Draws: 1, Seed: 37})
	for _, r := range []Reading{ReadSecchi(2), ReadOD(1), ReadDryWeight(0.4), ReadPH(10, false), ReadTemp(20), ReadLevel(10), ReadConductivity(12), ReadNitrate(1), ReadAmmonia(1), ReadCake(100, 20, false), ReadColour("green")} {
		if v := e.Assimilate(r); v.Believed {
			t.Errorf("%s of an empty vessel was believed", r.Kind)
		}
	}
	e.Advance(begins.AddDate(0, 0, 2), wrap(w), nil)
	for i := range e.Members {
		if s := e.Members[i].Pond.State; math.IsNaN(s.Heat.WaterC) || s.WaterKg != 0 {
			t.Fatalf("member %d: %+v", i, s)
		}
	}
	if e.Troubles() != nil {
		t.Error("an empty vessel is in trouble")
	}
	b := e.Freeze()
	if _, err := Thaw(&base, b); err != nil {
		t.Error(err)
	}
}

// Readings that tell nothing are never believed and never harm.
func TestUnusable(t *testing.T) {
	e := started(t, Config{Members: 20, Draws: 1, Seed: 38})
	before := e.Freeze()
	for _, r := range []Reading{ReadSecchi(0), ReadOD(-1), ReadDryWeight(math.NaN()), ReadColour("milky"), ReadCake(10, 0, true), ReadConductivity(0), ReadNitrate(0), ReadAmmonia(0),
		{Kind: Temp, Value: math.Inf(1), Sigma: 1, Op: '=', Slip: 40}, {Kind: Temp, Value: 20, Sigma: 0, Op: '=', Slip: 40}, {Kind: NumKinds, Value: 1, Sigma: 1, Op: '=', Slip: 1}, {Kind: -1, Value: 1, Sigma: 1, Op: '=', Slip: 1}} {
		if v := e.Assimilate(r); v.Believed {
			t.Errorf("%+v was believed", r)
		}
	}
	if !bytes.Equal(before, e.Freeze()) {
		t.Error("a reading that tells nothing changed something")
	}
}

// TestTwoAgreeing opens an ensemble that two readings have shown to be wrong.
func TestTwoAgreeing(t *testing.T) {
	for _, r := range []Reading{ReadSecchi(0.9), ReadLevel(24), ReadTemp(36), ReadConductivity(30), ReadDryWeight(1.4)} {
		e := started(t, Config{Members: 150, Draws: 1, Seed: 39})
		v := e.Assimilate(r)
		if v.Believed {
			t.Errorf("%s was believed at once", r.Kind)
			continue
		}
		e.Open(r.Kind, math.Abs(r.Value-v.Innovation.Expected))
		if v = e.Assimilate(r); !v.Believed {
			t.Errorf("%s was not believed after opening: %+v", r.Kind, v.Innovation)
			continue
		}
		expected, _ := e.expect(r.Kind)
		mean, variance := moments(expected)
		if math.Abs(mean-r.Value) > 3*math.Hypot(r.Sigma, math.Sqrt(variance)) {
			t.Errorf("%s: %.3f expected now, %.3f was read twice", r.Kind, mean, r.Value)
		}
	}
}

func TestTroubles(t *testing.T) {
	e := started(t, Config{Members: 60, Draws: 1, Seed: 40})
	if got := e.Troubles(); len(got) != 0 {
		t.Errorf("a fresh ensemble is in trouble: %+v", got)
	}
	has := func(what string, v Var) bool {
		for _, x := range e.Troubles() {
			if x.What == what && x.Var == v {
				return true
			}
		}
		return false
	}
	d := e.Members[0].Pond.DensityGL()
	e.Do(func(_ int, m *Member) { m.Pond.BiomassG = d * m.Pond.VolumeL(); m.LnSecchi = 0.2 })
	if !has("collapsed", VarSecchi) {
		t.Error("a constant on which all agree is not told as collapsed")
	}
	p := growth.Default()
	e.Do(func(i int, m *Member) {
		if i%3 == 0 {
			p := p
			p.Yield *= paramFactor
			m.Pond.Growth = growth.NewModel(p)
		}
	})
	if !has("at_bound", VarYield) {
		t.Errorf("a third of the yields at their bound: %+v", e.Troubles())
	}
	e = started(t, Config{Members: 60, Draws: 1, Seed: 41})
	for range 12 {
		e.note(Secchi, 2.5, '=')
		e.note(Temp, 0.1, '=')
	}
	var misfit, idle bool
	for _, x := range e.Troubles() {
		misfit = misfit || x.What == "misfit" && x.Kind == Secchi
		idle = idle || x.What == "idle" && x.Kind == Temp
	}
	if !misfit || !idle {
		t.Errorf("readings 2.5 and 0.1 spreads off: %+v", e.Troubles())
	}
	if rms, n := e.Fit(Secchi); math.Abs(rms-2.5) > 1e-9 || n < 7 || n > 8 {
		t.Errorf("fit %.2f over %.1f readings, want 2.5 over 1 + 0.9 + … = 7.2", rms, n)
	}
}

// TestScale asks that a vessel half as large again, told the same amounts,
// behaves as the described one told two thirds of them, to the last digits, and
// about as one that is described that large: neither loses heat through walls
// or floor, and what a longer reach does to the wind is 4 % at most.
func TestScale(t *testing.T) {
	w := flatWeather(begins, 6, 800, 25)
	run := func(area, lnScale, told float64) (gl, litres, cake float64) {
		base := box(t, area, 0)
		base.Setting.InGround, base.Setting.OnStand, base.Setting.WallUWM2K, base.Setting.BaseUWM2K, base.Setting.WallAbsorb = false, true, 0, 0, 0
		base.Heat = base.Setting.Start(&w.Outside[0], 24)
		base.Start()
		m := Member{Pond: base, LnScale: lnScale}
		p := poured(2000*told, 24)
		p.BiomassG = 700 * told
		m.Do(&pond.Act{Pour: p})
		m.Pond.Run(begins, begins.AddDate(0, 0, 2), w, nil, nil, nil, nil)
		cake = m.Do(&pond.Act{ClothL: 500 * told, CakeG: 4, WaterL: 120 * told, Salts: salts(map[string]float64{"NaHCO3": 800 * told})}).ClothG
		m.Pond.Run(begins.AddDate(0, 0, 2), begins.AddDate(0, 0, 5), w, nil, nil, nil, nil)
		cake += m.Do(&pond.Act{TakeG: 90 * told, DrawL: 60 * told, CakeG: 4}).ClothG
		return m.Pond.DensityGL(), m.VolumeL(), cake
	}
	gl, litres, cake := run(15, 0, 1)
	gl1, litres1, cake1 := run(10, 0, 1/1.5)
	gl2, litres2, cake2 := run(10, math.Log(1.5), 1)
	for _, c := range []struct {
		what                string
		got, scaled, larger float64
	}{{"density", gl2, gl1, gl}, {"volume", litres2, 1.5 * litres1, litres}, {"cake", cake2, 1.5 * cake1, cake}} {
		if math.Abs(c.got/c.scaled-1) > 1e-9 || math.Abs(c.got/c.larger-1) > 0.04 {
			t.Errorf("%s %.6f, told two thirds %.6f, described as larger %.6f", c.what, c.got, c.scaled, c.larger)
		}
	}
}

// TestOpenedLevel asks that a level which is opened may have lost water or may
// stand in a vessel of another size, where the volume stays what was poured.
func TestOpenedLevel(t *testing.T) {
	e := started(t, Config{Members: 200, Draws: 1, Seed: 43})
	e.Do(func(_ int, m *Member) { m.LnScale = 0 })
	sd := func(q func(m *Member) float64) float64 {
		x := make([]float64, len(e.Members))
		for i := range x {
			x[i] = math.Log(q(&e.Members[i]))
		}
		_, v := moments(x)
		return math.Sqrt(v)
	}
	level := func(m *Member) float64 { return m.Expect(Level, nil) }
	e.Open(Level, 3)
	if l, v := sd(level), sd((*Member).VolumeL); l < 0.15 || v > 0.85*l {
		t.Errorf("the level is unsure to %.3f and the volume to %.3f: half of it may be the vessel's size", l, v)
	}
}

// TestFrozenCopy asks that a checkpoint taken from a copy goes on as the run that
// was not touched, if both are carried on.
func TestFrozenCopy(t *testing.T) {
	e := started(t, Config{Members: 12, Draws: 2, Seed: 44})
	story(e)
	base := e.Members[0].Pond
	back, err := Thaw(&base, e.Copy().Freeze())
	if err != nil {
		t.Fatal(err)
	}
	w := wrap(flatWeather(begins, 9, 750, 23), flatWeather(begins, 9, 650, 25))
	for _, x := range []*Ensemble{e, back} {
		x.Advance(begins.AddDate(0, 0, 5), w, nil)
		x.Tell(ReadPH(10, false))
		x.Advance(begins.AddDate(0, 0, 7), w, nil)
	}
	if !bytes.Equal(e.Freeze(), back.Freeze()) {
		t.Error("the checkpoint went another way than the run it was taken from")
	}
}

// TestWrongVolumeIsFound pours a known volume into a vessel that is larger than
// described and reads the level.
func TestWrongVolumeIsFound(t *testing.T) {
	e := started(t, Config{Members: 200, Draws: 1, Seed: 42})
	was := e.Band(func(m *Member) float64 { return m.VolumeL() })
	gl := e.Band(func(m *Member) float64 { return m.Pond.DensityGL() }).Mid
	for range 3 {
		e.Assimilate(ReadLevel(13.2)) // 1500 L would stand at 15 cm
	}
	scale := e.Band(func(m *Member) float64 { return m.LnScale })
	now := e.Band(func(m *Member) float64 { return m.VolumeL() })
	if math.Abs(scale.Mid-math.Log(15/13.2)) > 0.04 {
		t.Errorf("scale %+v, want ln(15/13.2) = %.3f", scale, math.Log(15/13.2))
	}
	if math.Abs(now.Mid/was.Mid-1) > 0.03 {
		t.Errorf("the volume went from %.0f to %.0f L: it was poured by litres", was.Mid, now.Mid)
	}
	if x := e.Band(func(m *Member) float64 { return m.Pond.DensityGL() }).Mid; math.Abs(x/gl-1) > 0.04 {
		t.Errorf("the density went from %.3f to %.3f with a level", gl, x)
	}
}
