package web

import (
	"bytes"
	"net/http"
	"net/url"
	"strings"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/keeper"
)

type apartPage struct {
	Frame
	Vessel, Name  string
	Lead          string
	Holds         []string
	Kin           []string
	Round         []string
	Clean         []string
	Dry           string
	Bleach        string
	Care          []string
	Looks         []string
	ApartID       string // ULID of the form that keeps it apart; empty where it is
	Apart         string
	PDF, Back     string
	HeldHref      string
	sheet         keeper.Apart
	disinfection  diagnose.Disinfection
	looked, wants int
}

// apart is the sheet of a vessel that is kept apart.
func (s *server) apart(w http.ResponseWriter, r *http.Request) error {
	p, err := s.apartPage(r)
	if err != nil {
		return err
	}
	return s.views.render(w, r, http.StatusOK, "apart", p)
}

func (s *server) apartPage(r *http.Request) (*apartPage, error) {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return nil, err
	}
	q, w, t := r.URL.Query(), frame.W, frame.W.T
	frame.Sheet = "wrong.css"
	p := &apartPage{Frame: frame, Vessel: q.Get("vessel")}
	if q.Get("said") == "apart" {
		p.Said = t("wrong.apart_done")
	}
	if p.sheet, err = s.Farm.Apart(r.Context(), p.Vessel, s.Now()); err != nil {
		return nil, err
	}
	a := &p.sheet
	p.Name = a.Vessel.Spec.Name
	p.Title, p.Lead = t("apart.title", "name", p.Name), t("apart.lead", "looks", diagnose.CleanLooks, "days", diagnose.CleanDays)
	pct := diagnose.UsualBleachPct
	if text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(q.Get("bleach")), "%")); text != "" {
		if pct, err = plainNumber("bleach", text); err != nil {
			return nil, err
		}
	}
	if p.disinfection, err = diagnose.Disinfect(a.WallM2, pct); err != nil {
		return nil, err
	}
	p.Bleach = w.Rounded(pct, 0.1)
	query := url.Values{"vessel": {p.Vessel}, "bleach": {p.Bleach}}
	p.PDF, p.Back, p.HeldHref = "/wrong/apart.pdf?"+query.Encode(), "/wrong?vessel="+url.QueryEscape(p.Vessel), "/records?vessel="+url.QueryEscape(p.Vessel)
	for _, h := range a.Holds {
		why := h.Text
		if why == "" {
			why = t("apart.reason." + h.Reason)
		}
		p.Holds = append(p.Holds, t("apart.hold_is", "time", h.Since, "why", strings.TrimSuffix(why, ".")))
	}
	if len(p.Holds) == 0 {
		p.Holds = []string{t("apart.hold_not")}
	}
	p.kin()
	for _, v := range a.Round {
		p.Round = append(p.Round, v.Name)
	}
	p.clean()
	for _, k := range []string{"1", "2", "3", "4"} {
		p.Care = append(p.Care, t("apart.care_"+k))
	}
	p.looks()
	if !p.isApart() {
		out := wrongResult{}
		out.entries(s, &wrongPage{Frame: frame, Vessel: p.Vessel}, keeper.Diagnosis{Finding: diagnose.Finding{Causes: []diagnose.Ranked{{ID: "unlisted"}}}}, diagnose.Seen{})
		p.ApartID, p.Apart = out.ApartID, out.Apart
	}
	return p, nil
}

func (p *apartPage) isApart() bool {
	for _, h := range p.sheet.Holds {
		if h.Reason == "quarantined" {
			return true
		}
	}
	return false
}

// kin are the vessels that share its culture.
func (p *apartPage) kin() {
	w := p.W
	names := func(vs []farm.Vessel) string {
		var out []string
		for _, v := range vs {
			out = append(out, v.Name)
		}
		return w.List(out)
	}
	if x := p.sheet.Children; len(x) > 0 {
		p.Kin = append(p.Kin, w.T("apart.passed", "names", names(x)))
	}
	if x := p.sheet.Parents; len(x) > 0 {
		p.Kin = append(p.Kin, w.T("apart.came", "names", names(x)))
	}
	if len(p.Kin) == 0 {
		p.Kin = []string{w.T("apart.alone")}
	}
}

// clean are the steps of emptying and disinfecting.
func (p *apartPage) clean() {
	t, d := p.W.T, p.disinfection
	wet := t("apart.clean_3_small", "contact_min", d.ContactMin)
	if d.WallM2 > 0 {
		wet = t("apart.clean_3", "wall_m2", roundTo(d.WallM2, 2), "contact_min", d.ContactMin)
	}
	p.Clean = []string{
		t("apart.clean_where"), t("apart.clean_1"),
		t("apart.clean_2", "bleach_ml", roundTo(d.BleachML, 2), "bleach", p.W.Rounded(d.BleachPct, 0.1)+" %", "solution_l", d.SolutionL, "chlorine_mg_per_l", d.ChlorineMg),
		wet, t("apart.clean_4", "ascorbic_g", roundTo(d.AscorbicG, 2)), t("apart.clean_5", "strip_mg_per_l", d.StripMgL),
	}
	p.Dry = t("apart.clean_dry", "dry_d", d.DryDays)
}

// looks are what is still to be looked at.
func (p *apartPage) looks() {
	t := p.W.T
	p.looked, p.wants = min(len(p.sheet.Looks), diagnose.CleanLooks), diagnose.CleanLooks
	p.Looks = []string{t("apart.looks_lead", "days", diagnose.CleanDays), t("apart.looks_have", "n", p.looked, "of", p.wants)}
	if !p.sheet.Foreign.IsZero() {
		p.Looks = append(p.Looks, t("apart.looks_foreign", "time", p.sheet.Foreign))
	}
	p.Looks = append(p.Looks, t("apart.looks_note"))
}

// apartPDF is the same sheet on paper, with boxes to tick.
func (s *server) apartPDF(w http.ResponseWriter, r *http.Request) error {
	p, err := s.apartPage(r)
	if err != nil {
		return err
	}
	t := p.W.T
	sheet := document.StepSheet{
		Head: t("apart.head", "farm", p.Farm, "day", p.W.LongDay(p.Now)), Title: p.Title, Lead: p.Lead, Made: p.Now,
		CareTitle: t("apart.care"), Care: p.Care, Signs: [3]string{t("handing.sign"), t("handing.when"), t("mix.sign_vessel")},
		Foot: t("apart.source"),
	}
	if p.Invented {
		sheet.Head += " · " + t("app.invented")
	}
	sheet.Sections = []document.StepSection{
		{Title: t("apart.hold"), Notes: append(append([]string{}, p.Holds...), p.Kin...), Steps: []string{t("apart.hold_lead")}},
		{Title: t("apart.round"), Notes: []string{t("apart.round_lead")}, Steps: p.Round},
		{Title: t("apart.clean"), Notes: []string{p.Clean[0]}, Steps: p.Clean[1:], After: []string{p.Dry}},
		{Title: t("apart.looks"), Notes: p.Looks, Lines: []string{t("apart.look_line", "n", "1"), t("apart.look_line", "n", "2")}},
	}
	var b bytes.Buffer
	if err := sheet.PDF(&b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", `inline; filename="keeping-apart.pdf"`)
	_, err = w.Write(b.Bytes())
	return ignoreGone(err)
}
