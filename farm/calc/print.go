package calc

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Describe tells a field in one line: label, unit, bounds, default, choices.
func (f *Field) Describe() string {
	var b strings.Builder
	b.WriteString(f.Label)
	if f.Unit != "" {
		b.WriteString(" [" + f.Unit + "]")
	}
	switch {
	case !math.IsInf(f.Min, 0) && !math.IsInf(f.Max, 0):
		fmt.Fprintf(&b, ", %s to %s", plain(f.Min), plain(f.Max))
	case !math.IsInf(f.Min, 0):
		fmt.Fprintf(&b, ", from %s", plain(f.Min))
	}
	if f.Default != "" {
		b.WriteString(", else " + f.Default)
	}
	if len(f.Choices) > 0 {
		named := slices.DeleteFunc(slices.Clone(f.Choices), func(c string) bool { return c == "" })
		b.WriteString(", one of " + strings.Join(named, ", "))
	}
	if f.Required {
		b.WriteString(", needed")
	}
	if f.Help != "" {
		b.WriteString("; " + f.Help)
	}
	return b.String()
}

// plain writes a bound as a person does: 1000000, not 1e+06.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Shown is one line of an answer for people.
type Shown struct {
	Field Field
	Value string  // as printed, without its unit
	Rows  []Shown // of named amounts: one each
}

// Show returns an answer line by line, without what is empty, in the order of
// the output's fields.
func (c *Calculator) Show(answer any) []Shown {
	v := reflect.ValueOf(answer)
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	var out []Shown
	for i := range c.Outputs {
		f := c.Outputs[i]
		if s, ok := show(f, v.Field(f.index)); ok {
			out = append(out, s)
		}
	}
	return out
}

func show(f Field, v reflect.Value) (Shown, bool) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return Shown{}, false
		}
		v = v.Elem()
	}
	s := Shown{Field: f}
	switch v.Kind() {
	case reflect.Float64:
		s.Value = Digits(v.Float())
	case reflect.Int, reflect.Int64:
		s.Value = strconv.FormatInt(v.Int(), 10)
	case reflect.Bool:
		s.Value = map[bool]string{true: "yes", false: "no"}[v.Bool()]
	case reflect.String:
		s.Value = v.String()
	case reflect.Map:
		m := map[string]float64{}
		for _, k := range v.MapKeys() {
			if x := v.MapIndex(k); x.Kind() == reflect.Float64 {
				m[k.String()] = x.Float()
			}
		}
		for _, k := range sortedKeys(m) {
			s.Rows = append(s.Rows, Shown{Field: Field{Key: k, Label: k, Unit: f.Unit}, Value: Digits(m[k])})
		}
		return s, len(s.Rows) > 0
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.String {
			var parts []string
			for i := range v.Len() {
				parts = append(parts, v.Index(i).String())
			}
			s.Value = strings.Join(parts, ", ")
			return s, len(parts) > 0
		}
		for i := range v.Len() {
			row := Shown{Field: Field{Label: strconv.Itoa(i + 1)}}
			for j := range f.Columns {
				col := f.Columns[j]
				c, ok := show(col, v.Index(i).Field(col.index))
				switch {
				case !ok, j == 0 && c.Value == row.Field.Label: // a number that only counts
				case row.Value == "":
					row.Value = cell(col, c.Value)
				case strings.HasSuffix(row.Value, "."):
					row.Value += " " + cell(col, c.Value)
				default:
					row.Value += ", " + cell(col, c.Value)
				}
			}
			s.Rows = append(s.Rows, row)
		}
		return s, len(s.Rows) > 0
	default:
		return Shown{}, false
	}
	return s, s.Value != ""
}

// cell is a value of a row with its name and unit; a sentence needs no name.
func cell(col Field, value string) string {
	if strings.HasSuffix(value, ".") {
		return value
	}
	return strings.TrimSpace(col.Label + " " + value + " " + col.Unit)
}

// Digits prints a number with four leading digits, as a calculator's answer
// that carries no spread of its own.
func Digits(x float64) string {
	switch a := math.Abs(x); {
	case math.IsNaN(x):
		return "not known"
	case math.IsInf(x, 0):
		return "without end"
	case a < 1e-300:
		return "0"
	case a >= 1e6 || a < 1e-4:
		return strconv.FormatFloat(x, 'e', 3, 64)
	case a >= 1000:
		return strconv.FormatFloat(x, 'f', 0, 64)
	default:
		decimals := 3 - int(math.Floor(math.Log10(a)))
		s := strconv.FormatFloat(x, 'f', decimals, 64)
		if strings.Contains(s, ".") {
			s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
		}
		return s
	}
}

// ToldBy returns what an answer of Run repeats beside its numbers, nil if it
// repeats nothing.
func ToldBy(answer any) *Told {
	if t, ok := answer.(teller); ok {
		return t.told()
	}
	return nil
}
