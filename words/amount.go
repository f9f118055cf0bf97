package words

import (
	"math"
	"strings"

	"sodalake/farm/advice"
)

// stored names, for each unit that an amount may carry, the ending under which
// the same unit is stored.
var stored = map[string]string{
	"L": "l", "l": "l", "mL": "ml", "ml": "ml", "g": "g", "kg": "kg", "mg": "mg", "cm": "cm", "mm": "mm",
	"m": "m", "m²": "m2", "%": "pct", "°C": "c", "min": "min", "h": "h", "days": "d", "day": "d",
	"L/day": "l_per_d", "g/day": "g_per_d", "g/L": "g_per_l", "mg/L": "mg_per_l", "fields": "fields",
}

// Amount says how much to take, in the farm's measures. A unit that is not
// known is said as it is.
func (s *Speaker) Amount(a advice.Amount) Said {
	u := unit{print: a.Unit}
	if name, ok := stored[a.Unit]; ok {
		_, u, _ = split(name)
		if name == "fields" {
			u = named[name]
		}
	} else if key := "unit." + a.Unit; Has(key) {
		u.print = s.T(key)
	}
	if s.measures == US && u.suffix == "g" && a.Value >= 4*gramsPerOunce {
		u = unit{us: "oz", factor: 1 / gramsPerOunce, usFinest: .1}
	}
	value, print, finest := u.in(s.measures, a.Value)
	low, _, _ := u.in(s.measures, a.Low)
	high, _, _ := u.in(s.measures, a.High)
	said := Said{Unit: print}
	if step := Step(high-low, finest); step > 0 && a.Low < a.High {
		// An amount is weighed or poured: it keeps two digits even where the
		// sensible range is wide.
		step = math.Min(step, math.Max(stepOf(value, finest)*10, finest))
		said.Value, said.Spread = s.text(value, step), s.spread(low, high, step)
	} else {
		said.Value = s.text(value, u.step(value, finest))
	}
	return said
}

// AmountUnit returns the unit in which the speaker takes the amount, and the
// amount typed in that unit; StoredAmount turns it back.
func (s *Speaker) AmountUnit(a advice.Amount) (value string, print string) {
	said := s.Amount(a)
	return strings.ReplaceAll(said.Value, s.group, ""), said.Unit
}

// StoredAmount turns x, typed in the unit that AmountUnit gave for a, into a's
// own unit.
func (s *Speaker) StoredAmount(a advice.Amount, x float64) float64 {
	if s.measures != US {
		return x
	}
	if a.Unit == "g" && a.Value >= 4*gramsPerOunce {
		return x * gramsPerOunce
	}
	if name, ok := stored[a.Unit]; ok {
		return s.Stored(name, x)
	}
	return x
}
