package twin

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// proof reports whether the long experiments are asked for. Without it the same
// tests run on a few ponds, to see that they run.
func proof() bool { return os.Getenv("SODALAKE_PROOF") != "" }

// proofSeed is the seed of the first pond. The constants of prior.go and
// member.go were tuned on other ponds, with seeds from 100000 on.
const proofSeed = 7000000

// proofMembers is how many members a twin of the proof has: fewer than the
// program's, so that the proof runs in a quarter of an hour.
const proofMembers = 100

// heldTo is what the leads of an experiment must keep.
type heldTo struct {
	low, high float64 // coverage of the 80 % interval [1]
	beats     float64 // most of the score of either rival that the twin's may be [1]
}

// trial is an experiment of the proof.
type trial struct {
	experiment
	heldTo
	what string
	out  outcome
}

// trials are the experiments, with fewer ponds when the proof is not asked for.
func trials() []*trial {
	light := func(rng *rand.Rand, _ int) law { return newOtherLight(rng) }
	heat := func(rng *rand.Rand, _ int) law { return &otherHeat{0.7 + 0.8*rng.Float64()} }
	volume := func(_ *rand.Rand, i int) *float64 {
		f := math.Log([]float64{1.3, 0.7}[i/4%2])
		return &f
	}
	like := heldTo{0.75, 0.85, 0.9}
	unlike := heldTo{0.65, 1, 0.95}
	all := []*trial{
		{experiment: experiment{name: "identical", ponds: 200, noise: true}, heldTo: like,
			what: "the truth follows the laws of the twin with parameters drawn as the members are, and has the noise that the twin thinks it has"},
		{experiment: experiment{name: "identical, no noise", ponds: 24}, heldTo: unlike,
			what: "the same without that noise: the twin is too unsure of itself"},
		{experiment: experiment{name: "another light curve", ponds: 24, law: light}, heldTo: unlike,
			what: "growth by a hyperbolic tangent with instant inhibition, no state of damage, another respiration"},
		{experiment: experiment{name: "another body of water", ponds: 24, law: heat}, heldTo: unlike,
			what: "another sky, no walls, evaporation and convection by Penman's wind function, the wind 0.7 to 1.5 times that told"},
		{experiment: experiment{name: "30 % wrong volume", ponds: 24, scale: volume}, heldTo: unlike,
			what: "the vessel holds 1.3 or 0.7 times what is described; what is poured is measured rightly"},
		{experiment: experiment{name: "all three at once", ponds: 24, scale: volume, law: func(rng *rand.Rand, i int) law {
			return &otherAll{newOtherLight(rng), &otherHeat{0.7 + 0.8*rng.Float64()}}
		}}, heldTo: unlike, what: "light, water and volume wrong together; harder than was asked"},
		{experiment: experiment{name: "no weather measured", ponds: 20, noise: true, normals: true}, heldTo: heldTo{0.65, 1, 1},
			what: "as identical, but the twin has the generator of the place alone, for the past too"},
	}
	for i, x := range all {
		x.days, x.members, x.every, x.seed = 90, proofMembers, 9, proofSeed+uint64(i)*10000
		x.show = 2
		if !proof() {
			// Eight forecasts prove nothing: only that they come.
			x.ponds, x.days, x.members, x.heldTo = 4, 20, 30, heldTo{0.2, 1, 1.5}
		}
	}
	return all
}

// TestProofPonds holds the twin against synthetic ponds: how often its 80 %
// interval of density holds the truth, and its score against that of the last
// reading carried forward and of the model without readings.
func TestProofPonds(t *testing.T) {
	all := trials()
	if !proof() {
		all = []*trial{all[0], all[5]}
	}
	for _, x := range all {
		x.out = x.run(t)
		x.out.log(t, x.name)
		for l, s := range x.out.leads {
			if c := s.coverage(); c < x.low || c > x.high {
				t.Errorf("%s, %d days ahead: the 80 %% interval held %.1f %% of %d truths, %.0f to %.0f are allowed", x.name, leads[l], 100*c, s.n, 100*x.low, 100*x.high)
			}
			if rival := min(s.carried, s.open); s.twin > x.beats*rival {
				t.Errorf("%s, %d days ahead: score %.4f g/L, the better rival %.4f", x.name, leads[l], s.twin/float64(s.n), rival/float64(s.n))
			}
		}
	}
	if proof() {
		report(t).trials = all
	}
}

// slipTally is what became of slips of one sort.
type slipTally struct {
	what                 string
	n, flagged, moved    int
	worst                float64
	mustFlag, mustKeepIn float64 // least share flagged, least share that moved less than the spread [1]
}

// TestProofSlips tries slips on copies of twins through their seasons: they are
// flagged, and what is not flagged moves the estimate by less than its spread.
func TestProofSlips(t *testing.T) {
	x := experiment{name: "slips", ponds: 28, days: 60, members: proofMembers, noise: true, seed: proofSeed + 900000, slips: true, every: 9, show: -1}
	if !proof() {
		x.ponds, x.days, x.members = 4, 25, 40
	}
	o := x.run(t)
	order := []string{}
	by := map[string]*slipTally{}
	for _, s := range o.slips {
		k := by[s.what]
		if k == nil {
			k = &slipTally{what: s.what, mustFlag: 0.97, mustKeepIn: 0.99}
			switch s.what {
			case "disc, of a vessel 1.5–2.5 times as clear":
				k.mustFlag, k.mustKeepIn = 0, 0 // such a change may be true
			case "disc, of a vessel 2.5–4 times as dark", "disc, of a vessel 2.5–4 times as clear":
				k.mustFlag, k.mustKeepIn = 0.9, 0.9
			}
			by[s.what] = k
			order = append(order, s.what)
		}
		k.n++
		if s.flagged {
			k.flagged++
		}
		if s.moved < 1 {
			k.moved++
		}
		k.worst = math.Max(k.worst, s.moved)
	}
	var out []slipTally
	for _, what := range order {
		k := by[what]
		t.Logf("%-42s %4d, flagged %.3f, moved less than a spread %.3f, worst %.2f", what, k.n, float64(k.flagged)/float64(k.n), float64(k.moved)/float64(k.n), k.worst)
		if proof() && (float64(k.flagged) < k.mustFlag*float64(k.n) || float64(k.moved) < k.mustKeepIn*float64(k.n)) {
			t.Errorf("%s: %d of %d flagged, %d moved less than a spread", what, k.flagged, k.n, k.moved)
		}
		out = append(out, *k)
	}
	if share := float64(o.doubted) / float64(o.honest); share > 0.01 {
		t.Errorf("%.2f %% of the honest readings were doubted", 100*share)
	}
	if len(order) < 8 && proof() {
		t.Errorf("only %d sorts of slips were tried", len(order))
	}
	if proof() {
		report(t).slips, report(t).doubted, report(t).honest = out, o.doubted, o.honest
	}
}

func (o *outcome) log(t *testing.T, name string) {
	t.Helper()
	t.Logf("== %s: %d readings, %d honest ones doubted; troubles %v", name, o.honest, o.doubted, o.troubles)
	for l, s := range o.leads {
		n := float64(max(s.n, 1))
		t.Logf("lead %2d n %4d cover %.3f (below %.3f above %.3f) width %.2f err %+.3f rms %.3f crps twin %.4f open %.4f carried %.4f point %.4f",
			leads[l], s.n, s.coverage(), float64(s.below)/n, float64(s.above)/n, s.width/n, s.err/n, math.Sqrt(s.err2/n), s.twin/n, s.open/n, s.carried/n, s.point/n)
	}
	for k := range NumKinds {
		if o.fitted[k] > 0 {
			t.Logf("fit %-12s %.2f (readings %d)", k, math.Sqrt(o.fits[k]/o.fitted[k]), o.readings[k])
		}
	}
}
