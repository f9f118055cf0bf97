package vessel

// Cover is what is over the water.
type Cover uint8

// The covers.
const (
	None   Cover = iota // open sky, perhaps a shade cloth
	Film                // a sheet close over this vessel, still air below it
	Tunnel              // a tunnel or greenhouse that holds the vessel and more floor
)

// Vents is how far a tunnel or a film is opened.
type Vents uint8

// The openings.
const (
	Shut Vents = iota
	Half
	Open
)

// Setting is where a vessel stands and under what. DefaultSetting fills it;
// each number may be changed afterwards, and Cover, Vents and Shade change with
// the grower's acts. Step, Light and SideLight only read it.
type Setting struct {
	Cover Cover
	Vents Vents

	Shade float64 // share of all light that a cloth or the trees take away [1]

	CoverTransmission float64 // light passed by the clean dry cover, sun square to it [1]
	CoverScatter      float64 // share of the passed beam that the cover spreads out [1]
	CoverDrops        float64 // share of the passed light lost to drops and dust [1]
	CoverAbsorption   float64 // share of the sun's heat that stays in the cover [1]
	CoverLongwave     float64 // longwave passed by the cover [1]
	CoverRatio        float64 // cover area per floor area [1]
	CoverDrip         float64 // share of the condensate that falls back into the water [1]
	HeadM             float64 // air volume per floor area under the cover [m]
	WaterShare        float64 // share of the covered floor that vessels take [1]
	FloorToAir        float64 // share of the sun on the dry floor that warms the air [1]

	// AirChanges are the changes of the covered air with vents shut, half and
	// open, at a wind of 2 m/s [1/h].
	AirChanges [3]float64

	Indoors   bool    // in a room: no sky, no wind, no rain
	RoomC     float64 // air and walls of the room [°C]
	RoomRHPct float64 // relative humidity of the room [%]

	WindowTransmission float64 // light passed by the window, 0 without one [1]
	WindowAzimuthDeg   float64 // where the window looks, from north, clockwise [°]
	WindowView         float64 // share of the half world outside that the vessel sees through it [1]

	InGround   bool    // walls in soil up to the rim, else in the air
	OnStand    bool    // base in the air, else on the ground
	WallUWM2K  float64 // conductance of wall and the water film inside it [W/m²/K]
	BaseUWM2K  float64 // conductance of base or liner and its bed [W/m²/K]
	HeatToC    float64 // thermostat: a heater works only while the water is colder; 0: always [°C]
	WallAbsorb float64 // share of the sun on an opaque wall that it keeps [1]
	WallClear  float64 // share of the sun on a clear wall that the culture keeps [1]

	ExtraMassKgM2  float64 // walls, base and pipes as water, per surface area [kg/m²]
	SoilWMK        float64 // heat conductivity of the soil [W/m/K]
	SoilJM3K       float64 // heat capacity of the soil [J/m³/K]
	WindFactor     float64 // wind over the water over that of open ground, both at 2 m [1]
	Backscatter    float64 // share of the sunlight in the water that comes out again [1]
	FloorAlbedo    float64 // share of the light on the floor that it throws back [1]
	GroundAlbedo   float64 // share of sunlight that the ground around throws back [1]
	WaterEmittance float64 // longwave emissivity of the water [1]
}

// DefaultSetting returns the setting of a vessel of a shape under a cover, out
// of doors, in the open, on or in soil of middling moisture. A lined pond lies
// in the ground; all others stand on it with their walls in the air. Bottles
// and lying cylinders have clear walls.
//
// Sources: longwave emissivity of water 0.96: hendersonsellers1986 (Rev.
// Geophys. 24:625: 0.97), from memory. Covers: new single polyethylene, light
// 0.87–0.90, longwave 0.5–0.8; 8–15 % lost to drops, 5–20 % to dust: from
// memory. Soil: moist loam, 1.2 W/m/K and 2.2 MJ/m³/K: oke1987, table 2.1, from
// memory. All other numbers: common practice, no source.
func DefaultSetting(kind Kind, cover Cover) Setting {
	st := Setting{
		RoomC: 22, RoomRHPct: 50,
		WallUWM2K: 100, BaseUWM2K: 50, WallAbsorb: 0.5,
		SoilWMK: 1.2, SoilJM3K: 2.2e6,
		WindFactor: 1, Backscatter: 0.02, FloorAlbedo: 0.3, GroundAlbedo: 0.2, WaterEmittance: 0.96,
	}
	switch kind {
	case Liner:
		st.InGround = true
	case Bottle, LyingCylinder:
		st.WallClear = 0.85
	}
	st.SetCover(cover)
	return st
}

// SetCover puts cover over the vessel with its defaults and leaves the rest of
// the setting as it is. Vents are shut.
func (st *Setting) SetCover(cover Cover) {
	st.Cover, st.Vents = cover, Shut
	switch cover {
	case Film:
		st.CoverTransmission, st.CoverScatter, st.CoverDrops = 0.88, 0.3, 0.12
		st.CoverAbsorption, st.CoverLongwave = 0.04, 0.3 // a wet film passes little
		st.CoverRatio, st.CoverDrip, st.HeadM, st.WaterShare = 1, 1, 0.05, 1
		st.AirChanges = [3]float64{2, 60, 300}
	case Tunnel:
		st.CoverTransmission, st.CoverScatter, st.CoverDrops = 0.88, 0.3, 0.15
		st.CoverAbsorption, st.CoverLongwave = 0.04, 0.4
		st.CoverRatio, st.CoverDrip, st.HeadM, st.WaterShare = 1.6, 0.3, 2.2, 0.6
		st.FloorToAir = 0.5
		st.AirChanges = [3]float64{1, 12, 40}
	}
}

// opening returns Vents as an index into lists of three.
func (st *Setting) opening() int { return int(min(st.Vents, Open)) }

// IndoorSetting returns the setting of a vessel on a table in a room with no
// window: roomC is the temperature of its air and walls [°C], roomRHPct their
// relative humidity [%].
func IndoorSetting(kind Kind, roomC, roomRHPct float64) Setting {
	st := DefaultSetting(kind, None)
	st.Indoors, st.OnStand, st.InGround = true, true, false
	st.RoomC, st.RoomRHPct = roomC, roomRHPct
	return st
}

// Thermal is the heat state of a vessel and its surroundings.
type Thermal struct {
	WaterC       float64    // the water, well mixed [°C]
	SoilC        [2]float64 // the ground below, upper and lower layer [°C]
	CoverC       float64    // film or glass; the air's where there is none [°C]
	AirC         float64    // the air over the water [°C]
	AirVapourKPa float64    // its vapour pressure [kPa]
}

// Body is the water as its surroundings meet it, for one step.
type Body struct {
	HeatCapacityJK float64 // heat capacity of the culture [J/K]
	SurfaceM2      float64 // water surface [m²]
	WallM2         float64 // wetted wall [m²]
	FloorM2        float64 // floor [m²]
	CatchM2        float64 // opening at the rim, through which rain falls in [m²]
	WaterActivity  float64 // vapour pressure over that of pure water [1]
	FloorGlint     float64 // share of the sunlight in the water that comes back from the floor, 0 in dense culture [1]
	HeaterW        float64 // heat put in by a heater or a pump [W]
}

// NewBody returns the body of water in g at a level: levelM is its depth [m],
// waterKg the water in it [kg], waterActivity its water activity [1]. The heat
// capacity is that of pure water; the salts of a medium change it by less than
// they weigh.
func NewBody(g *Geometry, levelM, waterKg, waterActivity float64) Body {
	return Body{
		HeatCapacityJK: waterKg * WaterJKgK,
		SurfaceM2:      g.SurfaceM2(levelM),
		WallM2:         g.WallM2(levelM),
		FloorM2:        g.FloorM2(),
		CatchM2:        g.SurfaceM2(g.RimM()),
		WaterActivity:  waterActivity,
	}
}

// Exchange is what one step carried into the water, law by law. The heats sum
// to StoredJ.
type Exchange struct {
	SolarJ    float64 // sun, through surface and clear walls [J]
	LongwaveJ float64 // longwave, net [J]
	SensibleJ float64 // convection at the surface [J]
	LatentJ   float64 // evaporation, and dew when above 0 [J]
	WallJ     float64 // walls in the air, with the sun on them [J]
	SoilJ     float64 // base, and walls in the ground [J]
	HeaterJ   float64 // heater [J]
	RainJ     float64 // rain and drip colder or warmer than the water [J]
	StoredJ   float64 // gain of the water and its extra mass [J]

	CapacityJK float64 // heat capacity of the water and its extra mass [J/K]

	EvaporatedKg float64 // water gone as vapour [kg]
	CondensedKg  float64 // dew, and condensate fallen back from the cover [kg]
	RainKg       float64 // rain fallen in [kg]
}

// WaterJKgK is the heat capacity of water [J/kg/K], within 0.2 % from 5 to 60 °C.
//
// Source: iapws95 (Wagner & Pruss 2002), from memory.
const WaterJKgK = 4182

// MixC returns the temperature after two waters are put together [°C]:
// waterKg at waterC and addedKg at addedC, in [kg] and [°C].
//
// Special case: waterC when there is no water at all.
func MixC(waterKg, waterC, addedKg, addedC float64) float64 {
	if !(waterKg+addedKg > 0) {
		return waterC
	}
	return waterC + (addedC-waterC)*addedKg/(waterKg+addedKg)
}
