package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/words"
)

// Nursery is what the pages of scaling up and of the reserve need.
type Nursery interface {
	// ScaleUp is the way up from a culture to a volume.
	ScaleUp(ctx context.Context, at time.Time, wish keeper.ScaleWish) (keeper.ScaleUp, error)
	// Tree is where all cultures came from.
	Tree(at time.Time) []*keeper.Branch
	// Reserve is what stands behind the ponds.
	Reserve(ctx context.Context, at time.Time, wish keeper.LossWish) (keeper.Reserve, error)
}

type scalePage struct {
	Frame
	From, To                []option
	Start, Density, Target  string
	VolumeUnit, DensityUnit string
	Asked                   bool
	Bad                     *badField // what was asked cannot be
	Ready                   string
	Stuck                   string
	Added                   string
	Steps                   []scaleRow
	Tree                    []treeRow
}

type scaleRow struct {
	Day, What string
	Small     []string
	MixHref   string
}

// treeRow is one culture; the tree is told as lists in lists.
type treeRow struct {
	Name, Href, Text string
	Small            []string
	Gone             bool
	Grew             []treeRow
}

// scale tells the way up from a culture to a volume.
func (s *server) scale(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	vs, err := s.Farm.Vessels(r.Context(), s.Now())
	if err != nil {
		return err
	}
	word, q := frame.W, r.URL.Query()
	frame.Title, frame.Sheet = word.T("scale.title"), "plan.css"
	p := scalePage{
		Frame: frame, Start: q.Get("start"), Density: q.Get("density"), Target: q.Get("target"),
		VolumeUnit: word.UnitOf("volume_l"), DensityUnit: word.UnitOf("density_g_per_l"), Asked: q.Has("to"),
	}
	p.From = []option{{"", word.T("scale.from_bottle"), q.Get("from") == ""}}
	p.To = []option{{"", word.T("scale.to_volume"), q.Get("to") == ""}}
	for _, v := range vs {
		if v.Now.Known {
			p.From = append(p.From, option{v.Spec.ID, v.Spec.Name, q.Get("from") == v.Spec.ID})
		}
		p.To = append(p.To, option{v.Spec.ID, v.Spec.Name, q.Get("to") == v.Spec.ID})
	}
	if p.Asked {
		if err := s.climb(r, &p, setup, vs); err != nil {
			return err
		}
	}
	p.Tree = treeRows(word, s.Farm.Tree(s.Now()), s.Now())
	status := http.StatusOK
	if p.Bad != nil {
		status = http.StatusBadRequest
	}
	return s.views.render(w, r, status, "scale", p)
}

// climb asks for the way up; what cannot be asked is said on the page, with the
// form as it was filled in.
func (s *server) climb(r *http.Request, p *scalePage, setup Setup, vs []keeper.Vessel) error {
	w, q := p.W, r.URL.Query()
	wish := keeper.ScaleWish{From: q.Get("from"), To: q.Get("to")}
	for _, f := range []struct {
		name, stored string
		to           *float64
	}{{"start", "volume_l", &wish.StartL}, {"density", "density_g_per_l", &wish.StartGL}, {"target", "volume_l", &wish.TargetL}} {
		text := strings.TrimSpace(q.Get(f.name))
		if text == "" {
			continue
		}
		x, err := plainNumber(f.name, text)
		if err != nil {
			p.Bad = badOf(err)
			return nil
		}
		*f.to = w.Stored(f.stored, x)
	}
	u, err := s.Farm.ScaleUp(r.Context(), s.Now(), wish)
	if err != nil {
		if farm.CodeOf(err) != farm.Invalid {
			return err
		}
		p.Bad = badOf(err)
		return nil
	}
	p.tell(&u, setup, vs)
	return nil
}

// litresOf says a volume without more digits than a bucket has.
func litresOf(w *words.Speaker, l float64) string {
	shown := roundTo(w.Shown("volume_l", l), 2)
	text := w.Rounded(shown, 0.01)
	if mark := w.T("format.decimal"); strings.Contains(text, mark) {
		text = strings.TrimSuffix(strings.TrimRight(text, "0"), mark)
	}
	return text + " " + w.UnitOf("volume_l")
}

// tell says a way up.
func (p *scalePage) tell(u *keeper.ScaleUp, setup Setup, vs []keeper.Vessel) {
	w := p.W
	name := func(own string, size float64) string {
		if own != "" {
			return own
		}
		return w.T("scale.tub", "volume", litresOf(w, size))
	}
	if t := u.Stuck; t != nil {
		where := name(t.Name, t.SizeL)
		p.Stuck = w.T("scale.stuck."+t.Why, "name", where, "density", w.Number("density_g_per_l", roundTo(t.DensityGL, 2)).Plain(), "volume", litresOf(w, t.VolumeL),
			"can", litresOf(w, t.CanL), "need", litresOf(w, t.NeedL))
		return
	}
	recipe := func(id string) (text, key string) {
		for _, r := range setup.Recipes {
			if r.ID == id {
				return r.Name, "farm." + id
			}
		}
		return strings.ReplaceAll(id, "-", " "), "pub." + id
	}
	for i := range u.Steps {
		st := &u.Steps[i]
		medium, key := recipe(st.Recipe)
		row := scaleRow{Day: dayFar(w, st.When.Mid, p.Now)}
		where := name(st.Name, st.SizeL)
		args := []any{"pour", litresOf(w, st.PourL), "medium", litresOf(w, st.MediumL), "recipe", medium, "name", where}
		row.What = w.T("scale.pour", args...)
		if st.Same {
			row.What = w.T("scale.fill", args...)
		}
		wait := []any{"disc", w.Number("disc_cm", roundTo(st.WaitCM, 2)).Plain(), "wait", w.Number("density_g_per_l", roundTo(st.WaitGL, 2)).Plain(), "early", dayFar(w, st.When.Early, p.Now)}
		if st.When.Late.IsZero() {
			row.Small = append(row.Small, w.T("scale.wait_open", wait...))
		} else {
			row.Small = append(row.Small, w.T("scale.wait", append(wait, "late", dayFar(w, st.When.Late, p.Now))...))
		}
		row.Small = append(row.Small, w.T("scale.begins", "start", w.Band("density_g_per_l", st.StartGL).Full(), "least", w.Number("density_g_per_l", st.LeastGL).Plain()))
		switch {
		case st.Indoors:
			row.Small = append(row.Small, w.T("scale.window"))
		case st.ShadePc > 0:
			row.Small = append(row.Small, w.T("scale.shade", "shade_pct", st.ShadePc))
		}
		if st.KeepL > 0 {
			row.Small = append(row.Small, w.T("scale.keep", "keep", litresOf(w, st.KeepL)))
		}
		row.MixHref = "/mix?" + url.Values{"mode": {"medium"}, "volume": {litresOf(w, st.MediumL)}, "recipe": {key}}.Encode()
		p.Steps = append(p.Steps, row)
	}
	last := name("", u.TargetL)
	for _, v := range vs {
		if v.Spec.ID == u.To {
			last = v.Spec.Name
		}
	}
	args := []any{"name", upperFirst(last), "day", dayFar(w, u.Ready.Mid, p.Now), "medium", litresOf(w, u.MediumL), "days", w.Number("days_d", roundTo(u.Days.Mid, 2)).Plain()}
	if u.Ready.Late.IsZero() {
		p.Ready = w.T("scale.ready_open", args...)
	} else {
		p.Ready = w.T("scale.ready", append(args, "spread", dayFar(w, u.Ready.Early, p.Now)+"–"+dayFar(w, u.Ready.Late, p.Now))...)
	}
	if len(u.Added) > 0 {
		sizes := slices.Clone(u.Added)
		slices.Sort(sizes)
		var said []string
		for _, l := range sizes {
			said = append(said, litresOf(w, l))
		}
		p.Added = w.T("scale.added", "sizes", w.List(said))
	}
}

// treeRows are the branches of the tree as they are said.
func treeRows(w *words.Speaker, list []*keeper.Branch, now time.Time) []treeRow {
	var out []treeRow
	for _, b := range list {
		row := treeRow{Name: b.Name, Href: "/vessels/" + url.PathEscape(b.Vessel), Gone: !b.Ended.IsZero(), Grew: treeRows(w, b.Grew, now)}
		text := []string{dayFar(w, b.At, now)}
		if b.VolumeL > 0 {
			text = append(text, litresOf(w, b.VolumeL))
		}
		row.Text = strings.Join(text, ", ")
		for _, t := range []string{b.Strain, b.Text} {
			if t != "" {
				row.Small = append(row.Small, t)
			}
		}
		for i, j := range b.Joined {
			if i == 3 { // the rest stands in the journal
				break
			}
			from := j.From
			if from == "" {
				from = w.T("note.outside_farm")
			}
			row.Small = append(row.Small, w.T("scale.tree_joined", "volume", litresOf(w, j.VolumeL), "from", from, "day", dayFar(w, j.At, now)))
		}
		for _, g := range b.Given {
			whom := g.Whom
			if whom == "" {
				whom = w.T("scale.somebody")
			}
			row.Small = append(row.Small, w.T("scale.tree_given", "volume", litresOf(w, g.VolumeL), "whom", whom, "day", dayFar(w, g.At, now)))
		}
		if row.Gone {
			row.Small = append(row.Small, w.T("scale.tree_gone", "day", dayFar(w, b.Ended, now)))
		}
		out = append(out, row)
	}
	return out
}
