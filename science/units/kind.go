package units

// Kind is a kind of quantity. Each has one inner unit, in which every value of
// this package is counted.
type Kind int

// The kinds. Any lets the unit decide, and asks where it cannot.
const (
	Any                   Kind = iota
	Volume                     // litre, L
	Mass                       // gram, g
	Length                     // metre, m
	Area                       // square metre, m²
	Temperature                // degree Celsius, °C
	TemperatureDifference      // kelvin, said as °C
	Density                    // gram per litre, g/L: a culture, a salt in water, a heap of powder
	Molarity                   // millimole per litre, mmol/L
	Hardness                   // calcium and magnesium, mmol/L
	Alkalinity                 // milliequivalent per litre, meq/L
	Conductivity               // millisiemens per centimetre, mS/cm
	Ratio                      // parts to parts: 1:10 is 0.1
	Share                      // part of the whole, 0 to 1 and beyond: 10 % is 0.1
	Time                       // second, s
	Flow                       // litre per hour, L/h
	Speed                      // metre per second, m/s
	Power                      // watt, W
	Energy                     // watt-hour, Wh
	PhotonFlux                 // photons 400–700 nm, µmol/m²/s
	Irradiance                 // watt per square metre, W/m²
	PH                         // pH, a pure number
	Count                      // a pure number
	numKinds
)

// System is the household system of a farm: it decides how big a cup and a
// spoon are and in which units an answer is printed.
type System int

// The systems. In both a gallon, quart, pint and fluid ounce are those of the
// United States unless "imperial" is said.
const (
	Metric System = iota // cup 250 mL, tablespoon 15 mL, teaspoon 5 mL
	US                   // cup 236.588 mL, tablespoon 14.787 mL, teaspoon 4.929 mL
)

// String returns "metric" or "us".
func (s System) String() string {
	if s == US {
		return "us"
	}
	return "metric"
}

// dims are the powers of metre, gram, second, mole, kelvin, siemens and
// equivalent in a unit.
type dims [7]int8

const (
	dimM = iota
	dimG
	dimS
	dimMol
	dimK
	dimSiemens
	dimEq
)

// kindInfo is what is known of a kind.
type kindInfo struct {
	name    string
	inner   string // symbol of the inner unit; Parse reads it
	dims    dims
	si      string // inner unit in metres, grams, seconds, moles, kelvins, siemens, equivalents
	example string // for hints
	signed  bool   // may be below zero
}

var kinds = [numKinds]kindInfo{
	Any:                   {name: "amount", example: `"250 mL" or "1 1/2 cups"`},
	Volume:                {"volume", "L", dims{dimM: 3}, "0.001", `"250 mL" or "1 1/2 cups"`, false},
	Mass:                  {"mass", "g", dims{dimG: 1}, "1", `"250 g" or "4 oz"`, false},
	Length:                {"length", "m", dims{dimM: 1}, "1", `"2.4 cm" or "3 in"`, false},
	Area:                  {"area", "m²", dims{dimM: 2}, "1", `"6 m2" or "60 sq ft"`, false},
	Temperature:           {"temperature", "°C", dims{dimK: 1}, "1", `"35 C" or "95 F"`, true},
	TemperatureDifference: {"temperature difference", "°C", dims{dimK: 1}, "1", `"5 C" or "9 F"`, true},
	Density:               {"density", "g/L", dims{dimG: 1, dimM: -3}, "1000", `"0.5 g/L" or "40 mg/L"`, false},
	Molarity:              {"concentration", "mmol/L", dims{dimMol: 1, dimM: -3}, "1", `"1.2 mmol/L"`, false},
	Hardness:              {"hardness", "mmol/L", dims{dimMol: 1, dimM: -3}, "1", `"12 dH" or "180 mg/L as CaCO3"`, false},
	Alkalinity:            {"alkalinity", "meq/L", dims{dimEq: 1, dimM: -3}, "1", `"3 meq/L" or "8 dKH"`, false},
	Conductivity:          {"conductivity", "mS/cm", dims{dimSiemens: 1, dimM: -1}, "0.1", `"18 mS/cm"`, false},
	Ratio:                 {"ratio", "", dims{}, "1", `"1:10" or "1 to 10"`, false},
	Share:                 {"share", "", dims{}, "1", `"30 %" or "1 in 10"`, false},
	Time:                  {"time", "s", dims{dimS: 1}, "1", `"90 min" or "2 d"`, false},
	Flow:                  {"flow", "L/h", dims{dimM: 3, dimS: -1}, "1/3600000", `"600 L/h" or "150 gal/h"`, false},
	Speed:                 {"speed", "m/s", dims{dimM: 1, dimS: -1}, "1", `"3 m/s" or "7 mph"`, false},
	Power:                 {"power", "W", dims{dimG: 1, dimM: 2, dimS: -3}, "1000", `"40 W"`, false},
	Energy:                {"energy", "Wh", dims{dimG: 1, dimM: 2, dimS: -2}, "3600000", `"1.2 kWh"`, false},
	PhotonFlux:            {"light", "µmol/m²/s", dims{dimMol: 1, dimM: -2, dimS: -1}, "0.000001", `"400 umol/m2/s"`, false},
	Irradiance:            {"radiation", "W/m²", dims{dimG: 1, dimS: -3}, "1000", `"800 W/m2" or "20 MJ/m2/d"`, false},
	PH:                    {"pH", "", dims{}, "1", `"10.2"`, true},
	Count:                 {"number", "", dims{}, "1", `"12"`, false},
}

// anyKinds are the kinds that a unit alone can tell, in the order tried.
var anyKinds = []Kind{
	Volume, Mass, Length, Area, Temperature, Density, Molarity, Alkalinity, Conductivity,
	Time, Flow, Speed, Power, Energy, PhotonFlux, Irradiance, Ratio, Share,
}

// String returns the kind's name: "volume", "temperature difference".
func (k Kind) String() string { return k.info().name }

// Unit returns the symbol of the inner unit: "L" for Volume, "" for a pure
// number.
func (k Kind) Unit() string { return k.info().inner }

func (k Kind) info() *kindInfo {
	if k < 0 || k >= numKinds {
		panic("units: no such kind")
	}
	return &kinds[k]
}
