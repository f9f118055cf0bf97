package sky

import "math"

// GuessNormals returns a climate by latitude and height alone, for a place of
// which nobody told the months: a mean temperature [°C] of
//
//	T = 27.5 − 0.0095 φ² + 0.25 |φ| cos(2π (m − 6.3)/12) − 0.006 h, never under −40
//
// with latitude φ [°], the month m from 0 (half a year on in the south) and the
// height h [m]; a daily range of 10 K, half of the light above the air, 65 %
// humidity and 2.5 m/s of wind at 2 m.
//
// Source: from memory, rough: deserts are sunnier and hotter by day, coasts milder,
// the monsoon darker. It is a place to begin, not a climate.
func GuessNormals(s Site) Normals {
	var n Normals
	for i := range n {
		m := UnknownMonth()
		season := math.Cos(2 * math.Pi * (float64(i) - 6.3) / 12)
		if s.LatDeg < 0 {
			season = -season
		}
		m.MeanC = math.Max(27.5-0.0095*s.LatDeg*s.LatDeg+0.25*math.Abs(s.LatDeg)*season-0.006*s.ElevationM, -40)
		m.MinC, m.MaxC = m.MeanC-5, m.MeanC+5
		m.Clearness, m.RHPct, m.WindMS = 0.5, 65, 2.5
		n[i] = m
	}
	return n
}
