package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"sodalake/farm"
	"sodalake/words"
)

// wishFields are the choices that the form takes as numbers, by the word of
// their label; the second list is what dries, freezes or eats paste.
var (
	wishFields = [][2]string{
		{"plan_week_g", "week"}, {"plan_amount_g", "amount"}, {"plan_at_h", "at"}, {"plan_hours_h", "hours"}, {"plan_setup_min", "setup"},
		{"plan_cloth_l_per_h", "cloth_rate"}, {"plan_cloth_l", "cloth"}, {"plan_press_kg", "press"},
	}
	wishDrying = [][2]string{{"plan_dryer_g", "dryer"}, {"plan_fresh_kg", "fresh"}, {"plan_freeze_kg", "freeze"}, {"plan_freezer_kg", "freezer"}}
)

// stem is the stored name whose unit a choice has: litres an hour are litres to
// a speaker.
func stem(key string) string { return strings.TrimSuffix(key, "_per_h") }

// planWish fills the form with the choices as they stand.
func (s *server) planWish(w *words.Speaker, _ Setup, settings []farm.Setting) planWish {
	is := map[string]farm.Setting{}
	for _, one := range settings {
		is[one.Key] = one
	}
	out := planWish{ID: s.newID(), By: is["plan_by"].Text(), Away: is["plan_away"].Text()}
	goal := is["plan_goal"].Text()
	if goal == "" {
		goal = farm.Goals[0]
	}
	for _, g := range farm.Goals {
		out.Goals = append(out.Goals, option{g, upperFirst(w.T("plan.goal." + g)), g == goal})
	}
	risk, told := is["plan_risk"].Number()
	if !told {
		risk = 0.1
	}
	for i, r := range []string{"0.05", "0.1", "0.2"} {
		near := []float64{0.05, 0.1, 0.2}[i]
		out.Risks = append(out.Risks, option{r, w.T("plan.wish.risk_" + string(rune('1'+i))), risk > near*0.75 && risk <= near*1.5})
	}
	days := is["plan_weekdays"].Text()
	for i := range farm.Weekdays {
		day := farm.Weekdays[(i+1)%7] // a week begins on Monday
		out.Days = append(out.Days, option{day, w.T("day.short." + day), days == "" || slices.Contains(strings.Fields(days), day)})
	}
	field := func(key, name string) planField {
		f := planField{Key: key, Label: w.T("plan.wish." + name), Unit: w.UnitOf(stem(key))}
		if stem(key) != key {
			f.Unit += "/h"
		}
		if words.Has("plan.wish." + name + "_hint") {
			f.Hint = w.T("plan.wish." + name + "_hint")
		}
		if x, told := is[key].Number(); told {
			f.Value = w.Bound(roundTo(w.Shown(stem(key), x), 4))
		}
		return f
	}
	for _, f := range wishFields {
		out.Fields = append(out.Fields, field(f[0], f[1]))
	}
	for _, f := range wishDrying {
		out.Drying = append(out.Drying, field(f[0], f[1]))
	}
	return out
}

// writeWish notes the choices that were changed, all or none.
func (s *server) writeWish(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, word := r.PostForm, s.speaker(r)
	settings, err := s.Farm.Settings(r.Context())
	if err != nil {
		return err
	}
	was := map[string]string{}
	for _, one := range settings {
		was[one.Key] = string(one.Value)
	}
	now, first := s.Now(), f.Get("id")
	var entries []farm.Entry
	set := func(key string, value any) error {
		raw, err := json.Marshal(value)
		if err != nil {
			return err
		}
		if string(raw) == was[key] || was[key] == "" && string(raw) == `""` {
			return nil
		}
		body, err := json.Marshal(map[string]json.RawMessage{"key": json.RawMessage(`"` + key + `"`), "value": raw})
		if err != nil {
			return err
		}
		id := s.newID()
		if len(entries) == 0 && first != "" {
			id = first
		}
		entries = append(entries, farm.Entry{ID: id, Kind: "setting", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: body})
		return nil
	}
	for _, list := range [][][2]string{wishFields, wishDrying} {
		for _, one := range list {
			key, text := one[0], strings.TrimSpace(f.Get(one[0]))
			if text == "" {
				err = set(key, "")
			} else {
				x, bad := plainNumber(key, text)
				if bad != nil {
					return bad
				}
				err = set(key, roundTo(word.Stored(stem(key), x), 5))
			}
			if err != nil {
				return err
			}
		}
	}
	if risk := f.Get("plan_risk"); risk != "" {
		x, bad := plainNumber("plan_risk", risk)
		if bad != nil {
			return bad
		}
		if err := set("plan_risk", x); err != nil {
			return err
		}
	}
	days := "none"
	switch there := f["plan_weekdays"]; {
	case len(there) >= 7:
		days = ""
	case len(there) > 0:
		days = strings.Join(there, " ")
	}
	goal := f.Get("plan_goal")
	if goal == "steady" && strings.TrimSpace(f.Get("plan_week_g")) == "" {
		return invalid("plan_week_g", "grams of dry matter", "plan_week_g is missing beside a steady amount")
	}
	for _, one := range [][2]string{{"plan_goal", goal}, {"plan_by", f.Get("plan_by")}, {"plan_away", f.Get("plan_away")}, {"plan_weekdays", days}} {
		if err := set(one[0], strings.Join(strings.Fields(one[1]), " ")); err != nil {
			return err
		}
	}
	if len(entries) > 0 {
		if _, err := s.Farm.Append(r.Context(), entries, farm.Typed); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/plan?said=saved", http.StatusSeeOther)
	return nil
}
