package keeper

import (
	"math"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/medium"
	"sodalake/science/pond"
	"sodalake/science/twin"
)

// cakeWaterGPerG is the water that leaves with the pressed cake [g/g dry]:
// pressed to 20 % dry matter. Common practice, no source.
const cakeWaterGPerG = 4

// pasteDry is the dry share of pressed paste [g/g]. Common practice, no source.
const pasteDry = 0.2

// house is the medium of a farm that told none.
const houseRecipe = "bicarbonate-farm"

// saltsOf returns the salts of a medium [g/L of finished medium] and whether
// they are known.
func saltsOf(p *farm.Present, m *farm.MediumMix, e *farm.Entry) (map[string]float64, bool) {
	if m != nil {
		if batch, ok := p.Event(m.Batch); ok && m.Recipe == "" && len(m.SaltsGPerL) == 0 {
			// Poured from what stood ready: made of what that was mixed from.
			if made := batch.Body.Medium(); made != nil && made.Batch == "" {
				return saltsOf(p, made, &batch.Entry)
			}
		}
		if len(m.SaltsGPerL) > 0 {
			return m.SaltsGPerL, true
		}
		if r, ok := p.Recipe(m.Recipe, e.At); ok && len(r.SaltsGPerL) > 0 {
			return r.SaltsGPerL, true
		}
		if r, ok := medium.Find(m.Recipe); ok {
			return r.SaltsGPerL, true
		}
	}
	r, _ := medium.Find(houseRecipe)
	return r.SaltsGPerL, false
}

// mixed is a medium ready to pour: totals a kilogram of water, and water in a
// litre.
type mixed struct {
	totals brine.Totals
	kgPerL float64
	known  bool
}

func (f *follower) mix(p *farm.Present, m *farm.MediumMix, e *farm.Entry) mixed {
	salts, known := saltsOf(p, m, e)
	t, kg, err := model.Water(salts)
	if err != nil {
		// Salts that chemistry does not know: the house medium stands in, and
		// the first readings of pH and conductivity put it right.
		r, _ := medium.Find(houseRecipe)
		t, kg, _ = model.Water(r.SaltsGPerL)
		known = false
	}
	return mixed{t, kg, known}
}

func (m *mixed) parcel(litres, tempC float64) pond.Parcel {
	p := pond.Parcel{WaterKg: litres * m.kgPerL, TempC: tempC}
	for k := range m.totals {
		p.Mol[k] = m.totals[k] * p.WaterKg
	}
	return p
}

// apply lets an event act on the vessels it speaks of. Every vessel concerned
// stands at the event's time already.
func (f *follower) apply(p *farm.Present, e *farm.Event) {
	body := e.Body
	if e.Kind.Name == "harvested" {
		f.harvest(e)
	} else {
		for i := range e.Flows {
			f.flow(p, e, &e.Flows[i])
		}
	}
	t := f.tracks[e.Entry.Vessel]
	if t == nil {
		return
	}
	t.place(e)
	if t.ens == nil {
		return
	}
	if salts := body.Amounts("salts_g"); len(salts) > 0 && (e.Kind.Name == "fed" || e.Kind.Name == "dosed") {
		give, known := dissolve(salts, 1/t.n)
		if known {
			t.ens.Do(func(_ int, m *twin.Member) { m.Pond.Do(&pond.Act{Salts: give}, nil) })
		}
	}
	if g, ok := body.Number("co2_g"); ok {
		var give brine.Totals
		give[brine.DIC] = g / 44.009 / t.n
		t.ens.Do(func(_ int, m *twin.Member) { m.Pond.Do(&pond.Act{Salts: give}, nil) })
	}
	if level, ok := body.Number("level_after_cm"); ok {
		t.ens.Assimilate(twin.Reading{Kind: twin.Level, Value: level, Sigma: 0.5, Op: '=', Slip: 60})
	}
}

// place is what an event changes about where and how the vessel stands, empty or
// filled. What was before the vessel was described is in its description.
func (t *track) place(e *farm.Event) {
	if e.Entry.At.Before(t.spec.Since) {
		return
	}
	change := func(do func(v *pond.Vessel)) {
		do(&t.base)
		if t.ens != nil {
			t.ens.Do(func(_ int, m *twin.Member) { do(&m.Pond) })
		}
	}
	switch e.Kind.Name {
	case "shaded":
		if pct, ok := e.Body.Number("shade_pct"); ok {
			change(func(v *pond.Vessel) { v.Setting.Shade = pct / 100 })
			t.shadePct = pct
		}
	case "covered":
		spec := t.spec
		spec.Cover = farm.Cover{Kind: e.Body.Text("cover"), Vents: e.Body.Text("vents")}
		t.spec.Cover = spec.Cover
		cover := model.Setting(&spec, t.kind).Cover
		change(func(v *pond.Vessel) {
			v.Setting.SetCover(cover)
			model.SetVents(&v.Setting, spec.Cover.Vents)
		})
	case "vented":
		change(func(v *pond.Vessel) { model.SetVents(&v.Setting, e.Body.Text("vents")) })
	case "stirred":
		if how := e.Body.Text("stirring"); how != "" {
			n, _ := e.Body.Number("times_per_day")
			t.spec.Stirring = farm.Stirring{Kind: how, TimesPerDay: n}
			s := model.Stir(t.spec.Stirring)
			change(func(v *pond.Vessel) { v.Stir.Mixed = s.Mixed })
		}
	case "heated":
		w, ok := e.Body.Number("heater_w")
		if on, told := e.Body.Yes("on"); told && !on {
			w, ok = 0, true
		}
		if ok {
			change(func(v *pond.Vessel) { v.HeaterW = w })
		}
		if c, told := e.Body.Number("target_c"); told {
			change(func(v *pond.Vessel) { v.Setting.HeatToC = c })
		}
	}
}

// dissolve returns what a share of the salts leaves in water [mol]; false if one
// of them is not a formula that chemistry knows.
func dissolve(saltsG map[string]float64, share float64) (brine.Totals, bool) {
	var t brine.Totals
	for salt, g := range saltsG {
		d, err := brine.Dissolve(salt)
		if err != nil {
			return brine.Totals{}, false
		}
		for k := range d.Totals {
			t[k] += d.Totals[k] * g * share / d.MolarMass
		}
	}
	return t, true
}

// flow moves water or culture, member by member.
func (f *follower) flow(p *farm.Present, e *farm.Event, fl *farm.Flow) {
	from, to := f.tracks[fl.From], f.tracks[fl.To]
	switch {
	case from != nil && from.ens != nil:
		parcels := make([]pond.Parcel, len(from.ens.Members))
		from.ens.Do(func(i int, m *twin.Member) {
			volume := m.Pond.VolumeL()
			litres := fl.VolumeL / from.n
			if fl.All || litres > volume {
				litres = volume
			}
			parcels[i] = m.Pond.Do(&pond.Act{DrawL: litres}, nil).Drawn
		})
		if fl.All {
			from.begun = advice.Event{} // what is poured in next begins anew
		}
		if to != nil {
			to.receive(f, e, func(i int, _ *twin.Member) pond.Parcel { return parcels[i%len(parcels)].Scaled(from.n / to.n) })
		}
	case to == nil || fl.From == farm.Cloth:
	case fl.What == farm.IsWater:
		if to.ens == nil {
			to.begin(f, e)
		}
		to.ens.Do(func(_ int, m *twin.Member) {
			m.Pond.Do(&pond.Act{WaterL: fl.VolumeL / to.n, FillToM: fl.ToCM / 100}, nil)
		})
	case fl.What == farm.IsMedium:
		mx := f.mix(p, fl.Medium, &e.Entry)
		to.receive(f, e, func(_ int, m *twin.Member) pond.Parcel {
			litres := fl.VolumeL / to.n
			if litres == 0 && fl.ToCM > 0 {
				litres = math.Max(m.Pond.Shape.VolumeL(fl.ToCM/100)-m.Pond.VolumeL(), 0)
			}
			pc := mx.parcel(litres, m.Pond.Heat.WaterC)
			m.Blur(&pc, 0)
			return pc
		})
	case fl.What == farm.IsCulture: // from outside the farm, or from a vessel nobody follows
		mx := f.mix(p, mediumOf(e), &e.Entry)
		density, told := e.Body.Number("density_g_per_l")
		spread := twin.GivenSD
		if !told {
			density, spread = twin.UnknownGL, twin.UnknownSD
		}
		to.receive(f, e, func(i int, m *twin.Member) pond.Parcel {
			pc := mx.parcel(fl.VolumeL/to.n, m.Pond.Heat.WaterC)
			pc.BiomassG = density * fl.VolumeL / to.n
			m.Blur(&pc, spread)
			// How long it grew in its medium before is not known. Evenly over the
			// members, by the golden ratio.
			pc.Mol[brine.DIC] *= 1 - carbonUsed*math.Mod((float64(i)+0.5)*0.6180339887498949, 1)
			return pc
		})
		if to.begun.ID == "" {
			to.begun.ID, to.begun.At = e.Entry.ID, e.Entry.At
		}
	}
}

// carbonUsed is the largest share of its medium's carbon that culture from
// elsewhere may have used before it came [1]: a bicarbonate medium is then near
// pH 10.4. Judgement; the first pH reading narrows it.
const carbonUsed = 0.4

func mediumOf(e *farm.Event) *farm.MediumMix { return e.Body.Medium() }

// receive pours one parcel into each member.
func (t *track) receive(f *follower, e *farm.Event, parcel func(i int, m *twin.Member) pond.Parcel) {
	if t.ens == nil {
		t.begin(f, e)
	}
	t.ens.Do(func(i int, m *twin.Member) { m.Pond.Do(&pond.Act{Pour: parcel(i, m)}, nil) })
	if t.begun.ID == "" && t.ens.Share(func(m *twin.Member) bool { return m.Pond.BiomassG > 0 }) > 0.5 {
		t.begun.ID, t.begun.At = e.Entry.ID, e.Entry.At
	}
}

// harvest passes culture through the cloth.
func (f *follower) harvest(e *farm.Event) {
	t := f.tracks[e.Entry.Vessel]
	if t == nil || t.ens == nil {
		return
	}
	act := pond.Act{CakeG: cakeWaterGPerG}
	volume, _ := e.Body.Number("volume_l")
	mass, weighed := e.Body.Number("mass_g")
	dry, dried := e.Body.Number("dry_g")
	left, leaves := e.Body.Number("left_g_per_l")
	switch {
	case volume > 0:
		act.ClothL = volume / t.n
	case dried:
		act.TakeG = dry / t.n
	case weighed:
		act.TakeG = mass * pasteDry / t.n
	case leaves:
		act.KeepGL = left
	}
	drain := e.Body.Text("filtrate_to") == "drain"
	t.ens.Do(func(_ int, m *twin.Member) {
		d := m.Pond.Do(&act, nil)
		if drain && d.ClothL > 0 {
			m.Pond.Do(&pond.Act{DrawL: math.Max(d.ClothL-d.ClothG*cakeWaterGPerG/1000, 0)}, nil)
		}
	})
}
