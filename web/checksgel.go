package web

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/farm/calc"
	"sodalake/farm/photo"
	"sodalake/science/assay"
	"sodalake/words"
)

// gelLanes is how many lanes the sheet has beside the ladder.
const gelLanes = 8

type gelPage struct {
	Frame
	Nav           []mixMode
	ID, PhotoID   string
	Photo         string // name of the photo that is shown
	PhotoAlt      string
	PhotoMost     int
	TallMM        string // height of what the photo shows
	Ladders       []ladderOption
	Ladder        string
	Lanes         []gelLane
	Assays        []option
	Expected      string
	Companion     string
	Neighbours    string
	Elsewhere     string
	Bad           *farm.Error
	Asked         bool
	Out           *gelAnswer
	Calls         []gelCall
	Bands         [][]string
	Head          []string
	Lots          []option
	CallLanes     []option
	Noted, NotedH string
	Cautions      []string
}

// ladderOption is a ladder by its lengths, the longest first.
type ladderOption struct{ Name, BP string }

type gelLane struct {
	No, Name, MM string
	Kinds        []option
}

type gelCall struct{ Lane, State, Word, Why string }

type gelAnswer struct {
	Bands []struct {
		Lane   string
		MM     float64
		Size   *float64 `json:"size_bp"`
		Low    *float64 `json:"low_bp"`
		High   *float64 `json:"high_bp"`
		Beyond string   `json:"beyond_ladder"`
	}
	Calls []struct {
		Lane, Call, Why string
		Size            *float64 `json:"size_bp"`
	}
	Expected *float64 `json:"expected_bp"`
	SelfPct  *float64 `json:"ladder_self_error_pct"`

	Assumptions, Cautions, Sources []string
}

// callState is what a call is among the checks: a band that was found fails, and
// what the gel cannot tell is missing.
var callState = map[string]string{
	string(assay.Found): "failed", string(assay.NotFound): "passed", string(assay.Unclear): "missing", string(assay.Invalid): "missing",
}

// gelAsk makes of what was typed a question to the calculator.
func gelAsk(q url.Values) (map[string]any, error) {
	in := map[string]any{}
	var ladder []map[string]float64
	for _, line := range strings.Split(q.Get("ladder"), "\n") {
		parts := strings.Fields(strings.ReplaceAll(line, ";", " "))
		if len(parts) == 0 {
			continue
		}
		if len(parts) != 2 {
			return nil, invalid("ladder", "a band a line: its length and its way, as in 500 23.5", "ladder line %q is not a length and a way", clip(line))
		}
		bp, err := plainNumber("ladder", parts[0])
		if err != nil {
			return nil, err
		}
		mm, err := plainNumber("ladder", parts[1])
		if err != nil {
			return nil, err
		}
		ladder = append(ladder, map[string]float64{"bp": bp, "mm": mm})
	}
	in["ladder"] = ladder
	bands, lanes := []map[string]any{}, []map[string]any{}
	for n := 1; n <= gelLanes; n++ {
		field := "lane." + strconv.Itoa(n)
		name, kind, ways := strings.TrimSpace(q.Get(field+".name")), q.Get(field+".kind"), strings.Fields(strings.ReplaceAll(q.Get(field+".mm"), ";", " "))
		if kind == "" {
			if len(ways) > 0 {
				return nil, invalid(field, "say what it holds", "lane %d has bands, and what it holds is missing", n)
			}
			continue
		}
		if name == "" {
			name = strconv.Itoa(n)
		}
		lanes = append(lanes, map[string]any{"lane": name, "kind": kind})
		for _, t := range ways {
			mm, err := plainNumber(field, t)
			if err != nil {
				return nil, err
			}
			bands = append(bands, map[string]any{"lane": name, "mm": mm})
		}
	}
	in["bands"], in["lanes"] = bands, lanes
	if a := q.Get("assay"); a != "" {
		in["assay"] = a
	}
	for _, f := range []struct{ name, key string }{{"expected", "expected_bp"}, {"companion", "companion_bp"}} {
		if t := strings.TrimSpace(q.Get(f.name)); t != "" {
			x, err := plainNumber(f.name, t)
			if err != nil {
				return nil, err
			}
			in[f.key] = x
		}
	}
	neighbours := []float64{}
	for _, t := range strings.Fields(strings.ReplaceAll(q.Get("neighbours"), ";", " ")) {
		x, err := plainNumber("neighbours", t)
		if err != nil {
			return nil, err
		}
		neighbours = append(neighbours, x)
	}
	in["neighbours_bp"] = neighbours
	if t := strings.TrimSpace(q.Get("elsewhere")); t != "" {
		in["companion_seen_in"] = strings.Fields(strings.ReplaceAll(t, ",", " "))
	}
	return in, nil
}

// gel reads a gel: a photo is tapped, or the ways are typed.
func (s *server) gel(w http.ResponseWriter, r *http.Request) error {
	p, err := s.gelPage(r, r.URL.Query())
	if err != nil {
		return err
	}
	status := http.StatusOK
	if p.Bad != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.views.render(w, r, status, "gel", p)
}

func (s *server) gelPage(r *http.Request, q url.Values) (*gelPage, error) {
	frame, setup, err := s.frame(r, "vessels", "")
	if err != nil {
		return nil, err
	}
	w := frame.W
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return nil, err
	}
	p := &gelPage{Frame: frame, Nav: checksNav(w, "gel"), ID: s.newID(), PhotoID: s.newID(), PhotoMost: photo.MaxBytes, TallMM: q.Get("tall_mm"), Ladder: q.Get("ladder"),
		Expected: q.Get("expected"), Companion: q.Get("companion"), Neighbours: q.Get("neighbours"), Elsewhere: q.Get("elsewhere")}
	p.Title, p.Sheet, p.Script = w.T("gel.title"), "checks.css", "gel.js"
	if p.TallMM == "" {
		p.TallMM = "60"
	}
	if name := q.Get("photo"); photo.IsName(name) {
		if _, err := s.Farm.Photo(r.Context(), name); err == nil {
			p.Photo, p.PhotoAlt = name, w.T("gel.photo_alt")
		} else if farm.CodeOf(err) != farm.NotFound {
			return nil, err
		}
	}
	for _, l := range assay.KnownLadders() {
		var bp []string
		for _, x := range l.BP {
			bp = append(bp, strconv.FormatFloat(x, 'f', -1, 64))
		}
		p.Ladders = append(p.Ladders, ladderOption{l.Name, strings.Join(bp, " ")})
	}
	for n := 1; n <= gelLanes; n++ {
		field := "lane." + strconv.Itoa(n)
		l := gelLane{No: strconv.Itoa(n), Name: q.Get(field + ".name"), MM: q.Get(field + ".mm")}
		for _, k := range assay.LaneKinds() {
			l.Kinds = append(l.Kinds, option{string(k), w.T("gel.kind_" + strings.ReplaceAll(string(k), "-", "_")), q.Get(field+".kind") == string(k)})
		}
		p.Lanes = append(p.Lanes, l)
	}
	// The ladder of short fragments first: it is what these products are read by.
	slices.SortStableFunc(p.Ladders, func(a, b ladderOption) int { return cmp.Compare(longest(a), longest(b)) })
	p.Cautions = []string{w.T("checks.caution_stain"), w.T("gel.caution_gene")}
	p.Assays = assayOptions(q.Get("assay"))
	_, p.Lots = checkTargets(setup, lots, "l:"+q.Get("lot"))
	p.Asked = strings.TrimSpace(q.Get("ladder")) != ""
	if p.Asked {
		in, err := gelAsk(q)
		if err == nil {
			p.Out = &gelAnswer{}
			err = runCalc(calc.Gel(), in, p.Out)
		}
		if err != nil {
			p.Out = nil
			if p.Bad = shownError(err); p.Bad == nil {
				return nil, err
			}
		} else {
			p.tell(w)
		}
	}
	if id := q.Get("noted"); id != "" {
		if e, err := s.Farm.Entry(r.Context(), id); err == nil && e.Kind == "lot_check" {
			p.Noted, p.NotedH = w.T("lab.noted"), "/lots/"+url.PathEscape(q.Get("lot"))
		}
	}
	return p, nil
}

// longest is the length of a ladder's longest band [bp].
func longest(l ladderOption) float64 {
	first, _, _ := strings.Cut(l.BP, " ")
	x, _ := strconv.ParseFloat(first, 64)
	return x
}

// shownLanes are the lanes that stand open on the sheet; the rest can be opened.
const shownLanes = 4

// FirstLanes are the lanes that stand open.
func (p *gelPage) FirstLanes() []gelLane { return p.Lanes[:shownLanes] }

// MoreLanes are the lanes that can be opened.
func (p *gelPage) MoreLanes() []gelLane { return p.Lanes[shownLanes:] }

// MoreOpen tells whether something stands in the lanes that can be opened.
func (p *gelPage) MoreOpen() bool {
	return slices.ContainsFunc(p.MoreLanes(), func(l gelLane) bool {
		return l.Name != "" || l.MM != "" || slices.ContainsFunc(l.Kinds, func(o option) bool { return o.Chosen })
	})
}

// tell puts the answer into rows and sentences.
func (p *gelPage) tell(w *words.Speaker) {
	bp := func(x *float64) string {
		if x == nil {
			return "–"
		}
		return strconv.FormatFloat(*x, 'f', 0, 64)
	}
	p.Head = []string{w.T("gel.lane"), w.T("gel.way"), w.T("gel.size"), w.T("gel.range")}
	for _, b := range p.Out.Bands {
		size, around := bp(b.Size)+" bp", bp(b.Low)+"–"+bp(b.High)+" bp"
		if b.Beyond != "" {
			size, around = "–", w.T("gel.beyond")
		}
		p.Bands = append(p.Bands, []string{b.Lane, w.Rounded(b.MM, 0.1) + " mm", size, around})
	}
	for _, c := range p.Out.Calls {
		call := gelCall{Lane: c.Lane, State: callState[c.Call], Word: w.T("gel.call_" + strings.ReplaceAll(c.Call, "-", "_")), Why: c.Why}
		p.Calls = append(p.Calls, call)
		if call.State != "missing" {
			p.CallLanes = append(p.CallLanes, option{Value: c.Lane, Label: c.Lane + ": " + w.T("check_state."+call.State)})
		}
	}
	p.Cautions = p.Out.Cautions
}

// writeGel notes a call of a lot. What cannot be called is not noted as a check:
// the check stays missing.
func (s *server) writeGel(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, now := r.PostForm, s.Now()
	_, lotID := ofWhat(f.Get("of"))
	if lotID == "" {
		return invalid("of", "choose the lot that the extract came from", "the lot is missing")
	}
	in, err := gelAsk(f)
	if err != nil {
		return err
	}
	out := &gelAnswer{}
	if err := runCalc(calc.Gel(), in, out); err != nil {
		return err
	}
	name := strings.TrimSpace(f.Get("assay"))
	if name == "" && out.Expected != nil {
		name = strconv.FormatFloat(*out.Expected, 'f', -1, 64) + "-bp"
	}
	for _, c := range out.Calls {
		if c.Lane != f.Get("call_lane") {
			continue
		}
		state := callState[c.Call]
		if state == "missing" {
			return invalid("call_lane", c.Why, "lane %q cannot be called: the check stays missing", clip(c.Lane))
		}
		what := fmt.Sprintf("lane %s, %s: %s", c.Lane, c.Call, c.Why)
		if c.Size != nil {
			what += fmt.Sprintf("; band of %.0f bp", *c.Size)
		}
		if p := f.Get("photo"); photo.IsName(p) {
			what += "; photo " + p
		}
		raw, err := json.Marshal(map[string]any{"lot": lotID, "check": "pcr-" + name, "outcome": state, "what": what})
		if err != nil {
			return err
		}
		e := farm.Entry{ID: f.Get("id"), Kind: "lot_check", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
		if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
			return err
		}
		again := url.Values{"lot": {lotID}, "noted": {e.ID}}
		for key, v := range f {
			if key != "id" && key != "of" && key != "call_lane" {
				again[key] = v
			}
		}
		http.Redirect(w, r, "/checks/gel?"+again.Encode(), http.StatusSeeOther)
		return nil
	}
	return invalid("call_lane", "choose one of the sample lanes", "lane %q has no call", clip(f.Get("call_lane")))
}

// writeGelPhoto keeps the photo of a gel and opens the sheet with it.
func (s *server) writeGelPhoto(w http.ResponseWriter, r *http.Request) error {
	form, shot, err := s.formWithPhoto(r)
	if err != nil {
		return err
	}
	sp, now := s.speaker(r), s.Now()
	if shot == nil {
		return invalid("photo", sp.T("photo.missing"), "photo is missing")
	}
	if err := s.Farm.KeepPhoto(r.Context(), *shot); err != nil {
		return err
	}
	raw, err := json.Marshal(map[string]string{"photo_sha256": shot.SHA256, "text": sp.T("gel.photo_text")})
	if err != nil {
		return err
	}
	e := farm.Entry{ID: form.Get("photo_id"), Kind: "photo", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/checks/gel?photo="+shot.SHA256, http.StatusSeeOther)
	return nil
}
