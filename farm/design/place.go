package design

import (
	"sodalake/farm"
	"sodalake/science/air"
	"sodalake/science/sky"
)

// PlaceOf returns the place of a farm's site: its months where they were told,
// with the wind brought down from 10 m, else a guess.
func PlaceOf(s *farm.Site) Place {
	p := Place{Site: sky.Site{LatDeg: s.LatDeg, LonDeg: s.LonDeg, ElevationM: s.ElevationM}, Guessed: len(s.Normals) != 12}
	if p.Guessed {
		p.Normals = sky.GuessNormals(p.Site)
		return p
	}
	for i, m := range s.Normals {
		row := sky.UnknownMonth()
		row.GHIMJM2D, row.MinC, row.MaxC, row.RHPct = m.GHIMJM2D, m.TMinC, m.TMaxC, m.RHPct
		row.WindMS, row.RainMM, row.RainDays = air.WindAt2M(m.WindMS, 10), m.RainMM, m.RainDays
		p.Normals[i] = row
	}
	return p
}
