package web

import (
	"sodalake/keeper"
)

// say puts into plain words what the chart of the density shows: how dense it is,
// when it is ready and with what spread, and what holds it back most.
func (p *vesselPage) say(v keeper.Vessel, f keeper.Forecast) {
	w := p.W
	if b, ok := v.Now.Bands[keeper.DensityGPerL]; ok && v.Now.Known {
		args := map[string]any{"density_g_per_l": b.Mid, "density_g_per_l_low": b.Low, "density_g_per_l_high": b.High}
		p.Says = append(p.Says, w.Sentence(keeper.Sentence{Key: "say.density", Args: args}))
	}
	reserve := v.Spec.Use == "reserve" || v.Spec.Use == "starter"
	if len(f.Days) > 0 && f.ReadyGPerL > 0 && !reserve {
		r := f.Ready
		args := map[string]any{"ready_g_per_l": f.ReadyGPerL, "chance": f.ReadyNow, "early": r.Early, "mid": r.Mid, "late": r.Late}
		key := "say.ready"
		switch {
		case f.Days[0].Ready:
			key = "say.ready_now"
		case r.Early.IsZero():
			key = "say.ready_beyond"
		case r.Mid.IsZero():
			key = "say.ready_early"
		case r.Late.IsZero():
			key = "say.ready_open"
		}
		p.Says = append(p.Says, w.Sentence(keeper.Sentence{Key: key, Args: args}))
	}
	if len(f.Limits) > 0 && f.Limits[0].Share >= 0.3 {
		key := "say.limit"
		if len(f.Limits) > 1 && f.Limits[1].Share >= 0.25 {
			key = "say.limits"
		}
		args := map[string]any{"limit": f.Limits[0].Key}
		if key == "say.limits" {
			args["second"] = w.T("limit." + f.Limits[1].Key)
		}
		p.Says = append(p.Says, w.Sentence(keeper.Sentence{Key: key, Args: args}))
	}
	for _, t := range v.Troubles {
		p.Troubles = append(p.Troubles, upperFirst(w.Sentence(t)))
	}
	for _, x := range f.Worth {
		if x.Share < 0.05 {
			continue
		}
		p.Worth = append(p.Worth, limit{Name: upperFirst(w.T("quantity." + x.Kind)), Share: w.Number("share_pct", 100*x.Share).Plain(), Width: 100 * x.Share})
	}
	p.WorthOf = w.T("say.worth_day")
	if f.ReadyNow >= 0.5 {
		p.WorthOf = w.T("say.worth_amount")
	}
}
