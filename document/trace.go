package document

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/words"
)

// TraceRow is one line of a trace.
type TraceRow struct {
	Part   string // "back", "forward", "people" or "balance"
	Kind   string // harvest, lot, culture, pour, supply, tool, reached, person or a key of the balance
	ID     string // of the thing, or who
	Name   string // what it is called
	At     time.Time
	MassG  float64 // [g]; with HasG
	HasG   bool
	Detail string // in words
	Entry  string
}

// TraceRows are the lines of a trace in the order in which they are told.
func TraceRows(t *lot.Trace, speak *words.Speaker) []TraceRow {
	var out []TraceRow
	add := func(r TraceRow) { out = append(out, r) }
	n := &t.Names
	if o := t.Origin; o != nil {
		for _, p := range o.Lots {
			r := TraceRow{Part: "back", Kind: "lot", ID: p.Lot, At: p.At, Entry: p.EntryID}
			if p.MassG != nil {
				r.MassG, r.HasG = *p.MassG, true
			}
			add(r)
		}
		for _, h := range o.Harvests {
			add(TraceRow{Part: "back", Kind: "harvest", ID: h.Vessel, Name: n.Of(n.Vessels, h.Vessel), At: h.At, MassG: h.MassG, HasG: h.MassG > 0, Detail: litres(h.VolumeL, speak), Entry: h.EntryID})
		}
		for _, l := range o.Lineage {
			from := n.Of(n.Vessels, l.From)
			if l.From == farm.Outside {
				from = speak.T("trace.outside")
			}
			add(TraceRow{Part: "back", Kind: "culture", ID: l.To, Name: from + " → " + n.Of(n.Vessels, l.To), At: l.At, Detail: litres(l.VolumeL, speak), Entry: l.EntryID})
		}
		for _, p := range o.Pours {
			detail := []string{speak.T("kind." + p.Kind)}
			for _, w := range []string{n.Of(n.Recipes, p.Recipe), p.Water, p.Batch} {
				if w != "" {
					detail = append(detail, w)
				}
			}
			add(TraceRow{Part: "back", Kind: "pour", ID: p.Vessel, Name: n.Of(n.Vessels, p.Vessel), At: p.At, Detail: strings.Join(detail, ", "), Entry: p.EntryID})
		}
		for _, s := range o.Supplies {
			told := "trace.guessed"
			if s.Told {
				told = "trace.told"
			}
			add(TraceRow{Part: "back", Kind: "supply", ID: s.Supply, Name: n.Of(n.Supplies, s.Supply), At: s.Last, MassG: s.MassG, HasG: true, Detail: speak.T(told)})
		}
		for _, u := range o.Tools {
			detail := speak.T("trace.never_cleaned")
			if !u.Cleaned.IsZero() {
				detail = speak.T("trace.cleaned", "time", u.Cleaned)
			}
			add(TraceRow{Part: "back", Kind: "tool", ID: u.Tool, Name: n.Of(n.Tools, u.Tool), At: u.At, Detail: detail, Entry: u.EntryID})
		}
	}
	for _, l := range t.Recall.Lots {
		detail := speak.T("recall_why." + l.Why)
		if l.Via != "" && l.Why != lot.WhyNamed {
			via := l.Via
			switch l.Why {
			case lot.WhyVessel:
				via = n.Of(n.Vessels, via)
			case lot.WhyTool:
				via = n.Of(n.Tools, via)
			}
			detail += ": " + via
		}
		add(TraceRow{Part: "forward", Kind: "reached", ID: l.Lot, At: l.Since, MassG: l.LeftG, HasG: true, Detail: detail})
	}
	for _, p := range t.Recall.People {
		who := p.Whom
		if who == "" {
			who = speak.T("trace.nobody")
		}
		detail := strings.Join(p.Lots, ", ")
		if p.Gift {
			detail += "; " + speak.T("trace.gift")
		}
		if p.Unknown > 0 {
			detail += "; " + speak.T("trace.mass_unknown")
		}
		add(TraceRow{Part: "people", Kind: "person", ID: who, At: p.Last, MassG: p.MassG, HasG: true, Detail: detail})
	}
	b := t.Recall.Total
	for _, x := range []struct {
		key string
		g   float64
	}{{"in_g", b.InG}, {"lost_g", b.LostG}, {"left_g", b.LeftG}, {"sold_g", b.SoldG}, {"given_g", b.GivenG}, {"used_g", b.UsedG}, {"destroyed_g", b.DestroyedG}, {"made_g", b.MadeG}, {"returned_g", b.ReturnedG}} {
		if x.g > 0.05 || x.g < -0.05 {
			add(TraceRow{Part: "balance", Kind: x.key, Name: speak.T("trace." + x.key), MassG: x.g, HasG: true})
		}
	}
	return out
}

func litres(v float64, speak *words.Speaker) string {
	if v == 0 {
		return ""
	}
	return speak.Number("volume_l", v).Plain()
}

// TraceTitle is what a trace is called.
func TraceTitle(t *lot.Trace, speak *words.Speaker) string {
	f := t.Recall.From
	n := &t.Names
	switch {
	case f.Lot != "":
		return speak.T("trace.title", "lot", f.Lot)
	case f.Vessel != "":
		return speak.T("trace.title_other", "name", n.Of(n.Vessels, f.Vessel))
	case f.Supply != "":
		return speak.T("trace.title_other", "name", n.Of(n.Supplies, f.Supply))
	case f.Tool != "":
		return speak.T("trace.title_other", "name", n.Of(n.Tools, f.Tool))
	}
	return speak.T("trace.title_other", "name", f.Batch)
}

// TraceNotice is the text to send to those who have some of the lots.
func TraceNotice(t *lot.Trace, speak *words.Speaker) string {
	var lots []string
	for _, p := range t.Recall.People {
		lots = append(lots, p.Lots...)
	}
	seen := map[string]bool{}
	unique := lots[:0]
	for _, l := range lots {
		if !seen[l] {
			seen[l] = true
			unique = append(unique, l)
		}
	}
	if len(unique) == 0 {
		return ""
	}
	return speak.T("trace.notice", "lots", strings.Join(unique, ", "))
}

// TraceCSV writes the rows for a spreadsheet: times in RFC 3339 and UTC, masses
// in grams. A text that a spreadsheet would take for a formula is quoted.
func TraceCSV(w io.Writer, rows []TraceRow) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"part", "kind", "id", "name", "at", "mass_g", "detail", "entry_id"}); err != nil {
		return err
	}
	for _, r := range rows {
		at, g := "", ""
		if !r.At.IsZero() {
			at = r.At.UTC().Format(time.RFC3339)
		}
		if r.HasG {
			g = strconv.FormatFloat(r.MassG, 'f', 1, 64)
		}
		if err := c.Write([]string{r.Part, r.Kind, plainCell(r.ID), plainCell(r.Name), at, g, plainCell(r.Detail), r.Entry}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// plainCell keeps a spreadsheet from reading words as a formula.
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// TraceReport is the trace on paper.
func TraceReport(t *lot.Trace, farmName string, speak *words.Speaker, made time.Time) *Report {
	r := &Report{
		Head: speak.T("trace.head", "farm", farmName, "time", speak.Moment(t.At)), Title: TraceTitle(t, speak), Made: made,
		Page: strconv.Itoa,
	}
	r.Lead = append(r.Lead, speak.T("trace.reached_n", "lots", strconv.Itoa(len(t.Recall.Lots)), "people", strconv.Itoa(len(t.Recall.People))))
	rows := TraceRows(t, speak)
	for _, part := range []string{"back", "forward", "people", "balance"} {
		s := Section{Title: speak.T("trace." + part), Columns: []Column{
			{speak.T("trace.col_what"), 1.5}, {speak.T("trace.col_which"), 2.4}, {speak.T("trace.col_when"), 2.2}, {speak.T("trace.col_mass"), 1}, {speak.T("trace.col_more"), 3},
		}}
		for _, x := range rows {
			if x.Part == part {
				s.Rows = append(s.Rows, x.Cells(speak))
			}
		}
		if part == "balance" && t.Recall.Total.Unknown > 0 {
			s.Text = append(s.Text, speak.T("trace.unknown", "n", strconv.Itoa(t.Recall.Total.Unknown)))
		}
		if len(s.Rows) > 0 {
			r.Sections = append(r.Sections, s)
		}
	}
	if notice := TraceNotice(t, speak); notice != "" {
		r.Sections = append(r.Sections, Section{Title: speak.T("trace.notice_title"), Text: []string{notice}})
	}
	return r
}

// Cells are a row as people read it: what, which, when, how much, and the rest.
func (x *TraceRow) Cells(speak *words.Speaker) []string {
	what := speak.T("trace.part_" + x.Kind)
	if x.Part == "balance" {
		what = speak.T("trace." + x.Kind)
	}
	name := x.ID
	if x.Name != "" && x.Part != "balance" {
		name = x.Name
		if x.Name != x.ID && x.Kind != "culture" {
			name = fmt.Sprintf("%s (%s)", x.Name, x.ID)
		}
	}
	at, g := "", ""
	if !x.At.IsZero() {
		at = speak.Moment(x.At)
	}
	if x.HasG {
		g = speak.Read("mass_g", x.MassG).Plain()
	}
	return []string{what, name, at, g, x.Detail}
}
