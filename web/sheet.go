package web

import (
	"encoding/json"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/words"
)

// kindOf describes one kind for the sheet.
func kindOf(w *words.Speaker, name string, checked bool, p *notePage, setup Setup) noteKind {
	k := farm.KindNamed(name)
	out := noteKind{Name: name, Label: w.T("kind." + name), Full: w.T("kind." + name), Checked: checked, Mode: "none"}
	if words.Has("quick." + name) {
		out.Label = w.T("quick." + name)
		if name == "temperature" && w.Measures() == words.US {
			out.Label = w.T("quick.temperature_us")
		}
	}
	fields := map[string]farm.Field{}
	for _, f := range k.Fields() {
		fields[f.Key] = f
	}
	leadKey := leadOf(k)
	out.Optional = mayBeEmpty(k)
	if leadKey == "mass" {
		out.Mode, out.Unit = "number", w.UnitOf("salt_g")
	} else if f, ok := fields[leadKey]; ok {
		switch f.Form {
		case farm.FormNumber, farm.FormWhole:
			out.Mode, out.Unit, out.Reading = "number", w.UnitOf(leadKey), k.Group == farm.GroupReading && f.Form == farm.FormNumber
			if out.Unit == "" {
				out.Unit = f.Unit
			}
		case farm.FormWord:
			out.Mode = "choice"
			out.Fields = append(out.Fields, fieldOf(w, name, f, p))
		case farm.FormWords:
			out.Mode = "choice"
			out.Fields = append(out.Fields, fieldOf(w, name, f, p))
		case farm.FormDigest:
			out.Mode = "choice"
			out.Fields = append(out.Fields, noteField{Input: "photo"})
		case farm.FormText, farm.FormName, farm.FormMedium:
			out.Mode = "words"
			out.Fields = append(out.Fields, fieldOf(w, name, f, p))
		}
	}
	for _, key := range asked[name] {
		if key == leadKey {
			continue
		}
		switch key {
		case "salt":
			out.Fields = append(out.Fields, noteField{Name: name + ".salt", Label: w.T("note.salt"), Input: "salt", Options: p.Salts})
		case "recipe":
			f := noteField{Name: name + ".recipe", Label: w.T("note.medium"), Input: "select"}
			for _, r := range setup.Recipes {
				f.Options = append(f.Options, option{r.ID, r.Name, false})
			}
			if len(f.Options) == 0 {
				f.Input = "text"
			}
			out.Fields = append(out.Fields, f)
		case "instrument":
			f := fieldOf(w, name, fields[key], p)
			for _, in := range setup.Instruments {
				f.Input, f.Options = "select", append(f.Options, option{in.ID, in.Name, false})
			}
			out.Fields = append(out.Fields, f)
		default:
			if f, ok := fields[key]; ok {
				out.Fields = append(out.Fields, fieldOf(w, name, f, p))
			}
		}
	}
	if out.Mode == "none" && len(out.Fields) == 0 {
		out.Fields = append(out.Fields, noteField{Name: name + ".text", Label: w.T("note.text"), Input: "text"})
	}
	return out
}

func leadOf(k *farm.Kind) string {
	if key, ok := lead[k.Name]; ok {
		return key
	}
	for _, list := range [][]string{k.Main, k.Need} {
		if len(list) > 0 {
			return list[0]
		}
	}
	return ""
}

// fieldOf turns a field of a body into an input.
func fieldOf(w *words.Speaker, kind string, f farm.Field, p *notePage) noteField {
	label := upperFirst(f.What)
	if key := "field." + f.Key; words.Has(key) {
		label = w.T(key)
	}
	out := noteField{Name: kind + "." + f.Key, Label: label, Unit: w.UnitOf(f.Key), Input: "text"}
	switch f.Form {
	case farm.FormNumber, farm.FormWhole:
		out.Input = "number"
		if out.Unit == "" {
			out.Unit = f.Unit
		}
	case farm.FormWord, farm.FormWords:
		out.Input = "select"
		for _, word := range f.Words {
			label := strings.ReplaceAll(word, "_", " ")
			if key := "word." + f.Key + "." + word; words.Has(key) {
				label = w.T(key)
			}
			out.Options = append(out.Options, option{Value: word, Label: label})
		}
	case farm.FormName:
		if f.Key == "to" || f.Key == "from" {
			out.Input, out.Options = "select", p.Names
		}
	case farm.FormYes:
		out.Input = "yes"
	}
	return out
}

// expectsOf are the readings that the estimate expects of a vessel.
func expectsOf(w *words.Speaker, v keeper.Vessel) []expect {
	var out []expect
	for _, c := range []struct {
		kind, key string
		quantity  keeper.Quantity
	}{
		{"secchi", "secchi_cm", keeper.SecchiCM}, {"ph", "ph", keeper.PHShown}, {"temperature", "temp_c", keeper.TempC}, {"level", "level_cm", keeper.LevelCM},
		{"conductivity", "conductivity_ms_per_cm", keeper.ConductivityM},
	} {
		b, ok := v.Now.Bands[c.quantity]
		for _, q := range []keeper.Quantity{keeper.PH, keeper.PH25C} {
			if !ok && c.kind == "ph" {
				b, ok = v.Now.Bands[q]
			}
		}
		if !ok || !v.Now.Known {
			continue
		}
		said := w.Band(c.key, b)
		what := v.Spec.Name + ", " + w.T("kind."+c.kind)
		out = append(out, expect{
			Vessel: v.Spec.ID, Kind: c.kind, Text: w.T("note.expected", "what", what, "range", said.Range()),
			Low:  strconv.FormatFloat(w.Shown(c.key, b.Low), 'f', 3, 64),
			High: strconv.FormatFloat(w.Shown(c.key, b.High), 'f', 3, 64),
		})
	}
	return out
}

// leadValue is the number that the pad made, in the stored unit.
func leadValue(w *words.Speaker, k *farm.Kind, text string) (float64, error) {
	x, err := plainNumber("value", text)
	if err != nil {
		return 0, err
	}
	key := leadOf(k)
	if key == "mass" {
		key = "salt_g"
	}
	y := w.Stored(key, x)
	if y != x {
		y = roundTo(y, 5)
	}
	return y, nil
}

// wholes are acts that mean all of it where no amount is given.
var wholes = map[string]bool{"discarded": true, "moved": true}

// mayBeEmpty tells whether a note of kind k says enough without its number.
func mayBeEmpty(k *farm.Kind) bool {
	key := leadOf(k)
	if key == "mass" {
		return false
	}
	return wholes[k.Name] || len(k.Main) > 1 || !slices.Contains(k.Main, key) && !slices.Contains(k.Need, key)
}

// bodyOf makes the body of a note from its form.
func bodyOf(w *words.Speaker, k *farm.Kind, form url.Values) (json.RawMessage, error) {
	body := map[string]any{}
	get := func(key string) string { return strings.TrimSpace(form.Get(k.Name + "." + key)) }
	leadKey := leadOf(k)
	value := strings.TrimSpace(form.Get("value"))
	fields := map[string]farm.Field{}
	for _, f := range k.Fields() {
		fields[f.Key] = f
	}
	form1 := fields[leadKey].Form
	if leadKey == "mass" || form1 == farm.FormNumber || form1 == farm.FormWhole {
		if value == "" && !mayBeEmpty(k) {
			return nil, invalid("value", w.T("note.empty_value"), "value is missing")
		}
		if value != "" {
			x, err := leadValue(w, k, value)
			if err != nil {
				return nil, err
			}
			if leadKey == "mass" {
				salt := get("salt")
				if salt == "" {
					return nil, invalid("salt", "", "salt is missing")
				}
				body["salts_g"] = map[string]float64{salt: x}
			} else {
				body[leadKey] = x
			}
		}
	}
	for key, f := range fields {
		text := get(key)
		if text == "" {
			continue
		}
		switch f.Form {
		case farm.FormNumber, farm.FormWhole:
			x, err := plainNumber(key, text)
			if err != nil {
				return nil, err
			}
			y := w.Stored(key, x)
			if y != x {
				y = roundTo(y, 5)
			}
			body[key] = y
		case farm.FormWords:
			body[key] = []string{text}
		case farm.FormYes:
			body[key] = text == "yes"
		case farm.FormMedium:
			body[key] = map[string]string{"recipe": text}
		default:
			body[key] = text
		}
	}
	if op := form.Get("op"); op != "" && op != "=" && k.Group == farm.GroupReading && value != "" {
		body["op"] = op
	}
	if recipe := get("recipe"); recipe != "" {
		body["medium"] = map[string]string{"recipe": recipe}
	}
	if wholes[k.Name] && value == "" {
		body["all"] = true
	}
	return json.Marshal(body)
}
