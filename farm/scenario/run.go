package scenario

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/pond"
)

// Result is what a scenario brought.
type Result struct {
	Assumptions []string  `json:"assumptions"`
	Notes       []string  `json:"notes"`
	Cautions    []string  `json:"cautions"`
	Days        []DayRow  `json:"days"`
	Hours       []HourRow `json:"hours,omitempty"`
}

// DayRow is one local day. Density, pH, volume and conductivity are those at
// its end; productivity is the net gain of dry matter on a square metre.
type DayRow struct {
	Date               string  `json:"date"`
	DensityGPerL       float64 `json:"density_g_per_l"`
	TempMinC           float64 `json:"temp_min_c"`
	TempMeanC          float64 `json:"temp_mean_c"`
	TempMaxC           float64 `json:"temp_max_c"`
	PH25C              float64 `json:"ph_25c"`
	VolumeL            float64 `json:"volume_l"`
	ConductivityMSCM   float64 `json:"conductivity_ms_per_cm_25c"`
	EvaporationMM      float64 `json:"evaporation_mm"`
	HarvestedDryG      float64 `json:"harvested_dry_g"`
	ProductivityGPerM2 float64 `json:"productivity_g_per_m2_d"`
	FedG               float64 `json:"fed_g"`
}

// HourRow is one hour, told at its end; light is the mean over the hour.
type HourRow struct {
	Time         string  `json:"time"`
	TempC        float64 `json:"temp_c"`
	DensityGPerL float64 `json:"density_g_per_l"`
	PH           float64 `json:"ph"`
	PARUmolM2S   float64 `json:"par_umol_m2_s"`
}

// cakeWaterGPerG is the water that leaves with the pressed cake [g/g dry]:
// pressed to 20 % dry matter. Common practice, no source.
const cakeWaterGPerG = 4

// runner is a scenario on its way.
type runner struct {
	f       *File
	v       pond.Vessel
	sky     weather
	res     *Result
	hourly  bool
	led     pond.Ledger
	fed     brine.Totals // what growth had taken when it was last fed [mol]
	fullM   float64
	lowPool bool
}

// Run runs a scenario. open opens the weather file that the scenario names;
// hourly asks for rows by the hour too; progress, if not nil, is called after
// every day.
func Run(ctx context.Context, f *File, open func(name string) (io.ReadCloser, error), hourly bool, progress func(day, of int)) (*Result, error) {
	r := &runner{f: f, res: &Result{Notes: []string{}, Cautions: []string{}}, hourly: hourly, fullM: f.levelM}
	if err := r.build(); err != nil {
		return nil, err
	}
	if err := r.openWeather(open); err != nil {
		return nil, err
	}
	from := f.start
	for day := range f.Days {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		_, to := farm.DayOf(from, f.zone)
		if err := r.day(from, to); err != nil {
			return nil, err
		}
		from = to
		if progress != nil {
			progress(day+1, f.Days)
		}
	}
	return r.res, nil
}

// build makes the vessel with its medium and culture.
func (r *runner) build() error {
	f := r.f
	spec := farm.Vessel{
		ID: "scenario", Shape: f.shape, Place: f.place, ShadePct: f.ShadePct, InGround: f.inGround,
		Cover:    farm.Cover{Kind: f.Cover.Kind, Transmission: f.Cover.Transmission, Vents: f.Cover.Vents},
		Stirring: farm.Stirring{Kind: f.Stirring.Kind, TimesPerDay: f.Stirring.TimesPerDay},
	}
	v, err := model.Vessel(&spec)
	if err != nil {
		return err
	}
	p := growth.Default()
	for name, x := range f.Culture.Parameters {
		if err := p.Set(name, x); err != nil {
			return bad("culture.parameters."+name, "%s", err.Error())
		}
	}
	if err := p.Validate(); err != nil {
		var pe *growth.ParamError
		if errors.As(err, &pe) {
			return bad("culture.parameters."+pe.Name, "%s", err.Error())
		}
		return err
	}
	v.Growth = growth.NewModel(p)
	salts := f.Medium.SaltsGPerL
	if f.Medium.Recipe != "" {
		recipe, _ := medium.Find(f.Medium.Recipe)
		salts = recipe.SaltsGPerL
	}
	if err := model.Fill(&v, salts, v.Shape.VolumeL(f.levelM), 20); err != nil {
		return err
	}
	if err := r.bringMedium(&v); err != nil {
		return err
	}
	v.BiomassG = f.Culture.DensityGPerL * v.VolumeL()
	v.Start()
	r.v = v
	r.res.Assumptions = append(r.res.Assumptions,
		"one well mixed body of water; ten-minute steps; parameters of growth: the default set where the scenario names none",
		fmt.Sprintf("the cake takes %d g of medium a gram of dry matter; the rest of the filtrate goes back", cakeWaterGPerG),
		"times of day are local to "+f.zone.String())
	if f.Feed.Rule == "replace" {
		r.res.Assumptions = append(r.res.Assumptions, "feed replaces, once a day, what growth took since: carbon as carbon dioxide, nitrogen as nitrate, and P, K, Mg, S, Ca, Fe as salts")
	}
	if f.Culture.DensityGPerL > 0 && v.Mol[brine.NO3]+v.Mol[brine.Ammonia]+v.Mol[brine.Urea] <= 0 {
		r.res.Notes = append(r.res.Notes, "the medium holds no nitrogen: nothing will grow until it is fed")
	}
	return nil
}

// bringMedium moves the fresh medium to the pH or the air it is said to have.
func (r *runner) bringMedium(v *pond.Vessel) error {
	m := &r.f.Medium
	if m.PH25C == nil && m.PCO2PPM == nil {
		return nil
	}
	t := v.Molality()
	s := brine.New(brine.Pitzer)
	var w brine.Water
	var err error
	if m.PH25C != nil {
		err = s.HoldPH(&t, 25, *m.PH25C, brine.ByCO2, &w)
	} else {
		err = s.OpenTo(&t, 25, *m.PCO2PPM*1e-6, &w)
	}
	if err != nil {
		return bad("medium", "medium cannot be brought there: %v", err)
	}
	for k := range t {
		v.Mol[k] = t[k] * v.WaterKg
	}
	v.Start()
	return nil
}

// day runs one local day and writes its row.
func (r *runner) day(from, to time.Time) error {
	w, err := r.sky.day(from, to)
	if err != nil {
		return err
	}
	if len(r.res.Days) == 0 {
		// The water starts at the mean air of its first day, the ground with it.
		mean := 0.0
		for i := range w.Outside {
			mean += w.Outside[i].AirC / float64(len(w.Outside))
		}
		r.v.Heat = r.v.Setting.Start(&w.Outside[0], math.Max(mean, 1))
		r.v.Start()
	}
	row := DayRow{Date: from.Format(time.DateOnly), TempMinC: math.Inf(1), TempMaxC: math.Inf(-1)}
	before, evaporated := r.v.BiomassG, r.led[pond.Evaporated].WaterKg
	area := r.v.Shape.SurfaceM2(r.v.Shape.LevelM(r.v.VolumeL()))
	var steps int
	var light, lightS float64
	last := from
	see := func(t time.Time, s *pond.Seen) {
		row.TempMinC = math.Min(row.TempMinC, r.v.Heat.WaterC)
		row.TempMaxC = math.Max(row.TempMaxC, r.v.Heat.WaterC)
		row.TempMeanC += r.v.Heat.WaterC
		steps++
		if !r.hourly {
			return
		}
		dt := t.Sub(last).Seconds()
		light, lightS, last = light+s.PAR*dt, lightS+dt, t
		if t.Minute() == 0 && t.Second() == 0 {
			r.res.Hours = append(r.res.Hours, HourRow{
				Time: t.Format(time.RFC3339), TempC: round(r.v.Heat.WaterC, 3), DensityGPerL: round(s.DensityGL, 5),
				PH: round(s.PH, 4), PARUmolM2S: round(light/lightS, 2),
			})
			light, lightS = 0, 0
		}
	}
	// On the day the clocks change, the hour is that of the wall.
	y, m, d := from.Date()
	h := *r.f.Harvest.Hour
	harvest := time.Date(y, m, d, int(h), int(math.Mod(h, 1)*60+0.5), 0, 0, r.f.zone)
	if harvest.Before(from) {
		harvest = from
	}
	r.v.Run(from, harvest, w, nil, &r.led, see, nil)
	row.HarvestedDryG = r.harvest()
	row.FedG = r.feed()
	if r.f.Water.Rule == "top-up" {
		r.v.Do(&pond.Act{FillToM: r.fullM}, &r.led)
	}
	r.v.Run(harvest, to, w, nil, &r.led, see, nil)

	row.TempMeanC /= float64(max(steps, 1))
	row.DensityGPerL, row.VolumeL = r.v.DensityGL(), r.v.VolumeL()
	if area > 0 {
		row.EvaporationMM = (evaporated - r.led[pond.Evaporated].WaterKg) / area
		row.ProductivityGPerM2 = (r.v.BiomassG - before + row.HarvestedDryG) / area
	}
	t := r.v.Molality()
	var water brine.Water
	if r.v.WaterKg > 0 {
		s := brine.New(brine.Pitzer)
		if err := s.Solve(&t, 25, &water); err == nil {
			row.PH25C, row.ConductivityMSCM = water.PH, brine.ConductivityMSCm25(&water)
		}
	}
	row.round()
	r.res.Days = append(r.res.Days, row)
	r.warn(&row)
	return nil
}

// harvest takes what the rule says and returns the dry matter [g].
func (r *runner) harvest() float64 {
	h := &r.f.Harvest
	a := pond.Act{CakeG: cakeWaterGPerG}
	switch h.Rule {
	case "above":
		if r.v.DensityGL() <= h.DensityGPerL {
			return 0
		}
		a.KeepGL = math.Max(*h.LeaveGPerL, 1e-9)
	case "fraction":
		a.ClothL = *h.Fraction * r.v.VolumeL()
	default:
		return 0
	}
	return r.v.Do(&a, &r.led).ClothG
}

// Molar masses of what is fed [g/mol], IUPAC abridged standard atomic weights.
const (
	massKNO3, massNaNO3, massKH2PO4, massMgSO4, massNa2SO4 = 101.10, 84.99, 136.09, 246.47, 142.04
	massCaNO3, massFeSO4, massCO2                          = 236.15, 278.01, 44.009
)

// feed gives back what growth took since the last feed, as salts and carbon
// dioxide, and returns their mass [g].
func (r *runner) feed() float64 {
	if r.f.Feed.Rule != "replace" {
		return 0
	}
	grown := r.led[pond.Grown].Mol
	need := func(k brine.Total) float64 { return math.Max(r.fed[k]-grown[k], 0) }
	n := need(brine.Ammonia) + need(brine.NO2) + need(brine.NO3)
	p, mg, s, ca, fe, c := need(brine.PO4), need(brine.Mg), need(brine.SO4), need(brine.Ca), need(brine.Iron), need(brine.DIC)
	var give brine.Totals
	give[brine.DIC] = c
	give[brine.PO4], give[brine.K] = p, p // KH2PO4
	give[brine.Mg], give[brine.SO4] = mg, mg
	give[brine.Ca] = ca // Ca(NO3)2.4H2O
	give[brine.Iron] = fe
	give[brine.SO4] += fe // FeSO4.7H2O; the iron ends as hydroxide
	na2so4 := math.Max(s-mg-fe, 0)
	give[brine.SO4] += na2so4
	give[brine.Na] += 2 * na2so4
	kno3 := math.Min(math.Max(need(brine.K)-p, 0), n)
	nano3 := math.Max(n-kno3-2*ca, 0)
	give[brine.K] += kno3
	give[brine.Na] += nano3
	give[brine.NO3] = kno3 + nano3 + 2*ca
	r.fed = grown
	r.v.Do(&pond.Act{Salts: give}, &r.led)
	return kno3*massKNO3 + nano3*massNaNO3 + p*massKH2PO4 + mg*massMgSO4 + na2so4*massNa2SO4 + ca*massCaNO3 + fe*massFeSO4 + c*massCO2
}

// warn collects what a reader of the rows should not miss.
func (r *runner) warn(row *DayRow) {
	add := func(s string) {
		for _, have := range r.res.Cautions {
			if have == s {
				return
			}
		}
		r.res.Cautions = append(r.res.Cautions, s)
	}
	if row.TempMaxC > growth.HeatActC {
		add("Water passes 40 °C: act against heat; over 43 °C cultures are lost.")
	}
	if row.VolumeL < 1 {
		add("The vessel runs dry.")
	}
	if row.PH25C > 11 {
		add("pH passes 11: growth fails for want of carbon.")
	}
}

func round(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p) / p
}

// round keeps digits that a difference between machines cannot touch.
func (d *DayRow) round() {
	for _, f := range []struct {
		x        *float64
		decimals int
	}{
		{&d.DensityGPerL, 5}, {&d.TempMinC, 3}, {&d.TempMeanC, 3}, {&d.TempMaxC, 3}, {&d.PH25C, 4}, {&d.VolumeL, 3},
		{&d.ConductivityMSCM, 3}, {&d.EvaporationMM, 3}, {&d.HarvestedDryG, 3}, {&d.ProductivityGPerM2, 3}, {&d.FedG, 3},
	} {
		*f.x = round(*f.x, f.decimals)
	}
}
