package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/farm/calc"
	"sodalake/farm/lot"
	"sodalake/science/assay"
	"sodalake/words"
)

// typedField is an input of a sheet with what was typed or is offered.
type typedField struct {
	Name, Label, Unit, Value string
	Bad                      bool
}

// runCalc asks a calculator with what was typed and reads its answer into out.
func runCalc(c *calc.Calculator, in map[string]any, out any) error {
	raw, err := json.Marshal(in)
	if err != nil {
		return err
	}
	got, err := c.Run(raw)
	if err != nil {
		return err
	}
	if raw, err = json.Marshal(got); err != nil {
		return err
	}
	return json.Unmarshal(raw, out)
}

// shownError is an error that a person can be shown beside the sheet, or nil.
func shownError(err error) *farm.Error {
	var e *farm.Error
	if errors.As(err, &e) && e.Code != farm.Internal {
		return e
	}
	return nil
}

type pcrPage struct {
	Frame
	Nav    []mixMode
	Fields []typedField
	Assays []option
	Bad    *farm.Error
	Out    *pcrAnswer
	Lanes  []string // tubes in their order, for the sheet
}

type pcrAnswer struct {
	Tubes   int     `json:"tubes"`
	Made    float64 `json:"made_for_tubes"`
	Parts   []pcrAnswerPart
	Total   float64  `json:"total_ul"`
	Each    float64  `json:"dispense_ul"`
	Extract float64  `json:"template_ul"`
	Left    float64  `json:"left_ul"`
	Agarose *float64 `json:"agarose_g"`
	Forward string
	Reverse []string
	Product *float64 `json:"product_bp"`
	Anneal  *float64 `json:"anneal_c"`

	Assumptions, Cautions, Sources []string
}

type pcrAnswerPart struct {
	What string
	Tube float64 `json:"tube_ul"`
	Mix  float64 `json:"mix_ul"`
}

// pcrFields are the numbers of the sheet with what is offered.
var pcrFields = []struct{ name, unit, offered string }{
	{"samples", "", "8"}, {"replicates", "", "1"}, {"positive_controls", "", "1"}, {"no_template_controls", "", "1"}, {"extraction_blanks", "", "1"}, {"spare_pct", "%", "10"},
	{"reaction_ul", "µL", "25"}, {"template_ul", "µL", "2"}, {"mix_times", "", "2"}, {"primer_stock_um", "µM", "10"}, {"primer_um", "µM", "0.4"}, {"gel_ml", "mL", "50"}, {"gel_pct", "%", "1.5"},
}

// UL says microlitres to a hundredth.
func (p *pcrPage) UL(x float64) string { return p.W.Rounded(x, 0.01) + " µL" }

// Grams says grams to a hundredth.
func (p *pcrPage) Grams(x float64) string { return p.W.Rounded(x, 0.01) + " g" }

// Plain says a number without more digits than it needs.
func (p *pcrPage) Plain(x float64) string { return strconv.FormatFloat(roundTo(x, 4), 'f', -1, 64) }

// pcr is the sheet of a run: the master mix, the tubes in their order, the gel.
func (s *server) pcr(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	q, word := r.URL.Query(), frame.W
	p := &pcrPage{Frame: frame, Nav: checksNav(word, "pcr")}
	p.Title, p.Sheet = word.T("pcr.title"), "checks.css"
	in := map[string]any{}
	var bad error
	counts := map[string]int{}
	for _, f := range pcrFields {
		text := strings.TrimSpace(q.Get(f.name))
		if text == "" {
			text = f.offered
		}
		x, err := plainNumber(f.name, text)
		if err != nil && bad == nil {
			bad = err
		}
		in[f.name], counts[f.name] = x, int(x)
		p.Fields = append(p.Fields, typedField{Name: f.name, Label: word.T("pcr." + f.name), Unit: f.unit, Value: clip(text)})
	}
	chosen := "hep"
	if q.Has("assay") {
		chosen = q.Get("assay")
	}
	p.Assays = assayOptions(chosen)
	if chosen != "" {
		in["assay"] = chosen
	}
	out := &pcrAnswer{}
	if bad == nil {
		bad = runCalc(calc.PCR(), in, out)
	}
	status := http.StatusOK
	if bad != nil {
		if p.Bad = shownError(bad); p.Bad == nil {
			return bad
		}
		status = http.StatusUnprocessableEntity
		for i := range p.Fields {
			p.Fields[i].Bad = p.Fields[i].Name == p.Bad.Field
		}
	} else {
		p.Out = out
		add := func(n int, label string) {
			for i := range n {
				name := word.T("pcr.tube_" + label)
				if n > 1 {
					name += " " + strconv.Itoa(i+1)
				}
				p.Lanes = append(p.Lanes, name)
			}
		}
		if out.Tubes <= 200 {
			add(counts["samples"]*counts["replicates"], "sample")
			add(counts["positive_controls"], "positive")
			add(counts["no_template_controls"], "no_template")
			add(counts["extraction_blanks"], "blank")
		}
	}
	return s.views.render(w, r, status, "pcr", p)
}

func assayOptions(chosen string) []option {
	out := []option{{"", "–", chosen == ""}}
	for _, a := range assay.PrimerSets() {
		out = append(out, option{a.Name, a.Name + ", " + strconv.FormatFloat(a.ProductBP, 'f', -1, 64) + " bp", a.Name == chosen})
	}
	return out
}

type labPage struct {
	Frame
	Nav           []mixMode
	ID            string
	Lots          []option
	Places        []option
	Analytes      []option
	Found, By, At string
	Bad           *farm.Error
	Tried         bool
	State, Lead   string
	Against       []labAgainst
	Limits        []labAgainst
	Noted         string
	NotedHref     string
}

// labAgainst is a limit, and a result held against it.
type labAgainst struct{ State, Analyte, Limit, Of, Why string }

// labPlaces are the places of the tables of limits.
func labPlaces() []string {
	var out []string
	for _, l := range assay.Limits("") {
		if !slices.Contains(out, l.Place) {
			out = append(out, l.Place)
		}
	}
	return out
}

func limitRow(w *words.Speaker, l assay.Limit) labAgainst {
	row := labAgainst{Analyte: w.T("analyte." + l.Analyte)}
	unit := " " + strings.Replace(string(l.Measure), "1/g", "in 1 g", 1)
	if l.AbsentG > 0 {
		row.Limit = w.T("lab.absent", "mass", strconv.FormatFloat(l.AbsentG, 'f', -1, 64))
	} else {
		row.Limit = w.T("lab.at_most", "most", strconv.FormatFloat(l.Max, 'g', -1, 64)+unit)
	}
	parts := []string{strings.ToUpper(l.Place), w.T("lab.standing_" + string(l.Standing))}
	if l.Place == "farm" {
		parts[0] = w.T("lab.place_farm")
	}
	for _, t := range []string{l.Of, l.Since, l.Source} {
		if t != "" {
			parts = append(parts, t)
		}
	}
	row.Of = strings.Join(parts, "; ")
	return row
}

// lab holds a result of a laboratory against the limits, before it is noted.
func (s *server) lab(w http.ResponseWriter, r *http.Request) error {
	p, err := s.labPage(r, r.URL.Query())
	if err != nil {
		return err
	}
	status := http.StatusOK
	if p.Bad != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.views.render(w, r, status, "lab", p)
}

func (s *server) labPage(r *http.Request, q url.Values) (*labPage, error) {
	frame, setup, err := s.frame(r, "vessels", "")
	if err != nil {
		return nil, err
	}
	w := frame.W
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return nil, err
	}
	p := &labPage{Frame: frame, Nav: checksNav(w, "lab"), ID: s.newID(), Found: strings.TrimSpace(q.Get("found")), By: q.Get("laboratory"), At: q.Get("at")}
	p.Title, p.Sheet = w.T("lab.title"), "checks.css"
	_, p.Lots = checkTargets(setup, lots, "l:"+q.Get("lot"))
	place := q.Get("place")
	if place == "" {
		place = lots.Plan.Limits
	}
	if place == "" {
		place = "farm"
	}
	for _, at := range labPlaces() {
		label := strings.ToUpper(at)
		if at == "farm" {
			label = w.T("lab.place_farm")
		}
		p.Places = append(p.Places, option{at, label, at == place})
	}
	analyte := q.Get("analyte")
	for _, a := range farm.Analytes {
		p.Analytes = append(p.Analytes, option{a, upperFirst(w.T("analyte." + a)), a == analyte})
	}
	for _, l := range assay.Limits(place) {
		p.Limits = append(p.Limits, limitRow(w, l))
	}
	if p.Found != "" && slices.Contains(farm.Analytes, analyte) {
		p.judge(analyte, place)
	}
	if id := q.Get("noted"); id != "" {
		if e, err := s.Farm.Entry(r.Context(), id); err == nil && e.Kind == "lot_check" {
			p.Noted, p.NotedHref = w.T("lab.noted"), "/lots/"+url.PathEscape(q.Get("lot"))
		}
	}
	return p, nil
}

// judge holds what was typed against the farm's limits and those of the place.
func (p *labPage) judge(analyte, place string) {
	result, err := assay.ParseResult(p.Found)
	if err != nil {
		p.Bad = resultError(err)
		return
	}
	limits := assay.LimitsOf("farm", analyte)
	if place != "farm" {
		limits = append(limits, assay.LimitsOf(place, analyte)...)
	}
	p.Tried, p.State = true, string(assay.Missing)
	passed := len(limits) > 0
	for _, l := range limits {
		v, why := assay.Judge(result, l)
		row := limitRow(p.W, l)
		row.State, row.Why = string(v), p.W.T("lab.why_"+strings.ReplaceAll(string(why), "-", "_"))
		p.Against = append(p.Against, row)
		passed = passed && v == assay.Passed
		if v == assay.Failed {
			p.State = string(assay.Failed)
		}
	}
	if passed {
		p.State = string(assay.Passed)
	}
	p.Lead = p.W.T("lab.lead_"+p.State, "found", p.Found)
	if len(limits) == 0 {
		p.Lead = p.W.T("lab.no_limit")
	}
}

// resultError turns the refusal of a result into one at its field.
func resultError(err error) *farm.Error {
	e := &farm.Error{Code: farm.Invalid, Field: "found", Message: "found: " + err.Error(), Hint: "as the report says it, with its unit: < 0.05 mg/kg, absent in 25 g"}
	var in *assay.InputError
	if errors.As(err, &in) && in.Hint != "" {
		e.Hint = in.Hint
	}
	return e
}

// writeLab notes a result of a lot, as it was reported.
func (s *server) writeLab(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp, now := r.PostForm, s.speaker(r), s.Now()
	_, lotID := ofWhat(f.Get("of"))
	if lotID == "" {
		return invalid("of", "a result of one lot says nothing of the next", "the lot is missing")
	}
	found := strings.TrimSpace(f.Get("found"))
	if _, err := assay.ParseResult(found); err != nil {
		return resultError(err)
	}
	body := map[string]any{"lot": lotID, "check": lot.Laboratory, "analyte": f.Get("analyte"), "found": found}
	if by := strings.TrimSpace(f.Get("laboratory")); by != "" {
		body["laboratory"] = by
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	e := farm.Entry{ID: f.Get("id"), Kind: "lot_check", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
	if at := strings.TrimSpace(f.Get("at")); at != "" {
		if e.At, err = moment("at", at, sp.Zone()); err != nil {
			return err
		}
	}
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/checks/lab?"+url.Values{"lot": {lotID}, "noted": {e.ID}, "analyte": {f.Get("analyte")}, "place": {f.Get("place")}, "found": {found}}.Encode(), http.StatusSeeOther)
	return nil
}

// Place is the number of a tube, from one on.
func (p *pcrPage) Place(i int) int { return i + 1 }
