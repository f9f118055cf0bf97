package lot

import (
	"errors"
	"slices"
	"time"

	"sodalake/science/assay"
	"sodalake/science/process"
)

// Lab is what a laboratory reported of one thing, held against the limits.
type Lab struct {
	Analyte    string        `json:"analyte"`
	Lot        string        `json:"lot"` // that was examined: a result of one lot says nothing of the next
	Found      string        `json:"found,omitempty"`
	At         time.Time     `json:"at"` // when the sample was taken
	By         string        `json:"by"`
	Laboratory string        `json:"laboratory,omitempty"`
	EntryID    string        `json:"entry_id"`
	State      process.State `json:"state"`
	Against    []Against     `json:"against,omitempty"`
}

// Against is a result held against one limit.
type Against struct {
	Place    string         `json:"place"`
	Of       string         `json:"of"` // what the limit is for
	Since    string         `json:"since,omitempty"`
	Most     float64        `json:"most"`               // mg/kg or 1/g, by Measure; 0 where absence is asked for
	AbsentG  float64        `json:"absent_g,omitempty"` // in so much it must be absent [g]
	Measure  assay.Measure  `json:"measure"`
	Standing assay.Standing `json:"standing"`
	Source   string         `json:"source"`
	State    process.State  `json:"state"`
	Why      assay.Why      `json:"why"`
}

// labOf judges a result of a laboratory by the farm's limits and those of its
// place. Without the result in words, the outcome counts that was noted.
func labOf(x *fact, lot string, plan *Plan) Lab {
	l := Lab{Analyte: x.analyte, Lot: lot, Found: x.found, At: x.At, By: x.by, Laboratory: x.lab, EntryID: x.ID, State: process.Missing}
	r, err := assay.ParseResult(x.found)
	if x.found == "" || err != nil {
		if x.outcome != "" && err != nil && x.found == "" {
			l.State = process.State(x.outcome)
		}
		return l
	}
	limits := assay.LimitsOf("farm", x.analyte)
	if plan.Limits != "" {
		limits = append(limits, assay.LimitsOf(plan.Limits, x.analyte)...)
	}
	passed := len(limits) > 0
	for _, limit := range limits {
		verdict, why := assay.Judge(r, limit)
		l.Against = append(l.Against, Against{
			Place: limit.Place, Of: limit.Of, Since: limit.Since, Most: limit.Max, AbsentG: limit.AbsentG, Measure: limit.Measure,
			Standing: limit.Standing, Source: limit.Source, State: process.State(verdict), Why: why,
		})
		switch {
		case verdict == assay.Failed:
			l.State = process.Failed
		case verdict == assay.Missing:
			passed = false
		}
	}
	if l.State != process.Failed && passed {
		l.State = process.Passed
	}
	if x.outcome == "failed" {
		l.State = process.Failed
	}
	return l
}

// labDoubt is what speaks against a result as it was written down, or nil.
func labDoubt(x *fact) *Doubt {
	switch {
	case x.analyte == "" && x.found != "":
		return &Doubt{Key: "doubt.lot.no_analyte", Field: "body.analyte", Message: "body.analyte is missing beside body.found", Hint: "say what the laboratory looked for"}
	case x.analyte != "" && x.found != "":
		_, err := assay.ParseResult(x.found)
		if err == nil {
			return nil
		}
		d := &Doubt{Key: "doubt.lot.result", Field: "body.found", Message: "body.found: " + err.Error(), Args: map[string]any{"found": x.found}}
		var bad *assay.InputError
		if errors.As(err, &bad) {
			d.Hint = bad.Hint
		}
		return d
	}
	return nil
}

// lab are the results that speak of this lot at t, the last of each analyte: its
// own, else those of all lots that went into it.
func (f *folding) lab(t time.Time, plan *Plan) []Lab {
	out := map[string]Lab{}
	for _, p := range f.parents {
		for _, l := range p.lab(p.way.since, plan) {
			if was, ok := out[l.Analyte]; ok && !graver(l.State, was.State) {
				continue
			}
			out[l.Analyte] = l
		}
	}
	for analyte, l := range out {
		for _, p := range f.parents {
			has := slices.ContainsFunc(p.lab(p.way.since, plan), func(o Lab) bool { return o.Analyte == analyte })
			if !has && l.State == process.Passed {
				l.State = process.Missing // one part of the blend was never examined
				out[analyte] = l
			}
		}
	}
	for _, x := range f.tests {
		if x.analyte != "" && !x.At.After(t) {
			out[x.analyte] = labOf(x, f.l.ID, plan)
		}
	}
	list := make([]Lab, 0, len(out))
	for _, l := range out {
		list = append(list, l)
	}
	slices.SortFunc(list, func(a, b Lab) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return compareText(a.Analyte, b.Analyte)
	})
	return list
}

func graver(a, b process.State) bool {
	return worse(Check{State: b}, Check{State: a}).State == a && a != b
}

func labCheck(lab []Lab, plan *Plan) Check {
	c := Check{State: process.Passed}
	var failed, missing []string
	for _, l := range lab {
		c.Evidence = append(c.Evidence, l.EntryID)
		if l.At.After(c.At) {
			c.At, c.By = l.At, l.By
		}
		if l.State == process.Failed {
			failed = append(failed, l.Analyte)
		}
	}
	for _, a := range plan.LabNeeded {
		if !slices.ContainsFunc(lab, func(l Lab) bool { return l.Analyte == a && l.State != process.Missing }) {
			missing = append(missing, a)
		}
	}
	switch {
	case len(failed) > 0:
		c.State, c.Why = process.Failed, said("lots.why.lab_failed", "analytes", failed)
	case len(missing) > 0:
		c.State, c.Why = process.Missing, said("lots.why.lab_missing", "analytes", missing)
	case !slices.ContainsFunc(lab, func(l Lab) bool { return l.State == process.Passed }):
		c.State, c.Why = process.Missing, said("lots.why.lab_unsure")
	default:
		c.Why = said("lots.why.lab_passed", "count", len(lab))
	}
	return c
}

// LabOf returns the last result of each analyte that any lot of the farm had in
// the days of the plan before t, the newest first: how old it is and of which
// lot stands with it.
func (b *Book) LabOf(t time.Time) []Lab {
	plan := b.plan(t)
	seen := map[string]bool{}
	var out []Lab
	refs := b.p.KindRefs("lot_check", t.Add(-time.Duration(plan.LabDays*24*float64(time.Hour))), t.Add(1))
	for _, r := range slices.Backward(refs) {
		x := b.fact(r)
		if x == nil || x.analyte == "" || seen[x.analyte] {
			continue
		}
		seen[x.analyte] = true
		out = append(out, labOf(x, x.lot, plan))
	}
	return out
}
