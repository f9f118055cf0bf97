package plan

import (
	"math"
	"time"

	"sodalake/science/brine"
	"sodalake/science/pond"
)

// Ponds is the model of a vessel for a plan, by package pond: each draw a vessel
// with its own weather. It carries every draw through the horizon once, with the
// harvests of a plan or none, and keeps what stands at each moment. Asked for a
// density, it sets the vessel of that moment to it and carries it a day on, so
// that heat, light, chemistry and the state of the cells are those of the way
// that was gone.
//
// Water, salts and cells' state are those of that way: when a plan takes much
// more than the way did, Rebase along the plan and plan again.
type Ponds struct {
	at      []time.Time     // the moments, and one after the last
	weather []*pond.Weather // by draw, or a single one
	first   []pond.Vessel   // by draw, at the first moment
	stood   [][]pond.Vessel // by draw and moment, before the harvest
	acts    func(draw int) []pond.Act
}

// NewPonds returns the model of vessels by draw, as they stand at the first of
// the moments, under weather by draw or a single one. moments are those of the
// horizon's days and one more, at the end. acts, which may be nil, are what is
// done besides harvests: feeds, top-ups. The vessels are copied; each draw gets a
// solver of its own.
func NewPonds(vessels []pond.Vessel, weather []*pond.Weather, moments []time.Time, acts func(draw int) []pond.Act) *Ponds {
	if len(moments) < 2 || len(vessels) == 0 || len(weather) != 1 && len(weather) != len(vessels) {
		panic("plan: ponds want vessels, weather for each and two moments at least")
	}
	p := &Ponds{at: moments, weather: weather, first: append([]pond.Vessel(nil), vessels...), acts: acts}
	p.stood = make([][]pond.Vessel, len(vessels))
	for w := range p.first {
		p.first[w].Use(brine.New(brine.Pitzer))
		p.stood[w] = make([]pond.Vessel, len(moments)-1)
	}
	return p
}

// Rebase carries a draw through the horizon with shares of the volume taken at
// the moments [1]; nil takes none. Draws may be carried at once.
func (p *Ponds) Rebase(draw int, shares []float64) {
	v := p.first[draw]
	v.Settle()
	for d := range len(p.at) - 1 {
		p.stood[draw][d] = v
		if shares != nil && shares[d] > 0 {
			v.Do(&pond.Act{ClothL: shares[d] * v.VolumeL()}, nil)
		}
		p.run(&v, draw, d)
	}
}

func (p *Ponds) run(v *pond.Vessel, draw, day int) {
	w := p.weather[0]
	if len(p.weather) > 1 {
		w = p.weather[draw]
	}
	var acts []pond.Act
	if p.acts != nil {
		acts = p.acts(draw)
	}
	v.Run(p.at[day], p.at[day+1], w, acts, nil, nil, nil)
}

// Grow is that of Vessel: the density [g/L] a day after day of a vessel brought
// to densityGL [g/L] by cloth, or by what the cloth of the way did not take.
func (p *Ponds) Grow(draw, day int, densityGL float64) float64 {
	v := p.stood[draw][day]
	volume := v.VolumeL()
	if now := v.DensityGL(); now > densityGL {
		v.Do(&pond.Act{KeepGL: densityGL}, nil)
	} else {
		v.BiomassG = densityGL * volume
		v.Settle()
	}
	p.run(&v, draw, day)
	return v.DensityGL()
}

// StartGL returns the density of a draw at the first moment [g/L].
func (p *Ponds) StartGL(draw int) float64 { return p.first[draw].DensityGL() }

// DensityGL returns the density of a draw at a moment, before its harvest [g/L].
func (p *Ponds) DensityGL(draw, day int) float64 { return p.stood[draw][day].DensityGL() }

// VolumeL returns the volume of a draw at the first moment [L].
func (p *Ponds) VolumeL(draw int) float64 { return p.first[draw].VolumeL() }

// Conditions is that of Vessel: the water at a moment. The pH is NaN where the
// solver finds none.
func (p *Ponds) Conditions(draw, day int) Conditions {
	v := &p.stood[draw][day]
	c := Conditions{TempC: v.Heat.WaterC, PH25: math.NaN()}
	s := brine.New(brine.Pitzer)
	t := v.Molality()
	var w brine.Water
	if s.Solve(&t, 25, &w) == nil {
		c.PH25 = w.PH
	}
	return c
}
