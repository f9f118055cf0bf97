package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strings"

	"sodalake/document/plot"
	"sodalake/farm/design"
	"sodalake/keeper"
	"sodalake/science/medium"
	"sodalake/words"
)

// Builder looks at ponds before they are built.
type Builder interface {
	// Design answers a question, or tells how far it is: its Answer is nil until
	// it is done. The key names the question.
	Design(ctx context.Context, key string, a *design.Ask) (keeper.Designed, error)
}

type buildPage struct {
	Frame
	HasSite  bool
	Guessed  bool
	Asked    bool
	Bad      *badField
	Common   []calcField
	Prices   []calcField
	Ponds    []buildForm
	Running  bool
	Done, Of int
	Again    template.URL // where the page looks again
	Out      *buildOut
	BarA     template.HTML
	BarB     template.HTML
}

type buildForm struct {
	Letter, Title string
	Fields        []calcField
}

// buildField is one field of the form. The default of a second pond is another
// where only that makes it worth comparing.
type buildField struct {
	key, kind     string // kind: number, text, or the words of a choice with | between
	a, b          string // defaults of the first and the second pond
	unit          string // stored name, for its unit
	labels        string // prefix of the words for a choice
	min, max      float64
	needed, other bool // other: may be left empty
}

// pondFields are the fields of one pond.
var pondFields = []buildField{
	{key: "name", kind: "text", other: true},
	{key: "shape", kind: "raceway|box|liner|cylinder", a: "raceway", b: "raceway", labels: "shape."},
	{key: "length", kind: "number", a: "6", b: "6", unit: "length_m", min: 0.1, max: 500, needed: true},
	{key: "width", kind: "number", a: "2", b: "2", unit: "width_m", min: 0.1, max: 500, other: true},
	{key: "depth", kind: "number", a: "20", b: "15", unit: "level_cm", min: 2, max: 200, needed: true},
	{key: "cover", kind: "none|film|tunnel", a: "none", b: "tunnel", labels: "covered."},
	{key: "second", kind: "no|yes", a: "no", b: "yes", labels: "calc."},
	{key: "shade", kind: "number", a: "0", b: "0", unit: "shade_pct", min: 0, max: 95},
	{key: "stirring", kind: "continuous|hand|none", a: "continuous", b: "continuous", labels: "stirred."},
	{key: "winter", kind: "pond|indoors", a: "indoors", b: "pond", labels: "build.winter_"},
	{key: "ready", kind: "number", a: "0.5", b: "0.5", unit: "density_g_per_l", min: 0.06, max: 5},
	{key: "leave", kind: "number", a: "0.35", b: "0.35", unit: "density_g_per_l", min: 0.05, max: 5},
}

// priceFields are the prices; none needs to be told.
var priceFields = []buildField{
	{key: "salts", kind: "number", max: 1e6}, {key: "co2", kind: "number", max: 1e6}, {key: "water", kind: "number", max: 1e6}, {key: "kwh", kind: "number", max: 1e6},
	{key: "build", kind: "number", max: 1e6}, {key: "lasts", kind: "number", a: "8", max: 200}, {key: "harvest_h", kind: "number", max: 100}, {key: "hour", kind: "number", max: 1e6},
}

// build shows the form of designs, and what they would bring where the address
// holds a question: that is only reading, so it can be kept and sent.
func (s *server) build(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title, frame.Sheet = word.T("build.title"), "build.css"
	p := buildPage{Frame: frame, HasSite: setup.HasSite, Guessed: len(setup.Site.Normals) != 12}
	q := r.URL.Query()
	p.Asked = q.Get("a_length") != ""
	status := http.StatusOK
	if p.Asked {
		key, ask, err := s.buildAsk(word, setup, q)
		var got keeper.Designed
		if err == nil {
			got, err = s.Farm.Design(r.Context(), key, ask)
		}
		switch {
		case err != nil && statusOf(err) < http.StatusInternalServerError:
			pr := problemOf(statusOf(err), err)
			p.Bad = &badField{formField(pr.Field), pr.Detail, pr.Hint}
			status = pr.Status
		case err != nil:
			return err
		case got.Answer == nil:
			p.Running, p.Done, p.Of = true, got.Done, got.Of
			p.Again = template.URL("/build?" + q.Encode()) // #nosec G203 -- encoded
			w.Header().Set("Refresh", "1")
		default:
			p.Out = buildOutOf(word, got.Answer)
		}
	}
	p.form(word, q)
	p.BarA, p.BarB = template.HTML(plot.BarKey(0)), template.HTML(plot.BarKey(1)) // #nosec G203 -- ours
	return s.views.render(w, r, status, "build", p)
}

// formField is the field of the form that a field of the designs stands for.
func formField(field string) string {
	for i, letter := range []string{"a", "b"} {
		rest, ok := strings.CutPrefix(field, fmt.Sprintf("designs[%d].", i))
		if !ok {
			continue
		}
		switch {
		case strings.Contains(rest, "level"):
			return letter + "_depth"
		case strings.Contains(rest, "length"), strings.Contains(rest, "diameter"):
			return letter + "_length"
		case strings.Contains(rest, "width"):
			return letter + "_width"
		case strings.HasPrefix(rest, "ready"):
			return letter + "_ready"
		case strings.HasPrefix(rest, "leave"):
			return letter + "_leave"
		}
		return letter + "_" + rest
	}
	return field
}

// form fills the fields of the form.
func (p *buildPage) form(w *words.Speaker, q url.Values) {
	fill := func(f *buildField, name, label, fallback string) calcField {
		value := strings.TrimSpace(q.Get(name))
		if !p.Asked {
			value = fallback
		}
		c := calcField{Key: name, Label: label, Value: value, Input: "number", Required: f.needed, Bad: p.Bad != nil && p.Bad.Field == name}
		if f.unit != "" {
			c.Unit = w.UnitOf(f.unit)
		}
		if words.Has("build.help_" + f.key) {
			c.Help = w.T("build.help_"+f.key, warmths(w)...)
		}
		switch f.kind {
		case "number":
		case "text":
			c.Input = "text"
		default:
			c.Input = "select"
			for _, o := range strings.Split(f.kind, "|") {
				c.Options = append(c.Options, option{o, w.T(f.labels + o), o == value})
			}
		}
		return c
	}
	for i, letter := range []string{"a", "b"} {
		f := buildForm{Letter: letter, Title: w.T("build.pond_" + letter)}
		for k := range pondFields {
			x := &pondFields[k]
			fallback := x.a
			if i == 1 {
				fallback = x.b
			}
			c := fill(x, letter+"_"+x.key, w.T("build."+x.key), fallback)
			c.Required = c.Required && i == 0
			f.Fields = append(f.Fields, c)
		}
		p.Ponds = append(p.Ponds, f)
	}
	recipe := calcField{Key: "recipe", Label: w.T("mix.recipe"), Input: "select"}
	chosen := q.Get("recipe")
	if chosen == "" {
		chosen = "bicarbonate-farm"
	}
	for _, x := range medium.Recipes() {
		recipe.Options = append(recipe.Options, option{x.Name, strings.ReplaceAll(x.Name, "-", " "), x.Name == chosen})
	}
	wish := fill(&buildField{key: "wish", kind: "number", unit: "wish_g"}, "wish", w.T("build.wish"), "500")
	p.Common = []calcField{recipe, wish}
	for k := range priceFields {
		x := &priceFields[k]
		p.Prices = append(p.Prices, fill(x, "p_"+x.key, w.T("build.price_"+x.key), x.a))
	}
}

// buildAsk makes a question of what was typed.
func (s *server) buildAsk(w *words.Speaker, setup Setup, q url.Values) (key string, a *design.Ask, err error) {
	get := func(name string, f *buildField) (x float64, given bool, err error) {
		text := strings.TrimSpace(q.Get(name))
		if text == "" {
			return 0, false, nil
		}
		if x, err = plainNumber(name, text); err != nil {
			return 0, false, err
		}
		if f.max > f.min && (x < f.min || x > f.max) {
			return 0, false, invalid(name, "", "%s %s lies outside %s to %s", w.T("build."+f.key), w.Bound(x), w.Bound(f.min), w.Bound(f.max))
		}
		if f.unit != "" {
			x = w.Stored(f.unit, x)
		}
		return x, true, nil
	}
	lat, lon := setup.Site.LatDeg, setup.Site.LonDeg
	file := design.File{Years: design.DefaultYears, Seed: 1}
	file.Site.LatDeg, file.Site.LonDeg, file.Site.ElevationM = &lat, &lon, setup.Site.ElevationM
	if file.WishGPerWeek, _, err = get("wish", &buildField{key: "wish", max: 1e7}); err != nil {
		return "", nil, err
	}
	price := map[string]float64{}
	for i := range priceFields {
		f := &priceFields[i]
		if price[f.key], _, err = get("p_"+f.key, &buildField{key: "price_" + f.key, max: f.max}); err != nil {
			return "", nil, err
		}
	}
	file.Prices = design.Prices{
		PerKg: map[string]float64{"salts": price["salts"], "CO2": price["co2"]}, WaterM3: price["water"], KWh: price["kwh"],
		BuildM2: price["build"], BuildLast: price["lasts"], HarvestH: price["harvest_h"], Hour: price["hour"],
	}
	for i, letter := range []string{"a", "b"} {
		if i > 0 && strings.TrimSpace(q.Get(letter+"_length")) == "" {
			break // one pond alone
		}
		num := map[string]float64{}
		for k := range pondFields {
			f := &pondFields[k]
			if f.kind != "number" {
				continue
			}
			x, given, err := get(letter+"_"+f.key, f)
			if err != nil {
				return "", nil, err
			}
			if given {
				num[f.key] = x
			} else if f.needed {
				return "", nil, invalid(letter+"_"+f.key, "", "%s is missing", w.T("build."+f.key))
			}
		}
		d := written(q, letter, num)
		if d.Name == "" {
			d.Name = w.T("build.pond_" + letter)
		}
		file.Designs = append(file.Designs, d)
	}
	a, err = file.Ask()
	if err != nil {
		return "", nil, err
	}
	a.Place = design.PlaceOf(&setup.Site)
	place, err := json.Marshal(setup.Site)
	if err != nil {
		return "", nil, err
	}
	sum := sha256.Sum256(append(place, q.Encode()...))
	return hex.EncodeToString(sum[:]), a, nil
}

// written makes a design of the fields of one pond.
func written(q url.Values, letter string, num map[string]float64) design.Written {
	pick := func(key string) string { return strings.TrimSpace(q.Get(letter + "_" + key)) }
	d := design.Written{Name: clip(pick("name")), SecondCover: pick("second") == "yes", ShadePct: num["shade"], Winter: pick("winter")}
	d.Cover.Kind, d.Stirring.Kind = pick("cover"), pick("stirring")
	d.Medium.Recipe = q.Get("recipe")
	if d.Medium.Recipe == "" {
		d.Medium.Recipe = "bicarbonate-farm"
	}
	v := map[string]any{"shape": pick("shape"), "level_cm": num["depth"]}
	switch length, width := num["length"], num["width"]; pick("shape") {
	case "cylinder":
		v["diameter_m"] = length
	case "liner": // walls at 45°
		v["top_length_m"], v["top_width_m"], v["slope"] = length, width, 1
	default:
		v["length_m"], v["width_m"] = length, width
		if pick("shape") == "" {
			v["shape"] = "raceway"
		}
	}
	d.Vessel, _ = json.Marshal(v) // numbers and words only
	for key, to := range map[string]**float64{"ready": &d.ReadyGPerL, "leave": &d.LeaveGPerL} {
		if x, ok := num[key]; ok {
			*to = &x
		}
	}
	return d
}
