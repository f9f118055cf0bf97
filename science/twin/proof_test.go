package twin

import (
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

func envInt(name string, or int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return or
}

func (o *outcome) log(t *testing.T, name string) {
	t.Logf("== %s: %d readings, %d honest ones doubted; troubles %v", name, o.honest, o.doubted, o.troubles)
	for l, s := range o.leads {
		n := float64(max(s.n, 1))
		t.Logf("lead %2d n %4d cover %.3f (below %.3f above %.3f) width %.2f err %+.3f rms %.3f crps twin %.4f open %.4f carried %.4f point %.4f",
			leads[l], s.n, s.coverage(), float64(s.below)/n, float64(s.above)/n, s.width/n, s.err/n, rms(s.err2/n), s.twin/n, s.open/n, s.carried/n, s.point/n)
	}
	if os.Getenv("PONDLINES") != "" {
		for _, l := range o.ponds {
			t.Log(l)
		}
	}
	for k := range NumKinds {
		if o.fitted[k] > 0 {
			t.Logf("fit %-12s %.2f (readings %d)", k, rms(o.fits[k]/o.fitted[k]), o.readings[k])
		}
	}
}

func TestTune(t *testing.T) {
	ponds := envInt("PONDS", 0)
	if ponds == 0 {
		return
	}
	base := experiment{ponds: ponds, days: envInt("DAYS", 90), members: envInt("MEMBERS", 120), seed: 100000, noise: true, every: 9}
	which := os.Getenv("WHICH")
	if which == "" || which == "identical" {
		x := base
		o := x.run(t)
		o.log(t, "identical")
	}
	if which == "" || which == "quiet" {
		x := base
		x.noise = false
		o := x.run(t)
		o.log(t, "identical without noise")
	}
	one := func(name string, set func(x *experiment)) {
		if which == "" || which == name {
			x := base
			x.noise = false
			set(&x)
			o := x.run(t)
			o.log(t, name)
		}
	}
	one("light", func(x *experiment) { x.law = func(rng *rand.Rand, _ int) law { return newOtherLight(rng) } })
	one("heat", func(x *experiment) {
		x.law = func(rng *rand.Rand, _ int) law { return &otherHeat{0.7 + 0.8*rng.Float64()} }
	})
	one("all", func(x *experiment) {
		x.law = func(rng *rand.Rand, _ int) law {
			return &otherAll{newOtherLight(rng), &otherHeat{0.7 + 0.8*rng.Float64()}}
		}
	})
	one("volume", func(x *experiment) {
		x.scale = func(_ *rand.Rand, i int) *float64 { f := []float64{0.262, -0.357}[i/4%2]; return &f }
	})
}
