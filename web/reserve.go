package web

import (
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/plan"
	"sodalake/words"
)

type reservePage struct {
	Frame
	Lead    string
	Living  bool
	Places  []reservePlace
	Turns   []part
	Turning string // how often
	Needs   [][3]string
	Each    string // [%]
	Place   string // [%]
	Risk    string // [%]
	Bad     *badField
	Restart []string
	Ask     bool        // how long a restart takes may be asked
	Sizes   [][2]string // by the size of a backup
	Steps   string      // where the steps of a restart are told
	Drill   []string
	DrillIs string
	Due     bool
	Seen    string
}

type reservePlace struct {
	Name string
	Rows []reserveRow
}

type reserveRow struct {
	Name, Href, State string
	Bad               bool // it does not count, or is due
	Small             []string
}

// reserve tells what stands behind the ponds.
func (s *server) reserve(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	word, q := frame.W, r.URL.Query()
	frame.Title, frame.Sheet = word.T("reserve.title"), "plan.css"
	if q.Get("said") == "intake" {
		frame.Said = word.T("intake.said")
	}
	p := reservePage{Frame: frame}
	wish := keeper.DefaultLoss()
	for _, f := range []struct {
		name string
		to   *float64
	}{{"each", &wish.Each}, {"place", &wish.Place}, {"risk", &wish.Risk}} {
		if text := strings.TrimSpace(q.Get(f.name)); text != "" {
			x, err := plainNumber(f.name, strings.TrimSuffix(text, "%"))
			if err != nil {
				p.Bad = badOf(err)
				break
			}
			*f.to = x / 100
		}
	}
	res, err := s.Farm.Reserve(r.Context(), s.Now(), wish)
	if err != nil {
		if farm.CodeOf(err) != farm.Invalid {
			return err
		}
		p.Bad = badOf(err)
		wish = keeper.DefaultLoss()
		if res, err = s.Farm.Reserve(r.Context(), s.Now(), wish); err != nil {
			return err
		}
	}
	p.tell(&res)
	p.Each, p.Place, p.Risk = word.Bound(roundTo(100*wish.Each, 3)), word.Bound(roundTo(100*wish.Place, 3)), word.Bound(roundTo(100*wish.Risk, 3))
	if err := s.restart(r, &p, &res); err != nil {
		return err
	}
	status := http.StatusOK
	if p.Bad != nil {
		status = http.StatusBadRequest
	}
	return s.views.render(w, r, status, "reserve", p)
}

// onceIn says a small chance as once in so many times.
func onceIn(w *words.Speaker, chance float64) string {
	switch {
	case chance >= 0.3:
		return w.Number("x_pct", roundTo(100*chance, 2)).Plain()
	case chance < 1e-6:
		return w.T("reserve.more_rare")
	}
	return w.T("reserve.once_in", "n", w.Rounded(roundTo(1/chance, 2), 1))
}

// daysOf says a number of days.
func daysOf(w *words.Speaker, d float64) string { return w.Number("age_d", math.Round(d)).Plain() }

func (p *reservePage) tell(r *keeper.Reserve) {
	w := p.W
	p.Living = r.Living
	p.Lead = w.T("reserve.lead_none")
	if r.Living {
		p.Lead = w.T("reserve.lead_living", "lost_chance", onceIn(w, r.AllLost))
	}
	ago := func(key string, t time.Time) string {
		day, _ := w.Ago(t, r.At)
		return w.T(key, "day", day)
	}
	for i := range r.Backups {
		b := &r.Backups[i]
		row := reserveRow{Name: b.Name, Href: "/vessels/" + url.PathEscape(b.Vessel)}
		if b.Count > 1 {
			row.Name += " × " + w.Rounded(float64(b.Count), 1)
		}
		switch {
		case !b.Holds:
			row.State, row.Bad = w.T("reserve.empty"), true
		case b.OnHold:
			row.State, row.Bad = w.T("reserve.held"), true
		case b.Unseen:
			last := b.Read
			if b.Renewed.After(last) {
				last = b.Renewed
			}
			row.State, row.Bad = w.T("reserve.unseen", "days", daysOf(w, r.At.Sub(last).Hours()/24)), true
		case b.Old:
			row.State, row.Bad = w.T("reserve.old"), true
		default:
			row.State = w.T("reserve.well")
		}
		if b.Holds {
			row.Small = append(row.Small, w.T("reserve.holds", "volume", w.Band("volume_l", b.Litres).Full(), "density", w.Band("density_g_per_l", b.Density).Full()))
			row.Small = append(row.Small, ago("reserve.renewed", b.Renewed))
			if b.Looked.IsZero() {
				row.Small = append(row.Small, w.T("reserve.never_looked"))
			} else {
				found := w.T("reserve.foreign")
				if b.Clean {
					found = w.T("reserve.clean")
				}
				day, _ := w.Ago(b.Looked, r.At)
				row.Small = append(row.Small, w.T("reserve.looked", "day", day, "found", found))
			}
			if !b.Read.IsZero() {
				row.Small = append(row.Small, ago("reserve.read", b.Read))
			}
			if b.GrownUp.IsZero() {
				row.Small = append(row.Small, w.T("reserve.never_grown"))
			} else {
				row.Small = append(row.Small, ago("reserve.grown", b.GrownUp))
			}
		}
		for j := range row.Small {
			row.Small[j] = upperFirst(row.Small[j]) + "."
		}
		place := w.T("placed_at." + b.Place)
		if n := len(p.Places); n == 0 || p.Places[n-1].Name != place {
			p.Places = append(p.Places, reservePlace{Name: place})
		}
		at := &p.Places[len(p.Places)-1]
		at.Rows = append(at.Rows, row)
	}
	for _, t := range r.Turns {
		when := w.T("reserve.turn_now")
		if t.At.After(r.At) {
			when = dayFar(w, t.At, r.At)
		}
		p.Turns = append(p.Turns, part{when, t.Name})
	}
	p.Turning = w.T("reserve.turns_caption", "renew_d", r.RenewD)
	for _, n := range r.Needs {
		each := w.T("reserve.no_number")
		if n.Each > 0 {
			each = w.Rounded(float64(n.Each), 1)
		}
		p.Needs = append(p.Needs, [3]string{w.Count(n.Places), each, onceIn(w, n.AllLost)})
	}
	p.Seen = w.T("reserve.seen_caption", "seen_d", r.SeenD)
	p.Drill = []string{w.T("reserve.drill_1"), w.T("reserve.drill_2"), w.T("reserve.drill_3"), w.T("reserve.drill_4")}
	if r.Drilled.IsZero() {
		p.DrillIs, p.Due = w.T("reserve.drill_never"), true
	} else {
		day, _ := w.Ago(r.Drilled, r.At)
		p.DrillIs = w.T("reserve.drill_last", "day", day)
		p.Due = r.At.Sub(r.Drilled).Hours()/24 > r.DrillD
	}
	if p.Due && len(r.Backups) > 0 {
		p.DrillIs += " " + w.T("reserve.drill_due", "drill_d", r.DrillD)
	}
}

// backupSizes are the sizes of backup whose restart is told [L].
var backupSizes = []float64{0.5, 2, 10}

// restart says how long it takes from a backup to the largest pond: the largest
// that lives, and bottles of some sizes. It takes a second or two, so it is
// reckoned only when it is asked for.
func (s *server) restart(r *http.Request, p *reservePage, res *keeper.Reserve) error {
	w := p.W
	var from *keeper.Backup
	for i := range res.Backups {
		if b := &res.Backups[i]; b.Alive && (from == nil || b.Litres.Mid > from.Litres.Mid) {
			from = b
		}
	}
	p.Restart = []string{w.T("reserve.restart_size")}
	if res.Largest == "" {
		p.Restart = []string{w.T("reserve.restart_none")}
		return nil
	}
	if from != nil {
		p.Steps = "/scale?" + url.Values{"from": {from.Vessel}, "to": {res.Largest}}.Encode()
	}
	if !r.URL.Query().Has("restart") {
		p.Ask = true
		return nil
	}
	ask := func(name string, wish keeper.ScaleWish) error {
		wish.To = res.Largest
		u, err := s.Farm.ScaleUp(r.Context(), s.Now(), wish)
		if err != nil && farm.CodeOf(err) == farm.Internal {
			return err
		}
		row := [2]string{name, w.T("reserve.never")}
		if err == nil && u.Stuck == nil {
			if row[1] = w.Band("x_d", u.Days).Full(); u.Ready.Late.IsZero() {
				row[1] = w.T("reserve.at_least", "days", w.Number("x_d", math.Round(u.Days.Mid)).Plain())
			}
		}
		p.Sizes = append(p.Sizes, row)
		return nil
	}
	if from != nil {
		if err := ask(from.Name, keeper.ScaleWish{From: from.Vessel}); err != nil {
			return err
		}
	}
	for _, l := range backupSizes {
		if err := ask(w.T("reserve.bottle_of", "volume", litresOf(w, l)), keeper.ScaleWish{StartL: l}); err != nil {
			return err
		}
	}
	return nil
}

type intakePage struct {
	Frame
	ID                  string
	Form                []option
	Volume, Density     string
	VolumeUnit          string
	Asked, Dead         bool
	Bad                 *badField
	Wake, Look, Apart   []string
	First               []string
	Vessels             []option
	DensityGL, VolumeL  string // as they are noted
	DensityUnit, Litres string
}

// intake is the card for a bottle that came from outside.
func (s *server) intake(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	word, q := frame.W, r.URL.Query()
	frame.Title, frame.Sheet = word.T("intake.title"), "plan.css"
	p := intakePage{Frame: frame, ID: s.newID(), Asked: q.Has("what"), Volume: q.Get("volume"), Density: q.Get("density"), VolumeUnit: word.UnitOf("volume_l"), DensityUnit: word.UnitOf("density_g_per_l")}
	what := q.Get("what")
	for _, f := range []string{"living", "powder"} {
		p.Form = append(p.Form, option{f, word.T("intake.what_" + f), f == what || what == "" && f == "living"})
	}
	p.Dead = what == "powder"
	if p.Asked && !p.Dead {
		litres, gl, bad := intakeAmounts(word, p.Volume, p.Density)
		if bad != nil {
			p.Bad = bad
		} else {
			p.card(litres, gl)
			if err := s.emptyVessels(r, &p); err != nil {
				return err
			}
		}
	}
	status := http.StatusOK
	if p.Bad != nil {
		status = http.StatusBadRequest
	}
	return s.views.render(w, r, status, "intake", p)
}

// intakeAmounts reads how much came and how dense it is; a litre of 0.5 g/L where
// nothing is said.
func intakeAmounts(w *words.Speaker, volume, density string) (litres, gl float64, bad *badField) {
	litres, gl = 1, 0.5
	for _, f := range []struct {
		name, text, stored string
		to                 *float64
		most               float64
	}{{"volume", volume, "volume_l", &litres, 1000}, {"density", density, "density_g_per_l", &gl, 20}} {
		if strings.TrimSpace(f.text) == "" {
			continue
		}
		x, err := plainNumber(f.name, f.text)
		if err != nil {
			return 0, 0, badOf(err)
		}
		if x = w.Stored(f.stored, x); !(x > 0 && x <= f.most) {
			return 0, 0, badOf(invalid(f.name, "", "%s %q lies outside what a bottle can be", f.name, clip(f.text)))
		}
		*f.to = x
	}
	return litres, gl, nil
}

// keepUndiluted is the part of a bottle that is kept as it came [1].
const keepUndiluted = 0.1

// card says what to do with a bottle: it is doubled at most at first, and never
// begins thinner than young culture behind a window may.
func (p *intakePage) card(litres, gl float64) {
	w := p.W
	p.Wake = []string{w.T("intake.wake_1"), w.T("intake.wake_2"), w.T("intake.wake_3")}
	p.Look, p.Apart = []string{w.T("intake.look_1")}, []string{w.T("intake.apart_1")}
	keep := keepUndiluted * litres
	pour := litres - keep
	most := math.Min(pour, pour*(gl/plan.LeastInShadeGL-1))
	if most < 0.2*pour {
		p.First = []string{w.T("intake.first_thin", "disc", w.Number("disc_cm", 5).Plain())}
	} else {
		p.First = []string{
			w.T("intake.first_1", "volume", litresOf(w, pour), "medium", litresOf(w, most), "total", litresOf(w, pour+most), "start", w.Number("density_g_per_l", roundTo(gl*pour/(pour+most), 2)).Plain()),
			w.T("intake.first_2", "keep", litresOf(w, keep)), w.T("intake.first_3"),
		}
	}
	p.VolumeL, p.DensityGL = w.Bound(roundTo(litres, 5)), w.Bound(gl)
	p.Litres = litresOf(w, litres)
}

// emptyVessels are those that a bottle can stand in.
func (s *server) emptyVessels(r *http.Request, p *intakePage) error {
	vs, err := s.Farm.Vessels(r.Context(), s.Now())
	if err != nil {
		return err
	}
	for _, v := range vs {
		if !v.Now.Known {
			p.Vessels = append(p.Vessels, option{v.Spec.ID, v.Spec.Name, v.Spec.Use == "reserve" || v.Spec.Use == "starter"})
		}
	}
	return nil
}

// writeIntake notes a bottle and keeps its vessel apart: both or neither.
func (s *server) writeIntake(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	volume, err := plainNumber("volume_l", f.Get("volume_l"))
	if err != nil {
		return err
	}
	density, err := plainNumber("density_g_per_l", f.Get("density_g_per_l"))
	if err != nil {
		return err
	}
	body := map[string]any{"volume_l": volume, "density_g_per_l": density}
	if text := strings.TrimSpace(f.Get("strain")); text != "" {
		body["strain"] = text
	}
	now := s.Now()
	if _, err := s.Farm.Entry(r.Context(), f.Get("id")); err == nil { // sent twice
		http.Redirect(w, r, "/reserve?said=intake", http.StatusSeeOther)
		return nil
	}
	first, err := json.Marshal(body)
	if err != nil {
		return err
	}
	entries := []farm.Entry{
		{ID: f.Get("id"), Vessel: f.Get("vessel"), Kind: "inoculated", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: first},
		{ID: s.newID(), Vessel: f.Get("vessel"), Kind: "quarantined", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: json.RawMessage(`{"reason":"a culture from outside, apart for fourteen days and two clean looks"}`)},
	}
	if _, err := s.Farm.Append(r.Context(), entries, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/reserve?said=intake", http.StatusSeeOther)
	return nil
}
