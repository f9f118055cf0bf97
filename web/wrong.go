package web

import (
	"context"
	"encoding/json"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/keeper"
	"sodalake/words"
)

// Diagnoser is the part of Farm behind the page It looks wrong.
type Diagnoser interface {
	// Diagnose weighs what was told of a vessel with its record as of at;
	// farm.NotFound without such a vessel, farm.Invalid for what the table does
	// not know.
	Diagnose(ctx context.Context, vessel string, seen diagnose.Seen, at time.Time) (keeper.Diagnosis, error)
	// NotedSigns are the signs that the journal holds of the last day.
	NotedSigns(ctx context.Context, vessel string, at time.Time) (map[string]bool, error)
	// Apart is the sheet of a vessel that is kept apart.
	Apart(ctx context.Context, vessel string, at time.Time) (keeper.Apart, error)
}

type wrongPage struct {
	Frame
	Vessel, Name string
	Vessels      []wrongVessel
	Groups       []signGroup
	Noted        bool // some are ticked already, out of the journal
	Told         []string
	Result       *wrongResult
	Hidden       []option // checks that were answered, kept by the form
}

type wrongVessel struct {
	Name, Href, State string
	Glyph             template.HTML
}

// signGroup is a row of signs to tap.
type signGroup struct {
	Name  string
	Signs []signTap
}

type signTap struct {
	ID, Label    string
	Seen, Absent bool
}

// wrongResult is what comes of it.
type wrongResult struct {
	Eat, EatWhy    string
	No             bool
	Hour, Do, Dont []string
	Waits          []string
	Check          *wrongCheck
	More           []wrongCheck
	Causes         []wrongCause
	Rest           string
	Goes           []string
	Clash          []string
	Odd            bool
	NoteID, Note   string // the entry that writes the signs down
	ApartID, Apart string // the entry that keeps it apart
	SheetHref      string
	Back           string // what was told, for the way back
}

type wrongCheck struct {
	Text, Time string
	Outcomes   []wrongOutcome
}

type wrongOutcome struct{ Label, Leads, Href string }

type wrongCause struct {
	Name, About, Chance string
	Width               float64
	For, Against        string
}

// maxTaps bounds what an address can carry.
const maxTaps = 60

// seenOf reads signs and outcomes out of an address: s is seen, n looked for and
// not there, c a check with its outcome.
func seenOf(q url.Values) (diagnose.Seen, error) {
	seen := diagnose.Seen{Signs: map[string]bool{}, Checks: map[string]string{}}
	if len(q["s"])+len(q["n"])+len(q["c"]) > maxTaps {
		return seen, invalid("s", "two or three are enough", "so many signs cannot be weighed")
	}
	for _, id := range q["n"] {
		seen.Signs[id] = false
	}
	for _, id := range q["s"] {
		if there, told := seen.Signs[id]; told && !there {
			return seen, invalid("s", "leave one of the two", "sign %q is said to be there and not there", clip(id))
		}
		seen.Signs[id] = true
	}
	for _, c := range q["c"] {
		id, outcome, _ := strings.Cut(c, ":")
		if was, told := seen.Checks[id]; told && was != outcome {
			return seen, invalid("c", "leave one of the two", "check %q came out in two ways", clip(id))
		}
		seen.Checks[id] = outcome
	}
	return seen, nil
}

// wrong is the page It looks wrong.
func (s *server) wrong(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	frame.Title, frame.Sheet = frame.W.T("wrong.title"), "wrong.css"
	q, now, ctx := r.URL.Query(), s.Now(), r.Context()
	p := wrongPage{Frame: frame, Vessel: q.Get("vessel")}
	if p.Vessel == "" {
		vs, err := s.Farm.Vessels(ctx, now)
		if err != nil {
			return err
		}
		for _, v := range vs {
			p.Vessels = append(p.Vessels, wrongVessel{v.Spec.Name, "/wrong?vessel=" + url.QueryEscape(v.Spec.ID), frame.W.Sentence(v.State), glyph(v, "wr-"+idOf(v.Spec.ID), now)})
		}
		return s.views.render(w, r, http.StatusOK, "wrong", p)
	}
	if q.Get("said") == "apart" {
		p.Said = frame.W.T("wrong.apart_done")
	} else if q.Get("said") == "noted" {
		p.Said = frame.W.T("wrong.note_label")
	}
	seen, err := seenOf(q)
	if err != nil {
		return err
	}
	asked := len(seen.Signs)+len(seen.Checks) > 0 || q.Get("ask") != ""
	if !asked {
		if seen.Signs, err = s.Farm.NotedSigns(ctx, p.Vessel, now); err != nil {
			return err
		}
		p.Noted = len(seen.Signs) > 0
	}
	d, err := s.Farm.Diagnose(ctx, p.Vessel, seen, now)
	if err != nil {
		return err
	}
	p.Name = d.Vessel.Spec.Name
	p.Title = frame.W.T("wrong.title_of", "name", p.Name)
	p.groups(seen)
	if asked {
		p.Result = s.wrongResult(r, &p, d, seen)
	}
	return s.views.render(w, r, http.StatusOK, "wrong", p)
}

// groups lays the signs out to be tapped.
func (p *wrongPage) groups(seen diagnose.Seen) {
	w := p.W
	for _, x := range diagnose.Default().Signs {
		name := w.T("wrong.group." + x.Group)
		if k := len(p.Groups); k == 0 || p.Groups[k-1].Name != name {
			p.Groups = append(p.Groups, signGroup{Name: name})
		}
		there, told := seen.Signs[x.ID]
		g := &p.Groups[len(p.Groups)-1]
		g.Signs = append(g.Signs, signTap{ID: x.ID, Label: upperFirst(w.T("wrong.sign." + x.ID)), Seen: told && there, Absent: told && !there})
	}
	for _, id := range sortedKeys(seen.Checks) {
		p.Hidden = append(p.Hidden, option{Value: id + ":" + seen.Checks[id]})
	}
	var here, gone []string
	for _, x := range diagnose.Default().Signs {
		switch there, told := seen.Signs[x.ID]; {
		case told && there:
			here = append(here, w.T("wrong.sign."+x.ID))
		case told:
			gone = append(gone, w.T("wrong.sign."+x.ID))
		}
	}
	for _, c := range diagnose.Default().Checks {
		if o, done := seen.Checks[c.ID]; done && slices.Contains(c.Outcomes, o) {
			here = append(here, w.T("wrong.outcome."+c.ID+"."+o))
		}
	}
	if len(here) > 0 {
		p.Told = append(p.Told, w.T("wrong.told", "signs", w.List(here)))
	}
	if len(gone) > 0 {
		p.Told = append(p.Told, w.T("wrong.told_absent", "signs", w.List(gone)))
	}
	if len(p.Told) == 0 {
		p.Told = []string{w.T("wrong.told_none")}
	}
}

// address is the page with what was told so far, and one outcome more.
func address(vessel string, seen diagnose.Seen, more string) string {
	q := url.Values{"vessel": {vessel}}
	for _, x := range diagnose.Default().Signs {
		switch there, told := seen.Signs[x.ID]; {
		case told && there:
			q.Add("s", x.ID)
		case told:
			q.Add("n", x.ID)
		}
	}
	for _, id := range sortedKeys(seen.Checks) {
		q.Add("c", id+":"+seen.Checks[id])
	}
	if more != "" {
		q.Add("c", more)
	} else if len(q) == 1 {
		q.Set("ask", "1")
	}
	return "/wrong?" + q.Encode()
}

// shownCauses is how many causes stand on the page by themselves.
const shownCauses = 5

func (s *server) wrongResult(r *http.Request, p *wrongPage, d keeper.Diagnosis, seen diagnose.Seen) *wrongResult {
	w, f := p.W, d.Finding
	out := &wrongResult{No: f.Eat == diagnose.EatNo, Odd: f.Odd, SheetHref: "/wrong/apart?vessel=" + url.QueryEscape(p.Vessel), Back: strings.TrimPrefix(address(p.Vessel, seen, ""), "/wrong?")}
	out.Eat, out.EatWhy = w.MayEat(f)
	say := func(prefix string, acts []string, most int) []string {
		var list []string
		for _, a := range acts[:min(len(acts), most)] {
			list = append(list, w.T(prefix+a))
		}
		return list
	}
	out.Hour, out.Do, out.Dont = say("wrong.act.", f.Hour, 6), say("wrong.act.", f.Do, 5), say("wrong.leave.", f.Dont, 8)
	out.Waits = say("wrong.act.", f.Waits, 4)
	for i, c := range f.Checks {
		x := wrongCheck{Text: w.T("wrong.test." + c.ID), Time: w.ProbeTime(c)}
		for _, o := range c.Outcomes {
			x.Outcomes = append(x.Outcomes, wrongOutcome{
				Label: upperFirst(w.T("wrong.outcome." + c.ID + "." + o.ID)), Leads: w.T("wrong.check_leads", "cause", w.T("wrong.cause."+o.Leads)), Href: address(p.Vessel, seen, c.ID+":"+o.ID),
			})
		}
		switch {
		case i == 0:
			out.Check = &x
		case i < 4:
			out.More = append(out.More, x)
		}
	}
	rest := 1.0
	for i, c := range f.Causes {
		if i == shownCauses || i > 1 && c.Chance < 0.02 {
			break
		}
		rest -= c.Chance
		row := wrongCause{Name: upperFirst(w.T("wrong.cause." + c.ID)), About: w.T("wrong.about." + c.ID), Chance: w.Odds(c.Chance), Width: 100 * c.Chance}
		speak, against := w.Reasons(c, d.Element, 3)
		row.For, row.Against = strings.Join(speak, "; "), strings.Join(against, "; ")
		out.Causes = append(out.Causes, row)
	}
	if rest > 0.005 {
		out.Rest = w.T("wrong.causes_rest", "chance", w.Odds(rest))
	}
	reserve := f.Again.Vessel
	if setup, err := s.Farm.Setup(r.Context()); err == nil {
		for _, v := range setup.Vessels {
			if v.ID == f.Again.Vessel {
				reserve = v.Name
			}
		}
	}
	out.Goes = w.GoesOn(f, reserve, func(x float64) string { return money(w, x) })
	for _, c := range f.Clash {
		out.Clash = append(out.Clash, w.T("wrong.clash."+c))
	}
	out.entries(s, p, d, seen)
	return out
}

// entries are what one tap writes down: the signs, and the hold.
func (out *wrongResult) entries(s *server, p *wrongPage, d keeper.Diagnosis, seen diagnose.Seen) {
	w := p.W
	encode := func(kind string, body map[string]any) string {
		raw, err := json.Marshal(body)
		if err != nil {
			return ""
		}
		e, err := json.Marshal(farm.Entry{Vessel: p.Vessel, Kind: kind, V: 1, Body: raw})
		if err != nil {
			return ""
		}
		return string(e)
	}
	if body := signBody(w, seen.Signs); len(body) > 0 {
		out.NoteID, out.Note = s.newID(), encode("reading", body)
	}
	for _, h := range d.Vessel.Holds {
		if h == "hold.quarantine" {
			return // it is apart already
		}
	}
	out.ApartID, out.Apart = s.newID(), encode("quarantined", map[string]any{"reason": w.T("wrong.record_apart", "cause", w.T("wrong.cause."+d.Finding.Causes[0].ID))})
}

// signBody is a reading that holds the signs as the journal knows them; those
// that it has no word for stand in its text.
func signBody(w *words.Speaker, signs map[string]bool) map[string]any {
	body := map[string]any{}
	one := map[string][2]string{
		"yellow": {"colour", "yellow"}, "pale": {"colour", "pale"}, "olive": {"colour", "olive"}, "brown": {"colour", "brown"}, "milky": {"colour", "milky"}, "blue_water": {"colour", "blue_water"},
		"smell_ammonia": {"smell", "ammonia"}, "smell_rotten": {"smell", "rotten"}, "smell_earthy": {"smell", "earthy"},
		"foam": {"foam", "much"}, "clumps": {"clumps", "many"}, "green_filtrate": {"filtrate", "green"}, "blue_filtrate": {"filtrate", "blue"},
	}
	var seen []string
	for _, x := range diagnose.Default().Signs {
		if !signs[x.ID] {
			continue
		}
		seen = append(seen, w.T("wrong.sign."+x.ID))
		field, ok := one[x.ID]
		// Of several smells or colours the one that forbids eating stays; the
		// text names them all.
		if ok && (body[field[0]] == nil || x.Eat == diagnose.EatNo) {
			body[field[0]] = field[1]
		}
		if x.ID == "larvae" {
			body["animals"] = []string{"larvae"}
		}
	}
	if len(seen) > 0 {
		body["text"] = w.T("wrong.record_words", "signs", w.List(seen))
	}
	return body
}

// writeWrong writes down what the page It looks wrong carries: signs as a
// reading, or that a vessel is kept apart.
func (s *server) writeWrong(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	var e farm.Entry
	dec := json.NewDecoder(strings.NewReader(r.PostForm.Get("record")))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil || e.Kind != "reading" && e.Kind != "quarantined" {
		return invalid("record", "open the page again", "the form's record cannot be read")
	}
	now := s.Now()
	e.ID, e.At, e.NotedAt, e.By = r.PostForm.Get("id"), now, now, s.Who(r)
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	if e.Kind == "quarantined" {
		http.Redirect(w, r, "/wrong/apart?said=apart&vessel="+url.QueryEscape(e.Vessel), http.StatusSeeOther)
		return nil
	}
	back := "/wrong?said=noted&ask=1&vessel=" + url.QueryEscape(e.Vessel)
	if q, err := url.ParseQuery(r.PostForm.Get("told")); err == nil && len(q) > 0 && q.Get("vessel") == e.Vessel {
		q.Set("said", "noted")
		back = "/wrong?" + q.Encode()
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}
