package power

import "math"

// Panel is a photovoltaic array.
type Panel struct {
	RatedW     float64 // at 1000 W/m² and a cell of 25 °C [W]
	TiltDeg    float64 // from horizontal [°]
	AzimuthDeg float64 // where its face looks, from north, clockwise [°]
	PerKelvin  float64 // change of power with the cell's temperature [1/K]
	NoctC      float64 // cell temperature at 800 W/m² and 20 °C of air [°C]
	Derate     float64 // share that dirt, wires, mismatch and the charge controller leave [1]
}

// Common parts of Panel.Derate.
const (
	// TrackingDerate is for a charge controller that seeks the point of most
	// power: dirt 0.95, wires 0.97, mismatch 0.97, controller 0.95.
	// Common practice, no source.
	TrackingDerate = 0.85

	// PlainDerate is for a plain charge controller, which ties the panel to the
	// voltage of the battery and so loses about a fifth more.
	// Common practice, no source.
	PlainDerate = 0.68
)

// NewPanel returns a silicon panel of ratedW [W], tilted by tiltDeg [°] from
// horizontal, its face towards azimuthDeg [°] from north, behind a tracking
// charge controller: −0.4 % for each kelvin and a NOCT of 45 °C.
//
// Source: common practice, from memory; makers' sheets say −0.3 to −0.45 % and
// 42 to 48 °C.
func NewPanel(ratedW, tiltDeg, azimuthDeg float64) Panel {
	return Panel{RatedW: ratedW, TiltDeg: tiltDeg, AzimuthDeg: azimuthDeg, PerKelvin: -0.004, NoctC: 45, Derate: TrackingDerate}
}

// Sky is what falls from the sky in an hour, in plain numbers.
type Sky struct {
	GlobalWM2  float64 // on flat ground [W/m²]
	BeamWM2    float64 // of the beam, facing it [W/m²]
	DiffuseWM2 float64 // from the sky alone, on flat ground [W/m²]
	SpaceWM2   float64 // above the air, facing the sun; 0: the sky is taken as even [W/m²]
	ZenithDeg  float64 // of the sun as seen, from overhead [°]
	AzimuthDeg float64 // of the sun, from north, clockwise [°]
	Albedo     float64 // of the ground [1]
	AirC       float64 // air [°C]
	WindMS     float64 // wind over the panel; NaN: not known [m/s]
}

// CosIncidence returns the cosine [1] of the angle between the sun and the
// normal of the panel, below 0 when the sun stands behind it:
//
//	cos θ = cos β cos z + sin β sin z cos(γs − γ)
//
// sunZenithDeg is z [°] and sunAzimuthDeg is γs [°].
//
// Source: duffiebeckman2013, eq. 1.6.3, from memory.
func (p *Panel) CosIncidence(sunZenithDeg, sunAzimuthDeg float64) float64 {
	const rad = math.Pi / 180
	sb, cb := math.Sincos(p.TiltDeg * rad)
	sz, cz := math.Sincos(sunZenithDeg * rad)
	return cb*cz + sb*sz*math.Cos((sunAzimuthDeg-p.AzimuthDeg)*rad)
}

// lowSunCos is the least cosine of the zenith by which skylight from around the
// sun is brought back from a horizontal plane: cos 89°, under which the quotient
// runs wild. As science/sky and pvlib have it.
const lowSunCos = 0.01745

// PlaneWM2 returns the radiation [W/m²] that gets through the glass of the
// panel:
//
//	G = Bn cos θ K(θ) + D [A cos θ/cos z + (1 − A)(1 + cos β)/2] + ρ G0 (1 − cos β)/2
//
// with A = Bn/E, the share of the skylight that comes from around the sun, and
// K = 1 − 0.05 (1/cos θ − 1), never below 0, for the glass.
//
// Source: haydavies1980; K: souka1966, the ASHRAE form.
func (p *Panel) PlaneWM2(s *Sky) float64 {
	cosI := p.CosIncidence(s.ZenithDeg, s.AzimuthDeg)
	cosZ := math.Cos(s.ZenithDeg * math.Pi / 180)
	cb := math.Cos(p.TiltDeg * math.Pi / 180)
	around := 0.0
	if s.SpaceWM2 > 0 {
		around = min(max(s.BeamWM2/s.SpaceWM2, 0), 1)
	}
	g := s.Albedo*s.GlobalWM2*(1-cb)/2 + s.DiffuseWM2*(1-around)*(1+cb)/2
	if cosI > 0 && cosZ > 0 {
		g += s.BeamWM2*cosI*Glass(cosI) + s.DiffuseWM2*around*cosI/max(cosZ, lowSunCos)
	}
	return max(g, 0)
}

// Glass returns what the glass of a panel lets through of a beam [1], over what
// it lets through of one that falls on square:
//
//	K = 1 − b (1/cos θ − 1),  b = 0.05
//
// cosIncidence is cos θ [1].
//
// Special case: 0 where the form falls below it, near 87°, and for a sun behind
// the panel.
//
// Source: souka1966, in the form that ASHRAE standard 93 takes.
func Glass(cosIncidence float64) float64 {
	if cosIncidence <= 0 {
		return 0
	}
	return max(1-0.05*(1/cosIncidence-1), 0)
}

// CellC returns the temperature of the cells [°C] under planeWM2 [W/m²], in air
// of airC [°C] with a wind of windMS [m/s]. Where the wind is not known (NaN):
//
//	Tc = Ta + (NOCT − 20) G/800
//
// and with it
//
//	Tc = Ta + G/(25 + 6.84 v)
//
// The second is for panels on an open rack; the first is that of the maker's
// sheet.
//
// Source: ross1980; faiman2008.
func (p *Panel) CellC(planeWM2, airC, windMS float64) float64 {
	if math.IsNaN(windMS) {
		return airC + (p.NoctC-20)/800*planeWM2
	}
	return airC + planeWM2/(25+6.84*max(windMS, 0))
}

// ShareOfRated returns the power at the battery over the rated one [1]:
//
//	P/P0 = d G/1000 (1 + γ (Tc − 25))
//
// under planeWM2 [W/m²] at a cell temperature of cellC [°C].
//
// Source: pvwatts2014, eq. 8, where d is 1.
func (p *Panel) ShareOfRated(planeWM2, cellC float64) float64 {
	return max(p.Derate*planeWM2/1000*(1+p.PerKelvin*(cellC-25)), 0)
}

// PowerW returns the power at the battery [W] under a sky.
func (p *Panel) PowerW(s *Sky) float64 {
	g := p.PlaneWM2(s)
	return p.RatedW * p.ShareOfRated(g, p.CellC(g, s.AirC, s.WindMS))
}
