package lot

import (
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/science/assay"
	"sodalake/science/process"
)

// evidence is what was seen of a vessel around a harvest.
type evidence struct {
	looks  []look
	smells []sense
	colour []sense
	phs    []reading
}

type look struct {
	id, by             string
	at                 time.Time
	foreign, filaments float64 // -1: not told [1]
	doubted            bool
}

type sense struct {
	id, by, word string
	at           time.Time
	doubted      bool
}

type reading struct {
	id, by, op string
	at         time.Time
	ph         float64 // as the meter showed it [1]
	tempC      float64 // NaN: not noted [°C]
	doubted    bool
}

// around reads what the plan asks for of the vessel of h, up to the book's time.
func (b *Book) around(h *Harvest) *evidence {
	if e, known := b.seen[h.EntryID]; known {
		return e
	}
	plan := b.plan(h.At)
	span := func(hours float64) time.Duration { return time.Duration(hours * float64(time.Hour)) }
	from := h.At.Add(-span(math.Max(plan.PHH, math.Max(plan.LookH, plan.SensesH))))
	e := &evidence{}
	looks, phs, temps := map[string]int{}, map[string]int{}, map[string]float64{}
	for _, r := range b.p.Readings(h.Vessel, from, h.At.Add(span(plan.LookAfterH)+1), "foreign_seen", "filaments_seen", "smell", "colour", "ph", "temp_c") {
		before := func(hours float64) bool { return !r.At.After(h.At) && !r.At.Before(h.At.Add(-span(hours))) }
		doubted := len(r.Doubts) > 0
		switch r.Key {
		case "foreign_seen", "filaments_seen":
			if r.At.Before(h.At.Add(-span(plan.LookH))) {
				continue
			}
			i, known := looks[r.EntryID]
			if !known {
				i = len(e.looks)
				looks[r.EntryID] = i
				e.looks = append(e.looks, look{id: r.EntryID, by: r.By, at: r.At, foreign: -1, filaments: -1})
			}
			if l := &e.looks[i]; r.Key == "foreign_seen" {
				l.foreign, l.doubted = r.Value, l.doubted || doubted
			} else {
				l.filaments, l.doubted = r.Value, l.doubted || doubted
			}
		case "smell":
			if before(plan.SensesH) {
				e.smells = append(e.smells, sense{r.EntryID, r.By, r.Word, r.At, doubted})
			}
		case "colour":
			if before(plan.SensesH) {
				e.colour = append(e.colour, sense{r.EntryID, r.By, r.Word, r.At, doubted})
			}
		case "ph":
			if before(plan.PHH) {
				phs[r.EntryID] = len(e.phs)
				e.phs = append(e.phs, reading{r.EntryID, r.By, r.Op, r.At, r.Value, math.NaN(), doubted})
			}
		case "temp_c":
			temps[r.EntryID] = r.Value
		}
	}
	for id, i := range phs {
		if t, ok := temps[id]; ok {
			e.phs[i].tempC = t
		}
	}
	b.seen[h.EntryID] = e
	return e
}

// microscope judges the look before a harvest, and those after it that came by
// t.
func (b *Book) microscope(h *Harvest, t time.Time) Check {
	e, plan := b.around(h), b.plan(h.At)
	c := Check{State: process.Missing, Why: said("lots.why.no_look", "vessel", b.vesselName(h.Vessel), "within_h", plan.LookH)}
	for _, l := range e.looks {
		if l.at.After(t) {
			break
		}
		args := []any{"vessel", b.vesselName(h.Vessel), "filaments", math.Max(l.filaments, 0), "foreign", math.Max(l.foreign, 0), "time", l.at}
		after := l.at.After(h.At)
		switch {
		case l.foreign > 0:
			c = Check{State: process.Failed, Why: said("lots.why.foreign", args...), At: l.at, By: l.by, Evidence: []string{l.id}}
			if after {
				return c
			}
		case after:
			// What is seen afterwards can only speak against it.
		case l.foreign < 0 || l.doubted:
			if c.State == process.Missing {
				c.Why, c.At, c.By = said("lots.why.look_says_nothing", args...), l.at, l.by
			}
		case l.filaments < plan.LeastSeen:
			if c.State != process.Failed { // too few to take a finding back
				c = Check{State: process.Missing, Why: said("lots.why.few_seen", append(args, "least", plan.LeastSeen)...), At: l.at, By: l.by, Evidence: []string{l.id}}
			}
		default:
			open := assay.ShareUpper(0, int(l.filaments), 0.95)
			c = Check{State: process.Passed, Why: said("lots.why.none_foreign", append(args, "open_pct", math.Ceil(open*1e4)/100)...), At: l.at, By: l.by, Evidence: []string{l.id}}
		}
	}
	return c
}

// Good words of smell and colour: common practice, no source.
var (
	goodSmells  = map[string]bool{"none": true, "grassy": true, "soda": true}
	goodColours = map[string]bool{"dark_green": true, "green": true, "blue_green": true}
)

// senses judges by the last word before a harvest.
func (b *Book) senses(h *Harvest, key string, list []sense, good map[string]bool, hours float64) Check {
	c := Check{State: process.Missing, Why: said("lots.why."+"no_"+key, "vessel", b.vesselName(h.Vessel), "within_h", hours)}
	for _, s := range list {
		args := []any{"vessel", b.vesselName(h.Vessel), key, s.word, "time", s.at}
		switch {
		case !good[s.word]:
			c = Check{State: process.Failed, Why: said("lots.why."+"bad_"+key, args...), At: s.at, By: s.by, Evidence: []string{s.id}}
		case s.doubted:
		default:
			c = Check{State: process.Passed, Why: said("lots.why."+"good_"+key, args...), At: s.at, By: s.by, Evidence: []string{s.id}}
		}
	}
	return c
}

// phPerDegree is by how much the same pond reads lower when it is a degree
// warmer [1/°C]. Worked out with science/brine for the usual medium; the
// sodium carbonate buffer of pH 10.01 goes by 0.010 (nist buffers, from memory).
const phPerDegree = 0.011

// A pond whose temperature was not noted stood between these [°C]: judgement.
const (
	coldPondC = 10
	warmPondC = 38
)

// at25 is a pH brought to 25 °C [1], where ph is as read [1] and tempC the
// water's temperature [°C].
func at25(ph, tempC float64) float64 { return ph + phPerDegree*(tempC-25) }

// acidity judges the pH over the days before a harvest: one reading at least,
// and none of them too low.
func (b *Book) acidity(h *Harvest) Check {
	e, plan := b.around(h), b.plan(h.At)
	c := Check{State: process.Missing, Why: said("lots.why.no_ph", "vessel", b.vesselName(h.Vessel), "within_h", plan.PHH)}
	lowest := math.Inf(1)
	for _, r := range e.phs {
		low, high := r.tempC, r.tempC
		if math.IsNaN(r.tempC) {
			low, high = coldPondC, warmPondC
		}
		worst, best := at25(r.ph, low), at25(r.ph, high)
		args := []any{"vessel", b.vesselName(h.Vessel), "ph", r.ph, "ph_25c", worst, "limit_ph", plan.LeastPH, "time", r.at, "within_h", plan.PHH}
		const close = 1e-9
		switch {
		case best < plan.LeastPH-close && r.op != ">", r.op == "<" && best <= plan.LeastPH+close:
			args[5] = best
			return Check{State: process.Failed, Why: said("lots.why.low_ph", args...), At: r.at, By: r.by, Evidence: []string{r.id}}
		case worst < plan.LeastPH-close:
			if c.State == process.Missing {
				c.Why, c.At, c.By = said("lots.why.ph_unsure", args...), r.at, r.by
			}
		case r.doubted || r.op == "<":
		case worst < lowest:
			lowest = worst
			c = Check{State: process.Passed, Why: said("lots.why.good_ph", args...), At: r.at, By: r.by, Evidence: append(c.Evidence, r.id)}
		default:
			c.Evidence = append(c.Evidence, r.id)
		}
	}
	return c
}

// ofHarvest judges what is judged of each harvest by itself.
func (b *Book) ofHarvest(key string, h *Harvest, t time.Time) Check {
	plan := b.plan(h.At)
	switch key {
	case Microscope:
		return b.microscope(h, t)
	case Smell:
		return b.senses(h, "smell", b.around(h).smells, goodSmells, plan.SensesH)
	case Colour:
		return b.senses(h, "colour", b.around(h).colour, goodColours, plan.SensesH)
	case Acidity:
		return b.acidity(h)
	case Fitness:
		switch h.fit {
		case yes:
			return Check{State: process.Passed, Why: said("lots.why.fit"), At: h.At, By: h.By, Evidence: []string{h.EntryID}}
		case no:
			return Check{State: process.Failed, Why: said("lots.why.unfit"), At: h.At, By: h.By, Evidence: []string{h.EntryID}}
		}
		return Check{State: process.Missing, Why: said("lots.why.fit_untold")}
	}
	panic("lot: no check of a harvest: " + key)
}

// verified tells of the last cleaning of a tool before a use: whether it was
// found in order and nothing else was touched since, whether it failed, and when
// it was.
func (b *Book) verified(tool string, u *fact) (state process.State, why Said, at time.Time) {
	key := tool + " " + u.ID
	if v, known := b.verdicts[key]; known {
		return v.state, v.why, v.at
	}
	t, _ := b.p.Tool(tool)
	v := verdict{process.Missing, said("lots.why.never_cleaned", "tool", toolName(t, tool)), time.Time{}}
	// Backwards by windows that widen: the last cleaning is mostly near.
	until := u.At.Add(1)
	for _, days := range []int{2, 60, 0} {
		from := u.At.AddDate(0, 0, -days)
		if days == 0 {
			from = time.Time{}
		}
		refs := b.p.ToolRefs(tool, from, until)
		if found := b.lastWord(refs, tool, &t, u); found != nil {
			v = *found
			break
		}
		until = from
	}
	b.verdicts[key] = v
	return v.state, v.why, v.at
}

// verdict is what a tool's last cleaning tells of a use.
type verdict struct {
	state process.State
	why   Said
	at    time.Time
}

// lastWord is what the last of the entries with a tool that says anything tells
// of the use u; nil where none does.
func (b *Book) lastWord(refs []farm.Ref, tool string, t *farm.Tool, u *fact) *verdict {
	for i := len(refs) - 1; i >= 0; i-- {
		r := refs[i]
		if r.Compare(u.Ref) >= 0 {
			continue
		}
		x := b.fact(r)
		if x == nil {
			continue
		}
		args := []any{"tool", toolName(*t, tool), "time", x.At}
		switch {
		case x.Kind == "cleaned" && x.result == "failed":
			return &verdict{process.Failed, said("lots.why.cleaning_failed", args...), x.At}
		case x.Kind == "cleaned" && x.result == "":
			continue // nobody looked whether it was good
		case x.Kind == "cleaned":
			if t.Clean == "day" && u.At.Sub(x.At) > 24*time.Hour {
				return &verdict{process.Missing, said("lots.why.cleaning_old", args...), x.At}
			}
			return &verdict{process.Passed, said("lots.why.cleaned", args...), x.At}
		case t.Clean != "day" && !sameLot(x, u):
			return &verdict{process.Missing, said("lots.why.used_since", append(args, "lot", x.lot, "vessel", x.Vessel)...), x.At}
		}
	}
	return nil
}

func toolName(t farm.Tool, id string) string {
	if t.Name != "" {
		return t.Name
	}
	return id
}

// sameLot reports whether two uses belong to the work on one lot.
func sameLot(a, b *fact) bool {
	return a.lot != "" && a.lot == b.lot || slices.ContainsFunc(a.from, func(id string) bool { return id == b.lot || slices.Contains(b.from, id) }) || slices.Contains(b.from, a.lot)
}

// cleaning judges every tool at its every use on the lot.
func (f *folding) cleaning() Check {
	c := Check{State: process.Missing, Why: said("lots.why.no_tools")}
	for _, u := range f.uses {
		for _, tool := range u.tools {
			state, why, at := f.b.verified(tool, u)
			one := Check{State: state, Why: why, At: at, By: u.by, Evidence: []string{u.ID}}
			if len(c.Evidence) == 0 {
				c = one
				continue
			}
			c = worse(c, one)
		}
	}
	return c
}

// worse is the worse of two results: failed, then missing, then passed; of the
// same state the first, with the evidence of both.
func worse(a, b Check) Check {
	order := map[process.State]int{process.Passed: 0, process.Missing: 1, process.Failed: 2}
	if order[b.State] > order[a.State] {
		a, b = b, a
	}
	for _, id := range b.Evidence {
		if a.State == b.State && len(a.Evidence) < 40 {
			a.Evidence = append(a.Evidence[:len(a.Evidence):len(a.Evidence)], id)
		}
	}
	a.Settled = a.Settled || b.Settled && a.State == b.State
	return a
}
