package sky

import (
	"math"
	"time"

	"sodalake/science/air"
)

const (
	// padHours is how far beyond its span a Daylight knows the sun, so that the
	// clouds of a night can be told from the evening before and the morning after.
	padHours = 24
	// finest is the longest stretch over which the sun is taken at its middle.
	finest = 10 * time.Minute
	// lowSunCos is the mean cosine of the zenith angle below which the light of an
	// hour is all diffuse: 87°. The hourly split was not made for less (erbs1982).
	lowSunCos = 0.052
	// beamRoof is the share of the extraterrestrial beam that may arrive at most;
	// what a formula would give above it is diffuse.
	beamRoof = 0.85
)

// Daylight is the sun of a place over a span, step by step: worked out once and
// shared by all the weathers that are sampled on it.
type Daylight struct {
	site   Site
	start  time.Time
	step   time.Duration
	hour0  time.Time // when hours[0] begins
	steps  []lightStep
	hours  []lightHour
	pieces []piece
}

// lightStep is the sun at the middle of a step.
type lightStep struct {
	cosZ      float64 // 0 when down [1]
	azimuth   float64 // [°]
	elevation float64 // apparent [°]
	extra     float64 // extraterrestrial on the horizontal [W/m²]
}

// lightHour is what an hour of a cloudless sky holds.
type lightHour struct {
	clear   float64 // mean clear-sky global radiation [W/m²]
	extra   float64 // mean extraterrestrial radiation on the horizontal [W/m²]
	upShare float64 // share of the hour with the sun up [1]
	normal  float64 // extraterrestrial radiation facing the sun [W/m²]
}

// piece is a stretch inside one hour and one step.
type piece struct {
	step, hour int
	share      float64 // of the hour's light [1]
	time       float64 // of the hour's length [1]
}

// NewDaylight works out the sun for n steps from start [1], where linke is the
// Linke turbidity of the clear sky [1] and anchor any moment at which an hour of
// the weather begins.
func NewDaylight(site Site, linke float64, anchor, start time.Time, step time.Duration, n int) *Daylight {
	if step < time.Second || n < 0 {
		panic("sky: a step of at least a second and no negative number of steps")
	}
	d := &Daylight{site: site, start: start, step: step, steps: make([]lightStep, n)}
	first := floorHour(start, anchor)
	end := start.Add(time.Duration(n) * step)
	last := floorHour(end.Add(time.Hour-1), anchor)
	inner := int(last.Sub(first) / time.Hour)
	d.hour0 = first.Add(-padHours * time.Hour)
	d.hours = make([]lightHour, inner+2*padHours)
	d.pieces = make([]piece, 0, n+6*inner)

	jd0 := julianDay(d.hour0)
	dt := DeltaT(decimalYear(start))
	var eph ephemeris
	eph.cover(jd0, jd0+float64(len(d.hours))/24, dt)
	o := newObserver(site)
	cond := DefaultConditions(start, site)
	k := newClearCoefficients(site.ElevationM, linke)
	sunAt := func(t time.Time) Sun {
		jd := jd0 + t.Sub(d.hour0).Hours()/24
		g := eph.at(jd)
		return g.observe(jd, o, cond)
	}

	done := -1 // the last step whose sun is known
	for h := range d.hours {
		begin := d.hour0.Add(time.Duration(h) * time.Hour)
		stop := begin.Add(time.Hour)
		lh := &d.hours[h]
		mark := len(d.pieces)
		sum := 0.0
		for t := begin; t.Before(stop); {
			// the piece ends with the step, the hour, or after ten minutes
			i := int(math.Floor(float64(t.Sub(start)) / float64(step)))
			e := stop
			if i >= 0 && i < n {
				if x := start.Add(time.Duration(i+1) * step); x.Before(e) {
					e = x
				}
			} else if i < 0 && start.Before(e) && start.After(t) {
				e = start
			}
			if x := t.Add(finest); x.Before(e) {
				e = x
			}
			share := e.Sub(t).Hours()
			mid := t.Add(e.Sub(t) / 2)
			s := sunAt(mid)
			cosZ := s.CosZenith()
			clear := k.at(s.ApparentElevationDeg, cosZ, s.ExtraterrestrialWM2).GHIWM2
			lh.clear += clear * share
			lh.extra += s.ExtraterrestrialWM2 * cosZ * share
			lh.normal = s.ExtraterrestrialWM2
			if cosZ > 0 {
				lh.upShare += share
			}
			// The shape of the hour, with a trace of twilight down to −6° so that an
			// hour with a little light before sunrise has somewhere to put it.
			w := (clear + 0.5*clamp(1+s.ApparentElevationDeg/6, 0, 1)) * share
			sum += w
			if i >= 0 && i < n {
				d.pieces = append(d.pieces, piece{step: i, hour: h, share: w, time: share})
				if whole := start.Add(time.Duration(i)*step).Equal(t) && e.Sub(t) == step; whole {
					d.steps[i] = newLightStep(s)
					done = i
				} else if i > done {
					d.steps[i] = newLightStep(sunAt(start.Add(time.Duration(i)*step + step/2)))
					done = i
				}
			}
			t = e
		}
		for p := mark; p < len(d.pieces); p++ {
			if sum > 0 {
				d.pieces[p].share /= sum
			} else {
				d.pieces[p].share = d.pieces[p].time
			}
		}
	}
	return d
}

func newLightStep(s Sun) lightStep {
	cosZ := s.CosZenith()
	return lightStep{cosZ, s.AzimuthDeg, s.ApparentElevationDeg, s.ExtraterrestrialWM2 * cosZ}
}

// floorHour returns the last beginning of an hour at or before t, hours
// beginning as far past the full hour as anchor does.
func floorHour(t, anchor time.Time) time.Time {
	d := t.Sub(anchor)
	r := d % time.Hour
	if r < 0 {
		r += time.Hour
	}
	return t.Add(-r)
}

// Options are the choices in turning hours into what a vessel meets.
type Options struct {
	Linke       float64 // Linke turbidity of the clear sky, 0 for DefaultLinke [1]
	PARShare    float64 // share of PAR in global energy, 0 for DefaultPARShare [1]
	Skyline     Skyline // what stands around; none when empty
	GroundKnown bool    // GroundDeepC is given
	GroundDeepC float64 // ground out of reach of the day; the mean air of the series when not known [°C]
}

func (o Options) linke() float64 {
	if o.Linke == 0 {
		return DefaultLinke
	}
	return o.Linke
}

func (o Options) parShare() float64 {
	if o.PARShare == 0 {
		return DefaultPARShare
	}
	return o.PARShare
}

// check returns an *InputError for options that are no physics.
func (o Options) check() error {
	if l := o.linke(); !(l >= 1 && l <= 12) {
		return &InputError{Field: "linke_turbidity", Why: "must lie between 1 and 12"}
	}
	if p := o.parShare(); !(p > 0 && p < 1) {
		return &InputError{Field: "par_share", Why: "must lie between 0 and 1"}
	}
	if o.GroundKnown && math.IsNaN(o.GroundDeepC) {
		return &InputError{Field: "ground_deep_c", Why: "is not a number"}
	}
	return o.Skyline.Check()
}

// Sample fills out with the weather at the middle of each step from start:
//
//   - The light of an hour is spread inside it as a clear sky would be, its
//     energy kept. It is split into beam and diffuse by the clearness of the hour
//     (erbs1982); there is no beam while the sun is down.
//   - Temperature, vapour pressure, pressure and wind run straight from the
//     middle of one hour to the middle of the next; wind is brought to 2 m.
//   - Longwave is the series' own where known, else air.SkyEmissivity with cloud
//     as one minus global over clear-sky radiation, carried straight through the night.
//   - The skyline takes the beam when the sun is behind it, its share of the
//     diffuse sky, and radiates at air temperature itself.
//
// The error is an *InputError: a span outside the series, a value that is not
// known (Bridge first), options out of range. out is then not to be used.
func (s *Series) Sample(site Site, opt Options, start time.Time, step time.Duration, out []air.Outside) error {
	if err := site.Check(); err != nil {
		return err
	}
	if err := opt.check(); err != nil {
		return err
	}
	if step < time.Second {
		return &InputError{Field: "step", Why: "must be at least a second, got " + step.String()}
	}
	if err := s.covers(start, step, len(out)); err != nil {
		return err
	}
	return s.SampleOn(NewDaylight(site, opt.linke(), s.Start, start, step, len(out)), opt, out)
}
