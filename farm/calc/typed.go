package calc

import (
	"encoding/json"
	"strconv"
	"strings"
)

// Typed turns what a person typed, field by field, into the JSON object that
// Run reads. Numbers may carry a unit that the field's quantity knows; amounts
// are lines or commas of a name and a number ("NaHCO3 16.8, NaCl 5"). measure
// reads a number with its unit and returns it in the field's own unit.
func (c *Calculator) Typed(values map[string]string, measure func(f *Field, text string) (float64, error)) ([]byte, error) {
	out := map[string]any{}
	known := map[string]*Field{}
	for i := range c.Inputs {
		known[c.Inputs[i].Key] = &c.Inputs[i]
	}
	for _, key := range sortedKeys(values) {
		text := strings.TrimSpace(values[key])
		f := known[key]
		if other, factor := spelled(key, known); f == nil && other != "" {
			// The number is read in the unit of the key as it was typed.
			as := *known[other]
			as.Key = key
			as.Unit = map[bool]string{true: "cm", false: "m"}[strings.HasSuffix(key, "_cm")]
			if text == "" {
				continue
			}
			v, err := as.typed(text, measure)
			if err != nil {
				return nil, err
			}
			x, ok := v.(float64)
			if !ok {
				return nil, invalid(key, "", "%s %q is not a number", key, text)
			}
			if _, twice := values[other]; twice {
				return nil, invalid(key, "", "%s and %s are both given", key, other)
			}
			out[other] = x * factor
			continue
		}
		if f == nil {
			return nil, invalid(key, "known are "+strings.Join(fieldKeys(c.Inputs), ", "), "field %q is not known", key)
		}
		if text == "" {
			continue
		}
		v, err := f.typed(text, measure)
		if err != nil {
			return nil, err
		}
		out[key] = v
	}
	return json.Marshal(out)
}

func (f *Field) typed(text string, measure func(*Field, string) (float64, error)) (any, error) {
	if strings.HasPrefix(text, "{") || strings.HasPrefix(text, "[") {
		if json.Valid([]byte(text)) {
			return json.RawMessage(text), nil
		}
	}
	switch f.Kind {
	case Number:
		return measure(f, text)
	case Whole:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return nil, invalid(f.Key, "", "%s %q is not a whole number", f.Key, text)
		}
		return n, nil
	case Flag:
		switch strings.ToLower(text) {
		case "yes", "true", "on", "1":
			return true, nil
		case "no", "false", "off", "0":
			return false, nil
		}
		return nil, invalid(f.Key, "say yes or no", "%s %q is neither yes nor no", f.Key, text)
	case List:
		return splitList(text), nil
	case Amounts:
		return f.amounts(text)
	case Rows:
		return f.rows(text)
	}
	return text, nil
}

// splitList splits at commas, semicolons and line ends.
func splitList(text string) []string {
	var out []string
	for _, s := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' || r == '\r' }) {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// amounts reads "NaHCO3 16.8, NaCl=5" as names with numbers.
func (f *Field) amounts(text string) (any, error) {
	out := map[string]float64{}
	for _, line := range splitList(text) {
		cut := strings.LastIndexAny(line, " =:\t")
		if cut <= 0 {
			return nil, invalid(f.Key, "write a name and a number, as in NaHCO3 16.8", "%s line %q has no number", f.Key, line)
		}
		name := strings.Trim(line[:cut], " =:\t")
		x, err := strconv.ParseFloat(strings.TrimSpace(line[cut+1:]), 64)
		if err != nil {
			return nil, invalid(f.Key, "write a name and a number, as in NaHCO3 16.8", "%s line %q does not end in a number", f.Key, line)
		}
		if _, twice := out[name]; twice {
			return nil, invalid(f.Key, "", "%s names %q twice", f.Key, name)
		}
		out[name] = x
	}
	return out, nil
}

// rows reads one row a line, its columns in order, as numbers.
func (f *Field) rows(text string) (any, error) {
	var out []map[string]any
	for _, line := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' || r == ';' }) {
		cells := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' || r == ',' })
		if len(cells) == 0 {
			continue
		}
		if len(cells) != len(f.Columns) {
			return nil, invalid(f.Key, "columns are "+strings.Join(fieldKeys(f.Columns), ", "), "%s row %q has %d columns, not %d", f.Key, line, len(cells), len(f.Columns))
		}
		row := map[string]any{}
		for i, c := range cells {
			if f.Columns[i].Kind == Text {
				row[f.Columns[i].Key] = c
				continue
			}
			x, err := strconv.ParseFloat(c, 64)
			if err != nil {
				return nil, invalid(f.Key, "", "%s %q is not a number", f.Columns[i].Key, c)
			}
			row[f.Columns[i].Key] = x
		}
		out = append(out, row)
	}
	return out, nil
}
