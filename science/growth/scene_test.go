package growth

import "math"

// scene is a made weather day for the tests, repeated until the culture no
// longer changes from day to day. The sun: declination by Cooper 1969, clear
// sky by Haurwitz 1945, diffuse by Erbs et al. 1982, PAR 0.45 of the energy by
// 4.57 µmol/J. Water temperature is a sinusoid, warmest at 15:00.
type scene struct {
	latDeg   float64 // latitude [°]
	dayOfY   float64 // day of the year [1]
	noon     float64 // photons at noon, 0 = as Haurwitz says [µmol/m²/s]
	totalKWh float64 // energy of the day, if given it sets the scale [kWh/m²]
	hours    float64 // side-lit or bench: length of the sine day, 0 = by the sun [h]
	flat     bool    // light constant through those hours
	shade    float64 // share taken away [1]
	shadeTo  float64 // shade until this hour only, 0 = all day [h]
	tempC    float64 // mean water [°C]
	swingC   float64 // half the day's range [°C]
	nightC   float64 // if given, how much colder the water is when it is dark [°C]
	pathM    float64 // depth or path [m]
	side     bool    // lit through the wall
	heldGL   float64 // density after the daily harvest at 08:00 [g/L]
}

const perWatt = 0.45 * 4.57 // µmol per J of global

// sky returns beam and diffuse photons on the horizontal and the cosine of the
// zenith at hour h.
func (c *scene) sky(h float64) (beam, diffuse, cos float64) {
	if c.hours > 0 {
		if math.Abs(h-12) >= c.hours/2 {
			return 0, 0, 0
		}
		if c.flat {
			return 0, c.noon, 1
		}
		return 0, c.noon * math.Cos((h-12)/c.hours*math.Pi), 1
	}
	rad := math.Pi / 180
	decl := 23.45 * rad * math.Sin(2*math.Pi*(284+c.dayOfY)/365)
	cosAt := func(h float64) float64 {
		return math.Sin(c.latDeg*rad)*math.Sin(decl) + math.Cos(c.latDeg*rad)*math.Cos(decl)*math.Cos(15*rad*(h-12))
	}
	haurwitz := func(cos float64) float64 {
		if cos <= 0 {
			return 0
		}
		return 1098 * cos * math.Exp(-0.059/cos)
	}
	cos = cosAt(h)
	if cos <= 0.001 {
		return 0, 0, 0
	}
	scale := 1.0
	if c.totalKWh > 0 {
		sum := 0.0
		for i := 0; i < 288; i++ {
			sum += haurwitz(cosAt((float64(i)+0.5)/12)) / 12
		}
		scale = c.totalKWh * 1000 / sum
	} else if c.noon > 0 {
		scale = c.noon / perWatt / haurwitz(cosAt(12))
	}
	ghi := scale * haurwitz(cos)
	kt := ghi / (1367 * (1 + 0.033*math.Cos(2*math.Pi*c.dayOfY/365)) * cos)
	var fd float64
	switch {
	case kt <= 0.22:
		fd = 1 - 0.09*kt
	case kt <= 0.8:
		fd = 0.9511 - 0.1604*kt + 4.388*kt*kt - 16.638*kt*kt*kt + 12.336*kt*kt*kt*kt
	default:
		fd = 0.165
	}
	par := ghi * perWatt
	if c.shadeTo == 0 || h < c.shadeTo {
		par *= 1 - c.shade
	}
	return par * (1 - fd), par * fd, cos
}

// temp returns the water's temperature at hour h [°C].
func (c *scene) temp(h float64) float64 {
	if c.nightC > 0 && math.Abs(h-12) >= c.hours/2 {
		return c.tempC - c.nightC
	}
	return c.tempC + c.swingC*math.Cos((h-15)/24*2*math.Pi)
}

// watch is told every step: the hour at its middle, what fell on it, the
// state after it and its rates.
type watch func(hour float64, l *Light, s *State, r *Rates)

// step10 is the step of the tests unless they say otherwise [d].
const step10 = 1.0 / 144

// run steps the scene for days from 08:00, or until the density reaches
// untilGL, and returns the state and the time gone [d].
func (c *scene) run(p Params, s State, days, untilGL float64, w watch) (State, float64) {
	m := NewModel(p)
	n := int(math.Round(days / step10))
	for i := range n {
		h := math.Mod(8+(float64(i)+0.5)*24*step10, 24)
		l := Light{PathM: c.pathM, Side: c.side}
		l.Beam, l.Diffuse, l.CosZenith = c.sky(h)
		e := Plain(c.temp(h))
		r := m.Step(&s, &l, &e, step10)
		if w != nil {
			w(h, &l, &s, &r)
		}
		if untilGL > 0 && s.DensityGL >= untilGL {
			return s, float64(i+1) * step10
		}
	}
	return s, days
}

// settle is how many days a scene is repeated before its day counts.
const settle = 15

// harvested holds the density at heldGL by taking off the gain at 08:00 every
// day, and returns the gain of a settled day [g/m²/d]. w sees that day only.
func (c *scene) harvested(p Params, w watch) float64 {
	s := State{DensityGL: c.heldGL}
	for range settle {
		s, _ = c.run(p, s, 1, 0, nil)
		s.DensityGL = c.heldGL
	}
	s, _ = c.run(p, s, 1, 0, w)
	return (s.DensityGL - c.heldGL) * c.pathM * 1000
}

// held keeps the density at heldGL all the time, as a turbidostat does, and
// returns the mean net rate of a settled day [1/d].
func (c *scene) held(p Params) float64 {
	sum := 0.0
	c.run(p, State{DensityGL: c.heldGL}, settle, 0, func(_ float64, _ *Light, s *State, r *Rates) {
		s.DensityGL = c.heldGL
		sum += r.Net * step10
	})
	whole := sum
	sum = 0
	c.run(p, State{DensityGL: c.heldGL}, settle+1, 0, func(_ float64, _ *Light, s *State, r *Rates) {
		s.DensityGL = c.heldGL
		sum += r.Net * step10
	})
	return sum - whole
}
