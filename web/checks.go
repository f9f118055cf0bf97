package web

import (
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/farm/photo"
	"sodalake/keeper"
	"sodalake/science/assay"
	"sodalake/words"
)

// foreignKinds are what is counted besides one's own, as a person without a key
// to species can tell it: common practice, no source. Their words stand in the
// catalogue.
var foreignKinds = []string{"thin", "beads", "balls", "cloud", "shells", "moving", "pale", "other"}

// lookConfidence is the probability with which a look's bounds hold [1].
const lookConfidence = 0.95

// portionLimit is what a portion of 3 g leaves a person of 60 kg of toxin a day
// [µg/g]: assay.ToxinTDI x 60 / 3.
const portionLimit = assay.ToxinTDI * 60 / 3

// lookSheet is a look as it was typed.
type lookSheet struct {
	fields, own, straight, broken int
	counted                       bool // own, straight or foreign ones were counted at all
	foreign                       map[string]int
	foreignAll                    int
	lookedML                      float64 // 0: not told [mL]
}

// wholeOf reads a count; nothing typed is 0.
func wholeOf(q url.Values, name string) (n int, typed bool, err error) {
	text := strings.TrimSpace(q.Get(name))
	if text == "" {
		return 0, false, nil
	}
	n, bad := strconv.Atoi(text)
	if bad != nil || n < 0 || n > 1_000_000 {
		return 0, false, invalid(name, "a whole number, 0 where there was none", "%s %q is not a count", name, clip(text))
	}
	return n, true, nil
}

// lookOf reads the sheet.
func lookOf(q url.Values) (lookSheet, error) {
	l := lookSheet{foreign: map[string]int{}}
	for _, f := range []struct {
		name string
		into *int
	}{{"fields", &l.fields}, {"own", &l.own}, {"straight", &l.straight}, {"broken", &l.broken}} {
		n, typed, err := wholeOf(q, f.name)
		if err != nil {
			return l, err
		}
		*f.into = n
		l.counted = l.counted || typed && n > 0 && f.name != "fields"
	}
	for _, k := range foreignKinds {
		n, _, err := wholeOf(q, "foreign."+k)
		if err != nil {
			return l, err
		}
		if n > 0 {
			l.foreign[k] = n
			l.foreignAll += n
			l.counted = true
		}
	}
	for _, part := range []struct {
		name string
		n    int
	}{{"straight", l.straight}, {"broken", l.broken}} {
		if part.n > l.own {
			return l, invalid(part.name, "count them among your own filaments too", "%s %d is more than the %d filaments of your own", part.name, part.n, l.own)
		}
	}
	var optics [3]float64 // field number [mm], objective [1], depth [mm]
	given := 0
	for i, name := range []string{"field_number_mm", "objective", "depth_mm"} {
		text := strings.TrimSpace(q.Get(name))
		if text == "" {
			continue
		}
		x, err := plainNumber(name, text)
		if err != nil {
			return l, err
		}
		if !(x > 0) || x > 1000 {
			return l, invalid(name, "", "%s %q is not above zero, or more than there is", name, clip(text))
		}
		optics[i] = x
		given++
	}
	switch {
	case given == 3 && l.fields > 0:
		l.lookedML = roundTo(assay.ChamberVolume(assay.FieldArea(optics[0], optics[1]), optics[2], float64(l.fields), 1), 3)
	case given > 0 && given < 3:
		return l, invalid("field_number_mm", "all three, or none", "field number, objective and depth belong together")
	}
	return l, nil
}

// words is the look in words, for the entry.
func (l *lookSheet) words(w *words.Speaker, more string) string {
	var out []string
	if l.fields > 0 {
		out = append(out, w.T("look.text_fields", "count", l.fields))
	}
	for _, k := range foreignKinds {
		if n := l.foreign[k]; n > 0 {
			out = append(out, w.T("look.kind_"+k)+" "+strconv.Itoa(n))
		}
	}
	if more != "" {
		out = append(out, more)
	}
	return strings.Join(out, "; ")
}

// lookSays is what a look tells.
type lookSays struct {
	W             *words.Speaker
	State         string // passed, failed or missing; empty before anything was counted
	Lead          string
	Can, Cannot   []string
	Bad           *farm.Error
	LookedML      string // as a form sends it on
	Nothing       bool
	StateCaption  string
	StraightShare string
}

// pct says a share in percent, rounded up: a bound must not be made smaller.
func pct(w *words.Speaker, share float64) string {
	x := 100 * share
	step := 0.01
	switch {
	case x >= 10:
		step = 1
	case x >= 1:
		step = 0.1
	}
	return w.Rounded(math.Ceil(x/step-1e-9)*step, step) + " %"
}

// upTo rounds up to n leading digits.
func upTo(x float64, n int) float64 {
	if !(x > 0) {
		return x
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-float64(n-1))
	return roundTo(math.Ceil(x/step-1e-9)*step, n)
}

// span says an interval of a share in percent.
func span(w *words.Speaker, i assay.Interval) string {
	step := 0.01
	if i.High >= 0.01 {
		step = 0.1
	}
	if i.High >= 0.2 {
		step = 1
	}
	return w.Rounded(math.Floor(100*i.Low/step+1e-9)*step, step) + "–" + w.Rounded(math.Ceil(100*i.High/step-1e-9)*step, step) + " %"
}

// says puts the look into sentences. least is how many filaments the farm's plan
// asks for.
func (l *lookSheet) says(w *words.Speaker, least int, of string, isLot bool) lookSays {
	s := lookSays{W: w}
	if l.lookedML > 0 {
		s.LookedML = strconv.FormatFloat(l.lookedML, 'g', -1, 64)
	}
	n := l.own + l.foreignAll
	if n == 0 {
		s.Nothing, s.Lead = true, w.T("look.nothing")
		return s
	}
	if l.foreignAll > 0 {
		s.State, s.Lead = "failed", w.T("look.failed", "count", l.foreignAll)
		s.Can = append(s.Can, w.T("look.share_found", "foreign", strconv.Itoa(l.foreignAll), "seen", strconv.Itoa(n), "range", span(w, assay.ClopperPearson(l.foreignAll, n, lookConfidence))))
		if isLot {
			s.Can = append(s.Can, w.T("look.lot_hold"))
		} else {
			s.Can = append(s.Can, w.T("look.vessel_hold", "what", of))
		}
	} else {
		if l.own < least {
			s.State, s.Lead = "missing", w.T("look.too_few", "seen", strconv.Itoa(l.own), "least", strconv.Itoa(least), "more", strconv.Itoa(least-l.own))
		} else {
			s.State, s.Lead = "passed", w.T("look.passed", "seen", strconv.Itoa(l.own), "least", strconv.Itoa(least))
		}
		three := ""
		if l.own >= 3 {
			three = pct(w, assay.RuleOfThree(l.own))
		} else {
			three = "100 %"
		}
		s.Can = append(s.Can, w.T("look.share_none", "seen", strconv.Itoa(l.own), "upper", pct(w, assay.ShareUpper(0, l.own, lookConfidence)), "three", three))
	}
	if l.lookedML > 0 && l.foreignAll == 0 {
		perML := assay.PoissonUpper(0, lookConfidence) / l.lookedML
		s.Can = append(s.Can, w.T("look.per_ml", "volume", strconv.FormatFloat(roundTo(l.lookedML, 2), 'g', -1, 64), "upper", w.Bound(upTo(perML, 2))))
	}
	if l.straight > 0 {
		s.Can = append(s.Can, w.T("look.straight_share", "straight", strconv.Itoa(l.straight), "seen", strconv.Itoa(l.own), "range", span(w, assay.ClopperPearson(l.straight, l.own, lookConfidence))))
	}
	e := assay.Exclude(l.foreignAll, n, lookConfidence, assay.WorstKind)
	need := assay.LookForToxin(portionLimit, lookConfidence, assay.WorstKind)
	s.Cannot = append(s.Cannot,
		w.T("look.cannot_toxin", "open", w.Bound(upTo(e.ToxinUgPerG, 2)), "limit", w.Rounded(portionLimit, 0.1), "need", strconv.Itoa(need)),
		w.T("look.cannot_rare"), w.T("look.cannot_chosen"))
	return s
}

type checksPage struct {
	Frame
	Nav                 []mixMode
	ID, IDSmell, IDHue  string
	IDPhoto             string
	Vessels, Lots       []option
	Own                 []counter
	Foreign             []counter
	Smells, Hues        []option
	PH, Temp, TempUnit  string
	FN, Objective, Deep string
	Text                string
	Says                lookSays
	Noted               string
	NotedHref           string
	Last                string
	PhotoMost           int
}

// counter is one thing that is counted.
type counter struct{ Name, Label, What, Value, Key string }

// checkTabs are the sheets of the checks.
var checkTabs = []struct{ key, href string }{{"look", "/checks"}, {"pcr", "/checks/pcr"}, {"gel", "/checks/gel"}, {"lab", "/checks/lab"}}

func checksNav(w *words.Speaker, at string) []mixMode {
	var out []mixMode
	for _, t := range checkTabs {
		out = append(out, mixMode{t.key, w.T("checks.tab_" + t.key), t.href, t.key == at})
	}
	return out
}

// ofWhat takes apart what a sheet is of: v:VESSEL or l:LOT.
func ofWhat(text string) (vessel, lotID string) {
	kind, name, _ := strings.Cut(text, ":")
	switch kind {
	case "v":
		return name, ""
	case "l":
		return "", name
	}
	return "", ""
}

// checks is the microscope sheet.
func (s *server) checks(w http.ResponseWriter, r *http.Request) error {
	p, err := s.checksPage(r, r.URL.Query())
	if err != nil {
		return err
	}
	status := http.StatusOK
	if p.Says.Bad != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.views.render(w, r, status, "checks", p)
}

// checkSays is only what the look tells, for the module that asks while counting.
func (s *server) checkSays(w http.ResponseWriter, r *http.Request) error {
	p, err := s.checksPage(r, r.URL.Query())
	if err != nil {
		return err
	}
	return s.views.renderPart(w, r, "checks", "looksays", p.Says)
}

func (s *server) checksPage(r *http.Request, q url.Values) (*checksPage, error) {
	frame, setup, err := s.frame(r, "vessels", "")
	if err != nil {
		return nil, err
	}
	w := frame.W
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return nil, err
	}
	p := &checksPage{Frame: frame, Nav: checksNav(w, "look"), ID: s.newID(), IDSmell: s.newID(), IDHue: s.newID(), IDPhoto: s.newID(),
		PH: q.Get("ph"), Temp: q.Get("temp_c"), TempUnit: w.UnitOf("temp_c"), FN: q.Get("field_number_mm"), Objective: q.Get("objective"), Deep: q.Get("depth_mm"), Text: q.Get("text"), PhotoMost: photo.MaxBytes}
	p.Title, p.Sheet, p.Script = w.T("look.title"), "checks.css", "checks.js"
	of := q.Get("of")
	if v := q.Get("vessel"); of == "" && v != "" {
		of = "v:" + v
	}
	if l := q.Get("lot"); of == "" && l != "" {
		of = "l:" + l
	}
	p.Vessels, p.Lots = checkTargets(setup, lots, of)
	vessel, lotID := ofWhat(of)
	name := lotID
	for _, v := range setup.Vessels {
		if v.ID == vessel || vessel == "" && lotID == "" && name == "" {
			name = v.Name
		}
	}
	value := func(key string) string {
		if t := strings.TrimSpace(q.Get(key)); t != "" {
			return clip(t)
		}
		return "0"
	}
	for _, k := range []string{"fields", "own", "straight", "broken"} {
		p.Own = append(p.Own, counter{k, w.T("look." + k), w.T("look." + k + "_what"), value(k), k})
	}
	for _, k := range foreignKinds {
		p.Foreign = append(p.Foreign, counter{"foreign." + k, w.T("look.kind_" + k), w.T("look.kind_" + k + "_what"), value("foreign." + k), k})
	}
	p.Smells, p.Hues = wordOptions(w, "smell", q.Get("smell")), wordOptions(w, "colour", q.Get("colour"))
	l, err := lookOf(q)
	if bad, ok := err.(*farm.Error); ok {
		p.Says = lookSays{W: w, Bad: bad}
	} else {
		p.Says = l.says(w, int(lots.Plan.LeastSeen), name, lotID != "")
	}
	if id := q.Get("noted"); id != "" {
		if e, err := s.Farm.Entry(r.Context(), id); err == nil {
			vs, err := s.vesselNames(r)
			if err != nil {
				return nil, err
			}
			p.Noted, p.NotedHref = w.T("note.noted", "what", describe(w, e, vs)), "/records/entry/"+url.PathEscape(e.ID)
			var body struct {
				Foreign float64 `json:"foreign_seen"`
			}
			if json.Unmarshal(e.Body, &body) == nil && body.Foreign > 0 {
				p.Noted += " " + w.T("look.held_now", "what", vs[e.Vessel])
			}
			if lotID != "" {
				p.NotedHref = "/lots/" + url.PathEscape(lotID)
			}
		}
	}
	return p, nil
}

// checkTargets are the vessels and the lots that a check can be of.
func checkTargets(setup Setup, lots keeper.Lots, of string) (vessels, list []option) {
	for _, v := range setup.Vessels {
		vessels = append(vessels, option{"v:" + v.ID, v.Name, of == "v:"+v.ID})
	}
	for i := range lots.Lots {
		if l := &lots.Lots[i]; !l.State.Ended() {
			list = append(list, option{"l:" + l.ID, l.ID, of == "l:"+l.ID})
		}
	}
	return vessels, list
}

// wordOptions are the words of a reading that is a word.
func wordOptions(w *words.Speaker, key, chosen string) []option {
	var out []option
	for _, word := range farm.ReadingKey(key).Words {
		out = append(out, option{word, wordOf(w, key, word), word == chosen})
	}
	return out
}
