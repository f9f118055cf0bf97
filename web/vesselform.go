package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/science/units"
	"sodalake/words"
)

type vesselFormPage struct {
	Frame
	ID          string // ULID that the form carries
	Vessel      string // identifier of the vessel; empty for a new one
	Name, Shape string
	Shapes      []shapeForm
	Bad         *badField

	Full, Shade, Times, Transmission, Count, Points string

	Place, Use, Stirring, Cover, Vents, Lit []option
	Food                                    bool

	Volume, Surface string
	HasVolume       bool
}

type shapeForm struct {
	Kind, Label string
	Checked     bool
	Dims        []dimForm
	Points      bool
}

type dimForm struct {
	Name, Label, Value string
	Optional           bool
}

// vesselForm shows the form of a vessel, new or known. With action=volume it
// works out the volume of what was typed and writes nothing.
func (s *server) vesselForm(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	q := r.URL.Query()
	p := vesselFormPage{Frame: frame, ID: s.newID(), Vessel: q.Get("id")}
	values := q
	if p.Vessel != "" && !q.Has("shape") {
		known := false
		for _, v := range setup.Vessels {
			if v.ID == p.Vessel {
				values, known = valuesOf(v), true
			}
		}
		if !known {
			return &farm.Error{Code: farm.NotFound, Field: "id", Message: fmt.Sprintf("vessel %q does not exist", clip(p.Vessel))}
		}
	}
	p.fill(values, frame.W)
	p.Title = frame.W.T("setup.new_vessel")
	if p.Vessel != "" {
		p.Title = frame.W.T("setup.edit_vessel", "name", p.Name)
	}
	if q.Has("shape") || p.Vessel != "" {
		p.volume(values, frame.W)
	}
	if strings.Contains(r.Header.Get("Accept"), "application/json") {
		w.Header().Set("Content-Type", "application/json")
		out := map[string]string{"volume": p.Volume, "surface": p.Surface}
		if p.Bad != nil {
			out["error"], out["field"] = p.Bad.Message, p.Bad.Field
		}
		return json.NewEncoder(w).Encode(out)
	}
	return s.views.render(w, r, http.StatusOK, "vesselform", p)
}

// fill puts what is known or was typed into the form.
func (p *vesselFormPage) fill(v url.Values, w *words.Speaker) {
	p.Name, p.Full, p.Shade, p.Times, p.Transmission = v.Get("name"), v.Get("full_level"), v.Get("shade_pct"), v.Get("times_per_day"), v.Get("transmission_pct")
	p.Count, p.Points, p.Food = v.Get("count"), v.Get("points"), v.Get("food") != "no"
	p.Shape = v.Get("shape")
	if p.Shape == "" {
		p.Shape = "liner"
	}
	for _, k := range farm.ShapeKinds {
		f := shapeForm{Kind: k.Kind, Label: w.T("shape." + k.Kind), Checked: k.Kind == p.Shape}
		for i, list := range [][]string{k.Need, k.May} {
			for _, dim := range list {
				if dim == "points" {
					f.Points = true
					continue
				}
				name := k.Kind + "." + dim
				f.Dims = append(f.Dims, dimForm{Name: name, Label: w.T("dim." + dim), Value: v.Get(name), Optional: i == 1})
			}
		}
		p.Shapes = append(p.Shapes, f)
	}
	list := func(key, prefix string, all []string, first string) []option {
		chosen := v.Get(key)
		if chosen == "" {
			chosen = first
		}
		var out []option
		for _, o := range all {
			out = append(out, option{o, w.T(prefix + "." + o), o == chosen})
		}
		return out
	}
	p.Place = list("place", "placed", farm.Places, "outdoors")
	p.Use = list("use", "use", farm.Uses, "grow")
	p.Stirring = list("stirring", "stirred", farm.StirringKinds, "continuous")
	p.Cover = list("cover", "covered", farm.CoverKinds, "none")
	p.Vents = list("vents", "vent", farm.VentStates, "half")
	p.Lit = list("lit", "lit", farm.Lits, "top")
}

// valuesOf writes a known vessel as its form would send it.
func valuesOf(v farm.Vessel) url.Values {
	out := url.Values{"name": {v.Name}, "shape": {v.Shape.Kind}, "place": {v.Place}, "use": {v.Use}, "lit": {v.Lit},
		"stirring": {v.Stirring.Kind}, "cover": {v.Cover.Kind}, "vents": {v.Cover.Vents}}
	number := func(key string, x float64) {
		if x != 0 {
			out.Set(key, strconv.FormatFloat(x, 'f', -1, 64))
		}
	}
	number("full_level", v.FullLevelCM)
	number("shade_pct", v.ShadePct)
	number("times_per_day", v.Stirring.TimesPerDay)
	number("transmission_pct", 100*v.Cover.Transmission)
	number("count", float64(v.Count))
	if !v.Food {
		out.Set("food", "no")
	}
	raw, err := json.Marshal(v.Shape)
	var dims map[string]any
	if err == nil {
		_ = json.Unmarshal(raw, &dims)
	}
	for key, x := range dims {
		if n, ok := x.(float64); ok {
			if key == "slope" {
				number(v.Shape.Kind+".slope", n)
				continue
			}
			out.Set(v.Shape.Kind+"."+strings.TrimSuffix(key, "_m"), strconv.FormatFloat(roundTo(100*n, 6), 'f', -1, 64)+" cm")
		}
	}
	var lines []string
	for _, pt := range v.Shape.Points {
		lines = append(lines, strconv.FormatFloat(pt.LevelCM, 'f', -1, 64)+" "+strconv.FormatFloat(pt.VolumeL, 'f', -1, 64))
	}
	out.Set("points", strings.Join(lines, "\n"))
	return out
}

// length reads a length as people say it, "12 ft" or "40 cm"; a bare number is
// centimetres.
func length(field, text string) (metres float64, err error) {
	if x, err := plainNumber(field, text); err == nil {
		return x / 100, nil
	}
	q, err := units.Parse(text, units.Length, units.Metric)
	if err != nil {
		return 0, invalid(field, "a number with its unit, as in 40 cm or 12 ft", "%s %q cannot be read as a length", field, clip(text))
	}
	return q.Value, nil
}

// shapeBody makes the shape's body from the form's fields of the chosen shape.
func shapeBody(v url.Values) (map[string]any, error) {
	kind := v.Get("shape")
	shape := map[string]any{"kind": kind}
	for _, k := range farm.ShapeKinds {
		if k.Kind != kind {
			continue
		}
		for _, dim := range append(append([]string{}, k.Need...), k.May...) {
			text := strings.TrimSpace(v.Get(kind + "." + dim))
			switch {
			case dim == "points":
				points, err := pointsOf(v.Get("points"))
				if err != nil {
					return nil, err
				}
				shape["points"] = points
			case text == "":
			case dim == "slope":
				x, err := plainNumber(dim, text)
				if err != nil {
					return nil, err
				}
				shape[dim] = x
			default:
				m, err := length(dim, text)
				if err != nil {
					return nil, err
				}
				shape[dim+"_m"] = roundTo(m, 6)
			}
		}
	}
	return shape, nil
}

// pointsOf reads pairs of level and volume, one a line.
func pointsOf(text string) ([]map[string]float64, error) {
	var out []map[string]float64
	for _, line := range strings.Split(text, "\n") {
		cells := strings.Fields(strings.NewReplacer(";", " ", "\t", " ", ",", ".").Replace(line))
		if len(cells) == 0 {
			continue
		}
		if len(cells) != 2 {
			return nil, invalid("points", "level in cm and volume in litres, as in 5 120", "points line %q has %d numbers, not two", clip(line), len(cells))
		}
		level, err := plainNumber("points", cells[0])
		if err != nil {
			return nil, err
		}
		litres, err := plainNumber("points", cells[1])
		if err != nil {
			return nil, err
		}
		out = append(out, map[string]float64{"level_cm": level, "volume_l": litres})
	}
	return out, nil
}

// volume works out what was typed and shows it back at once.
func (p *vesselFormPage) volume(v url.Values, w *words.Speaker) {
	shape, err := p.shape(v)
	if err != nil {
		pr := problemOf(422, err)
		p.Bad = &badField{pr.Field, pr.Detail, pr.Hint}
		return
	}
	g, err := shape.Geometry()
	if err != nil {
		pr := problemOf(422, err)
		p.Bad = &badField{pr.Field, pr.Detail, pr.Hint}
		return
	}
	number := 1.0
	if n, err := plainNumber("count", v.Get("count")); err == nil && n >= 1 {
		number = n
	}
	level := g.RimM()
	if text := strings.TrimSpace(v.Get("full_level")); text != "" {
		m, err := length("full_level", text)
		if err != nil {
			pr := problemOf(422, err)
			p.Bad = &badField{pr.Field, pr.Detail, pr.Hint}
			return
		}
		if m > level*(1+1e-9) {
			p.Bad = &badField{"full_level", "full_level is above the rim at " + w.Number("level_cm", 100*level).Plain(), ""}
			return
		}
		level = m
	}
	p.Volume = w.T("setup.volume_now", "volume", w.Number("volume_l", g.VolumeL(level)*number).Plain())
	p.Surface = w.T("setup.surface", "area", w.Number("area_m2", g.SurfaceM2(level)*number).Plain())
	p.HasVolume = true
}

func (p *vesselFormPage) shape(v url.Values) (farm.Shape, error) {
	body, err := shapeBody(v)
	if err != nil {
		return farm.Shape{}, err
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return farm.Shape{}, err
	}
	shape, bad := farm.DecodeShape(raw)
	if bad != nil {
		return shape, bad
	}
	return shape, nil
}

// writeVessel writes a vessel down, or describes a known one anew.
func (s *server) writeVessel(w http.ResponseWriter, r *http.Request) error {
	_, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	body := map[string]any{}
	id := f.Get("vessel")
	for _, v := range setup.Vessels {
		if v.ID == id && id != "" {
			if err := keep(body, v, "since", "site"); err != nil {
				return err
			}
		}
	}
	isNew := id == ""
	if isNew {
		if id = slug(f.Get("name")); id == "" {
			return invalid("name", "", "name is missing")
		}
		for _, v := range setup.Vessels {
			if v.ID == id {
				return &farm.Error{Code: farm.Conflict, Field: "name", Message: fmt.Sprintf("there is a vessel %q already", v.Name), Hint: "give this one another name, or change that one"}
			}
		}
	}
	shape, err := shapeBody(f)
	if err != nil {
		return err
	}
	body["id"], body["name"], body["shape"] = id, strings.TrimSpace(f.Get("name")), shape
	body["place"], body["use"], body["lit"], body["food"] = f.Get("place"), f.Get("use"), f.Get("lit"), f.Get("food") == "yes"
	if text := strings.TrimSpace(f.Get("full_level")); text != "" {
		m, err := length("full_level", text)
		if err != nil {
			return err
		}
		body["full_level_cm"] = roundTo(100*m, 6)
	} else {
		delete(body, "full_level_cm")
	}
	stirring := map[string]any{"kind": f.Get("stirring")}
	if err := optional(stirring, "times_per_day", f.Get("times_per_day"), 1); err != nil {
		return err
	}
	cover := map[string]any{"kind": f.Get("cover")}
	if f.Get("cover") != "none" && f.Get("cover") != "" {
		if err := optional(cover, "transmission", f.Get("transmission_pct"), .01); err != nil {
			return err
		}
		if v := f.Get("vents"); v != "" {
			cover["vents"] = v
		}
	}
	body["stirring"], body["cover"] = stirring, cover
	delete(body, "shade_pct")
	if err := optional(body, "shade_pct", f.Get("shade_pct"), 1); err != nil {
		return err
	}
	delete(body, "count")
	if err := optional(body, "count", f.Get("count"), 1); err != nil {
		return err
	}
	if err := s.describe(r, "vessel", f.Get("id"), body); err != nil {
		return err
	}
	next := "/farm?said=saved"
	if isNew {
		next = "/farm/inside?vessel=" + url.QueryEscape(id)
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// optional puts a number into a body where one was typed.
func optional(body map[string]any, key, text string, scale float64) error {
	if strings.TrimSpace(text) == "" {
		return nil
	}
	x, err := plainNumber(key, text)
	if err != nil {
		return err
	}
	body[key] = roundTo(x*scale, 6)
	return nil
}
