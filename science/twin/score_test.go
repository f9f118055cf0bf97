package twin

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"sodalake/science/num"
)

// experiment is many synthetic ponds, each with its truth, a twin that is told
// what a grower would tell, and the same model that is told the acts but no
// readings.
type experiment struct {
	name    string
	ponds   int
	days    int
	members int
	seed    uint64
	noise   bool                                    // the truths have the noise that laws leave out
	law     func(rng *rand.Rand, pond int) law      // nil: the laws of the twin
	scale   func(rng *rand.Rand, pond int) *float64 // logarithm of true over described area; nil: as the twin draws it
	slips   bool                                    // some readings are slips
	normals bool                                    // no weather is measured: the twin has the generator alone
	every   int                                     // days between forecasts
	show    int                                     // pond of which a picture is kept
}

// leads are the days ahead at which forecasts are scored.
var leads = []int{0, 1, 3, 7, 10}

// score is what came of the forecasts at one lead.
type score struct {
	n, inside, below, above    int
	ponds, inside2             int     // ponds, and the sum over them of the square of inside
	twin, open, carried, point float64 // sums of the continuous ranked probability score [g/L]
	width                      float64 // sum of the widths of the 80 % interval over its middle [1]
	err, err2                  float64 // sums of ln(median/truth) and its square
}

func (s *score) add(o *score) {
	s.n += o.n
	s.inside += o.inside
	s.ponds++
	s.inside2 += o.inside * o.inside
	s.below += o.below
	s.above += o.above
	s.twin += o.twin
	s.open += o.open
	s.carried += o.carried
	s.point += o.point
	s.width += o.width
	s.err += o.err
	s.err2 += o.err2
}

func (s *score) coverage() float64 { return float64(s.inside) / float64(max(s.n, 1)) }

// unsure is the standard error of coverage [1]. Forecasts of one pond err
// together, so that it goes by ponds, which are asked equally often.
func (s *score) unsure() float64 {
	p := float64(s.ponds)
	if s.ponds < 2 || s.n == 0 {
		return math.NaN()
	}
	variance := (float64(s.inside2) - float64(s.inside)*float64(s.inside)/p) / (p - 1)
	return math.Sqrt(p*variance) / float64(s.n)
}

// outcome is what came of an experiment.
type outcome struct {
	leads    []score
	doubted  int // honest readings that were doubted
	honest   int
	slips    []slipped
	readings [NumKinds]int
	fits     [NumKinds]float64 // sums of Fit² at the end of seasons
	fitted   [NumKinds]float64
	ponds    []string
	troubles map[string]int
	example  *example
}

// slipped is what became of one slip.
type slipped struct {
	what    string
	flagged bool
	moved   float64 // of the mean of the logarithm of density, in its spreads [1]
}

// crps returns the continuous ranked probability score of an ensemble x for the
// truth y, in their unit.
//
//	CRPS = mean |x − y| − ½ mean |x − x'|
//
// Source: gneiting2007 (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359),
// eq. 21.
func crps(x []float64, y float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	n := float64(len(s))
	near, far := 0.0, 0.0
	for i, v := range s {
		near += math.Abs(v - y)
		far += v * (2*float64(i) - n + 1)
	}
	return near/n - far/(n*n)
}

// lognormal is n even quantiles about a median.
func lognormal(median, sd float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = median * math.Exp(sd*math.Sqrt2*math.Erfinv(2*(float64(i)+0.5)/float64(n)-1))
	}
	return x
}

// run runs an experiment on all cores; the ponds are independent, so that the
// outcome depends on seeds alone.
func (x *experiment) run(tb testing.TB) outcome {
	outcomes := make([]outcome, x.ponds)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				s := newSeason(tb, x, i)
				s.run()
				outcomes[i] = s.out
			}
		})
	}
	for i := range x.ponds {
		next <- i
	}
	close(next)
	wait.Wait()
	sum := outcome{leads: make([]score, len(leads)), troubles: map[string]int{}}
	for i := range outcomes {
		o := &outcomes[i]
		for l := range o.leads {
			sum.leads[l].add(&o.leads[l])
		}
		sum.doubted += o.doubted
		sum.honest += o.honest
		sum.slips = append(sum.slips, o.slips...)
		for k := range o.readings {
			sum.readings[k] += o.readings[k]
			sum.fits[k] += o.fits[k]
			sum.fitted[k] += o.fitted[k]
		}
		l0, l7 := &o.leads[0], &o.leads[3]
		sum.ponds = append(sum.ponds, fmt.Sprintf("%3d %-18s err0 %+.3f in0 %d/%d err7 %+.3f in7 %d/%d", i, places()[i%4].name, l0.err/float64(max(l0.n, 1)), l0.inside, l0.n, l7.err/float64(max(l7.n, 1)), l7.inside, l7.n))
		for what, n := range o.troubles {
			sum.troubles[what] += n
		}
		if sum.example == nil {
			sum.example = o.example
		}
	}
	return sum
}

// example is one season as a picture.
type example struct {
	start    time.Time
	days     []float64 // since start
	truth    []float64 // density [g/L]
	band     []num.Band
	readDay  []float64
	readGL   []float64
	aheadDay []float64
	ahead    []num.Band
	aheadIs  []float64 // what came of the truth, left alone
}

// weatherDraws is how many weathers the members live under. An interval between
// two order statistics of n draws holds (n−1)/(n+1) of what it says: 24 draws
// would make 74 % of 80.
const weatherDraws = 60
