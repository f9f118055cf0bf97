package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"sort"
	"strconv"
	"strings"
)

// FieldKind says how a field is typed and shown.
type FieldKind string

// The closed list of field kinds.
const (
	Number  FieldKind = "number"
	Whole   FieldKind = "whole"   // an integer
	Text    FieldKind = "text"    // free text
	Choice  FieldKind = "choice"  // one of Choices
	Flag    FieldKind = "flag"    // yes or no
	Amounts FieldKind = "amounts" // names with a number each: salts, ions
	List    FieldKind = "list"    // several texts
	Rows    FieldKind = "rows"    // several rows of named numbers
	Moment  FieldKind = "time"    // RFC 3339
	Date    FieldKind = "date"    // 2006-01-02
)

// Field describes one input or output of a calculator. It is read from the
// tags of the struct field: json, unit, label, help, kind, default, min, max,
// choices.
type Field struct {
	Key      string // JSON name, with its unit
	Label    string
	Unit     string // as printed; empty for a pure number or a text
	Help     string
	Kind     FieldKind
	Default  string // as typed; empty if there is none
	Min, Max float64
	Choices  []string
	Required bool
	Columns  []Field // of Rows
	index    int
}

func fieldsOf(t reflect.Type, input bool) []Field {
	var out []Field
	for i := range t.NumField() {
		sf := t.Field(i)
		if sf.Anonymous || !sf.IsExported() {
			continue
		}
		key, opts, _ := strings.Cut(sf.Tag.Get("json"), ",")
		if key == "" || key == "-" {
			panic("calc: field without a json name: " + t.Name() + "." + sf.Name)
		}
		f := Field{
			Key: key, Label: sf.Tag.Get("label"), Unit: sf.Tag.Get("unit"), Help: sf.Tag.Get("help"),
			Default: sf.Tag.Get("default"), Kind: FieldKind(sf.Tag.Get("kind")),
			Min: math.Inf(-1), Max: math.Inf(1), index: i,
		}
		if f.Label == "" {
			panic("calc: field without a label: " + t.Name() + "." + sf.Name)
		}
		f.Required = input && sf.Type.Kind() != reflect.Pointer && sf.Type.Kind() != reflect.Map &&
			sf.Type.Kind() != reflect.Slice && f.Default == "" && !strings.Contains(opts, "omitempty") && sf.Type.Kind() != reflect.Bool
		if s := sf.Tag.Get("min"); s != "" {
			f.Min = mustFloat(s)
		}
		if s := sf.Tag.Get("max"); s != "" {
			f.Max = mustFloat(s)
		}
		if s := sf.Tag.Get("choices"); s != "" {
			f.Choices = strings.Split(s, "|")
		}
		if f.Kind == "" {
			f.Kind = kindOf(sf.Type, f.Choices)
		}
		if f.Kind == Rows {
			f.Columns = fieldsOf(sf.Type.Elem(), input)
		}
		out = append(out, f)
	}
	return out
}

func kindOf(t reflect.Type, choices []string) FieldKind {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Float64:
		return Number
	case reflect.Int, reflect.Int64:
		return Whole
	case reflect.Bool:
		return Flag
	case reflect.String:
		if len(choices) > 0 {
			return Choice
		}
		return Text
	case reflect.Map:
		return Amounts
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Struct {
			return Rows
		}
		return List
	}
	panic("calc: no field kind for " + t.String())
}

func mustFloat(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("calc: bad number in a tag: " + s)
	}
	return v
}

// maxInput bounds what a calculator reads; the largest honest input is a few
// kilobytes of salts.
const maxInput = 1 << 20

// decode reads one JSON object into in and checks it against the fields.
func decode(raw []byte, in any, fields []Field) error {
	if len(raw) > maxInput {
		return invalid("", "", "the input is larger than %d bytes", maxInput)
	}
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(raw, &keys); err != nil {
		return invalid("", "write one object in braces, names in double quotes", "the input is not one JSON object: %s", jsonCause(err))
	}
	known := make(map[string]*Field, len(fields))
	for i := range fields {
		known[fields[i].Key] = &fields[i]
	}
	for _, k := range sortedKeys(keys) {
		if known[k] != nil {
			continue
		}
		other, factor := spelled(k, known)
		if other == "" {
			return invalid(k, "known are "+strings.Join(fieldKeys(fields), ", "), "field %q is not known", k)
		}
		if _, twice := keys[other]; twice {
			return invalid(k, "", "%s and %s are both given", k, other)
		}
		var x float64
		if err := json.Unmarshal(keys[k], &x); err != nil {
			return invalid(k, "", "%s cannot be read as number: %s", k, jsonCause(err))
		}
		keys[other], _ = json.Marshal(x * factor)
	}
	v := reflect.ValueOf(in).Elem()
	for i := range fields {
		f := &fields[i]
		target := v.Field(f.index)
		raw, given := keys[f.Key]
		if given && string(bytes.TrimSpace(raw)) == "null" {
			given = false
		}
		if !given {
			if f.Default != "" {
				if err := setText(target, f, f.Default); err != nil {
					panic("calc: bad default of " + f.Key)
				}
				continue
			}
			if f.Required {
				return invalid(f.Key, f.Help, "%s is missing", f.Key)
			}
			continue
		}
		dec := json.NewDecoder(bytes.NewReader(raw))
		dec.DisallowUnknownFields()
		if err := dec.Decode(target.Addr().Interface()); err != nil {
			return invalid(f.Key, "", "%s cannot be read as %s: %s", f.Key, f.Kind, jsonCause(err))
		}
		if err := f.check(target); err != nil {
			return err
		}
	}
	return nil
}

// spelled is the known key that a person means by another spelling of a length,
// "length_cm" for "length_m" or "depth_m" for "height_m", and the factor into
// its unit; "" if there is none.
func spelled(key string, known map[string]*Field) (other string, factor float64) {
	if other, factor = otherLength(key); known[other] != nil {
		return other, factor
	}
	if rest, ok := strings.CutPrefix(key, "depth_"); ok {
		if key = "height_" + rest; known[key] != nil {
			return key, 1
		}
		if other, factor = otherLength(key); known[other] != nil {
			return other, factor
		}
	}
	return "", 0
}

// otherLength is the key of the same length in the other unit, metres for
// centimetres and back, and the factor between them.
func otherLength(key string) (other string, factor float64) {
	if stem, ok := strings.CutSuffix(key, "_cm"); ok {
		return stem + "_m", 0.01
	}
	if stem, ok := strings.CutSuffix(key, "_m"); ok {
		return stem + "_cm", 100
	}
	return "", 0
}

// check holds a decoded value against the field's bounds and choices.
func (f *Field) check(v reflect.Value) error {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return nil
		}
		v = v.Elem()
	}
	switch v.Kind() {
	case reflect.Float64:
		return f.bounds(f.Key, v.Float())
	case reflect.Int, reflect.Int64:
		return f.bounds(f.Key, float64(v.Int()))
	case reflect.String:
		if len(f.Choices) == 0 {
			return nil
		}
		for _, c := range f.Choices {
			if c == v.String() {
				return nil
			}
		}
		return invalid(f.Key, "one of "+strings.Join(f.Choices, ", "), "%s %q is not known", f.Key, v.String())
	case reflect.Map:
		for _, k := range v.MapKeys() {
			if v.MapIndex(k).Kind() == reflect.Float64 {
				if err := f.bounds(f.Key+"."+k.String(), v.MapIndex(k).Float()); err != nil {
					return err
				}
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			for j := range f.Columns {
				c := &f.Columns[j]
				if err := c.check(v.Index(i).Field(c.index)); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (f *Field) bounds(key string, x float64) error {
	unit := ""
	if f.Unit != "" {
		unit = " " + f.Unit
	}
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return invalid(key, "", "%s is not a number", key)
	case x < f.Min:
		return invalid(key, "", "%s %g is below %g%s", key, x, f.Min, unit)
	case x > f.Max:
		return invalid(key, "", "%s %g is above %g%s", key, x, f.Max, unit)
	}
	return nil
}

// setText sets a field from what a person typed without a unit.
func setText(v reflect.Value, f *Field, text string) error {
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		v = v.Elem()
	}
	switch v.Kind() {
	case reflect.Float64:
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return err
		}
		v.SetFloat(x)
	case reflect.Int, reflect.Int64:
		x, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return err
		}
		v.SetInt(x)
	case reflect.String:
		v.SetString(text)
	case reflect.Bool:
		v.SetBool(text == "true" || text == "yes" || text == "on")
	default:
		return fmt.Errorf("calc: %s cannot have a default", f.Key)
	}
	return nil
}

// jsonCause says in plain words why JSON could not be read.
func jsonCause(err error) string {
	var syn *json.SyntaxError
	var typ *json.UnmarshalTypeError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF), err != nil && strings.Contains(err.Error(), "unexpected end"):
		return "it ends too early"
	case errors.As(err, &syn):
		return fmt.Sprintf("%s at byte %d", strings.TrimPrefix(syn.Error(), "json: "), syn.Offset)
	case errors.As(err, &typ):
		return "found a " + typ.Value
	}
	return strings.TrimPrefix(err.Error(), "json: ")
}

func fieldKeys(fs []Field) []string {
	out := make([]string, len(fs))
	for i := range fs {
		out[i] = fs[i].Key
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
