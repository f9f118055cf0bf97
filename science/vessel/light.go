package vessel

import (
	"math"

	"sodalake/science/air"
	"sodalake/science/optics"
)

const (
	sheetIndex   = 1.5  // refractive index of polyethylene and of glass [1], from memory
	sheetDiffuse = 0.91 // diffuse light passed over light passed at normal incidence [1], TestSheet
	roofCos      = 0.5  // an arched roof turns some of itself to any sun: worst mean incidence 60°
	lowestCos    = 0.1  // a beam on the horizontal is not divided by less: with the sun under 6° it is weak and ill known [1]
)

// Light returns the photons that come down on the water from above [µmol/m²/s],
// as beam and as diffuse light, after shade and cover and before the water's
// own reflection. o is the weather of the moment.
//
// A cover passes the beam as a clear sheet does at its angle of incidence,
// relative to CoverTransmission, spreads CoverScatter of it out and loses
// CoverDrops. Under a tunnel's arched roof the incidence is never taken as
// flatter than 60°. In a room nothing comes from above: see SideLight.
//
// Source: bornwolf1999, section 1.5.2 (two surfaces of index 1.5).
func (st *Setting) Light(o *air.Outside) (beamPAR, diffusePAR float64) {
	if st.Indoors {
		return 0, 0
	}
	through, spread, diffuse := st.pass(o.CosZenith)
	return through * o.BeamPAR, spread*o.BeamPAR + diffuse*o.DiffusePAR
}

// SideLight returns the photons on a clear wall, as the mean over the wall all
// round [µmol/m²/s]: on a bottle in the open the beam as an upright cylinder
// meets it, half the sky and half of what the ground throws back; in a room
// what comes through the window. o is the weather of the moment.
//
//	Ḡ = B tan z/π + D/2 + ρ(B + D)/2
//
// with the beam B and the diffuse light D on the horizontal, the zenith angle z
// and the albedo ρ of the ground.
//
// Special case: 0 in a room without a window.
//
// Source: geometry; an upright cylinder shows the beam d·h of its πd·h.
func (st *Setting) SideLight(o *air.Outside) float64 {
	if st.Indoors {
		return st.window(o, o.BeamPAR, o.DiffusePAR)
	}
	through, spread, passed := st.pass(o.CosZenith)
	return st.around(o.CosZenith, through*o.BeamPAR, spread*o.BeamPAR+passed*o.DiffusePAR)
}

// pass returns the share of the beam that goes on as beam and as spread light,
// and the share of the diffuse light that goes on [1].
func (st *Setting) pass(cosZenith float64) (through, spread, diffuse float64) {
	open := 1 - st.Shade
	if st.Cover == None {
		return open, 0, open
	}
	c := cosZenith
	if st.Cover == Tunnel {
		c = max(c, roofCos)
	}
	clean := open * st.CoverTransmission * (1 - st.CoverDrops)
	beam := clean * sheet(c)
	return beam * (1 - st.CoverScatter), beam * st.CoverScatter, clean * sheetDiffuse
}

// sheet returns the beam passed by a clear sheet at an angle of incidence over
// that at normal incidence [1], of both polarisations together:
//
//	τ = (1 − R)/(1 + R)
func sheet(cosIncidence float64) float64 {
	const normal = (1 - 0.04) / (1 + 0.04) // R = ((n − 1)/(n + 1))²
	r := optics.FresnelIndex(cosIncidence, sheetIndex)
	return (1 - r) / (1 + r) / normal
}

// around returns the mean light on an upright wall all round, in the unit of
// the beam and the diffuse light that come down where the vessel stands.
func (st *Setting) around(cosZenith, beam, diffuse float64) float64 {
	return beam*slant(cosZenith)/math.Pi + diffuse/2 + st.GroundAlbedo*(beam+diffuse)/2
}

// slant returns tan z [1], held back when the sun is at the horizon.
func slant(cosZenith float64) float64 {
	c := min(max(cosZenith, lowestCos), 1)
	return math.Sqrt(1-c*c) / c
}

// window is side for a vessel on the sill: it sees WindowView of the half world
// before the window, and the sun when the window does. Half of the wall, on the
// mean, looks out.
func (st *Setting) window(o *air.Outside, beam, diffuse float64) float64 {
	if st.WindowTransmission <= 0 {
		return 0
	}
	// Sun square to the window as seen from above: the beam then meets the
	// whole width of the vessel, as it does out of doors.
	facing := math.Cos((o.AzimuthDeg - st.WindowAzimuthDeg) * math.Pi / 180)
	direct := 0.0
	if o.CosZenith > 0 { // from behind, the pane passes nothing: sheet is 0
		tan := slant(o.CosZenith)
		// The pane's own incidence: cos i = sin z cos(azimuth difference).
		sin := tan / math.Sqrt(1+tan*tan)
		direct = beam * tan / math.Pi * sheet(sin*facing)
	}
	around := (diffuse/2 + st.GroundAlbedo*(beam+diffuse)/2) * sheetDiffuse / 2
	return (1 - st.Shade) * st.WindowTransmission * st.WindowView * (direct + around)
}
