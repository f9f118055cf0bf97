package design

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"

	"sodalake/farm"
	"sodalake/farm/scenario"
	"sodalake/science/sky"
)

// File is the question as written. Fields that are not known are errors.
type File struct {
	Name         string           `json:"name,omitempty"`
	Note         string           `json:"note,omitempty"`
	Site         scenario.Site    `json:"site"`
	Weather      scenario.Weather `json:"weather"` // monthly; absent: guessed
	Years        int              `json:"years,omitempty"`
	Seed         uint64           `json:"seed,omitempty"`
	WishGPerWeek float64          `json:"wish_g_per_week,omitempty"`
	Prices       Prices           `json:"prices"`
	Designs      []Written        `json:"designs"`
}

// Written is one design as written; a vessel, a cover, a stirring and a medium
// are written as in a scenario.
type Written struct {
	Name        string            `json:"name,omitempty"`
	Vessel      json.RawMessage   `json:"vessel"`
	Cover       scenario.Cover    `json:"cover"`
	SecondCover bool              `json:"second_cover,omitempty"` // one more film in months under 15 °C
	ShadePct    float64           `json:"shade_pct,omitempty"`
	Stirring    scenario.Stirring `json:"stirring"`
	StirW       *float64          `json:"stir_w,omitempty"`     // absent: worked out
	StirHours   *float64          `json:"stir_hours,omitempty"` // absent: 24
	Medium      scenario.Medium   `json:"medium"`
	ReadyGPerL  *float64          `json:"ready_g_per_l,omitempty"` // absent: 0.5
	LeaveGPerL  *float64          `json:"leave_g_per_l,omitempty"` // absent: 0.35
	Winter      string            `json:"winter,omitempty"`        // pond or indoors
}

// DefaultYears is how many years are drawn where nobody says.
const DefaultYears = 50

// Read takes a question apart and checks it. Every error is a *farm.Error that
// names its field.
func Read(raw []byte) (*Ask, error) {
	var f File
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return nil, decodeError(err)
	}
	if dec.More() {
		return nil, bad("", "the designs have something after their closing brace")
	}
	return f.Ask()
}

// Ask checks the question and makes it ready to run.
func (f *File) Ask() (*Ask, error) {
	a := &Ask{Prices: f.Prices, Years: f.Years, Seed: f.Seed, WishGPerWeek: f.WishGPerWeek}
	if a.Years == 0 {
		a.Years = DefaultYears
	}
	if f.Site.LatDeg == nil {
		return nil, bad("site.lat_deg", "site.lat_deg is missing")
	}
	if f.Site.LonDeg == nil {
		zero := 0.0
		f.Site.LonDeg = &zero
	}
	if err := f.Prices.check(); err != nil {
		return nil, err
	}
	a.Place.Site = sky.Site{LatDeg: *f.Site.LatDeg, LonDeg: *f.Site.LonDeg, ElevationM: f.Site.ElevationM}
	weather := f.Weather
	if a.Place.Guessed = weather.Monthly == nil; a.Place.Guessed {
		if weather.HourlyCSV != "" || weather.Constant != nil {
			return nil, bad("weather", "weather must be monthly: years are drawn around the months")
		}
		calm, mild := 0.0, 20.0
		weather.Constant = &scenario.ConstantRow{TAirC: &mild, WindMS: calm} // stands in; the months are guessed below
	}
	if len(f.Designs) == 0 {
		return nil, bad("designs", "designs is missing: what would be built")
	}
	for i := range f.Designs {
		w := &f.Designs[i]
		s, err := w.scenario(f, &weather, i)
		if err != nil {
			return nil, err
		}
		p, err := w.pond(s, i)
		if err != nil {
			return nil, err
		}
		a.Ponds = append(a.Ponds, p)
		if i == 0 && !a.Place.Guessed {
			a.Place.Normals = s.Normals()
		}
	}
	if a.Place.Guessed {
		a.Place.Normals = sky.GuessNormals(a.Place.Site)
	}
	return a, a.Check()
}

// scenario makes a scenario of the design, whose reader checks what both have
// in common.
func (w *Written) scenario(f *File, weather *scenario.Weather, i int) (*scenario.File, error) {
	cover := w.Cover
	if cover.Vents == byHand {
		cover.Vents = ""
	}
	raw, err := json.Marshal(map[string]any{
		"start": "2025-07-01", "days": 1, "site": f.Site, "vessel": w.Vessel, "cover": cover, "shade_pct": w.ShadePct,
		"stirring": w.Stirring, "medium": w.Medium, "culture": map[string]any{"density_g_per_l": 0.3}, "weather": weather,
	})
	if err != nil {
		return nil, bad(fmt.Sprintf("designs[%d]", i), "designs[%d] cannot be read: %v", i, err)
	}
	s, err := scenario.Read(raw)
	var fe *farm.Error
	if errors.As(err, &fe) && !strings.HasPrefix(fe.Field, "site") && !strings.HasPrefix(fe.Field, "weather") {
		at := fmt.Sprintf("designs[%d].", i)
		named := *fe
		named.Field = at + fe.Field
		named.Message = strings.Replace(fe.Message, fe.Field, named.Field, 1)
		return nil, &named
	}
	return s, err
}

// byHand are vents that are worked each morning, as they are where nothing is
// told.
const byHand = "by hand"

func (w *Written) pond(s *scenario.File, i int) (Pond, error) {
	v, level := s.Described()
	if w.Cover.Vents == "" || w.Cover.Vents == byHand {
		v.Cover.Vents = ""
	}
	p := Pond{Name: w.Name, Vessel: v, LevelM: level, SaltsGPerL: s.Salts(), ReadyGL: 0.5, LeaveGL: 0.35, SecondCover: w.SecondCover, StirW: math.NaN(), StirHours: 24}
	if len(p.SaltsGPerL) == 0 {
		return p, bad(fmt.Sprintf("designs[%d].medium", i), "designs[%d].medium is missing: a recipe or salts_g_per_l", i)
	}
	p.PH25C = 9.8 // what a medium comes to in use, common practice, no source
	if s.Medium.PH25C != nil {
		p.PH25C = *s.Medium.PH25C
	}
	if w.Medium.PCO2PPM != nil {
		return p, bad(fmt.Sprintf("designs[%d].medium.pco2_ppm", i), "designs[%d].medium.pco2_ppm is for scenarios: say ph_25c", i)
	}
	for _, x := range []struct{ from, to *float64 }{{w.ReadyGPerL, &p.ReadyGL}, {w.LeaveGPerL, &p.LeaveGL}, {w.StirW, &p.StirW}, {w.StirHours, &p.StirHours}} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	switch w.Winter {
	case "", "pond":
	case "indoors":
		p.EmptyInCold = true
	default:
		e := bad(fmt.Sprintf("designs[%d].winter", i), "designs[%d].winter %q is not known", i, w.Winter)
		e.Hint = "pond or indoors"
		return p, e
	}
	return p, nil
}

func (p *Prices) check() error {
	for name, x := range map[string]float64{
		"water_per_m3": p.WaterM3, "power_per_kwh": p.KWh, "build_per_m2": p.BuildM2, "build_lasts_years": p.BuildLast, "hours_per_harvest": p.HarvestH, "work_per_hour": p.Hour,
	} {
		if !(x >= 0 && x <= 1e9) {
			return bad("prices."+name, "prices.%s %g is no price", name, x)
		}
	}
	for name, x := range p.PerKg {
		if !(x >= 0 && x <= 1e9) {
			return bad("prices.per_kg."+name, "prices.per_kg.%s %g is no price", name, x)
		}
	}
	return nil
}

func decodeError(err error) error {
	var typ *json.UnmarshalTypeError
	if errors.As(err, &typ) {
		return bad(typ.Field, "%s cannot be a %s", typ.Field, typ.Value)
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		name = strings.Trim(name, `"`)
		return bad(name, "field %q is not known", name)
	}
	return bad("", "the designs are not good JSON: %s", strings.TrimPrefix(err.Error(), "json: "))
}
