package medium

import "math"

// bounded finds the x between 0 and upper that brings A x nearest to b in the
// sense of least squares. It holds working space, so one goroutine at a time
// may use it.
//
// Source: lawsonhanson1974, chapter 23 (NNLS), with upper bounds as
// starkparker1995.
type bounded struct {
	rows, cols int
	a          []float64 // by columns: a[j*rows+i]
	b, upper   []float64
	x          []float64
	state      []byte // where each x stands
	resid      []float64
	grad       []float64
	qr, rhs    []float64
	free       []int
}

const (
	atLower byte = iota
	atUpper
	isFree
)

// reset makes room for a problem of that size and clears it.
func (p *bounded) reset(rows, cols int) {
	p.rows, p.cols = rows, cols
	grow := func(s []float64, n int) []float64 {
		if cap(s) < n {
			return make([]float64, n)
		}
		s = s[:n]
		clear(s)
		return s
	}
	p.a, p.b, p.upper = grow(p.a, rows*cols), grow(p.b, rows), grow(p.upper, cols)
	p.x, p.resid, p.grad = grow(p.x, cols), grow(p.resid, rows), grow(p.grad, cols)
	p.qr, p.rhs = grow(p.qr, rows*rows), grow(p.rhs, rows)
	if cap(p.state) < cols {
		p.state, p.free = make([]byte, cols), make([]int, 0, cols)
	}
	p.state, p.free = p.state[:cols], p.free[:0]
	clear(p.state)
	for j := range p.upper {
		p.upper[j] = math.Inf(1)
	}
}

func (p *bounded) col(j int) []float64 { return p.a[j*p.rows : (j+1)*p.rows] }

// residual works out b − A x and the gradient Aᵀ(b − A x).
func (p *bounded) residual() {
	copy(p.resid, p.b)
	for j, x := range p.x {
		if x == 0 {
			continue
		}
		for i, v := range p.col(j) {
			p.resid[i] -= v * x
		}
	}
	for j := range p.grad {
		s := 0.0
		for i, v := range p.col(j) {
			s += v * p.resid[i]
		}
		p.grad[j] = s
	}
}

// solve finds x and returns the length of the residual [1, as scaled], and
// false where it went round too often.
func (p *bounded) solve() (float64, bool) {
	const tol = 1e-11
	norm := 0.0
	for _, v := range p.b {
		norm += v * v
	}
	small := tol * math.Sqrt(norm+1e-300)
	barred := -1 // a column that came straight back: not twice in a row
	for range 20*p.cols + 50 {
		p.residual()
		best, at := 0.0, -1
		for j, g := range p.grad {
			if p.state[j] == isFree || j == barred || p.upper[j] <= 0 {
				continue
			}
			if p.state[j] == atUpper {
				g = -g
			}
			if g > small*(1+p.length(j)) && g/(1e-300+p.length(j)) > best {
				best, at = g/(1e-300+p.length(j)), j
			}
		}
		if at < 0 {
			return p.norm(), true
		}
		p.state[at] = isFree
		moved := p.descend()
		barred = -1
		if !moved && p.state[at] != isFree {
			barred = at
		}
	}
	return p.norm(), false
}

func (p *bounded) length(j int) float64 {
	s := 0.0
	for _, v := range p.col(j) {
		s += v * v
	}
	return math.Sqrt(s)
}

func (p *bounded) norm() float64 {
	s := 0.0
	for _, v := range p.resid {
		s += v * v
	}
	return math.Sqrt(s)
}

// descend moves the free ones towards their best, putting those that meet a
// bound to rest there, until all of them are inside. It reports whether
// anything moved.
func (p *bounded) descend() bool {
	moved := false
	for range p.cols + 5 {
		p.free = p.free[:0]
		for j, st := range p.state {
			if st == isFree && len(p.free) < p.rows {
				p.free = append(p.free, j)
			}
		}
		if len(p.free) == 0 || !p.least() {
			return moved
		}
		step := 1.0
		for k, j := range p.free {
			z := p.rhs[k]
			switch {
			case z < 0 && p.x[j]-z > 0:
				step = min(step, p.x[j]/(p.x[j]-z))
			case z > p.upper[j]:
				step = min(step, (p.upper[j]-p.x[j])/(z-p.x[j]))
			}
		}
		for k, j := range p.free {
			d := step * (p.rhs[k] - p.x[j])
			moved = moved || d != 0
			p.x[j] += d
			const edge = 1e-13
			switch {
			case step < 1 && p.x[j] <= edge*(1+math.Abs(p.rhs[k])) && p.rhs[k] < p.x[j]+edge:
				p.x[j], p.state[j] = 0, atLower
			case step < 1 && p.x[j] >= p.upper[j]*(1-edge) && p.rhs[k] > p.upper[j]*(1-edge):
				p.x[j], p.state[j] = p.upper[j], atUpper
			}
		}
		if step >= 1 {
			return moved
		}
	}
	return moved
}

// least solves the least squares problem of the free columns by Householder
// reflections and leaves the answer in rhs.
func (p *bounded) least() bool {
	m, n := p.rows, len(p.free)
	copy(p.rhs, p.b)
	for j, st := range p.state {
		if st == atUpper {
			for i, v := range p.col(j) {
				p.rhs[i] -= v * p.x[j]
			}
		}
	}
	for k, j := range p.free {
		copy(p.qr[k*m:(k+1)*m], p.col(j))
	}
	for k := range n {
		c := p.qr[k*m : (k+1)*m]
		s := 0.0
		for i := k; i < m; i++ {
			s += c[i] * c[i]
		}
		s = math.Sqrt(s)
		if s < 1e-14 {
			return false // within the span of those before it
		}
		if c[k] > 0 {
			s = -s
		}
		v0 := c[k] - s
		beta := -1 / (s * v0)
		for l := k + 1; l < n; l++ {
			reflect(p.qr[l*m:(l+1)*m], c, v0, beta, k)
		}
		reflect(p.rhs, c, v0, beta, k)
		c[k] = s
	}
	for k := n - 1; k >= 0; k-- {
		x := p.rhs[k]
		for l := k + 1; l < n; l++ {
			x -= p.qr[l*m+k] * p.rhs[l]
		}
		p.rhs[k] = x / p.qr[k*m+k]
	}
	return true
}

// reflect applies I − β v vᵀ to y, where v is v0 at k and c below it.
func reflect(y, c []float64, v0, beta float64, k int) {
	s := v0 * y[k]
	for i := k + 1; i < len(y); i++ {
		s += c[i] * y[i]
	}
	s *= beta
	y[k] -= s * v0
	for i := k + 1; i < len(y); i++ {
		y[i] -= s * c[i]
	}
}
