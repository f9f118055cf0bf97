package words

import (
	"math"
	"strings"

	"sodalake/science/num"
)

// Measures says in which measures a farm thinks.
type Measures string

// The closed list of measures.
const (
	Metric Measures = "metric" // litres, grams, °C
	US     Measures = "us"     // US gallons, ounces and cups, °F; depths stay in cm as on the disc's stick
)

// unit says how a quantity is printed whose stored name ends in suffix.
type unit struct {
	suffix string
	print  string  // as printed behind the number; empty for a pure number
	finest float64 // finest step that an instrument earns [print]
	zeros  bool    // a zero at the end is written: 0.40 g/L, pH 10.0

	// In US measures the number is times factor plus offset, printed in us.
	us             string
	factor, offset float64
	usFinest       float64
}

// endings is ordered so that the longest suffix that fits comes first.
var endings = []unit{
	{suffix: "ms_per_cm_25c", print: "mS/cm", finest: .1},
	{suffix: "ms_per_cm", print: "mS/cm", finest: .1},
	{suffix: "mmol_per_kg", print: "mmol/kg", finest: .001},
	{suffix: "g_per_m2_d", print: "g/m²/day", finest: .1},
	{suffix: "mg_per_l_d", print: "mg/L/day", finest: .1},
	{suffix: "umol_m2_s", print: "µmol/m²/s", finest: 1},
	{suffix: "mj_m2_d", print: "MJ/m²/day", finest: .1},
	{suffix: "g_per_l", print: "g/L", finest: .01, zeros: true},
	{suffix: "mg_per_l", print: "mg/L", finest: .01},
	{suffix: "mg_per_kg", print: "mg/kg", finest: .01},
	{suffix: "l_per_d", print: "L/day", finest: .1, us: "gal/day", factor: 1 / litresPerGallon, usFinest: .01},
	{suffix: "g_per_d", print: "g/day", finest: .01},
	{suffix: "mm_d", print: "mm/day", finest: .1},
	{suffix: "per_d", print: "a day", finest: .01},
	{suffix: "m_s", print: "m/s", finest: .1, us: "mph", factor: 1 / metresPerSecondPerMPH, usFinest: 1},
	{suffix: "w_m2", print: "W/m²", finest: 1},
	{suffix: "ppm", print: "ppm", finest: 1},
	{suffix: "hpa", print: "hPa", finest: 1},
	{suffix: "kpa", print: "kPa", finest: .01},
	{suffix: "pct", print: "%", finest: 1},
	{suffix: "km", print: "km", finest: .1},
	{suffix: "kg", print: "kg", finest: .01, us: "lb", factor: 1 / kilogramsPerPound, usFinest: .01},
	{suffix: "mg", print: "mg", finest: 1},
	{suffix: "ml", print: "mL", finest: 1},
	{suffix: "cm", print: "cm", finest: .1},
	{suffix: "mm", print: "mm", finest: .1},
	{suffix: "m2", print: "m²", finest: .01},
	{suffix: "m3", print: "m³", finest: .01},
	{suffix: "um", print: "µm", finest: 1},
	{suffix: "kwh", print: "kWh", finest: .01},
	{suffix: "wh", print: "Wh", finest: 1},
	{suffix: "min_ago", print: "min", finest: 1},
	{suffix: "min", print: "min", finest: 1},
	{suffix: "degc", print: "°C", finest: .1, us: "°F", factor: 1.8, offset: 32, usFinest: 1},
	{suffix: "kelvin", print: "°C", finest: .1, us: "°F", factor: 1.8, usFinest: 1}, // a difference
	{suffix: "g", print: "g", finest: .1},
	{suffix: "l", print: "L", finest: .1, us: "gal", factor: 1 / litresPerGallon, usFinest: .01},
	{suffix: "c", print: "°C", finest: .1, us: "°F", factor: 1.8, offset: 32, usFinest: 1},
	{suffix: "m", print: "m", finest: .01},
	{suffix: "h", print: "h", finest: .1},
	{suffix: "d", print: "days", finest: 1},
	{suffix: "s", print: "s", finest: 1},
	{suffix: "w", print: "W", finest: 1},
	{suffix: "v", print: "V", finest: .1},
}

// Exact or defined factors: NIST SP 811 (2008), appendix B.8.
const (
	litresPerGallon       = 3.785411784 // US liquid gallon
	kilogramsPerPound     = 0.45359237  // avoirdupois pound
	gramsPerOunce         = 28.349523125
	metresPerSecondPerMPH = 0.44704
)

// named holds the quantities whose name does not end in a unit.
var named = map[string]unit{
	"ph":     {finest: .1, zeros: true},
	"ph_25c": {finest: .1, zeros: true},
	"fields": {print: "fields", finest: 1},
	// Concentrations in mM end as millimetres do; these are the ones in use.
	"ammonia_mm": {print: "mM", finest: .01}, "limit_mm": {print: "mM", finest: .01},
	"od_750": {finest: .001}, "od_680": {finest: .001}, "od_560": {finest: .001},
	"filaments_seen": {print: "filaments", finest: 1},
}

// split cuts a stored name into its stem and its unit: "density_g_per_l" and
// "density_g_per_l_low" give "density" and g/L. ok is false where the name
// carries no unit.
func split(name string) (stem string, u unit, ok bool) {
	name = strings.TrimSuffix(strings.TrimSuffix(name, "_low"), "_high")
	if u, ok = named[name]; ok {
		return name, u, true
	}
	for _, u = range endings {
		if name == u.suffix {
			return "", u, true
		}
		if strings.HasSuffix(name, "_"+u.suffix) {
			return strings.TrimSuffix(name, "_"+u.suffix), u, true
		}
	}
	if strings.HasPrefix(name, "ph_") || strings.HasSuffix(name, "_ph") {
		return name, named["ph"], true
	}
	return name, unit{}, false
}

// in converts x, given in the unit's stored measure, to the speaker's measure,
// and returns it with the unit to print and the finest step.
func (u unit) in(m Measures, x float64) (y float64, print string, finest float64) {
	if m == US && u.us != "" {
		return float64(x*u.factor) + u.offset, u.us, u.usFinest
	}
	return x, u.print, u.finest
}

// Said is a number as it is shown: the parts stay apart so that a page can set
// them in their own weights.
type Said struct {
	Value  string // "0.62"
	Unit   string // "g/L"; empty for a pure number
	Spread string // "0.55–0.69"; empty where there is none
}

// Plain returns "0.62 g/L".
func (q Said) Plain() string {
	switch {
	case q.Unit == "":
		return q.Value
	case q.Unit == "days" && q.Value == "1":
		return "1 day"
	}
	return q.Value + " " + q.Unit
}

// Full returns "0.62 g/L (0.55–0.69)".
func (q Said) Full() string {
	if q.Spread == "" || q.Spread == q.Value {
		return q.Plain()
	}
	return q.Plain() + " (" + q.Spread + ")"
}

// Range returns "0.55–0.69 g/L".
func (q Said) Range() string {
	switch {
	case q.Spread == "":
		return q.Plain()
	case q.Unit == "":
		return q.Spread
	}
	return q.Spread + " " + q.Unit
}

// Band says an estimate with its spread. name is the stored name of the
// quantity ("density_g_per_l"), which carries the unit of b.
func (s *Speaker) Band(name string, b num.Band) Said {
	_, u, _ := split(name)
	low, print, finest := u.in(s.measures, b.Low)
	mid, _, _ := u.in(s.measures, b.Mid)
	high, _, _ := u.in(s.measures, b.High)
	step := Step(high-low, finest)
	if u.zeros && step > finest && high-low < 5*step {
		// Of a density between 0.6 and 0.8 one digit more is worth printing:
		// rounding it away would move an end by a quarter of the spread.
		step = math.Max(step/10, finest)
	}
	said := Said{Value: s.text(mid, step), Unit: print}
	if step > 0 {
		said.Spread = s.spread(low, high, step)
	} else {
		said.Value = s.text(mid, u.step(mid, finest))
	}
	return said
}

// step returns the step for a number without a spread.
func (u unit) step(x, finest float64) float64 {
	if u.zeros {
		return stepOf(x, finest)
	}
	return math.Max(stepOf(x, finest), exact(x))
}

// Number says one number without a spread. name is its stored name, which
// carries its unit.
func (s *Speaker) Number(name string, x float64) Said {
	_, u, _ := split(name)
	y, print, finest := u.in(s.measures, x)
	return Said{Value: s.text(y, u.step(y, finest)), Unit: print}
}

// Read says a number as it was read: to the digits that it was noted with,
// since a reading is never rounded.
func (s *Speaker) Read(name string, x float64) Said {
	_, u, _ := split(name)
	y, print, _ := u.in(s.measures, x)
	return Said{Value: s.text(y, exact(y)), Unit: print}
}

// exact is the step of the last digit that y was written with, up to four.
func exact(y float64) float64 {
	for _, step := range []float64{1, .1, .01, .001} {
		n := y / step
		if d := n - float64(int64(n+copysignHalf(n))); d < 1e-6 && d > -1e-6 {
			return step
		}
	}
	return .0001
}

func copysignHalf(x float64) float64 {
	if x < 0 {
		return -.5
	}
	return .5
}

// UnitOf returns the unit in which the speaker prints the quantity of that
// stored name; empty for a pure number.
func (s *Speaker) UnitOf(name string) string {
	_, u, _ := split(name)
	_, print, _ := u.in(s.measures, 0)
	return print
}

// Stored converts x from the speaker's measure back to the stored one.
func (s *Speaker) Stored(name string, x float64) float64 {
	_, u, _ := split(name)
	if s.measures == US && u.us != "" {
		return (x - u.offset) / u.factor
	}
	return x
}

// Shown converts x from the stored measure to the speaker's.
func (s *Speaker) Shown(name string, x float64) float64 {
	_, u, _ := split(name)
	y, _, _ := u.in(s.measures, x)
	return y
}

// Stem returns the stored name of a quantity without its unit: "mass" for
// "mass_g". A name that carries no unit is returned as it is.
func Stem(name string) string {
	if stem, _, ok := split(name); ok && stem != "" {
		return stem
	}
	return name
}
