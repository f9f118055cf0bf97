package keeper

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
	"sodalake/science/plan"
)

// ScaleWish is a culture that shall become a large one.
type ScaleWish struct {
	From    string   // vessel that it stands in; empty: a bottle from outside
	StartL  float64  // of it [L]; 0: all but what is kept back
	StartGL float64  // its density, for a bottle from outside [g/L]; 0: as a dark bottle
	To      string   // vessel that it shall fill; empty: one of TargetL
	TargetL float64  // volume wanted [L]; 0: the vessel's full level
	KeepL   float64  // culture kept back as a backup at each handing on [L]; 0: as said by the size
	By      []string // vessels in use that may be taken all the same
	AtMost  int      // days after which it is given up; 0: as the science does
}

// ScaleUp is a way up, or why there is none.
type ScaleUp struct {
	At      time.Time   `json:"at"`
	From    string      `json:"from"`
	FromL   float64     `json:"from_l"`            // [L]
	FromGL  num.Band    `json:"from_g_per_l"`      // [g/L]
	To      string      `json:"to"`                //
	TargetL float64     `json:"target_l"`          // [L]
	ReadyGL float64     `json:"ready_g_per_l"`     // density that it shall have there [g/L]
	Steps   []ScaleStep `json:"steps"`             //
	Ready   Window      `json:"ready"`             // when the last vessel is dark
	Days    num.Band    `json:"days_d"`            // until then; infinite is told as 0 [d]
	MediumL float64     `json:"medium_l"`          // in all [L]
	Added   []float64   `json:"added_l,omitempty"` // tubs that the farm has not, put in between [L]
	Stuck   *ScaleStuck `json:"stuck,omitempty"`
}

// ScaleStep is one handing on, or one filling up where it stands.
type ScaleStep struct {
	Vessel  string   `json:"vessel,omitempty"` // id; empty: one that the farm has not
	Name    string   `json:"name"`             // of a vessel of the farm
	SizeL   float64  `json:"size_l"`           // of a tub that the farm has not [L]
	Same    bool     `json:"same"`             // filled up where it stands
	PourL   float64  `json:"pour_l"`           // culture that goes in, or stands there [L]
	MediumL float64  `json:"medium_l"`         // new medium [L]
	FillL   float64  `json:"fill_l"`           // what then stands there [L]
	Recipe  string   `json:"recipe"`           // the medium, by its recipe
	When    Window   `json:"when"`             //
	WaitGL  float64  `json:"wait_g_per_l"`     // density before to wait for [g/L]
	WaitCM  float64  `json:"wait_cm"`          // the disc at that density [cm]
	StartGL num.Band `json:"start_g_per_l"`    // density after [g/L]
	LeastGL float64  `json:"least_g_per_l"`    // not to begin below [g/L]
	ShadePc float64  `json:"shade_pct"`        // for the young culture [%]
	KeepL   float64  `json:"keep_l"`           // kept back as a backup [L]
	Indoors bool     `json:"indoors"`          //
}

// ScaleStuck says why a culture does not get there.
type ScaleStuck struct {
	Name      string  `json:"name"`             // where it stays, of a vessel of the farm
	SizeL     float64 `json:"size_l,omitempty"` // of a tub that the farm has not [L]
	Why       string  `json:"why"`              // "growth", "gap" or "time"
	VolumeL   float64 `json:"volume_l"`
	DensityGL float64 `json:"density_g_per_l"`
	NeedL     float64 `json:"need_l"`
	CanL      float64 `json:"can_l"`
}

// A culture from outside that is not told is taken for a dark bottle; the disc's
// constant is that of the twin's first guess. Common practice, no source.
const (
	bottleGL = 0.8
	bottleL  = 1.0
	discCMGL = 1.2 // disc in centimetres times density [cm g/L]
)

// scaleDraws is how many members a way up is reckoned with.
const scaleDraws = 10

// scaleStage is a vessel on the way with its spec.
type scaleStage struct {
	spec   farm.Vessel
	own    bool    // the farm has it
	full   float64 // what it holds at its full level, all of its number together [L]
	least  float64 // density not to begin below [g/L]
	shade  float64 // for the young culture [%]
	keepL  float64 // kept back as a backup when it is handed on [L]
	growth *growthTable
}

// ladders keeps the last ways up by what was asked of which journal.
type ladders struct {
	mu  sync.Mutex
	had map[string]ScaleUp
}

func (l *ladders) get(key string) (ScaleUp, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	u, ok := l.had[key]
	return u, ok
}

func (l *ladders) put(key string, u ScaleUp) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.had == nil || len(l.had) >= 16 {
		l.had = map[string]ScaleUp{}
	}
	l.had[key] = u
}

// ScaleUp finds the way up from a culture to a volume, as of a moment.
func (k *Keeper) ScaleUp(ctx context.Context, at time.Time, wish ScaleWish) (ScaleUp, error) {
	at = k.moment(at)
	key := fmt.Sprintf("%d %s %v", k.seq(), at.Format(time.DateOnly), wish)
	if had, ok := k.ladders.get(key); ok {
		return had, nil
	}
	out, stages, g, err := k.scaleStages(ctx, at, wish)
	if err != nil {
		return out, err
	}
	for tries := 0; ; tries++ {
		c := plan.Scale{Draws: len(g.members), StartL: out.FromL, StartGL: g.startGL, TargetL: out.TargetL, TargetGL: out.ReadyGL, MaxDays: wish.AtMost}
		for i := range stages {
			s := &stages[i]
			if s.growth == nil {
				if s.growth, err = g.table(s); err != nil {
					return out, err
				}
			}
			c.Stages = append(c.Stages, plan.Stage{Name: s.spec.Name, CapacityL: s.full, LeastGL: s.least, ShadePct: s.shade, ReserveL: s.keepL, Grow: s.growth.grow})
		}
		ladder, err := plan.Up(ctx, &c)
		var stuck *plan.StuckError
		var bad *plan.InputError
		switch {
		case errors.As(err, &stuck):
			if i := slices.IndexFunc(stages, func(s scaleStage) bool { return s.spec.Name == stuck.Stage }); stuck.Why == "gap" && tries < 6 && i >= 0 && i+1 < len(stages) && stuck.CanL > stages[i].full*1.1 {
				// The next vessel is too large: one of a size that can be filled
				// goes in between.
				tub := tubOf(roundUp(stuck.CanL))
				if tub.full < stages[i+1].full*0.9 {
					stages = slices.Insert(stages, i+1, tub)
					out.Added = append(out.Added, tub.full)
					continue
				}
			}
			at := &stages[slices.IndexFunc(stages, func(s scaleStage) bool { return s.spec.Name == stuck.Stage })]
			out.Stuck = &ScaleStuck{Name: at.name(), SizeL: at.size(), Why: stuck.Why, VolumeL: stuck.VolumeL, DensityGL: stuck.DensityGL, NeedL: stuck.NeedL, CanL: stuck.CanL}
		case errors.As(err, &bad):
			return out, &farm.Error{Code: farm.Invalid, Field: bad.Field, Message: bad.Reason, Hint: bad.Hint}
		case err != nil:
			return out, err
		default:
			out.tell(ladder, stages, at, g.recipe)
		}
		break
	}
	k.ladders.put(key, out)
	return out, nil
}

func (k *Keeper) seq() int64 {
	k.mu.RLock()
	defer k.mu.RUnlock()
	return k.present.Seq()
}

// scaleStages are the vessels from the first to the last, those of the farm that
// stand empty in between.
func (k *Keeper) scaleStages(ctx context.Context, at time.Time, wish ScaleWish) (ScaleUp, []scaleStage, *grower, error) {
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return ScaleUp{}, nil, nil, err
	}
	f := k.follow
	f.mu.Lock()
	defer f.mu.Unlock()
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	out := ScaleUp{At: at, From: wish.From, To: wish.To, Steps: []ScaleStep{}, ReadyGL: plan.DefaultReadyGL}
	g := &grower{weather: f.weather, at: at, seed: k.opt.Seed, draws: k.opt.Draws}
	g.medium, g.recipe = k.usualMedium(p, f)
	invalid := func(field, text string) error {
		return &farm.Error{Code: farm.Invalid, Field: field, Message: text}
	}
	var first scaleStage
	switch {
	case wish.From == "":
		litres := cmp.Or(wish.StartL, bottleL)
		if !(litres > 0 && litres <= 1e5) {
			return out, nil, nil, invalid("start_l", fmt.Sprintf("start_l %g is no volume of a culture", litres))
		}
		gl := cmp.Or(wish.StartGL, bottleGL)
		if !(gl > 0.005 && gl < 20) {
			return out, nil, nil, invalid("start_g_per_l", fmt.Sprintf("start_g_per_l %g is no density of a culture", gl))
		}
		first = bottleOf(litres)
		out.FromL = litres
		g.guess(gl)
		out.FromGL = num.BandOf(slices.Clone(g.startGL))
	default:
		l := a.looks[wish.From]
		if l == nil {
			return out, nil, nil, noVessel(p, wish.From)
		}
		if !l.started || l.t.begun.At.IsZero() {
			return out, nil, nil, invalid("from", fmt.Sprintf("vessel %q holds no culture by the records", wish.From))
		}
		first = stageOf(l.spec, true)
		stands := l.now.Bands[VolumeL].Mid
		first.keepL = cmp.Or(wish.KeepL, keepOf(stands))
		if first.full < stands {
			first.full = stands
		}
		out.FromL = stands
		if wish.StartL > 0 {
			// Only so much of it is taken: the rest stays where it is.
			if wish.StartL > stands*1.001 {
				return out, nil, nil, invalid("start_l", fmt.Sprintf("start_l %g is more than the %.3g L that stand there", wish.StartL, stands))
			}
			out.FromL, first.keepL = wish.StartL, 0
			first.full = wish.StartL // what is taken is only handed on
		}
		out.FromGL = l.now.Bands[DensityGPerL]
		g.take(l.t.ens)
	}
	var last scaleStage
	switch {
	case wish.To != "":
		spec, ok := p.Vessel(wish.To)
		if !ok {
			return out, nil, nil, noVessel(p, wish.To)
		}
		last = stageOf(spec, true)
		out.TargetL = cmp.Or(wish.TargetL, last.full)
		out.ReadyGL = readyOf(&spec)
		if out.TargetL > last.full*1.2 {
			return out, nil, nil, invalid("target_l", fmt.Sprintf("target_l %g is more than the %.3g L of vessel %q", out.TargetL, last.full, wish.To))
		}
		last.full = max(last.full, out.TargetL)
	case wish.TargetL > 0 && wish.TargetL <= 1e6:
		last, out.TargetL = tubOf(wish.TargetL), wish.TargetL
	default:
		return out, nil, nil, invalid("target_l", "target_l is missing: say a vessel or a volume")
	}
	if last.full <= first.full*1.001 || out.TargetL <= out.FromL {
		return out, nil, nil, invalid("target_l", fmt.Sprintf("target_l %.3g is not more than the %.3g L of the vessel it begins in", last.full, first.full))
	}
	stages := []scaleStage{first}
	var between []scaleStage
	for _, spec := range p.Vessels() {
		l := a.looks[spec.ID]
		inUse := l != nil && l.started && !l.t.begun.At.IsZero()
		if spec.Retired || spec.ID == wish.From || spec.ID == wish.To || inUse && !slices.Contains(wish.By, spec.ID) {
			continue
		}
		if s := stageOf(spec, true); s.full > first.full*1.05 && s.full < last.full*0.95 {
			between = append(between, s)
		}
	}
	slices.SortFunc(between, func(a, b scaleStage) int {
		return cmp.Or(cmp.Compare(a.full, b.full), cmp.Compare(a.spec.ID, b.spec.ID))
	})
	for _, s := range between {
		if s.full > stages[len(stages)-1].full*1.05 {
			stages = append(stages, s)
		}
	}
	stages = append(stages, last)
	for i := range stages[:len(stages)-1] {
		if i > 0 {
			stages[i].keepL = cmp.Or(wish.KeepL, keepOf(stages[i].full))
		}
		stages[i].keepL = min(stages[i].keepL, 0.3*stages[i].full)
	}
	return out, stages, g, nil
}

// keepOf is how much is kept back as a backup out of a volume [L]: a tenth, a
// quarter of a litre at least where that is not too much, and no more than a
// litre. Judgement, no source.
func keepOf(litres float64) float64 { return min(max(0.1*litres, min(0.25, 0.3*litres)), 1) }

// stageOf is a vessel as a stage on the way up: the young culture outdoors stands
// under shade.
func stageOf(spec farm.Vessel, own bool) scaleStage {
	s := scaleStage{spec: spec, own: own, full: spec.CapacityL()}
	if g, err := spec.Shape.Geometry(); err == nil && spec.FullLevelCM > 0 {
		s.full = g.VolumeL(spec.FullLevelCM/100) * float64(spec.Number())
	}
	s.shade = max(spec.ShadePct, advice.DefaultRules().ShadePct)
	if spec.Place == "indoors" || spec.Lit == "side" {
		s.shade = spec.ShadePct
		s.least = plan.LeastInShadeGL
		return s
	}
	s.least = plan.LeastGL(s.shade)
	return s
}

// bottleOf is a bottle that the farm has not, at a window.
func bottleOf(litres float64) scaleStage {
	d := math.Cbrt(4 * litres * 1.3 / 1000 / math.Pi / 2) // twice as high as wide
	return stageOf(farm.Vessel{
		Name: "bottle", Place: "indoors", Lit: "side", Shape: farm.Shape{Kind: "cylinder", DiameterM: d, HeightM: 2 * d},
		Stirring: farm.Stirring{Kind: "hand", TimesPerDay: 3}, FullLevelCM: 200 * d / 1.3,
	}, false)
}

// tubOf is a tub that the farm has not, outdoors and stirred, a forearm deep.
func tubOf(litres float64) scaleStage {
	depth := min(max(math.Cbrt(litres/1000)*0.6, 0.08), 0.2)
	side := math.Sqrt(litres / 1000 / depth)
	return stageOf(farm.Vessel{
		Name: fmt.Sprintf("tub %.0f", litres), Place: "outdoors", Shape: farm.Shape{Kind: "box", LengthM: side, WidthM: side, HeightM: depth * 1.4},
		Stirring: farm.Stirring{Kind: "continuous"}, FullLevelCM: depth * 100, Material: "plastic",
	}, false)
}

// name is what the farm calls it; "" for one that the farm has not.
func (s *scaleStage) name() string {
	if s.own {
		return s.spec.Name
	}
	return ""
}

// size is the volume of one that the farm has not [L]; 0 for its own.
func (s *scaleStage) size() float64 {
	if s.own {
		return 0
	}
	return s.full
}

// roundUp rounds a volume down to a size that can be bought: 1, 1.5, 2, 3, 5, 7.
func roundUp(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	size := 1.0
	for _, s := range []float64{1, 1.5, 2, 3, 5, 7} {
		if s*ten <= x*(1+1e-9) {
			size = s
		}
	}
	return size * ten
}

// tell puts a ladder into days and words.
func (u *ScaleUp) tell(l *plan.Ladder, stages []scaleStage, at time.Time, recipe string) {
	on := func(days float64) time.Time {
		if math.IsInf(days, 0) || math.IsNaN(days) {
			return time.Time{}
		}
		return at.AddDate(0, 0, int(math.Round(days)))
	}
	window := func(b num.Band) Window { return Window{on(b.Low), on(b.Mid), on(b.High)} }
	for i := range l.Steps {
		s := &l.Steps[i]
		st := &stages[slices.IndexFunc(stages, func(x scaleStage) bool { return x.spec.Name == s.Stage })]
		u.Steps = append(u.Steps, ScaleStep{
			Vessel: st.spec.ID, Name: st.name(), SizeL: st.size(), Same: s.Same, PourL: s.PourL, MediumL: s.MediumL, FillL: s.FillL, Recipe: recipe, When: window(s.Day),
			WaitGL: s.WaitGL, WaitCM: discCMGL / s.WaitGL, StartGL: s.StartGL, LeastGL: s.LeastGL, ShadePc: s.ShadePct, KeepL: s.ReserveL, Indoors: st.spec.Place == "indoors",
		})
	}
	u.Ready, u.MediumL = window(l.Days), l.MediumL
	finite := func(x float64) float64 {
		if math.IsInf(x, 0) || math.IsNaN(x) {
			return 0
		}
		return x
	}
	u.Days = num.Band{Low: finite(l.Days.Low), Mid: finite(l.Days.Mid), High: finite(l.Days.High)}
}
