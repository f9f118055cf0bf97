package web

import (
	"math"
	"strings"

	"sodalake/farm"
	"sodalake/science/num"
)

// with is what a vessel is topped up with: "medium" mixed for it, "water", or a
// batch that stands ready.
func (b *benchAsk) with() string {
	with := b.get("with")
	if with == "water" || b.batch() != nil {
		return with
	}
	return "medium"
}

// batch is the batch that is poured from, or nil.
func (b *benchAsk) batch() *farm.Standing {
	id, ok := strings.CutPrefix(b.get("with"), "batch.")
	if !ok {
		return nil
	}
	for i := range b.bench.Shelf.Batches {
		if s := &b.bench.Shelf.Batches[i]; s.EntryID == id {
			return s
		}
	}
	return nil
}

func (b *benchAsk) withField() mixField {
	w := b.w
	with := b.with()
	f := mixField{Name: "with", Label: w.T("field.with"), Input: "select", Options: []option{
		{"medium", w.T("mix.with_medium"), with == "medium"}, {"water", w.T("mix.with_water"), with == "water"},
	}}
	for _, s := range b.bench.Shelf.Batches {
		v := "batch." + s.EntryID
		f.Options = append(f.Options, option{v, w.T("mix.with_batch", "left", w.Number("volume_l", s.LeftL).Plain(), "recipe", b.mediumName(&s.Medium), "day", b.ago(s.At)), v == with})
	}
	return f
}

// mediumName is what a medium is called.
func (b *benchAsk) mediumName(m *farm.MediumMix) string {
	if r := b.farmRecipe(m.Recipe); r != nil && r.Name != "" {
		return r.Name
	}
	if m.Recipe != "" {
		return m.Recipe
	}
	return b.w.T("mix.name_own")
}

// topWithout answers for a top-up for which nothing is weighed: with water, from
// a batch, or not at all. done is false where medium is to be mixed.
func (b *benchAsk) topWithout() (out mixOut, done bool) {
	w := b.w
	v := b.vessel()
	if v == nil {
		return mixOut{Notes: []string{w.T("mix.no_vessel")}, Links: []navLink{{"/farm/vessel", w.T("setup.new_vessel")}}}, true
	}
	with := b.with()
	if b.offeredVolume() == "" && b.get("volume") == "" {
		return mixOut{Notes: []string{b.whyNoVolume(v.FullCM > 0)}}, true
	}
	if with == "medium" {
		return out, false
	}
	litres, err := b.volume("volume", b.offeredVolume())
	if err != nil {
		return mixOut{Bad: badOf(err)}, true
	}
	batch := b.batch()
	said := w.Number("volume_l", litres)
	row := mixRow{Amount: said.Value, Unit: said.Unit, Tick: "in.water", Name: w.T("mix.with_water")}
	body := map[string]any{"volume_l": roundTo(litres, 5), "with": "water"}
	out.Title = w.T("mix.top_title", "volume", said.Plain(), "name", v.Name)
	if batch != nil {
		row.Name = upperFirst(b.mediumName(&batch.Medium))
		row.Small = w.T("mix.batch_of", "day", b.ago(batch.At), "left", w.Number("volume_l", batch.LeftL).Plain())
		if litres > batch.LeftL*1.02 {
			row.Warn = w.T("mix.batch_short", "left", w.Number("volume_l", batch.LeftL).Plain())
		}
		m := map[string]any{"batch": batch.EntryID}
		if batch.Medium.Recipe != "" {
			m["recipe"] = batch.Medium.Recipe
		} else {
			m["salts_g_per_l"] = batch.Medium.SaltsGPerL
		}
		body["with"], body["medium"] = "medium", m
	} else {
		out.Care = []string{w.T("caution.chlorine")}
		b.hardness(&out, litres)
		out.Links = []navLink{{calcHref("dechlorinate", map[string]string{"volume_l": exactly(roundTo(litres, 3))}), w.T("mix.dechlorinate")}, {"/calc/salt", w.T("mix.creep")}}
	}
	out.Stages = []mixStage{{No: "1", Text: w.T("mix.pour"), Rows: []mixRow{row}}}
	if v.FullL > 0 && v.Volume.Mid > 0 {
		out.Lead = w.T("mix.top_lead", "missing", w.Band("volume_l", v.MissingL).Full(), "level", w.Band("level_cm", v.Level).Plain(), "full", w.Number("level_cm", v.FullCM).Plain())
		if area := v.Volume.Mid / math.Max(v.Level.Mid, 0.1); area > 0 { // litres a centimetre, near enough for a last step
			out.Gets = []mixGet{b.got("mix.level_after", "level_cm", num.Band{Low: v.Level.Low + litres/area, Mid: v.Level.Mid + litres/area, High: v.Level.High + litres/area})}
		}
		if litres > v.MissingL.High*1.05 {
			out.Care = append([]string{w.T("mix.too_full")}, out.Care...)
		}
	}
	if x := b.water(); x != nil && batch == nil {
		body["water"] = x.ID
	}
	out.Record = b.form("topped_up", v.ID, body)
	return out, true
}

func (b *benchAsk) whyNoVolume(full bool) string {
	if full {
		return b.w.T("mix.is_full")
	}
	return b.w.T("mix.no_full")
}

// hardness says what a hard water brings along.
func (b *benchAsk) hardness(out *mixOut, litres float64) {
	x := b.water()
	if x == nil {
		return
	}
	if h := x.Analysis["hardness_mg_per_l"]; h > 0 {
		value, unit := grams(b.w, h*litres/1000)
		out.Notes = append(out.Notes, b.w.T("mix.brings_chalk", "mass", value+" "+unit, "hardness", b.w.Number("hardness_mg_per_l", h).Plain()))
	}
}
