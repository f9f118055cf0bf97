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
)

// quick are the kinds on the sheet's own keys, in reading order: the four
// readings and the four acts that are noted every day.
var quick = []string{"secchi", "ph", "temperature", "level", "topped_up", "fed", "harvested", "microscope"}

// lead is the field that the number pad fills, for kinds whose first field is
// not it.
var lead = map[string]string{
	"topped_up": "volume_l", "harvested": "volume_l", "temperature": "temp_c", "microscope": "filaments_seen",
	"fed": "mass", "dosed": "mass", "optical_density": "od_750", "light": "par_umol_m2_s", "discarded": "volume_l", "heated": "target_c", "checked": "read", "split": "volume_l", "moved": "volume_l",
}

// asked are the fields that the sheet asks for beside the number; every other
// field of a kind can be sent by the API or an import.
var asked = map[string][]string{
	"topped_up": {"with"}, "fed": {"salt"}, "dosed": {"salt", "reason"},
	"microscope": {"foreign_seen", "text"}, "split": {"to"}, "moved": {"to"}, "inoculated": {"from", "density_g_per_l", "text"},
	"mixed": {"recipe"}, "purged": {"with", "refill_l"}, "drew_off": {"to"}, "harvested": {"left_g_per_l"},
	"photo": {"text"}, "checked": {"instrument", "result"}, "event": {"text"}, "stirred": {"text"}, "cleaned": {"what"}, "repaired": {"what"},
	"rejected": {"reason"}, "recalled": {"reason", "mass_g"},
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
	PhotoID            string   // identifier of the entry of a photo beside an act
	PhotoWas           string   // photo of the entry that is corrected
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
	Optional                bool // the number may be left out
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
	p := &notePage{Frame: frame, ID: s.newID(), PhotoID: s.newID(), Item: q.Get("item"), Vessel: q.Get("vessel"), Kind: q.Get("kind"), Value: q.Get("value"), Corrects: q.Get("corrects")}
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

// writeNote records a note. A note that waited in a phone's outbox says so and
// carries the time at which it was made.
func (s *server) writeNote(w http.ResponseWriter, r *http.Request) error {
	form, shot, err := s.formWithPhoto(r)
	if err != nil {
		return err
	}
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
	if e.Body, err = s.withPhoto(r.Context(), sp, k, e.Body, form, shot); err != nil {
		return err
	}
	stored, known, err := s.write(r.Context(), e, origin)
	if err != nil {
		return err
	}
	if err := s.photoOfAct(r.Context(), k, stored, form.Get("photo_id"), shot, origin); err != nil {
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
		p.PhotoWas, _ = body["photo_sha256"].(string)
	}
	return nil
}

type kindsPage struct {
	Frame
	Wrong  string // where signs are told instead
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
	p := kindsPage{Frame: frame, Wrong: "/wrong"}
	if v := r.URL.Query().Get("vessel"); v != "" {
		p.Wrong += "?vessel=" + url.QueryEscape(v)
	}
	for _, g := range []struct {
		group farm.Group
		name  string
	}{{farm.GroupReading, "note.readings"}, {farm.GroupAct, "note.acts"}} {
		kg := kindGroup{Name: frame.W.T(g.name)}
		for _, k := range farm.Kinds() {
			if k.Group != g.group || k.Name == "reading" || k.Name == "released" {
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
