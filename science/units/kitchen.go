package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Rounding is which way a kitchen measure may miss.
type Rounding int

// The ways. Down is for a dose with an upper limit, Up for one with a lower.
const (
	Nearest Rounding = iota
	Down
	Up
)

// Measure is an amount in cups and spoons, level.
type Measure struct {
	Text       string  `json:"text"`        // "1 1/3 US cups"; Parse reads it back
	VolumeL    float64 `json:"volume_l"`    // what those measures hold [L]
	MassG      float64 `json:"mass_g"`      // what they weigh, from KitchenMass, else 0 [g]
	ErrorShare float64 `json:"error_share"` // how far that is from what was asked: 0.02 is 2 % more [1]
	Scoops     []Scoop `json:"scoops"`      // the same for a catalogue
}

// Scoop is a number of one measure: Whole + Num/Den of Unit.
type Scoop struct {
	Whole int    `json:"whole"`
	Num   int    `json:"num"`
	Den   int    `json:"den"`  // 1 where Num is 0
	Unit  string `json:"unit"` // "gal", "litre", "us_cup", "metric_cup", "tbsp", "tsp"
}

// vessel is one measure of a kitchen and the parts of it that are marked.
type vessel struct {
	unit, one, many string
	volumeL         float64
	least, most     int   // whole ones: fewer call for the next smaller, more for the next larger
	parts           []int // its marks, in twenty-fourths
}

var usKitchen = []vessel{
	{"gal", "gal", "gal", usGallonL, 1, 1 << 20, []int{0, 12}},
	{"us_cup", "US cup", "US cups", usCupL, 0, 15, []int{0, 6, 8, 12, 16, 18}},
	{"tbsp", "tbsp", "tbsp", usTbspL, 0, 4, []int{0, 12}},
	{"tsp", "tsp", "tsp", usTspL, 0, 3, []int{0, 3, 6, 12, 18}},
}

var metricKitchen = []vessel{
	{"litre", "L", "L", 1, 1, 1 << 20, []int{0, 12}},
	{"metric_cup", "metric cup", "metric cups", metricCupL, 0, 3, []int{0, 6, 8, 12, 16, 18}},
	{"tbsp", "tbsp", "tbsp", metricTbspL, 0, 4, []int{0, 12}},
	{"tsp", "tsp", "tsp", metricTspL, 0, 3, []int{0, 3, 6, 12, 18}},
}

// tolerance is how far a simple measure may miss before a second one is called
// for [1].
const tolerance = 0.02

// mostMeasures is how many sizes of measure one amount may take [1].
const mostMeasures = 3

// Kitchen says a volume in level measures of the kitchen of sys: one to three
// sizes, with the parts that sets of cups and spoons have. It takes the fewest
// scoops that come within 2 %, else the closest. volumeL is the volume [L].
//
// With Down the measures never hold more than volumeL, with Up never less (to
// one part in a thousand million, so that one cup is one cup).
//
// The error is an *Error: the volume is not a positive number, or is too small
// for any spoon (an eighth of a teaspoon is the smallest).
//
// Source: sizes as named beside the constants; which parts a set holds is
// common practice, no source.
func Kitchen(volumeL float64, sys System, r Rounding) (Measure, error) {
	asked := Exact(volumeL, Volume)
	if !(volumeL > 0) || math.IsInf(volumeL, 0) {
		return Measure{}, fault(Volume, asked, asked, "not_positive", "", "the volume is not above zero")
	}
	if volumeL > 1e6 {
		return Measure{}, fault(Volume, asked, asked, "too_large", "", "%s is no kitchen measure", asked)
	}
	set := metricKitchen
	if sys == US {
		set = usKitchen
	}
	c := search{want: volumeL, rounding: r}
	c.fill(set, 0, make([]part, 0, mostMeasures))
	if c.best == nil {
		return Measure{}, fault(Volume, asked, asked, "too_small",
			"weigh it, or dissolve more of it in water and take a part of that",
			"%s is less than the smallest spoon, 1/8 tsp", Format(volumeL, Volume, Metric, 0))
	}
	return c.measure(), nil
}

// KitchenMass is Kitchen for a powder: it says massG of it in level measures by
// its bulk density. massG is the mass [g] and bulkGPerL the bulk density, best
// weighed once in one's own cup [g/L].
func KitchenMass(massG, bulkGPerL float64, sys System, r Rounding) (Measure, error) {
	if !(bulkGPerL > 0) || math.IsInf(bulkGPerL, 0) {
		t := Exact(massG, Mass)
		return Measure{}, fault(Mass, t, t, "needs_bulk_density", "weigh one level cup of it once and note the grams",
			"the bulk density is missing")
	}
	m, err := Kitchen(massG/bulkGPerL, sys, r)
	if err != nil {
		return Measure{}, err
	}
	m.MassG = m.VolumeL * bulkGPerL
	return m, nil
}

// part is n twenty-fourths of a vessel.
type part struct {
	v *vessel
	n int
}

// around returns the marked amounts [1/24] next to x, below and above, and the
// whole number below.
func around(x float64, parts []int) []int {
	whole := int(math.Floor(x+1e-9)) * 24
	rest := x*24 - float64(whole)
	below, above := whole, whole+24
	for _, p := range parts {
		if float64(p) <= rest+1e-9 {
			below = max(below, whole+p)
		} else {
			above = min(above, whole+p)
		}
	}
	if below == whole {
		return []int{below, above}
	}
	return []int{whole, below, above}
}

// search keeps the best measure met so far.
type search struct {
	want       float64 // [L]
	rounding   Rounding
	best       []part
	held       float64 // [L]
	cost, miss float64 // scoops; share by which it misses
}

// fill tries every mark next to what is missing of each measure of set, alone
// and with smaller measures after it.
func (s *search) fill(set []vessel, held float64, ps []part) {
	for i := range set {
		v := &set[i]
		for _, n := range around((s.want-held)/v.volumeL, v.parts) {
			if n == 0 || n/24 > v.most || n/24 < v.least {
				continue
			}
			h := held + float64(n)/24*v.volumeL
			ps = append(ps, part{v, n})
			s.try(h, ps)
			if h < s.want && len(ps) < mostMeasures {
				s.fill(set[i+1:], h, ps)
			}
			ps = ps[:len(ps)-1]
		}
	}
}

func (s *search) try(held float64, ps []part) {
	off := held/s.want - 1
	const slack = 1e-9
	if s.rounding == Down && off > slack || s.rounding == Up && off < -slack {
		return
	}
	miss, cost := math.Abs(off), 0.0
	for _, p := range ps {
		cost += 1 + float64(min(p.n/24, 9)) + float64(strokes(p))
	}
	if s.best == nil || s.better(miss, cost) {
		s.best, s.held, s.cost, s.miss = append([]part(nil), ps...), held, cost, miss
	}
}

// better reports whether a measure with this miss and cost beats the best: what
// is near enough goes by cost, what is not by how far it misses.
func (s *search) better(miss, cost float64) bool {
	near, nearBest := miss <= tolerance, s.miss <= tolerance
	const same = 1e-9
	switch {
	case near != nearBest:
		return near
	case near && cost != s.cost:
		return cost < s.cost
	case math.Abs(miss-s.miss) > same:
		return miss < s.miss
	}
	return cost < s.cost
}

// strokes is how many fillings the marked part takes: 2/3 and 3/4 of a cup take
// two, half a tablespoon is one and a half teaspoons.
func strokes(p part) int {
	switch n := p.n % 24; {
	case n == 0:
		return 0
	case n == 16 || n == 18 || p.v.unit == "tbsp":
		return 2
	}
	return 1
}

func (s *search) measure() Measure {
	m := Measure{VolumeL: s.held, ErrorShare: s.held/s.want - 1}
	if math.Abs(m.ErrorShare) < 1e-12 {
		m.ErrorShare = 0
	}
	var words []string
	for _, p := range s.best {
		sc := Scoop{Whole: p.n / 24, Num: p.n % 24, Den: 24, Unit: p.v.unit}
		g := gcd(sc.Num, sc.Den)
		sc.Num, sc.Den = sc.Num/g, sc.Den/g
		m.Scoops = append(m.Scoops, sc)
		name := p.v.one
		if p.n > 24 {
			name = p.v.many
		}
		words = append(words, sc.count()+" "+name)
	}
	last := len(words) - 1
	m.Text = words[last]
	if last > 0 {
		m.Text = strings.Join(words[:last], ", ") + " and " + m.Text
	}
	return m
}

// count prints "1", "1/3" or "1 1/3".
func (s Scoop) count() string {
	switch {
	case s.Num == 0:
		return strconv.Itoa(s.Whole)
	case s.Whole == 0:
		return fmt.Sprintf("%d/%d", s.Num, s.Den)
	}
	return fmt.Sprintf("%d %d/%d", s.Whole, s.Num, s.Den)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, 1)
}
