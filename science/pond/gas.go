package pond

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
)

// films are the films of gas at every whole degree from the coldest to the
// hottest water that is solved.
var films = func() (f [hottestC - coldestC + 2]brine.Film) {
	for i := range f {
		f[i] = brine.FilmAt(coldestC + float64(i))
	}
	return f
}()

// filmAt draws the film to tempC [°C].
func filmAt(tempC float64) brine.Film {
	tempC = min(max(tempC, coldestC), hottestC)
	i := int(tempC - coldestC)
	return films[i].Between(&films[i+1], tempC)
}

// saturation is the oxygen in balance with the air at two temperatures, between
// which it runs nearly straight: within 0.01 mg/L.
type saturation struct {
	ready       bool
	lowC        float64 // °C
	low, high   float64 // at lowC and oxygenStepC above [mg/L]
	pressureKPa float64
	saltGL      float64
}

const oxygenStepC = 4.0

// saturated returns the oxygen in balance with the air [mg/L], where tempC is
// the water's temperature [°C] and pressureKPa the air's pressure [kPa].
func (v *Vessel) saturated(tempC, pressureKPa, saltGL float64) float64 {
	s := &v.oxygenSat
	tempC = min(max(tempC, coldestC), hottestC)
	u := (tempC - s.lowC) / oxygenStepC
	if !s.ready || !(u >= 0 && u <= 1) || math.Abs(pressureKPa-s.pressureKPa) > 0.3 || math.Abs(saltGL-s.saltGL) > 1 {
		lowC := oxygenStepC * math.Floor(tempC/oxygenStepC)
		*s = saturation{
			ready: true, lowC: lowC, pressureKPa: pressureKPa, saltGL: saltGL,
			low:  growth.OxygenSaturation(lowC, pressureKPa, saltGL),
			high: growth.OxygenSaturation(lowC+oxygenStepC, pressureKPa, saltGL),
		}
		u = (tempC - lowC) / oxygenStepC
	}
	return s.low + u*(s.high-s.low)
}
