package units

import (
	"math"
	"strconv"
	"strings"
)

// display is one unit in which a kind is printed, from a size upwards.
type display struct {
	from   float64 // least size [inner unit of the kind]
	symbol string
	factor float64 // inner units in one of these
}

// displays are the printing units of a kind, largest first.
type displays struct{ metric, us []display }

var printing = [numKinds]displays{
	Volume: {
		metric: []display{{1, "L", 1}, {0.001, "mL", 1e-3}, {0, "µL", 1e-6}},
		us:     []display{{0.5 * usGallonL, "gal", usGallonL}, {0.5 * usFlOzL, "fl oz", usFlOzL}, {0.001, "mL", 1e-3}, {0, "µL", 1e-6}},
	},
	Mass: {
		metric: []display{{1000, "kg", 1000}, {1, "g", 1}, {0.001, "mg", 1e-3}, {0, "µg", 1e-6}},
		us:     []display{{453.59237, "lb", 453.59237}, {28.349523125, "oz", 28.349523125}, {1, "g", 1}, {0.001, "mg", 1e-3}, {0, "µg", 1e-6}},
	},
	Length: {
		metric: []display{{1000, "km", 1000}, {1, "m", 1}, {0.01, "cm", 0.01}, {0.001, "mm", 1e-3}, {0, "µm", 1e-6}},
		us:     []display{{1609.344, "mi", 1609.344}, {0.3048, "ft", 0.3048}, {0.00254, "in", 0.0254}, {0.001, "mm", 1e-3}, {0, "µm", 1e-6}},
	},
	Area: {
		metric: []display{{0.1, "m²", 1}, {0, "cm²", 1e-4}},
		us:     []display{{0.09290304, "ft²", 0.09290304}, {0, "in²", 0.00064516}},
	},
	Density:      {metric: []display{{0.1, "g/L", 1}, {0.0001, "mg/L", 1e-3}, {0, "µg/L", 1e-6}}},
	Molarity:     {metric: []display{{0.01, "mmol/L", 1}, {0, "µmol/L", 1e-3}}},
	Conductivity: {metric: []display{{0.1, "mS/cm", 1}, {0, "µS/cm", 1e-3}}},
	Time:         {metric: []display{{172800, "d", 86400}, {7200, "h", 3600}, {120, "min", 60}, {0, "s", 1}}},
	Flow: {
		metric: []display{{0.1, "L/h", 1}, {0, "mL/h", 1e-3}},
		us:     []display{{0.1 * usGallonL, "gal/h", usGallonL}, {0, "fl oz/h", usFlOzL}},
	},
	Speed:  {us: []display{{0, "mph", 0.44704}}},
	Power:  {metric: []display{{1000, "kW", 1000}, {0, "W", 1}}},
	Energy: {metric: []display{{1000, "kWh", 1000}, {0, "Wh", 1}}},
	Share:  {metric: []display{{0, "%", 0.01}}},
}

// Exact prints value so that Parse gives it back bit for bit: the shortest
// decimal in the inner unit. It is for machines and tests, not for growers:
// value is the amount [inner unit of k].
func Exact(value float64, k Kind) string {
	if value == 0 {
		value = 0 // without its sign
	}
	s := strconv.FormatFloat(value, 'g', -1, 64)
	if u := k.Unit(); u != "" {
		s += " " + u
	}
	return s
}

// Format prints value with its unit and with no digit that its spread does not
// earn: the last digit stands where the first digit of spread stands. The unit
// follows from k, the size and sys. value is the amount and spread its
// half-width, such as a standard deviation, both [inner unit of k].
//
// Special cases: where spread is zero, below it or NaN it is not known, and
// three digits stand (temperature and pH: one decimal); NaN and the infinities
// print as "not known".
func Format(value float64, k Kind, sys System, spread float64) string {
	d := displayOf(value, k, sys)
	return d.print(value, k, spread)
}

// FormatIn is Format in the unit that symbol names, such as "cm" for a
// Secchi reading of any size. value is the amount and spread its half-width,
// both [inner unit of k]. It panics where symbol is not a unit of k.
func FormatIn(value float64, k Kind, symbol string, spread float64) string {
	switch {
	case isFahrenheit(k, symbol):
		return fahrenheit.print(value, k, spread)
	case k == Temperature && symbol == "K":
		panic("units: temperatures are not printed in kelvins")
	}
	scale, _, err := scaleOf(k, symbol)
	if err != nil {
		panic("units: " + strconv.Quote(symbol) + " is not a unit of " + k.String())
	}
	f, _ := scale.Float64()
	return display{0, symbol, f}.print(value, k, spread)
}

// FormatBand prints the ends of a spread, as "2.2–2.6 cm": low and high are its
// ends [inner unit of k]. The digits are those that half their distance earns.
func FormatBand(low, high float64, k Kind, sys System) string {
	if bad(low) || bad(high) {
		return notKnown
	}
	d := displayOf(math.Max(math.Abs(low), math.Abs(high)), k, sys)
	spread := math.Abs(high-low) / 2
	a, b := d.digits(low, k, spread), d.digits(high, k, spread)
	if a == b {
		return a + d.tail()
	}
	sep := "–"
	if strings.HasPrefix(a, "-") || strings.HasPrefix(b, "-") {
		sep = " to "
	}
	return a + sep + b + d.tail()
}

// Decimals returns how many decimals a number with this spread has earned [1]:
// its last digit stands where the first digit of the spread stands. Below zero
// it counts the zeros before the point: -1 is tens. spread is the half-width in
// the unit that will be printed [any]; it must be above zero.
func Decimals(spread float64) int {
	return -int(math.Floor(math.Log10(spread) + 1e-9))
}

const notKnown = "not known"

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

func displayOf(value float64, k Kind, sys System) display {
	if k == Temperature || k == TemperatureDifference {
		if sys == US {
			return fahrenheit
		}
		return display{0, "°C", 1}
	}
	list := printing[k].metric
	if us := printing[k].us; sys == US && us != nil {
		list = us
	}
	if len(list) == 0 {
		return display{0, k.Unit(), 1}
	}
	for _, d := range list {
		if math.Abs(value) >= d.from*(1-1e-12) {
			return d
		}
	}
	return list[0]
}

// fahrenheit is the one scale that does not start at the same zero.
var fahrenheit = display{0, "°F", 1 / 1.8}

func isFahrenheit(k Kind, symbol string) bool {
	return (k == Temperature || k == TemperatureDifference) && (symbol == "°F" || symbol == "F")
}

func (d display) tail() string {
	if d.symbol == "" {
		return ""
	}
	return " " + d.symbol
}

func (d display) print(value float64, k Kind, spread float64) string {
	switch {
	case bad(value):
		return notKnown
	case k == Ratio && value > 0 && value <= 1:
		return "1:" + d.digits(1/value, k, spread/value/value)
	case k == Ratio:
		return d.digits(value, k, spread) + ":1"
	}
	return d.digits(value, k, spread) + d.tail()
}

// digits prints the number alone.
func (d display) digits(value float64, k Kind, spread float64) string {
	v, s := value/d.factor, spread/d.factor
	if d.symbol == "°F" && k == Temperature {
		v += 32
	}
	n := 1 // temperature and pH of unknown spread
	earned := s > 0 && !math.IsInf(s, 0)
	switch {
	case earned:
		n = Decimals(s)
	case k == Temperature || k == TemperatureDifference || k == PH:
	case v == 0:
		n = 0
	default:
		n = 2 - int(math.Floor(math.Log10(math.Abs(v))))
	}
	return trimZero(round(v, n), n, earned)
}

// round prints v with n decimals, or rounded to 10^-n where n is below zero.
func round(v float64, n int) string {
	n = min(n, 30)
	if n >= 0 {
		return strconv.FormatFloat(v, 'f', n, 64)
	}
	p := math.Pow(10, float64(-n))
	return strconv.FormatFloat(math.Round(v/p)*p, 'f', 0, 64)
}

// trimZero drops the sign of a zero and, where no spread speaks for them, the
// zeros at the end of the decimals.
func trimZero(s string, n int, earned bool) string {
	if !earned && n > 0 && strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}
