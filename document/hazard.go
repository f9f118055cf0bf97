package document

import (
	"strconv"
	"strings"
	"time"

	"sodalake/farm/advice"
	"sodalake/farm/lot"
	"sodalake/science/process"
	"sodalake/words"
)

// HazardRow is a line of a control: its heading and what it says.
type HazardRow struct{ Key, Head, Text string }

// HazardRows are the lines of a control in the order of the worksheet.
func HazardRows(c *lot.Control, speak *words.Speaker) []HazardRow {
	var out []HazardRow
	for _, key := range []string{"hazard", "limit", "how", "correct", "verify", "record"} {
		args := map[string]any{}
		if key == "limit" {
			for name, v := range c.Limit {
				args[name] = v
			}
			if list, ok := args["analytes"].([]string); ok && len(list) == 0 {
				args["analytes"] = speak.T("hazard.none")
			}
		}
		out = append(out, HazardRow{key, speak.T("hazard.row_" + key), speak.Sentence(advice.Reason{Key: "hazard." + c.Key + "." + key, Args: args})})
	}
	return append(out, HazardRow{"shown", speak.T("hazard.row_shown"), HazardShown(c, speak)})
}

// HazardShown says what the journal shows of a control.
func HazardShown(c *lot.Control, speak *words.Speaker) string {
	var parts []string
	n := c.Counts
	switch {
	case c.Check != "" && n.Lots == 0 && len(c.Shown) == 0:
		parts = append(parts, speak.T("hazard.no_lots"))
	case n.Lots > 0:
		parts = append(parts, speak.T("hazard.counts", "lots", strconv.Itoa(n.Lots), "passed", strconv.Itoa(n.Passed), "failed", strconv.Itoa(n.Failed), "missing", strconv.Itoa(n.Missing)))
		if n.Settled+n.Deviations > 0 {
			parts = append(parts, speak.T("hazard.counts_more", "settled", strconv.Itoa(n.Settled), "deviations", strconv.Itoa(n.Deviations)))
		}
	}
	for _, s := range c.Shown {
		parts = append(parts, speak.Sentence(advice.Reason(s)))
	}
	if len(n.Open) > 0 {
		parts = append(parts, speak.T("hazard.open", "lots", strings.Join(n.Open, ", ")))
	}
	if len(parts) == 0 {
		return speak.T("hazard.not_counted")
	}
	return strings.Join(parts, " ")
}

// HazardStep is what a control's step is called.
func HazardStep(c *lot.Control, speak *words.Speaker) string {
	text := speak.T("hazard." + c.Key + ".step")
	if c.Critical {
		text += " – " + speak.T("hazard.critical")
	}
	return text
}

// HazardLead is the sentence above a plan.
func HazardLead(h *lot.HazardPlan, speak *words.Speaker) string {
	day := func(t time.Time) string { return t.In(speak.Zone()).Format(time.DateOnly) }
	return speak.T("hazard.lead", "from", day(h.From), "to", day(h.To.Add(-time.Second)))
}

// HazardReport is the plan of control bound with what stands behind it: the lots
// of its time with their checks, and the registers.
func HazardReport(h *lot.HazardPlan, registers []lot.Register, farmName string, speak *words.Speaker, made time.Time) *Report {
	r := &Report{Head: speak.T("hazard.head", "farm", farmName, "time", speak.Moment(made)), Title: speak.T("hazard.title"), Made: made, Page: strconv.Itoa}
	r.Lead = []string{HazardLead(h, speak)}
	var forms []string
	seen := map[string]bool{}
	for i := range h.Lots {
		if f := string(h.Lots[i].Form); !seen[f] {
			seen[f] = true
			forms = append(forms, speak.T("lot_form."+f))
		}
	}
	if len(forms) == 0 {
		forms = []string{speak.T("lot_form." + string(process.DriedSealed))}
	}
	r.Sections = append(r.Sections, Section{Title: speak.T("hazard.product"), Text: []string{speak.T("hazard.product_is", "forms", strings.Join(forms, ", "), "portion_g", h.Plan.PortionG)}})
	steps := Section{Title: speak.T("hazard.steps")}
	for i := range h.Controls {
		steps.Text = append(steps.Text, strconv.Itoa(i+1)+". "+HazardStep(&h.Controls[i], speak))
	}
	r.Sections = append(r.Sections, steps)
	for i := range h.Controls {
		c := &h.Controls[i]
		s := Section{Title: strconv.Itoa(i+1) + ". " + speak.T("hazard."+c.Key+".step"), Columns: []Column{{"", 1}, {"", 3}}}
		if c.Critical {
			s.Text = append(s.Text, speak.T("hazard.critical"))
		}
		for _, row := range HazardRows(c, speak) {
			s.Rows = append(s.Rows, []string{row.Head, row.Text})
		}
		r.Sections = append(r.Sections, s)
	}
	r.Sections = append(r.Sections, Section{Title: speak.T("label.blank_law"), Text: []string{speak.T("hazard.blank"), speak.T("hazard.blank"), speak.T("hazard.sign_team")}})
	r.lots(h, speak)
	r.registers(registers, speak)
	return r
}

func (r *Report) lots(h *lot.HazardPlan, speak *words.Speaker) {
	if len(h.Lots) == 0 {
		return
	}
	all := Section{Title: speak.T("hazard.lots_title"), Columns: []Column{
		{speak.T("hazard.col_lot"), 1.6}, {speak.T("hazard.col_began"), 1.8}, {speak.T("hazard.col_state"), 1.2}, {speak.T("hazard.col_open"), 2.4}, {speak.T("hazard.col_decided"), 2.4},
	}}
	var single []Section
	for i := len(h.Lots) - 1; i >= 0; i-- {
		l := &h.Lots[i]
		var open []string
		s := Section{Title: speak.T("hazard.checks_of", "lot", l.ID), Columns: []Column{{speak.T("hazard.col_check"), 1.4}, {speak.T("hazard.col_state"), 0.8}, {speak.T("hazard.col_why"), 4}}}
		for _, c := range l.Checks {
			name := c.Key
			if words.Has("check." + c.Key) {
				name = speak.T("check." + c.Key)
			}
			state := speak.T("check_state." + string(c.State))
			if c.State == process.Failed || c.State == process.Missing && c.Required {
				open = append(open, name+" "+state)
			}
			s.Rows = append(s.Rows, []string{name, state, speak.Sentence(advice.Reason(c.Why))})
		}
		for _, x := range l.Lab {
			s.Rows = append(s.Rows, []string{speak.T("analyte." + x.Analyte), speak.T("check_state." + string(x.State)), strings.TrimSpace(x.Found + " " + x.Laboratory)})
		}
		decided := ""
		if l.Release != nil {
			decided = l.Release.By + ", " + speak.Moment(l.Release.At) + ": " + l.Release.Reason
		}
		if l.Rejection != nil {
			decided = l.Rejection.By + ", " + speak.Moment(l.Rejection.At) + ": " + l.Rejection.Reason
		}
		all.Rows = append(all.Rows, []string{l.ID, speak.Moment(l.Began), speak.T("lot_state." + string(l.State)), strings.Join(open, ", "), decided})
		single = append(single, s)
	}
	r.Sections = append(append(r.Sections, all), single...)
}

func (r *Report) registers(list []lot.Register, speak *words.Speaker) {
	if len(list) == 0 {
		return
	}
	s := Section{Title: speak.T("hazard.registers"), Columns: []Column{{speak.T("hazard.col_when"), 1.8}, {"", 1.2}, {speak.T("hazard.col_what"), 3.4}, {speak.T("hazard.col_result"), 0.9}, {speak.T("hazard.col_who"), 1}}}
	for _, x := range list {
		s.Rows = append(s.Rows, []string{speak.Moment(x.At), speak.T("kind." + x.Kind), x.What, x.Result, x.By})
	}
	r.Sections = append(r.Sections, s)
}
