package sky

import (
	"fmt"
	"math"
	"time"

	"sodalake/science/air"
)

// covers returns an *InputError unless the series holds n steps from start.
func (s *Series) covers(start time.Time, step time.Duration, n int) error {
	end := start.Add(time.Duration(n) * step)
	if start.Before(s.Start) || end.After(s.End()) {
		return &InputError{
			Field: "weather",
			Why:   fmt.Sprintf("runs from %s to %s, asked for %s to %s", stamp(s.Start), stamp(s.End()), stamp(start), stamp(end)),
		}
	}
	if !(s.WindHeightM >= 0.1) {
		return &InputError{Field: "wind_height_m", Why: fmt.Sprintf("must be at least 0.1, got %g", s.WindHeightM)}
	}
	return nil
}

// SampleOn fills out as Sample does, on a sun that is already worked out. Many
// series with the same hours may share d, at once too; Linke in opt is then the
// one that d was made with.
func (s *Series) SampleOn(d *Daylight, opt Options, out []air.Outside) error {
	if len(out) != len(d.steps) {
		panic("sky: out and daylight differ in length")
	}
	if err := opt.check(); err != nil {
		return err
	}
	if err := s.covers(d.start, d.step, len(out)); err != nil {
		return err
	}
	if !floorHour(d.hour0, s.Start).Equal(d.hour0) {
		panic("sky: the hours of daylight and series do not begin together")
	}
	offset := int(d.hour0.Sub(s.Start) / time.Hour) // Hours[offset+h] belongs to d.hours[h]
	if err := s.known(d, offset); err != nil {
		return err
	}
	clear(out)
	s.light(d, offset, opt.parShare(), out)
	s.rest(d, offset, opt, out)
	return nil
}

// known returns an *InputError for the first value that is missing in the span.
func (s *Series) known(d *Daylight, offset int) error {
	lo := max(0, offset+padHours-1)
	hi := min(len(s.Hours), offset+len(d.hours)-padHours+1)
	for i := lo; i < hi; i++ {
		h := &s.Hours[i]
		if !math.IsNaN(h.GHIWM2 + h.AirC + h.RHPct + h.WindMS) {
			continue
		}
		for _, f := range needed {
			if math.IsNaN(*f.of(h)) {
				return &InputError{
					Field: f.name,
					Why:   "not known for the hour that ends at " + stamp(s.Start.Add(time.Duration(i+1)*time.Hour)),
					Hint:  "bridge the gap first",
				}
			}
		}
	}
	return nil
}

// light spreads the radiation of the hours over the steps.
func (s *Series) light(d *Daylight, offset int, parShare float64, out []air.Outside) {
	perStep := float64(time.Hour) / float64(d.step)
	hour, diffuse := -1, 1.0
	for p := range d.pieces {
		q := &d.pieces[p]
		h := &s.Hours[offset+q.hour]
		if q.hour != hour {
			hour = q.hour
			diffuse = d.hours[hour].diffuseShare(h.GHIWM2)
		}
		w := math.Max(0, h.GHIWM2) * q.share * perStep
		o := &out[q.step]
		o.BeamWM2 += w * (1 - diffuse)
		o.DiffuseWM2 += w * diffuse
		if h.RainMM > 0 {
			o.RainMMPerH += h.RainMM * q.time * perStep
		}
	}
	photons := parShare * PhotonsPerJoule
	for i := range out {
		o, l := &out[i], &d.steps[i]
		// With the sun down there is nothing above the air, so no beam either.
		if roof := beamRoof * l.extra; o.BeamWM2 > roof {
			o.DiffuseWM2 += o.BeamWM2 - roof
			o.BeamWM2 = roof
		}
		o.CosZenith, o.AzimuthDeg = l.cosZ, l.azimuth
		o.BeamPAR, o.DiffusePAR = o.BeamWM2*photons, o.DiffuseWM2*photons
	}
}

// diffuseShare returns the diffuse share of an hour with this much light.
func (l *lightHour) diffuseShare(ghi float64) float64 {
	if !(l.extra > lowSunCos*l.normal*l.upShare) {
		return 1
	}
	return DiffuseFraction(ghi / l.extra)
}

// cloud returns the cloud of an hour from its light [1]; ok is false when the
// sun is too low to tell.
func (l *lightHour) cloud(ghi float64) (c float64, ok bool) {
	if !(l.clear >= 80) || math.IsNaN(ghi) {
		return 0, false
	}
	return clamp(1-ghi/l.clear, 0, 1), true
}

// polarCloud is the cloud taken where no sun tells it for a day [1]. Common practice, no source.
const polarCloud = 0.5

// clouds follows the cloud from one lit hour to the next.
type clouds struct {
	s          *Series
	d          *Daylight
	offset     int
	left       int // last lit hour at or before the present one, −1 for none
	right      int // next lit hour after it, len(hours) for none
	leftC      float64
	rightC     float64
	searchFrom int
}

func newClouds(s *Series, d *Daylight, offset int) clouds {
	c := clouds{s: s, d: d, offset: offset, left: -1, right: -1}
	c.advance()
	return c
}

// advance moves right to the next lit hour, or to the end.
func (c *clouds) advance() {
	for h := c.searchFrom; h < len(c.d.hours); h++ {
		i := c.offset + h
		if i < 0 || i >= len(c.s.Hours) {
			continue
		}
		if v, ok := c.d.hours[h].cloud(c.s.Hours[i].GHIWM2); ok {
			c.right, c.rightC, c.searchFrom = h, v, h+1
			return
		}
	}
	c.right, c.searchFrom = len(c.d.hours), len(c.d.hours)
}

// at returns the cloud at x, in hours from the middle of hour 0, x rising from call to call.
func (c *clouds) at(x float64) float64 {
	for c.right < len(c.d.hours) && float64(c.right) <= x {
		c.left, c.leftC = c.right, c.rightC
		c.advance()
	}
	none := c.right >= len(c.d.hours)
	switch {
	case c.left < 0 && none:
		return polarCloud
	case none:
		return c.leftC
	case c.left < 0:
		return c.rightC
	}
	u := (x - float64(c.left)) / float64(c.right-c.left)
	return c.leftC + u*(c.rightC-c.leftC)
}

// rest fills in all that is not light, and then lets the skyline take its part.
func (s *Series) rest(d *Daylight, offset int, opt Options, out []air.Outside) {
	ground := opt.GroundDeepC
	if !opt.GroundKnown {
		ground = s.meanAir()
	}
	windFactor := air.WindAt2M(1, s.WindHeightM)
	standard := air.Pressure(d.site.ElevationM)
	open := opt.Skyline.Open()
	cl := newClouds(s, d, offset)
	hour := math.MinInt
	var a, b *Hour
	var ea, eb float64 // vapour pressure in the middle of both hours
	var damp bool      // a straight line between them may pass saturation
	for i := range out {
		o, l := &out[i], &d.steps[i]
		mid := d.start.Add(time.Duration(i)*d.step + d.step/2)
		x := mid.Sub(s.Start).Hours() - 0.5 // from the middle of Hours[0]
		j := int(math.Floor(x))
		u := x - float64(j)
		if j != hour {
			hour = j
			a = &s.Hours[clampInt(j, 0, len(s.Hours)-1)]
			b = &s.Hours[clampInt(j+1, 0, len(s.Hours)-1)]
			ea = math.Max(0, air.VapourFromRH(a.RHPct, a.AirC))
			eb = math.Max(0, air.VapourFromRH(b.RHPct, b.AirC))
			damp = math.Max(a.RHPct, b.RHPct) > 60
		}
		o.AirC = between(a.AirC, b.AirC, u)
		o.VapourKPa = between(ea, eb, u)
		if damp {
			o.VapourKPa = math.Min(o.VapourKPa, air.Saturation(o.AirC))
		}
		o.WindMS = math.Max(0, between(a.WindMS, b.WindMS, u)*windFactor)
		o.PressureKPa = between(a.PressureKPa, b.PressureKPa, u)
		if math.IsNaN(o.PressureKPa) {
			o.PressureKPa = standard
		}
		o.GroundDeepC = ground
		o.LongwaveWM2 = between(a.LongwaveWM2, b.LongwaveWM2, u)
		cloud := cl.at(x - float64(offset))
		if math.IsNaN(o.LongwaveWM2) {
			o.LongwaveWM2 = air.Longwave(air.SkyEmissivity(o.AirC, o.VapourKPa, cloud), o.AirC)
		}

		if len(opt.Skyline) > 0 {
			if l.cosZ > 0 && l.elevation <= opt.Skyline.Height(l.azimuth) {
				o.BeamWM2, o.BeamPAR = 0, 0
			}
			o.DiffuseWM2 *= open
			o.DiffusePAR *= open
			o.LongwaveWM2 = open*o.LongwaveWM2 + (1-open)*air.Longwave(1, o.AirC)
		}
	}
}

func between(a, b, u float64) float64 { return a + u*(b-a) }

func clampInt(i, lo, hi int) int { return min(max(i, lo), hi) }

// meanAir returns the mean air temperature of the hours that know it [°C].
func (s *Series) meanAir() float64 {
	sum, n := 0.0, 0
	for i := range s.Hours {
		if !math.IsNaN(s.Hours[i].AirC) {
			sum += s.Hours[i].AirC
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}
