package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"sodalake/farm"
	"sodalake/words"
)

type setupPage struct {
	Frame
	Setup              Setup
	SiteID             string // ULID that the site's form carries
	PersonID           string
	Site               farm.Site
	Measures, Language []option
	Vessels            []setupVessel
	People             []setupPerson
	Roles              []option
	InstrumentID       string
	Instruments        []setupPerson
	Kinds, Makes       []option
	First              bool // nothing is written down yet
}

type setupVessel struct{ Name, Href, InsideHref, Text string }

type setupPerson struct{ Name, Role string }

// setup is the farm: the place, its vessels and its people.
func (s *server) setup(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title = word.T("setup.title")
	if r.URL.Query().Get("said") == "saved" {
		frame.Said = word.T("setup.saved")
	}
	p := setupPage{Frame: frame, Setup: setup, Site: setup.Site, SiteID: s.newID(), PersonID: s.newID(), InstrumentID: s.newID(), First: !setup.HasSite && len(setup.Vessels) == 0}
	measures := setup.Site.Measures
	if measures == "" {
		measures = string(words.Metric)
	}
	for _, m := range []string{"metric", "us"} {
		p.Measures = append(p.Measures, option{m, word.T("setup." + m), m == measures})
	}
	for _, l := range words.Languages() {
		p.Language = append(p.Language, option{l, word.T("language." + l), l == word.Language()})
	}
	for _, v := range setup.Vessels {
		text := []string{word.T("shape." + v.Shape.Kind)}
		if v.Place != "" {
			text = append(text, word.T("placed."+v.Place))
		}
		if litres, ok := fullVolume(v); ok {
			text = append(text, word.T("setup.volume_now", "volume", word.Number("volume_l", litres).Plain()))
		}
		if v.Number() > 1 {
			text = append(text, fmt.Sprintf("× %d", v.Number()))
		}
		id := url.QueryEscape(v.ID)
		p.Vessels = append(p.Vessels, setupVessel{v.Name, "/farm/vessel?id=" + id, "/farm/inside?vessel=" + id, strings.Join(text, ", ")})
	}
	for _, person := range setup.People {
		p.People = append(p.People, setupPerson{person.Name, word.T("role." + person.Role)})
	}
	for _, role := range farm.Roles {
		p.Roles = append(p.Roles, option{role, word.T("role." + role), role == "worker"})
	}
	for _, in := range setup.Instruments {
		measures := ""
		if in.Measures != "" {
			measures = word.T("kind." + in.Measures)
		}
		p.Instruments = append(p.Instruments, setupPerson{in.Name, measures})
	}
	for _, k := range []string{"secchi", "ph", "temperature", "level", "conductivity", "optical_density", "dry_weight", "nitrate", "ammonia", "oxygen", "light", "microscope", "rain"} {
		p.Kinds = append(p.Kinds, option{k, word.T("kind." + k), false})
	}
	for _, m := range farm.InstrumentMakes {
		p.Makes = append(p.Makes, option{m, word.T("make." + m), false})
	}
	return s.views.render(w, r, http.StatusOK, "setup", p)
}

// fullVolume is what a vessel holds at its full level, all of its number
// together [L].
func fullVolume(v farm.Vessel) (litres float64, ok bool) {
	g, err := v.Shape.Geometry()
	if err != nil {
		return 0, false
	}
	if v.FullLevelCM > 0 {
		return g.VolumeL(v.FullLevelCM/100) * float64(v.Number()), true
	}
	return g.CapacityL() * float64(v.Number()), true
}

// writeSite writes the place down.
func (s *server) writeSite(w http.ResponseWriter, r *http.Request) error {
	_, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	// What the form does not show stays as it is described.
	body := map[string]any{}
	if setup.HasSite {
		if err := keep(body, setup.Site, "since"); err != nil {
			return err
		}
	}
	id := setup.Site.ID
	if id == "" {
		if id = slug(f.Get("name")); id == "" {
			return invalid("name", "", "name is missing")
		}
	}
	body["id"], body["name"], body["timezone"] = id, strings.TrimSpace(f.Get("name")), strings.TrimSpace(f.Get("timezone"))
	body["measures"], body["language"] = f.Get("measures"), f.Get("language")
	for _, key := range []string{"lat_deg", "lon_deg", "elevation_m"} {
		text := strings.TrimSpace(f.Get(key))
		if text == "" && key == "elevation_m" {
			text = "0"
		}
		x, err := plainNumber(key, text)
		if err != nil {
			return err
		}
		body[key] = x
	}
	if err := s.describe(r, "site", f.Get("id"), body); err != nil {
		return err
	}
	next := "/farm?said=saved"
	if len(setup.Vessels) == 0 {
		next = "/farm/vessel"
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// keep copies what is described already, so that a form that shows less than
// all of it loses nothing.
func keep(body map[string]any, thing any, without ...string) error {
	raw, err := json.Marshal(thing)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, &body); err != nil {
		return err
	}
	for _, key := range without {
		delete(body, key)
	}
	for key, v := range body {
		if v == "" || v == nil {
			delete(body, key)
		}
	}
	return nil
}

// describe writes an entry that describes something of the farm.
func (s *server) describe(r *http.Request, kind, id string, body map[string]any) error {
	for key, v := range body {
		if v == "" {
			delete(body, key)
		}
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	now := s.Now()
	_, _, err = s.write(r.Context(), farm.Entry{ID: id, Kind: kind, V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}, farm.Typed)
	return err
}

// slug makes the identifier of a thing from its name.
func slug(name string) string {
	var b strings.Builder
	dash := false
	for _, r := range strings.ToLower(strings.TrimSpace(name)) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			if dash && b.Len() > 0 {
				b.WriteByte('-')
			}
			dash = false
			b.WriteRune(r)
		default:
			dash = true
		}
		if b.Len() >= 40 {
			break
		}
	}
	return b.String()
}

// writePerson adds somebody.
func (s *server) writePerson(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	name := strings.TrimSpace(r.PostForm.Get("name"))
	id := slug(name)
	if id == "" {
		return invalid("name", "", "name is missing")
	}
	if err := s.describe(r, "person", r.PostForm.Get("id"), map[string]any{"id": id, "name": name, "role": r.PostForm.Get("role")}); err != nil {
		return err
	}
	http.Redirect(w, r, "/farm?said=saved", http.StatusSeeOther)
	return nil
}

// writeInstrument adds something to measure with.
func (s *server) writeInstrument(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	name := strings.TrimSpace(r.PostForm.Get("name"))
	id := slug(name)
	if id == "" {
		return invalid("name", "", "name is missing")
	}
	body := map[string]any{"id": id, "name": name, "measures": r.PostForm.Get("measures"), "make": r.PostForm.Get("make")}
	if err := s.describe(r, "instrument", r.PostForm.Get("id"), body); err != nil {
		return err
	}
	http.Redirect(w, r, "/farm?said=saved", http.StatusSeeOther)
	return nil
}

type insidePage struct {
	Frame
	ID, Vessel, Name string
	Unit             string
	Recipes          []option
	Names            []option
}

// insideForm asks what a vessel holds: the third step of the first run.
func (s *server) insideForm(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	p := insidePage{Frame: frame, ID: s.newID(), Vessel: r.URL.Query().Get("vessel"), Unit: frame.W.UnitOf("volume_l")}
	p.Names = []option{{farm.Outside, frame.W.T("note.outside_farm"), true}}
	for _, v := range setup.Vessels {
		if v.ID == p.Vessel {
			p.Name = v.Name
		} else {
			p.Names = append(p.Names, option{v.ID, v.Name, false})
		}
	}
	if p.Name == "" {
		return &farm.Error{Code: farm.NotFound, Field: "vessel", Message: fmt.Sprintf("vessel %q does not exist", clip(p.Vessel))}
	}
	for _, rec := range setup.Recipes {
		p.Recipes = append(p.Recipes, option{rec.ID, rec.Name, false})
	}
	p.Title = frame.W.T("setup.inside")
	return s.views.render(w, r, http.StatusOK, "inside", p)
}

// writeInside notes the culture that a vessel holds.
func (s *server) writeInside(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp := r.PostForm, s.speaker(r)
	body := map[string]any{}
	x, err := plainNumber("volume", f.Get("volume"))
	if err != nil {
		return err
	}
	body["volume_l"] = roundTo(sp.Stored("volume_l", x), 5)
	if err := optional(body, "density_g_per_l", f.Get("density"), 1); err != nil {
		return err
	}
	if from := f.Get("from"); from != "" {
		body["from"] = from
	}
	if text := strings.TrimSpace(f.Get("text")); text != "" {
		body["text"] = text
	}
	if recipe := strings.TrimSpace(f.Get("recipe")); recipe != "" {
		body["medium"] = map[string]string{"recipe": recipe}
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	now := s.Now()
	e := farm.Entry{ID: f.Get("id"), Vessel: f.Get("vessel"), Kind: "inoculated", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/note?vessel="+url.QueryEscape(e.Vessel), http.StatusSeeOther)
	return nil
}
