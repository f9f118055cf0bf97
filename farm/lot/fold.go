package lot

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// folding is a lot while it is folded, entry by entry.
type folding struct {
	b         *Book
	l         Lot
	begun     bool
	over      bool    // more left it than was there: its balance holds it
	massG     float64 // as last weighed; NaN: never [g]
	leftG     float64 // NaN: not known [g]
	inG       float64 // came in; NaN: not known [g]
	lostG     float64 // went with water, or was never found again [g]
	returnedG float64 // came back by recalls [g]
	packG     float64 // packed so far; NaN once a packing did not say [g]
	ended     time.Time
	way       way
	site      place // where it is
	dried     bool  // it came out of the dryer

	parents  []*folding // as they stood when they went in
	tests    []*fact    // lot_check
	uses     []*fact    // entries that name tools
	rejected *fact
	lapsed   bool // something was added since it was let go
}

// place is where a lot is, for the clock.
type place int

const (
	onTable place = iota
	inDryer
	inCold
	inFreezer
)

// fold folds the facts of a lot that come before until; all of them for a zero
// until, in which case those after the book's time are left out.
func (b *Book) fold(id string, facts []*fact) *folding {
	f := &folding{b: b, massG: math.NaN(), leftG: math.NaN(), l: Lot{ID: id}}
	for _, x := range facts {
		f.take(x)
	}
	return f
}

// take takes one entry in. It is the one place that knows what may happen to a
// lot in which state.
func (f *folding) take(x *fact) {
	if x.Kind == "lot" && x.lot != f.l.ID {
		if f.open(x) {
			f.made(x)
		}
		return
	}
	if x.Kind == "lot" || x.Kind == "harvested" {
		f.begin(x)
		return
	}
	if !f.begun {
		f.doubt("doubt.lot.before_it_began", x, "at", fmt.Sprintf("lot %q had not begun then", f.l.ID)).Hint = "note the harvest or the lot first, or look at the time"
		f.stray(x)
		return
	}
	switch x.Kind {
	case "lot_step":
		if f.open(x) {
			f.step(x)
		}
	case "lot_check":
		f.test(x)
	case "lot_deviation":
		f.l.Deviations = append(f.l.Deviations, Deviation{Decision: Decision{x.ID, x.At, x.by, x.reason}, Check: checkName(x.check), Done: x.what})
	case "packed":
		if f.open(x) {
			f.packed(x)
		}
	case "sold":
		f.out(x, WaySold)
	case "gave":
		f.out(x, WayGiven)
	case "used":
		f.out(x, WayUsed)
	case "discarded":
		f.out(x, WayDestroyed)
	case "held":
		f.hold(Hold{Key: "person", EntryID: x.ID, Text: x.reason, Since: x.At, By: x.by})
	case "recalled":
		if !x.mock {
			f.returnedG += known(x.massG)
			f.hold(Hold{Key: "recalled", EntryID: x.ID, Text: x.reason, Since: x.At, By: x.by})
		}
	case "rejected":
		if f.rejected == nil {
			f.rejected = x
			f.l.Rejection = &Decision{x.ID, x.At, x.by, x.reason}
		}
	case "released":
		f.release(x)
	}
}

// doubt notes what speaks against an entry.
func (f *folding) doubt(key string, x *fact, field, message string) *Doubt {
	f.l.Doubts = append(f.l.Doubts, Doubt{Key: key, EntryID: x.ID, Field: field, Message: message, Args: map[string]any{"lot": f.l.ID}})
	return &f.l.Doubts[len(f.l.Doubts)-1]
}

// open reports whether work can still be done on the lot, and doubts x if not.
func (f *folding) open(x *fact) bool {
	switch {
	case !f.begun:
		f.doubt("doubt.lot.before_it_began", x, "at", fmt.Sprintf("lot %q had not begun then", f.l.ID)).Hint = "note the harvest or the lot first, or look at the time"
		return false
	case !f.ended.IsZero():
		f.doubt("doubt.lot.ended", x, "body.lot", fmt.Sprintf("lot %q was used already: nothing is left of it", f.l.ID)).Hint = "look at the lot's name, or correct the entry by which it ended"
		return false
	case f.rejected != nil:
		f.doubt("doubt.lot.rejected", x, "body.lot", fmt.Sprintf("lot %q is rejected", f.l.ID)).Hint = "a rejected lot can only be thrown away"
		return false
	}
	return true
}

// begin takes a harvest, or what a lot was made of.
func (f *folding) begin(x *fact) {
	start := x.At
	if x.minutes > 0 {
		start = start.Add(-time.Duration(x.minutes * float64(time.Minute)))
	}
	if f.begun && !f.open(x) {
		return
	}
	f.lapsed = f.lapsed || f.l.Release != nil
	first := !f.begun
	if first {
		f.begun, f.l.Began, f.l.Born = true, x.At, start
		f.way.begin(start)
	}
	f.way.until(x.At, f)
	f.l.NotFood = f.l.NotFood || x.notFood
	f.use(x)
	if x.place != "" {
		f.l.Place = x.place
	}
	if x.Kind == "harvested" {
		h := Harvest{EntryID: x.ID, Vessel: x.Vessel, At: x.At, By: x.by, Tools: x.tools, fit: x.fit}
		h.VolumeL, h.MassG = known(x.volumeL), known(x.massG)
		f.l.Harvests = append(f.l.Harvests, h)
		if start.Before(f.l.Born) {
			f.l.Born = start
		}
		if !math.IsNaN(x.dryG) {
			f.dry(x.dryG)
		}
		for _, h := range f.b.holdsAt(x.Vessel, x.At) {
			f.hold(Hold{Key: "vessel", EntryID: h.EntryID, Vessel: h.Vessel, Reason: h.Reason, Text: h.Text, Since: x.At, By: h.By})
		}
		f.way.temp = x.tempC
		f.add(x.massG, first)
		return
	}
	if len(x.from) == 0 {
		switch {
		case x.weighed() && first:
			f.add(x.massG, true)
		case x.weighed():
			f.weigh(x, false)
		}
		return
	}
	sum := 0.0
	for _, id := range x.from {
		part := Part{Lot: id, At: x.At, EntryID: x.ID}
		p := f.b.before(id, x.Ref)
		m := takes(x, p)
		part.MassG = pointer(m)
		sum += m
		f.l.From = append(f.l.From, part)
		if !p.begun {
			f.doubt("doubt.lot.unknown", x, "body.from_lots", fmt.Sprintf("lot %q, of which %q was made, is not known", id, f.l.ID)).Hint = "note that lot first"
			continue
		}
		f.inherit(p, x)
	}
	f.add(sum, first)
	if !x.weighed() {
		return
	}
	if f.massG > 0 && x.massG > f.massG+tolerance(f.massG) {
		f.heavier(x, f.massG)
	}
	if math.IsNaN(f.massG) {
		f.firstWeighed(x.massG)
	} else {
		f.lostG += f.massG - x.massG
	}
	f.massG, f.leftG = x.massG, x.massG
}

// takes is how much x takes of the lot p [g]; NaN where that is not known.
func takes(x *fact, p *folding) float64 {
	if m, told := x.fromG[p.l.ID]; told {
		return m
	}
	if len(x.from) == 1 && x.weighed() && len(x.fromG) == 0 {
		return x.massG
	}
	return p.leftG
}

// add adds a mass that came in, or makes the mass unknown.
func (f *folding) add(m float64, first bool) {
	f.inG += m
	if first {
		f.massG, f.leftG = m, m
		return
	}
	f.leftG += m
	f.massG = f.leftG
}

// inherit takes over what a lot carried when it went into this one.
func (f *folding) inherit(p *folding, x *fact) {
	f.parents = append(f.parents, p)
	p.way.until(x.At, p)
	f.way.join(&p.way)
	for _, h := range p.l.Harvests {
		if !slices.ContainsFunc(f.l.Harvests, func(o Harvest) bool { return o.EntryID == h.EntryID }) {
			f.l.Harvests = append(f.l.Harvests, h)
		}
	}
	if p.l.Born.Before(f.l.Born) {
		f.l.Born = p.l.Born
	}
	f.l.NotFood = f.l.NotFood || p.l.NotFood
	f.l.Washed = f.l.Washed || p.l.Washed
	if len(f.parents) == 1 {
		f.site, f.dried, f.way.temp, f.way.enough = p.site, p.dried, p.way.temp, p.way.enough
	} else {
		// Of parts that differ the one that keeps worst tells.
		if f.dried = f.dried && p.dried; p.site < f.site {
			f.site, f.way.temp = p.site, p.way.temp
		}
		f.way.enough = f.way.enough && p.way.enough
	}
	if p.rejected != nil {
		d := f.doubt("doubt.lot.rejected", x, "body.from_lots", fmt.Sprintf("lot %q is rejected", p.l.ID))
		d.Hint = "a rejected lot can only be thrown away"
		f.hold(Hold{Key: "parent", EntryID: p.rejected.ID, Text: p.rejected.reason, Since: x.At, By: p.rejected.by})
	}
	for _, h := range p.l.Holds {
		if h.Stands() && h.EntryID != "" {
			h.Since = x.At
			f.hold(h)
		}
	}
}

// hold adds a hold that does not stand already.
func (f *folding) hold(h Hold) {
	for i := range f.l.Holds {
		if o := &f.l.Holds[i]; o.Stands() && o.Key == h.Key && o.EntryID == h.EntryID && o.Check == h.Check {
			return
		}
	}
	f.l.Holds = append(f.l.Holds, h)
}

// use notes the tools that touched the lot.
func (f *folding) use(x *fact) {
	if len(x.tools) > 0 {
		f.uses = append(f.uses, x)
	}
}

func (f *folding) heavier(x *fact, was float64) {
	f.over = true
	d := f.doubt("doubt.lot.heavier", x, "body.mass_g", fmt.Sprintf("body.mass_g %s is more than the %s g that lot %q had", short(x.massG), short(was), f.l.ID))
	d.Hint = "look at the number and its unit; water comes back only by rinsing"
	d.Args["mass_g"], d.Args["was_g"] = x.massG, was
}

// weigh takes a weighing of all that is there.
func (f *folding) weigh(x *fact, wetter bool) {
	if f.leftG+tolerance(f.leftG) < x.massG && !wetter {
		f.heavier(x, f.leftG)
	}
	if math.IsNaN(f.leftG) {
		f.firstWeighed(x.massG)
	} else {
		f.lostG += f.leftG - x.massG
	}
	f.massG, f.leftG = x.massG, x.massG
}

// dry takes the dry matter that a sample told.
func (f *folding) dry(g float64) { f.l.DryG = &g }

func (f *folding) step(x *fact) {
	from := f.site
	bad := func(needs string) {
		d := f.doubt("doubt.lot.order", x, "body.step", fmt.Sprintf("body.step %s does not follow: lot %q %s", x.step, f.l.ID, needs))
		d.Hint = "note the step before it first, or look at the time"
		d.Args["step"] = x.step
	}
	dried, to := f.dried, from
	switch x.step {
	case "into_dryer":
		if from == inDryer {
			bad("is in the dryer")
			return
		}
		to, dried = inDryer, false
	case "out_of_dryer":
		if from != inDryer {
			bad("is not in the dryer")
			return
		}
		to, dried = onTable, true
	case "into_cold":
		to = inCold
	case "into_freezer":
		if from == inFreezer {
			bad("is in the freezer")
			return
		}
		to = inFreezer
	case "out_of_cold", "out_of_freezer":
		if want := map[string]place{"out_of_cold": inCold, "out_of_freezer": inFreezer}[x.step]; from != want {
			bad("is not there")
			return
		}
		to = onTable
	case "rinsed", "drained", "pressed", "shaped":
		if from == inDryer || f.dried {
			bad("is dry, or drying")
			return
		}
		to = onTable
		f.l.Washed = f.l.Washed || x.step == "rinsed"
	}
	f.way.until(x.At, f)
	if x.weighed() {
		f.weigh(x, x.step == "rinsed")
	}
	if !math.IsNaN(x.dryG) {
		f.dry(x.dryG)
	}
	f.site, f.dried = to, dried
	if from != to {
		f.way.temp, f.way.enough = math.NaN(), false
	}
	if !math.IsNaN(x.tempC) {
		f.way.temp = x.tempC
	}
	if f.l.DryG != nil && x.weighed() {
		f.way.moist(1 - *f.l.DryG/x.massG)
	}
	f.use(x)
	if x.place != "" {
		f.l.Place = x.place
	}
	f.l.Steps = append(f.l.Steps, Step{EntryID: x.ID, Step: x.step, At: x.At, By: x.by, MassG: pointer(x.massG), TempC: pointer(x.tempC), Tools: x.tools})
	if x.step == "packed" {
		f.packs(x)
	}
}

func (f *folding) test(x *fact) {
	f.tests = append(f.tests, x)
	f.way.until(x.At, f)
	f.way.active(x.activity)
	f.way.moist(x.moisture)
	if bad := labDoubt(x); bad != nil {
		bad.EntryID = x.ID
		f.l.Doubts = append(f.l.Doubts, *bad)
	}
}

// packed takes a packing: what is in the packs is a part of what is there.
func (f *folding) packed(x *fact) {
	f.use(x)
	if x.place != "" {
		f.l.Place = x.place
	}
	if x.weighed() && f.packG+x.massG > f.leftG+f.gone()+tolerance(f.leftG) {
		f.over = true
		f.moreOut(x, f.packG+x.massG, f.leftG)
	}
	f.packs(x)
}

func (f *folding) packs(x *fact) {
	if x.packs == 0 && x.Kind != "packed" {
		return
	}
	f.l.PackedAt = x.At
	f.l.Packs += x.packs
	f.l.PacksLeft += x.packs
	f.packG += x.massG
	if f.l.Packs > 0 && !math.IsNaN(f.packG) {
		g := f.packG / float64(f.l.Packs)
		f.l.PackG = &g
	}
}

// gone is the mass that left since the first packing, in packs [g].
func (f *folding) gone() float64 {
	g := 0.0
	for _, o := range f.l.Outs {
		if o.Packs > 0 && o.MassG != nil {
			g += *o.MassG
		}
	}
	return g
}

func (f *folding) moreOut(x *fact, out, left float64) {
	d := f.doubt("doubt.lot.more_out", x, "body.mass_g", fmt.Sprintf("%s g is more than the %s g that are left of lot %q", short(out), short(left), f.l.ID))
	d.Hint = "look at the number and its unit, or note the weighing that is missing"
	d.Args["mass_g"], d.Args["left_g"] = out, left
}

// stray keeps a part that went to people although by the records there was
// nothing: a recall has to reach them too.
func (f *folding) stray(x *fact) {
	w, reaches := map[string]Way{"sold": WaySold, "gave": WayGiven}[x.Kind]
	if !reaches {
		return
	}
	f.over = true
	f.lostG -= known(x.massG)
	f.l.Outs = append(f.l.Outs, Out{EntryID: x.ID, Way: w, At: x.At, By: x.by, Whom: x.whom, Packs: x.packs, MassG: pointer(x.massG), Stray: true})
}

// out takes a part that left.
func (f *folding) out(x *fact, w Way) {
	if !f.ended.IsZero() {
		f.doubt("doubt.lot.ended", x, "body.lot", fmt.Sprintf("lot %q was used already: nothing is left of it", f.l.ID)).Hint = "look at the lot's name, or correct the entry by which it ended"
		f.stray(x)
		return
	}
	if w != WayDestroyed {
		f.mayGo(x, w)
	}
	o := Out{EntryID: x.ID, Way: w, At: x.At, By: x.by, Whom: x.whom, Packs: x.packs}
	m := x.massG
	if math.IsNaN(m) && x.packs > 0 && f.l.PackG != nil {
		m = *f.l.PackG * float64(x.packs)
	}
	if math.IsNaN(m) && x.packs == 0 || x.all {
		o.All, m = true, f.leftG
	}
	f.leave(x, o, m)
}

// made takes what went into another lot.
func (f *folding) made(x *fact) {
	m := takes(x, f)
	_, told := x.fromG[f.l.ID]
	all := !told && !(len(x.from) == 1 && x.weighed() && len(x.fromG) == 0)
	f.l.Into = append(f.l.Into, Part{Lot: x.lot, MassG: pointer(m), At: x.At, EntryID: x.ID})
	f.use(x)
	f.leave(x, Out{EntryID: x.ID, Way: WayMade, At: x.At, By: x.by, Into: x.lot, All: all}, m)
}

// leave subtracts a part, and ends the lot where nothing is left.
func (f *folding) leave(x *fact, o Out, m float64) {
	o.MassG = pointer(m)
	f.way.until(x.At, f)
	f.l.Outs = append(f.l.Outs, o)
	if m > f.leftG+tolerance(f.massG) {
		f.over = true
		f.moreOut(x, m, f.leftG)
	}
	if o.Packs > f.l.PacksLeft && f.l.Packs > 0 {
		f.over = true
		d := f.doubt("doubt.lot.more_packs", x, "body.packs", fmt.Sprintf("body.packs %d is more than the %d that are left of lot %q", o.Packs, f.l.PacksLeft, f.l.ID))
		d.Args["packs"], d.Args["left"] = o.Packs, f.l.PacksLeft
	}
	f.l.PacksLeft = max(f.l.PacksLeft-o.Packs, 0)
	if o.Packs == 0 && f.l.PackG != nil && !math.IsNaN(m) && f.leftG-m < float64(f.l.PacksLeft)**f.l.PackG-tolerance(*f.l.PackG) {
		f.l.PacksLeft = max(int(math.Round((f.leftG-m) / *f.l.PackG)), 0) // sold by mass, out of the packs
	}
	f.lostG += math.Min(f.leftG-m, 0)
	f.leftG = math.Max(f.leftG-m, 0)
	if o.All || f.leftG <= tolerance(f.massG) {
		f.lostG += f.leftG
		f.ended, f.leftG, f.l.PacksLeft = x.At, 0, 0
	}
}
