package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/units"
)

type noteCmd struct {
	Vessel string   `arg:"" help:"Vessel, by its identifier; - for what speaks of none."`
	Kind   string   `arg:"" help:"What is noted: secchi, ph, temperature, level, harvested, topped_up, fed, ..."`
	Value  []string `arg:"" optional:"" help:"The value with its unit, and field=value: 2.4cm, '>18cm', 320L, with=water, salts_g=KNO3:140."`
	When   string   `help:"When it happened, if not now: 07:12, or 2026-06-18T07:12." placeholder:"TIME"`
	Item   string   `help:"The item of the day list that this answers." placeholder:"ID"`
}

// Run records one reading or act.
func (c *noteCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{Quick: true})
	if err != nil {
		return err
	}
	defer done()
	kind, bad := farm.ParseKind(c.Kind)
	if bad != nil {
		return bad
	}
	body, err := noteBody(kind, c.Value, household(k))
	if err != nil {
		return err
	}
	now := k.Now()
	entry, err := newEntry(now, set.by(out), "", strings.TrimPrefix(c.Vessel, "-"), kind.Name, body)
	if err != nil {
		return err
	}
	entry.Item = c.Item
	if c.When != "" {
		if entry.At, err = when(c.When, now, speaker(k).Zone()); err != nil {
			return err
		}
	}
	accepted, err := k.Append(ctx, []farm.Entry{entry}, farm.Typed)
	if err != nil {
		return err
	}
	e := accepted[0]
	if set.JSON {
		return writeJSON(out.stdout, e)
	}
	p := newPage(out)
	p.para("", noted(k, &e, kind))
	k.Read(func(present *farm.Present) {
		if ev, ok := present.Event(e.ID); ok {
			for _, d := range ev.Doubts {
				p.para("  doubtful: ", strings.ReplaceAll(d.Message, "body.", ""))
			}
		}
	})
	return p.to(out.stdout)
}

// noted says back what was written, so that a slip is seen at once.
func noted(k *keeper.Keeper, e *farm.Entry, kind *farm.Kind) string {
	speak, name := speaker(k), e.Vessel
	var event farm.Event
	k.Read(func(p *farm.Present) {
		if v, ok := p.Vessel(e.Vessel); ok {
			name = v.Name
		}
		event, _ = p.Event(e.ID)
	})
	text := "Noted as entry " + strconv.FormatInt(e.Seq, 10) + ": "
	if name != "" {
		text += name + ", "
	}
	text += speak.T("kind." + kind.Name)
	sep := " "
	for _, f := range kind.Fields() {
		said := ""
		if x, ok := event.Body.Number(f.Key); ok {
			said = speak.Read(f.Key, x).Plain()
			if x != math.Round(x*100)/100 {
				said = speak.Number(f.Key, x).Plain() // out of another unit
			}
			if op := event.Body.Text("op"); op == "<" || op == ">" {
				said = op + " " + said
			}
		} else if yes, ok := event.Body.Yes(f.Key); ok {
			said = map[bool]string{true: "yes", false: "no"}[yes]
		} else if t := event.Body.Text(f.Key); t != "" && f.Key != "op" {
			said = strings.ReplaceAll(t, "_", " ")
		} else if l := event.Body.List(f.Key); len(l) > 0 {
			said = strings.ReplaceAll(strings.Join(l, ", "), "_", " ")
		} else if m := event.Body.Amounts(f.Key); len(m) > 0 {
			for _, salt := range slices.Sorted(maps.Keys(m)) {
				said = strings.TrimPrefix(said+", "+salt+" "+speak.Read("mass_g", m[salt]).Plain(), ", ")
			}
		} else if m := event.Body.Medium(); m != nil && f.Key == "medium" {
			said = orElse(m.Recipe, "medium")
		}
		if said != "" {
			text, sep = text+sep+said, ", "
		}
	}
	return text + "; " + speak.When(e.At) + "."
}

// household is how big a cup is on this farm.
func household(k *keeper.Keeper) units.System {
	sys := units.Metric
	k.Read(func(p *farm.Present) {
		if s := p.Sites(); len(s) > 0 && s[0].Measures == "us" {
			sys = units.US
		}
	})
	return sys
}

// when reads a time of today or a whole moment.
func when(text string, now time.Time, zone *time.Location) (time.Time, error) {
	if t, err := time.ParseInLocation("15:04", text, zone); err == nil {
		y, m, d := now.In(zone).Date()
		return time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, zone), nil
	}
	t, err := atClock(text).in(zone)
	if err != nil {
		return t, &farm.Error{Code: farm.Invalid, Field: "when", Message: fmt.Sprintf("when %q is not a time", text), Hint: "write it as 07:12 or 2026-06-18T07:12"}
	}
	return t, nil
}

// noteBody turns what was typed into the body of an entry.
func noteBody(kind *farm.Kind, values []string, sys units.System) (map[string]any, error) {
	body := map[string]any{}
	fields := kind.Fields()
	byKey := map[string]*farm.Field{}
	for i := range fields {
		byKey[fields[i].Key] = &fields[i]
	}
	for _, v := range values {
		key, text, named := strings.Cut(v, "=")
		var f *farm.Field
		if named && (byKey[key] != nil || !strings.ContainsAny(key, "0123456789.")) && key != "" {
			if f = byKey[key]; f == nil {
				return nil, &farm.Error{Code: farm.Invalid, Field: key, Message: fmt.Sprintf("field %q does not belong to %s", key, kind.Name), Hint: "there are " + strings.Join(keysOf(fields), ", ")}
			}
		} else {
			text = v
			if f = mainField(kind, fields, body, text, sys); f == nil {
				return nil, &farm.Error{Code: farm.Invalid, Field: "value", Message: fmt.Sprintf("value %q fits no field of %s", v, kind.Name), Hint: "name the field: " + strings.Join(keysOf(fields), ", ")}
			}
		}
		if op := strings.IndexAny(text, "<>"); op == 0 && f.Form == farm.FormNumber {
			body["op"] = text[:1]
			text = strings.TrimSpace(text[1:])
		}
		x, err := fieldValue(f, text, sys)
		if err != nil {
			return nil, err
		}
		if _, twice := body[f.Key]; twice {
			return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s is given twice", f.Key)}
		}
		body[f.Key] = x
	}
	return body, nil
}

func keysOf(fields []farm.Field) []string {
	var out []string
	for _, f := range fields {
		out = append(out, f.Key)
	}
	return out
}

// mainField is the field that a bare value means: of the kind's own that are
// not given yet, the first number that can read it, else the first word, else
// the first name or text.
func mainField(kind *farm.Kind, fields []farm.Field, given map[string]any, text string, sys units.System) *farm.Field {
	own := slices.Concat(kind.Main, kind.Need)
	if len(own) == 0 {
		own = kind.May
	}
	var free []*farm.Field
	for _, key := range own {
		for i := range fields {
			if _, have := given[key]; fields[i].Key == key && !have {
				free = append(free, &fields[i])
			}
		}
	}
	for _, forms := range [][]farm.Form{
		{farm.FormNumber, farm.FormWhole}, {farm.FormAmounts, farm.FormWord, farm.FormWords, farm.FormYes},
		{farm.FormName, farm.FormText, farm.FormMedium, farm.FormID, farm.FormTime, farm.FormByKey, farm.FormDigest},
	} {
		for _, f := range free {
			if _, err := fieldValue(f, strings.TrimLeft(text, "<> "), sys); err == nil && slices.Contains(forms, f.Form) {
				return f
			}
		}
	}
	if len(free) == 1 {
		return free[0] // let the reading of it say what is wrong
	}
	return nil
}

// kindsOfUnit are what a field's unit measures, and how many of it make an inner
// unit.
var kindsOfUnit = map[string]struct {
	kind     units.Kind
	perInner float64
}{
	"cm": {units.Length, 100}, "°C": {units.Temperature, 1}, "L": {units.Volume, 1}, "mL": {units.Volume, 1000}, "g": {units.Mass, 1},
	"g/L": {units.Density, 1}, "mg/L": {units.Density, 1000}, "mS/cm": {units.Conductivity, 1}, "W": {units.Power, 1}, "W/m²": {units.Irradiance, 1},
	"µmol/m²/s": {units.PhotonFlux, 1}, "min": {units.Time, 1.0 / 60}, "%": {units.Share, 100}, "mm": {units.Length, 1000},
}

// fieldValue reads one value of a field.
func fieldValue(f *farm.Field, text string, sys units.System) (any, error) {
	text = strings.TrimSpace(text)
	switch f.Form {
	case farm.FormNumber, farm.FormWhole:
		text = strings.Replace(text, "−", "-", 1)
		if x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); err == nil {
			return x, nil
		}
		u, ok := kindsOfUnit[f.Unit]
		if !ok {
			return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q is not a number", f.Key, text)}
		}
		q, err := units.Parse(text, u.kind, sys)
		if err != nil {
			fe := &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q cannot be read: %v", f.Key, text, err)}
			var ue *units.Error
			if errors.As(err, &ue) {
				fe.Hint = ue.Hint
			}
			return nil, fe
		}
		return tidy(q.Value * u.perInner), nil
	case farm.FormYes:
		switch strings.ToLower(text) {
		case "yes", "true", "on":
			return true, nil
		case "no", "false", "off":
			return false, nil
		}
		return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q is neither yes nor no", f.Key, text)}
	case farm.FormWord:
		word := strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(text, " ", "_"), "-", "_"))
		if !slices.Contains(f.Words, word) && !slices.Contains(f.Words, text) {
			return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q is not known", f.Key, text), Hint: "one of " + strings.Join(f.Words, ", ")}
		}
		if slices.Contains(f.Words, text) {
			return text, nil
		}
		return word, nil
	case farm.FormWords:
		return strings.Split(text, ","), nil
	case farm.FormAmounts:
		amounts := map[string]float64{}
		for _, part := range strings.Split(text, ",") {
			cut := strings.LastIndex(part, ":")
			if cut < 0 {
				return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q has no amount", f.Key, part), Hint: "write salts_g=KNO3:140,NaHCO3:300"}
			}
			salt, amount := strings.TrimSpace(part[:cut]), strings.TrimSpace(part[cut+1:])
			if _, twice := amounts[salt]; twice {
				return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s names %q twice", f.Key, salt)}
			}
			x, bare := strconv.ParseFloat(amount, 64)
			if bare != nil {
				q, err := units.ParseMass(amount, sys, 0)
				if err != nil {
					return nil, &farm.Error{Code: farm.Invalid, Field: f.Key, Message: fmt.Sprintf("%s %q cannot be read: %v", f.Key, part, err)}
				}
				x = tidy(q.Value)
			}
			amounts[salt] = x
		}
		return amounts, nil
	case farm.FormMedium:
		return map[string]any{"recipe": text}, nil
	}
	return text, nil
}

// tidy takes the dust of a conversion off.
func tidy(x float64) float64 {
	s, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	return s
}
