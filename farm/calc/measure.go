package calc

import (
	"errors"
	"strconv"
	"strings"

	"sodalake/science/units"
)

// scales say, for a field's printed unit, which kind of quantity it is and how
// many of it make one inner unit of that kind.
var scales = map[string]struct {
	kind     units.Kind
	perInner float64
}{
	"°C": {units.Temperature, 1}, "m": {units.Length, 1}, "cm": {units.Length, 100}, "mm": {units.Length, 1000}, "µm": {units.Length, 1e6},
	"m²": {units.Area, 1}, "L": {units.Volume, 1}, "mL": {units.Volume, 1000}, "g": {units.Mass, 1}, "mg": {units.Mass, 1000}, "kg": {units.Mass, 0.001},
	"g/L": {units.Density, 1}, "mg/L": {units.Density, 1000}, "mS/cm": {units.Conductivity, 1}, "W": {units.Power, 1}, "W/m²": {units.Irradiance, 1},
	"µmol/m²/s": {units.PhotonFlux, 1}, "m/s": {units.Speed, 1}, "s": {units.Time, 1}, "h": {units.Time, 1.0 / 3600}, "d": {units.Time, 1.0 / 86400},
	"%": {units.Share, 100},
}

// Measure reads a number with or without its unit in the unit of f: a bare
// number is taken in f's own unit.
func Measure(f *Field, text string) (float64, error) { return MeasureIn(units.Metric)(f, text) }

// MeasureIn is Measure in a household system, which decides cups and spoons.
func MeasureIn(sys units.System) func(f *Field, text string) (float64, error) {
	return func(f *Field, text string) (float64, error) {
		if x, err := strconv.ParseFloat(text, 64); err == nil {
			return x, nil
		}
		if bare := strings.Replace(text, ",", ".", 1); strings.Count(text, ",") == 1 {
			if x, err := strconv.ParseFloat(bare, 64); err == nil {
				return x, nil
			}
		}
		scale, ok := scales[f.Unit]
		if !ok {
			return 0, invalid(f.Key, "write a plain number"+inUnit(f.Unit), "%s %q is not a number", f.Key, text)
		}
		q, err := units.Parse(text, scale.kind, sys)
		if err != nil {
			var ue *units.Error
			hint := ""
			if errors.As(err, &ue) {
				hint = ue.Hint
			}
			return 0, invalid(f.Key, hint, "%s %q cannot be read: %s", f.Key, text, err.Error())
		}
		return q.Value * scale.perInner, nil
	}
}

func inUnit(unit string) string {
	if unit == "" {
		return ""
	}
	return " in " + unit
}
