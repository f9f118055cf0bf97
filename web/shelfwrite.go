package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/science/medium"
	"sodalake/science/units"
	"sodalake/words"
)

// The volume of a cup by the farm's measures [mL].
//
// Source: NIST Handbook 44, appendix C (US cup 236.588 mL); a metric cup is
// 250 mL, common practice.
const (
	cupUS     = 236.588
	cupMetric = 250.0
)

func cupOf(w *words.Speaker) float64 {
	if w.Measures() == words.US {
		return cupUS
	}
	return cupMetric
}

type lotPage struct {
	Frame
	ID, Lot   string // the form's ULID; the lot's id, empty for a new one
	Supply    farm.Supply
	Mass, Cup string
	Price     string
	Purity    string
	Salts     []optionGroup
	OtherSalt string
	Grades    []option
}

// lotForm describes a lot.
func (s *server) lotForm(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "shelf", "")
	if err != nil {
		return err
	}
	word := frame.W
	p := lotPage{Frame: frame, ID: s.newID(), Lot: r.URL.Query().Get("id")}
	p.Title, p.Sheet = word.T("shelf.add"), "mix.css"
	if p.Lot != "" {
		sh, err := s.Farm.Shelf(r.Context(), s.Now())
		if err != nil {
			return err
		}
		found := false
		for _, l := range sh.Lots {
			if l.ID == p.Lot {
				p.Supply, found = l.Supply, true
			}
		}
		if !found {
			return &farm.Error{Code: farm.NotFound, Field: "id", Message: "lot \"" + clip(p.Lot) + "\" does not exist"}
		}
		p.Title = word.T("shelf.change", "name", p.Supply.Name)
		value, unit := grams(word, p.Supply.MassG)
		p.Mass = value + " " + unit
		if p.Supply.BulkGPerL > 0 {
			p.Cup = word.Rounded(p.Supply.BulkGPerL*cupOf(word)/1000, 1)
		}
		if p.Supply.Price > 0 {
			p.Price = word.Bound(p.Supply.Price)
		}
		if p.Supply.PurityPct > 0 {
			p.Purity = word.Bound(p.Supply.PurityPct)
		}
	} else if of := r.URL.Query().Get("of"); of != "" {
		p.Supply.Salt = of
	}
	p.Salts, p.OtherSalt = saltGroups(word, p.Supply.Salt, s.readyMixes(r))
	for _, g := range farm.Grades {
		p.Grades = append(p.Grades, option{g, word.T("grade." + g), g == p.Supply.Grade})
	}
	return s.views.render(w, r, http.StatusOK, "lot", p)
}

// readyMixes are the farm's ready mixes, which a lot can be of.
func (s *server) readyMixes(r *http.Request) []farm.Recipe {
	setup, err := s.Farm.Setup(r.Context())
	if err != nil {
		return nil
	}
	var out []farm.Recipe
	for _, x := range setup.Recipes {
		if x.ReadyMix {
			out = append(out, x)
		}
	}
	return out
}

// stepGroups are the headings under which ingredients are listed.
var stepGroups = map[medium.Step]string{
	medium.StepSoda: "soda", medium.StepAlkali: "soda", medium.StepSalt: "salt", medium.StepNitrate: "nitrogen", medium.StepNitrogen: "nitrogen",
	medium.StepPhosphate: "phosphate", medium.StepMagnesium: "magnesium", medium.StepIron: "iron", medium.StepChelator: "iron",
	medium.StepTrace: "trace", medium.StepCalcium: "calcium", medium.StepDechlorinate: "dechlorinate",
}

// saltGroups are the ingredients to choose from; other is what was said that is
// none of them.
func saltGroups(w *words.Speaker, salt string, ready []farm.Recipe) (groups []optionGroup, other string) {
	index := map[string]int{}
	chosen := farm.IngredientOf(salt)
	found := salt == ""
	for _, i := range medium.Ingredients() {
		name := stepGroups[i.Step]
		k, known := index[name]
		if !known {
			k = len(groups)
			index[name] = k
			groups = append(groups, optionGroup{Label: w.T("shelf.group_" + name)})
		}
		label := upperFirst(i.Kitchen)
		if i.Formula != "" {
			label += ", " + i.Formula
		}
		groups[k].Options = append(groups[k].Options, option{i.ID, label, i.ID == chosen})
		found = found || i.ID == chosen
	}
	if len(ready) > 0 {
		g := optionGroup{Label: w.T("mix.recipe_ready")}
		for _, r := range ready {
			name := r.Name
			if name == "" {
				name = r.ID
			}
			g.Options = append(g.Options, option{r.ID, name, r.ID == salt})
			found = found || r.ID == salt
		}
		groups = append(groups, g)
	}
	if !found {
		other = salt
	}
	return groups, other
}

// mass reads a mass as people say it [g]; a bare number is in grams.
func mass(field, text string, w *words.Speaker) (float64, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, invalid(field, w.T("shelf.mass_hint"), "%s is missing", field)
	}
	if x, err := plainNumber(field, text); err == nil {
		if x < 0 {
			return 0, invalid(field, "", "%s %q is below zero", field, clip(text))
		}
		return x, nil
	}
	sys := units.Metric
	if w.Measures() == words.US {
		sys = units.US
	}
	q, err := units.Parse(text, units.Mass, sys)
	if err != nil {
		return 0, invalid(field, w.T("shelf.mass_hint"), "%s %q cannot be read: %s", field, clip(text), err.Error())
	}
	if q.Value < 0 {
		return 0, invalid(field, "", "%s %q is below zero", field, clip(text))
	}
	return roundTo(q.Value, 6), nil
}

// writeLot writes a lot down, or what is changed of one.
func (s *server) writeLot(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp := r.PostForm, s.speaker(r)
	salt := strings.TrimSpace(f.Get("other"))
	if salt == "" {
		salt = strings.TrimSpace(f.Get("salt"))
	}
	name := strings.TrimSpace(f.Get("name"))
	if name == "" {
		name = upperFirst(kitchenName(salt))
	}
	id := f.Get("lot_id")
	if id == "" {
		if salt == "" && name == "" {
			return invalid("salt", sp.T("shelf.salt_hint"), "salt is missing")
		}
		id = s.freshLot(r, slug(strings.TrimSpace(kitchenName(salt)+" "+f.Get("lot"))))
	}
	g, err := mass("mass", f.Get("mass"), sp)
	if err != nil {
		return err
	}
	body := map[string]any{"id": id, "name": name, "salt": salt, "lot": strings.TrimSpace(f.Get("lot")), "grade": f.Get("grade"), "mass_g": g, "use_by": f.Get("use_by"), "certificate": strings.TrimSpace(f.Get("certificate")), "text": strings.TrimSpace(f.Get("text"))}
	for _, key := range []string{"price", "purity_pct"} {
		if err := optional(body, key, f.Get(key), 1); err != nil {
			return err
		}
	}
	if text := strings.TrimSpace(f.Get("cup_g")); text != "" {
		cup, err := mass("cup_g", text, sp)
		if err != nil {
			return err
		}
		body["bulk_g_per_l"] = roundTo(cup/cupOf(sp)*1000, 3)
	}
	if err := s.describe(r, "supply", f.Get("id"), body); err != nil {
		return err
	}
	http.Redirect(w, r, "/shelf?said=saved#i-"+idOf(farm.IngredientOf(salt)), http.StatusSeeOther)
	return nil
}

// freshLot is an id that no lot has yet; a form that was sent before keeps the
// one that it got then.
func (s *server) freshLot(r *http.Request, want string) string {
	if e, err := s.Farm.Entry(r.Context(), r.PostForm.Get("id")); err == nil && e.Kind == "supply" {
		var was farm.Supply
		if json.Unmarshal(e.Body, &was) == nil {
			return was.ID
		}
	}
	sh, err := s.Farm.Shelf(r.Context(), s.Now())
	if err != nil {
		return want
	}
	taken := map[string]bool{}
	for _, l := range sh.Lots {
		taken[l.ID] = true
	}
	id := want
	for n := 2; taken[id]; n++ {
		id = want + "-" + strconv.Itoa(n)
	}
	return id
}

// writeLeft writes down what is left of a lot, as it was weighed; nothing means
// that it is used up.
func (s *server) writeLeft(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp := r.PostForm, s.speaker(r)
	sh, err := s.Farm.Shelf(r.Context(), s.Now())
	if err != nil {
		return err
	}
	for _, l := range sh.Lots {
		if l.ID != f.Get("lot_id") {
			continue
		}
		left := 0.0
		if f.Get("empty") == "" {
			if left, err = mass("left", f.Get("left"), sp); err != nil {
				return err
			}
		}
		body := map[string]any{}
		if err := keep(body, l.Supply); err != nil {
			return err
		}
		body["left_g"] = left
		if err := s.describe(r, "supply", f.Get("id"), body); err != nil {
			return err
		}
		http.Redirect(w, r, "/shelf?said=saved#i-"+idOf(l.Of), http.StatusSeeOther)
		return nil
	}
	return &farm.Error{Code: farm.NotFound, Field: "lot_id", Message: "lot \"" + clip(f.Get("lot_id")) + "\" does not exist"}
}

type waterPage struct {
	Frame
	ID, Water   string
	Name, Back  string
	Origins     []option
	Keys        []mixField
	Analysed    string
	Text        string
	OtherWaters []navLink
}

// waterForm describes a source water.
func (s *server) waterForm(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "shelf", "")
	if err != nil {
		return err
	}
	bench, err := s.Farm.Bench(r.Context(), s.Now(), false)
	if err != nil {
		return err
	}
	word := frame.W
	p := waterPage{Frame: frame, ID: s.newID(), Water: r.URL.Query().Get("id")}
	p.Title, p.Sheet = word.T("water.title"), "mix.css"
	var has farm.Water
	found := p.Water == ""
	for _, x := range bench.Waters {
		if x.ID == p.Water {
			has, found = x, true
		} else {
			p.OtherWaters = append(p.OtherWaters, navLink{"/shelf/water?id=" + url.QueryEscape(x.ID), x.Name})
		}
	}
	if !found {
		return &farm.Error{Code: farm.NotFound, Field: "id", Message: "water \"" + clip(p.Water) + "\" does not exist"}
	}
	p.Name, p.Analysed, p.Text = has.Name, has.AnalysedAt, has.Text
	for _, o := range farm.WaterOrigins {
		p.Origins = append(p.Origins, option{o, word.T("origin." + o), o == has.Origin})
	}
	for _, k := range farm.WaterKeys {
		f := mixField{Name: k.Key, Label: upperFirst(k.What), Unit: k.Unit}
		if x, ok := has.Analysis[k.Key]; ok {
			f.Value = word.Bound(x)
		}
		p.Keys = append(p.Keys, f)
	}
	return s.views.render(w, r, http.StatusOK, "water", p)
}

// writeWater writes a source water down.
func (s *server) writeWater(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	name := strings.TrimSpace(f.Get("name"))
	id := f.Get("water")
	if id == "" {
		if id = slug(name); id == "" {
			return invalid("name", "", "name is missing")
		}
	}
	analysis := map[string]any{}
	for _, k := range farm.WaterKeys {
		if err := optional(analysis, k.Key, f.Get(k.Key), 1); err != nil {
			return err
		}
	}
	body := map[string]any{"id": id, "name": name, "origin": f.Get("origin"), "analysed_at": f.Get("analysed_at"), "text": strings.TrimSpace(f.Get("text"))}
	if len(analysis) > 0 {
		body["analysis"] = analysis
	}
	if err := s.describe(r, "water", f.Get("id"), body); err != nil {
		return err
	}
	http.Redirect(w, r, "/mix?water="+queryEscape(id), http.StatusSeeOther)
	return nil
}
