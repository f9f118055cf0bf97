package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/words"
)

type handingPage struct {
	Frame
	Vessels []handingVessel
	Papers  []navText
}

type handingVessel struct {
	Name, Helper, Travel, Held string
}

type navText struct{ Href, Title, Small string }

// handing lists the papers that can be handed on.
func (s *server) handing(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	t := frame.W.T
	frame.Title, frame.Sheet = t("handing.title"), "wrong.css"
	p := handingPage{Frame: frame, Papers: []navText{
		{"/handing/emergency.pdf", t("handing.emergency"), t("handing.emergency_small")},
		{"/handing/class.pdf", t("handing.class"), t("handing.class_small")},
	}}
	for _, v := range setup.Vessels {
		if v.Retired {
			continue
		}
		a, err := s.Farm.Apart(r.Context(), v.ID, s.Now())
		if err != nil {
			return err
		}
		id := url.QueryEscape(v.ID)
		x := handingVessel{Name: v.Name, Helper: "/handing/helper.pdf?vessel=" + id, Travel: "/handing/travel.pdf?vessel=" + id}
		if len(a.Holds) > 0 {
			x.Travel, x.Held = "", t("handing.travel_held")
		}
		p.Vessels = append(p.Vessels, x)
	}
	if only := r.URL.Query().Get("vessel"); only != "" {
		if v, err := s.Farm.Vessel(r.Context(), only, s.Now()); err == nil {
			p.Vessels = slices.DeleteFunc(p.Vessels, func(x handingVessel) bool { return x.Name != v.Spec.Name })
		}
	}
	return s.views.render(w, r, http.StatusOK, "handing", p)
}

// steps are the numbered sentences of the catalogue under a key.
func steps(w *words.Speaker, key string, pairs ...any) []string {
	var out []string
	for i := 1; words.Has(key + "_" + strconv.Itoa(i)); i++ {
		out = append(out, w.T(key+"_"+strconv.Itoa(i), pairs...))
	}
	return out
}

// paperOf begins a sheet with the head that all papers have.
func paperOf(f *Frame, title, lead string, large float64) *document.StepSheet {
	sheet := &document.StepSheet{Head: f.W.T("handing.head", "farm", orName(f.Farm), "day", f.W.LongDay(f.Now)), Title: title, Lead: lead, Large: large, Made: f.Now}
	if f.Invented {
		sheet.Head += " · " + f.W.T("app.invented")
	}
	return sheet
}

func orName(name string) string {
	if name == "" {
		return "Sodalake"
	}
	return name
}

// sendPDF sends sheets as one document.
func sendPDF(w http.ResponseWriter, f *Frame, name, title string, sheets ...*document.StepSheet) error {
	var b bytes.Buffer
	if err := document.StepSheets(&b, title, f.Now, sheets); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `inline; filename="`+name+`.pdf"`)
	_, err := w.Write(b.Bytes())
	return ignoreGone(err)
}

// helperPDF is one page for a helper with few words.
func (s *server) helperPDF(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	a, err := s.Farm.Apart(r.Context(), r.URL.Query().Get("vessel"), s.Now())
	if err != nil {
		return err
	}
	v, word, t := a.Vessel.Spec, frame.W, frame.W.T
	hot := word.Number("hot_c", advice.DefaultRules().HotC).Plain()
	sheet := paperOf(&frame, t("helper.title", "name", v.Name), t("helper.lead"), 1.4)
	facts := [][2]string{{t("helper.where"), t("placed." + v.Place)}}
	if v.Place == "" {
		facts = nil
	}
	if v.FullLevelCM > 0 {
		facts = append(facts, [2]string{t("helper.full"), word.Number("level_cm", v.FullLevelCM).Plain()})
	}
	if rim := v.RimCM(); rim > 0 {
		facts = append(facts, [2]string{t("helper.rim"), word.Number("level_cm", rim).Plain()})
	}
	stir := t("helper.stir_" + v.Stirring.Kind)
	if v.Stirring.Kind == "hand" && v.Stirring.TimesPerDay >= 1 {
		stir = t("helper.stir_hand", "times", word.Rounded(v.Stirring.TimesPerDay, 1))
	} else if v.Stirring.Kind == "hand" || v.Stirring.Kind == "" {
		stir = t("helper.stir_none")
	}
	food := t("helper.food_no")
	switch {
	case len(a.Holds) > 0:
		food = t("helper.food_held")
	case v.Food:
		food = t("helper.food_yes")
	}
	facts = append(facts, [2]string{t("helper.stir"), stir}, [2]string{t("helper.food"), food})
	day := steps(word, "helper.day")
	if v.FullLevelCM == 0 { // no mark, no filling up
		day = slices.Delete(day, 4, 5)
	}
	sheet.Sections = []document.StepSection{
		{Title: v.Name, Facts: facts}, {Title: t("helper.day"), Steps: day}, {Title: t("helper.leave"), Notes: steps(word, "helper.leave")},
		{Title: t("helper.call"), Notes: steps(word, "helper.call", "hot_c", hot), Lines: steps(word, "helper.line")},
	}
	sheet.Foot = t("helper.foot", "hot_c", hot)
	return sendPDF(w, &frame, "helper-"+idOf(v.ID), sheet.Title, sheet)
}

// travelPDF is the card that goes with a starter.
func (s *server) travelPDF(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	ctx, id := r.Context(), r.URL.Query().Get("vessel")
	a, err := s.Farm.Apart(ctx, id, s.Now())
	if err != nil {
		return err
	}
	if len(a.Holds) > 0 {
		return &farm.Error{Code: farm.Conflict, Field: "vessel", Message: fmt.Sprintf("vessel %q is on hold: no starter is given from it", clip(id)), Hint: "a person ends the hold first, with a reason"}
	}
	v, err := s.Farm.Vessel(ctx, id, s.Now())
	if err != nil {
		return err
	}
	line, err := s.Farm.Lineage(ctx, id)
	if err != nil {
		return err
	}
	word, t := frame.W, frame.W.T
	sheet := paperOf(&frame, t("travel.title", "name", v.Spec.Name), t("travel.lead"), 1.1)
	facts := [][2]string{{t("travel.from"), orName(frame.Farm)}, {t("travel.vessel"), v.Spec.Name}}
	if d, ok := v.Now.Bands[keeper.DensityGPerL]; ok && v.Now.Known {
		facts = append(facts, [2]string{t("travel.density"), word.Band("density_g_per_l", d).Full()})
	}
	facts = append(facts, [2]string{t("travel.medium_is"), t("travel.medium_say")}, [2]string{t("travel.kept"), t("travel.kept_say")}, [2]string{t("travel.strain"), lineText(word, line)})
	sheet.Sections = []document.StepSection{
		{Title: v.Spec.Name, Facts: facts, Lines: []string{t("travel.line_packed"), t("travel.line_look"), t("travel.line_giver"), t("travel.line_taker")}},
		{Title: t("travel.arrive"), Steps: steps(word, "travel.arrive")},
		{Title: t("travel.never"), Notes: append(steps(word, "travel.never"), t("travel.tell"))},
	}
	sheet.Foot = t("travel.foot")
	return sendPDF(w, &frame, "starter-"+idOf(id), sheet.Title, sheet)
}

// lineText says where a culture came from, the oldest first.
func lineText(w *words.Speaker, line []Ancestor) string {
	var said []string
	for _, a := range line {
		text := a.Name
		if !a.At.IsZero() {
			text += ", " + w.DayMonth(a.At)
		}
		if a.Text != "" {
			text += " (" + a.Text + ")"
		}
		said = append(said, text)
	}
	if len(said) == 0 {
		return w.T("travel.strain_none")
	}
	return strings.Join(said, "; ")
}

// classPDF is the page for a class: safe acts only.
func (s *server) classPDF(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	word, t := frame.W, frame.W.T
	sheet := paperOf(&frame, t("class.title"), t("class.lead"), 1.1)
	sheet.Sections = []document.StepSection{
		{Title: t("class.do"), Steps: steps(word, "class.do")}, {Title: t("class.not"), Notes: steps(word, "class.not")},
		{Title: t("class.teacher"), Notes: steps(word, "class.teacher")}, {Title: t("class.look"), Lines: steps(word, "class.look")},
	}
	sheet.Foot = t("class.foot")
	return sendPDF(w, &frame, "class", sheet.Title, sheet)
}

// emergencies are the cards in their order, with whether the vessels stand on
// them.
var emergencies = []struct {
	key     string
	vessels bool
}{{"stir", true}, {"heat", true}, {"frost", true}, {"ammonia", false}, {"caustic", false}, {"gas", false}, {"flood", true}, {"child", false}}

// emergencyPDF are the cards that work with no power and no phone: with the
// place, and the vessels in the order in which they are helped.
func (s *server) emergencyPDF(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	word, t := frame.W, frame.W.T
	here := t("emergency.here_unknown")
	if setup.HasSite {
		here = fmt.Sprintf("%s, %s", setup.Site.Name, coordinates(setup.Site.LatDeg, setup.Site.LonDeg))
	}
	vessels := inNeed(word, setup.Vessels)
	var sheets []*document.StepSheet
	for _, e := range emergencies {
		sheet := paperOf(&frame, t("emergency."+e.key), "", 1.7)
		section := document.StepSection{Title: t("emergency.here") + ": " + here, Steps: steps(word, "emergency."+e.key)}
		if e.vessels && len(vessels) > 0 {
			section.After = []string{t("emergency.vessels") + ": " + strings.Join(vessels, "; ")}
		}
		section.Lines = append([]string{t("emergency.number")}, steps(word, "emergency.line")...)
		sheet.Sections = []document.StepSection{section}
		sheet.Foot = t("emergency.care") + " " + t("emergency.foot")
		sheets = append(sheets, sheet)
	}
	return sendPDF(w, &frame, "emergency-cards", t("emergency.title"), sheets...)
}

// coordinates says a place as an emergency service takes it: degrees north and
// east to four places, about ten metres.
func coordinates(latDeg, lonDeg float64) string {
	ns, ew := "N", "E"
	if latDeg < 0 {
		ns, latDeg = "S", -latDeg
	}
	if lonDeg < 0 {
		ew, lonDeg = "W", -lonDeg
	}
	return fmt.Sprintf("%.4f°\u00a0%s, %.4f°\u00a0%s", latDeg, ns, lonDeg, ew)
}

// inNeed are the vessels in the order in which they are helped: the reserves,
// then those under the sky, then the others; with what they hold when full.
func inNeed(w *words.Speaker, all []farm.Vessel) []string {
	rank := func(v farm.Vessel) int {
		switch {
		case v.Use == "reserve":
			return 0
		case v.Place == "outdoors":
			return 1
		case v.Place == "tunnel":
			return 2
		}
		return 3
	}
	list := slices.DeleteFunc(slices.Clone(all), func(v farm.Vessel) bool { return v.Retired })
	slices.SortStableFunc(list, func(a, b farm.Vessel) int { return rank(a) - rank(b) })
	var out []string
	for _, v := range list {
		text := v.Name
		if l := v.CapacityL(); l > 0 {
			text += " (" + w.Number("volume_l", roundTo(l, 2)).Plain() + ")"
		}
		out = append(out, text)
	}
	return out
}
