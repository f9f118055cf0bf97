package vessel

import (
	"fmt"
	"math"
	"sort"
)

// LevelVolume is one mark of a vessel filled by the bucket.
type LevelVolume struct {
	LevelM  float64 // level read on the stick [m]
	VolumeL float64 // water poured in until then [L]
}

// NewMeasured returns a vessel known by its marks: levels read while counted
// buckets went in, in rising order. The highest mark is taken as the rim. If
// the first level is above 0, the vessel is taken to start empty at 0. Between
// the marks runs a smooth rising curve through all of them.
//
// Source: fritschcarlson1980 (Fritsch & Carlson 1980, SIAM J. Numer. Anal.
// 17:238: monotone cubic interpolation) with the inner slopes of
// fritschbutland1984 (Fritsch & Butland 1984, SIAM J. Sci. Stat. Comput. 5:300).
//
// Departs: the slopes at the two ends are held above half the slope of their
// interval, so that no surface is ever 0 (three points alone give at most twice
// that slope).
func NewMeasured(points []LevelVolume) (*Geometry, error) {
	var c check
	marks := make([]LevelVolume, 0, len(points)+1)
	if len(points) > 0 && points[0].LevelM > 0 {
		marks = append(marks, LevelVolume{})
	}
	marks = append(marks, points...)
	if len(marks) < 2 {
		c.refuse("points", float64(len(points)), "must have at least one mark above the floor", "pour in a bucket and read the stick")
		return nil, c.err
	}
	first := len(marks) - len(points)
	for i, p := range marks {
		field := fmt.Sprintf("points[%d].", i-first)
		c.notNegative(field+"level_m", p.LevelM)
		if c.err == nil && (!(p.VolumeL >= 0) || math.IsInf(p.VolumeL, 1)) {
			c.refuse(field+"volume_l", p.VolumeL, "must not be negative", "")
		}
		if i == 0 {
			continue
		}
		if c.err == nil && !(p.LevelM > marks[i-1].LevelM) {
			c.refuse(field+"level_m", p.LevelM, "must be above the mark before it", "sort the marks from the floor up")
		}
		if c.err == nil && !(p.VolumeL > marks[i-1].VolumeL) {
			c.refuse(field+"volume_l", p.VolumeL, "must be more than at the mark before it", "count all the water in, not the last bucket")
		}
	}
	if c.err != nil {
		return nil, c.err
	}
	k := newCurve(marks)
	last := len(k.h) - 1
	return &Geometry{kind: Measured, rimM: k.h[last], full: k.v[last], curve: k}, nil
}

// curve is a monotone cubic through level and volume, piece by piece.
type curve struct {
	h, v []float64 // marks [m], [m³]
	s    []float64 // surface at the marks, the slope dv/dh [m²]
	w    []float64 // wall of a round vessel below each mark [m²]
}

func newCurve(marks []LevelVolume) *curve {
	n := len(marks)
	k := &curve{h: make([]float64, n), v: make([]float64, n), s: make([]float64, n), w: make([]float64, n)}
	for i, p := range marks {
		k.h[i], k.v[i] = p.LevelM, p.VolumeL/1000
	}
	chord := func(i int) (dh, slope float64) {
		dh = k.h[i+1] - k.h[i]
		return dh, (k.v[i+1] - k.v[i]) / dh
	}
	end := func(h0, d0, h1, d1 float64) float64 { // three-point slope, held up
		s := ((2*h0+h1)*d0 - h0*d1) / (h0 + h1)
		return max(s, d0/2)
	}
	if n == 2 {
		_, d := chord(0)
		k.s[0], k.s[1] = d, d
	} else {
		for i := 1; i < n-1; i++ {
			h0, d0 := chord(i - 1)
			h1, d1 := chord(i)
			// Weighted harmonic mean of the slopes on both sides.
			k.s[i] = 3 * (h0 + h1) / ((2*h1+h0)/d0 + (h1+2*h0)/d1)
		}
		h0, d0 := chord(0)
		h1, d1 := chord(1)
		k.s[0] = end(h0, d0, h1, d1)
		h0, d0 = chord(n - 2)
		h1, d1 = chord(n - 3)
		k.s[n-1] = end(h0, d0, h1, d1)
	}
	for i := 1; i < n; i++ {
		k.w[i] = k.w[i-1] + cone(k.s[i-1], k.s[i], k.h[i]-k.h[i-1])
	}
	return k
}

// cone returns the side of a round frustum between two surfaces [m²].
func cone(lowM2, highM2, heightM float64) float64 {
	r0, r1 := math.Sqrt(lowM2/math.Pi), math.Sqrt(highM2/math.Pi)
	return math.Pi * (r0 + r1) * math.Hypot(heightM, r1-r0)
}

// piece returns the index of the interval of a sorted list that holds x.
func piece(list []float64, x float64) int {
	i := sort.SearchFloat64s(list, x) - 1
	return min(max(i, 0), len(list)-2)
}

// at returns volume and surface in interval i at a height above its lower mark.
func (k *curve) at(i int, up float64) (volume, surface float64) {
	dh := k.h[i+1] - k.h[i]
	d := (k.v[i+1] - k.v[i]) / dh
	c2 := (3*d - 2*k.s[i] - k.s[i+1]) / dh
	c3 := (k.s[i] + k.s[i+1] - 2*d) / (dh * dh)
	return k.v[i] + up*(k.s[i]+up*(c2+up*c3)), k.s[i] + up*(2*c2+up*3*c3)
}

func (k *curve) volume(h float64) float64 {
	if math.IsNaN(h) {
		return h
	}
	i := piece(k.h, h)
	v, _ := k.at(i, h-k.h[i])
	return v
}

func (k *curve) surface(h float64) float64 {
	if math.IsNaN(h) {
		return h
	}
	i := piece(k.h, h)
	_, s := k.at(i, h-k.h[i])
	return s
}

func (k *curve) wall(h float64) float64 {
	if math.IsNaN(h) {
		return h
	}
	i := piece(k.h, h)
	return k.w[i] + (k.w[i+1]-k.w[i])*(h-k.h[i])/(k.h[i+1]-k.h[i])
}

func (k *curve) level(v float64) float64 {
	if math.IsNaN(v) {
		return v
	}
	if v <= k.v[0] {
		return k.h[0]
	}
	i := piece(k.v, v)
	lo, hi := 0.0, k.h[i+1]-k.h[i]
	x := hi * (v - k.v[i]) / (k.v[i+1] - k.v[i])
	for range 80 {
		vol, s := k.at(i, x)
		if vol > v {
			hi = x
		} else {
			lo = x
		}
		next := x - (vol-v)/s
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) <= 1e-15*k.h[i+1] {
			x = next
			break
		}
		x = next
	}
	return k.h[i] + x
}
