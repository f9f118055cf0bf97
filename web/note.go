package web

import (
	"encoding/json"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/words"
)

// quick are the kinds on the sheet's own keys, in reading order: the four
// readings and the four acts that are noted every day.
var quick = []string{"secchi", "ph", "temperature", "level", "topped_up", "fed", "harvested", "microscope"}

// lead is the field that the number pad fills, for kinds whose first field is
// not it.
var lead = map[string]string{
	"topped_up": "volume_l", "harvested": "volume_l", "temperature": "temp_c", "microscope": "filaments_seen",
	"fed": "mass", "dosed": "mass", "optical_density": "od_750", "light": "par_umol_m2_s", "discarded": "volume_l", "heated": "target_c",
}

// asked are the fields that the sheet asks for beside the number; every other
// field of a kind can be sent by the API or an import.
var asked = map[string][]string{
	"topped_up": {"with"}, "fed": {"salt"}, "dosed": {"salt", "reason"},
	"microscope": {"foreign_seen", "text"}, "split": {"to"}, "moved": {"to"}, "inoculated": {"from", "density_g_per_l", "text"},
	"mixed": {"recipe"}, "purged": {"with", "refill_l"}, "drew_off": {"to"}, "harvested": {"left_g_per_l"},
	"checked": {"instrument", "result"}, "event": {"text"}, "stirred": {"text"}, "cleaned": {"what"}, "repaired": {"what"},
}

// salts that the sheet offers; another name can be typed.
var salts = []string{"KNO3", "NaNO3", "CO(NH2)2", "NaHCO3", "Na2CO3", "K2HPO4", "MgSO4", "FeSO4"}

type notePage struct {
	Frame
	ID, Item, Corrects string
	Correcting         string
	Vessels            []noteVessel
	Select             bool // more vessels than keys: a list
	Vessel             string
	Kinds              []noteKind
	Extra              *noteKind // a kind beyond the quick ones, chosen from the list of all
	Kind               string
	Value              string
	At                 string // as a form field takes it
	Expects            []expect
	Expected           string // of what is chosen at first
	Today              []journalRow
	Noted              string
	Salts              []option
	Names              []option // vessels as targets
}

type noteVessel struct {
	ID, Name string
	Glyph    template.HTML
	Checked  bool
}

// noteKind is one kind on the sheet.
type noteKind struct {
	Name, Label, Full, Unit string
	Mode                    string // "number", "words", "choice", "none"
	Checked                 bool
	Reading                 bool // a number that was read: it may lie beyond the scale
	Fields                  []noteField
}

type noteField struct {
	Name, Label, Unit string
	Input             string // "text", "number", "select", "salt", "vessel", "yes"
	Options           []option
	Value             string
}

type option struct {
	Value, Label string
	Chosen       bool
}

// expect is what the twin expects of a reading of one vessel, for the module
// that says at once whether a number fits.
type expect struct {
	Vessel, Kind, Low, High, Text string
}

func (s *server) note(w http.ResponseWriter, r *http.Request) error {
	page, err := s.sheet(r, r.URL.Query())
	if err != nil {
		return err
	}
	if id := r.URL.Query().Get("noted"); id != "" {
		if e, err := s.Farm.Entry(r.Context(), id); err == nil {
			page.Noted = page.W.T("note.noted", "what", describe(page.W, e, names(page.Vessels)))
		}
	}
	return s.views.render(w, r, http.StatusOK, "note", page)
}

func names(vs []noteVessel) map[string]string {
	m := map[string]string{}
	for _, v := range vs {
		m[v.ID] = v.Name
	}
	return m
}

// sheet prepares the note sheet with what q has chosen.
func (s *server) sheet(r *http.Request, q url.Values) (*notePage, error) {
	frame, setup, err := s.frame(r, "note", "")
	if err != nil {
		return nil, err
	}
	now := s.Now()
	vessels, err := s.Farm.Vessels(r.Context(), now)
	if err != nil {
		return nil, err
	}
	w := frame.W
	p := &notePage{Frame: frame, ID: s.newID(), Item: q.Get("item"), Vessel: q.Get("vessel"), Kind: q.Get("kind"), Value: q.Get("value"), Corrects: q.Get("corrects")}
	p.Title = w.T("note.title")
	p.Select = len(vessels) > 8
	if p.Vessel == "" && len(vessels) > 0 {
		p.Vessel = vessels[0].Spec.ID
	}
	if p.Corrects != "" {
		if err := s.correcting(r, p); err != nil {
			return nil, err
		}
	}
	if farm.KindNamed(p.Kind) == nil {
		p.Kind = quick[0]
	}
	for i, v := range vessels {
		nv := noteVessel{ID: v.Spec.ID, Name: v.Spec.Name, Checked: v.Spec.ID == p.Vessel}
		if !p.Select {
			nv.Glyph = glyph(v, "n"+strconv.Itoa(i), now)
		}
		p.Vessels = append(p.Vessels, nv)
		p.Names = append(p.Names, option{v.Spec.ID, v.Spec.Name, false})
		p.Expects = append(p.Expects, expectsOf(w, v)...)
	}
	p.Names = append(p.Names, option{Value: farm.Outside, Label: w.T("note.outside_farm")})
	for _, salt := range salts {
		p.Salts = append(p.Salts, option{salt, w.T("salt." + salt), false})
	}
	for _, name := range quick {
		p.Kinds = append(p.Kinds, kindOf(w, name, name == p.Kind, p, setup))
	}
	if !slices.Contains(quick, p.Kind) {
		k := kindOf(w, p.Kind, true, p, setup)
		p.Extra = &k
	}
	for _, e := range p.Expects {
		if e.Vessel == p.Vessel && e.Kind == p.Kind {
			p.Expected = e.Text
		}
	}
	p.Today, err = s.notedToday(r, w, now)
	return p, err
}

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
		{"secchi", "secchi_cm", keeper.SecchiCM}, {"ph", "ph", keeper.PH}, {"temperature", "temp_c", keeper.TempC}, {"level", "level_cm", keeper.LevelCM},
		{"conductivity", "conductivity_ms_per_cm", keeper.ConductivityM},
	} {
		b, ok := v.Now.Bands[c.quantity]
		if !ok && c.kind == "ph" {
			b, ok = v.Now.Bands[keeper.PH25C]
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
		if value == "" && leadKey != "filaments_seen" && k.Name != "discarded" {
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
	if k.Name == "discarded" && value == "" {
		body["all"] = true
	}
	return json.Marshal(body)
}

// writeNote records a note. A note that waited in a phone's outbox says so and
// carries the time at which it was made.
func (s *server) writeNote(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	form := r.PostForm
	sp := s.speaker(r)
	k := farm.KindNamed(form.Get("kind"))
	if k == nil || (k.Group != farm.GroupReading && k.Group != farm.GroupAct) {
		return invalid("kind", "choose one of the kinds on the sheet", "kind %q cannot be noted here", clip(form.Get("kind")))
	}
	body, err := bodyOf(sp, k, form)
	if err != nil {
		return err
	}
	now := s.Now()
	e := farm.Entry{ID: form.Get("id"), Vessel: form.Get("vessel"), Kind: k.Name, V: 1, At: now, NotedAt: now, By: s.Who(r), Body: body, Item: form.Get("item"), Corrects: form.Get("corrects")}
	origin := farm.Typed
	if made := form.Get("made_at"); made != "" {
		t, err := time.Parse(time.RFC3339, made)
		if err != nil {
			return invalid("made_at", "", "made_at %q is not a time", clip(made))
		}
		e.At, e.NotedAt, origin = t, t, farm.Sent
	}
	if at := strings.TrimSpace(form.Get("at")); at != "" {
		t, err := moment("at", at, sp.Zone())
		if err != nil {
			return err
		}
		e.At = t
	}
	if k.Place == farm.OfNoVessel {
		e.Vessel = ""
	}
	stored, known, err := s.write(r.Context(), e, origin)
	if err != nil {
		return err
	}
	if strings.Contains(r.Header.Get("Accept"), "application/json") {
		vs := map[string]string{}
		if setup, err := s.Farm.Setup(r.Context()); err == nil {
			for _, v := range setup.Vessels {
				vs[v.ID] = v.Name
			}
		}
		say := sp.T("note.noted", "what", describe(sp, stored, vs))
		if known {
			say = sp.T("note.noted_twice")
		}
		w.Header().Set("Content-Type", "application/json")
		return json.NewEncoder(w).Encode(map[string]any{"id": stored.ID, "said": say, "next_id": s.newID(), "known": known})
	}
	q := url.Values{"vessel": {e.Vessel}, "kind": {k.Name}, "noted": {stored.ID}}
	http.Redirect(w, r, "/note?"+q.Encode(), http.StatusSeeOther)
	return nil
}

// correcting fills the sheet with the entry that is to be replaced.
func (s *server) correcting(r *http.Request, p *notePage) error {
	e, err := s.Farm.Entry(r.Context(), p.Corrects)
	if err != nil {
		return err
	}
	k := farm.KindNamed(e.Kind)
	if k == nil || (k.Group != farm.GroupReading && k.Group != farm.GroupAct) {
		return invalid("corrects", "it is changed on the page that describes it", "an entry of kind %q is not corrected here", e.Kind)
	}
	p.Vessel, p.Kind = e.Vessel, e.Kind
	p.At = e.At.In(p.W.Zone()).Format("2006-01-02T15:04")
	p.Correcting = p.W.T("note.correcting", "time", p.W.Moment(e.At))
	var body map[string]any
	if json.Unmarshal(e.Body, &body) == nil {
		if x, ok := body[leadOf(k)].(float64); ok {
			p.Value = p.W.Read(leadOf(k), x).Value
		}
	}
	return nil
}

type kindsPage struct {
	Frame
	Groups []kindGroup
}

type kindGroup struct {
	Name  string
	Kinds []kindLink
}

type kindLink struct{ Label, What, Href string }

// kinds lists everything that can be noted.
func (s *server) kinds(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "note", "")
	if err != nil {
		return err
	}
	frame.Title = frame.W.T("note.kinds_title")
	p := kindsPage{Frame: frame}
	for _, g := range []struct {
		group farm.Group
		name  string
	}{{farm.GroupReading, "note.readings"}, {farm.GroupAct, "note.acts"}} {
		kg := kindGroup{Name: frame.W.T(g.name)}
		for _, k := range farm.Kinds() {
			if k.Group != g.group || k.Name == "photo" || k.Name == "reading" {
				continue
			}
			q := url.Values{"kind": {k.Name}}
			if v := r.URL.Query().Get("vessel"); v != "" {
				q.Set("vessel", v)
			}
			kg.Kinds = append(kg.Kinds, kindLink{upperFirst(frame.W.T("kind." + k.Name)), k.What, "/note?" + q.Encode()})
		}
		p.Groups = append(p.Groups, kg)
	}
	return s.views.render(w, r, http.StatusOK, "kinds", p)
}
