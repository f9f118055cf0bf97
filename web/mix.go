package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/calc"
	"sodalake/keeper"
	"sodalake/science/units"
	"sodalake/words"
)

// mixModes are the four things that are mixed, in the order of the switch.
var mixModes = []string{"medium", "top", "feed", "ph"}

// calculators that the bench asks; they are the registry's own, so that the
// bench and the calculators' pages never say different things.
type benchCalcs struct{ mix, feed, adjust *calc.Calculator }

func newBenchCalcs() benchCalcs {
	return benchCalcs{mix: calc.Mix(), feed: calc.FeedBack(), adjust: calc.AdjustPH()}
}

type mixPage struct {
	Frame
	Mode      string
	Modes     []mixMode
	Main      []mixField
	More      []mixField
	MoreOpen  bool
	Whys      []whyLink
	Out       mixOut
	Part      string // address of the part that changes while typing
	Recorded  string // what was just recorded
	UndoEntry string
	UndoID    string
	Hidden    []mixField // carried along
}

type mixMode struct {
	Name, Label, Href string
	Current           bool
}

// mixField is one input of the bench.
type mixField struct {
	Name, Label, Unit, Help, Value string
	Input                          string // "text", "area", "select"
	Options                        []option
	Groups                         []optionGroup
	Class                          string
	Wide, Bad                      bool
}

type optionGroup struct {
	Label   string
	Options []option
}

// benchAsk is one question to the bench: what was typed, and what the farm
// knows.
type benchAsk struct {
	calcs benchCalcs
	w     *words.Speaker
	setup Setup
	bench keeper.Bench
	q     url.Values
	mode  string
	newID func() string
	lots  map[string]*farm.Stock // chosen, by ingredient
}

// get is what was typed under a name.
func (b *benchAsk) get(name string) string { return strings.TrimSpace(b.q.Get(name)) }

// or is what was typed, or else what is offered.
func (b *benchAsk) or(name, offered string) string {
	if t := b.get(name); t != "" || b.q.Has(name) {
		return t
	}
	return offered
}

// asked prepares a question. A vessel that was changed since its form was made
// offers its own numbers anew.
func (s *server) asked(r *http.Request, frame Frame, setup Setup) (*benchAsk, error) {
	b := &benchAsk{calcs: s.bench, w: frame.W, setup: setup, q: r.URL.Query(), newID: s.newID, lots: map[string]*farm.Stock{}}
	b.mode = b.get("mode")
	if !slices.Contains(mixModes, b.mode) {
		b.mode = mixModes[0]
	}
	var err error
	if b.bench, err = s.Farm.Bench(r.Context(), s.Now(), b.mode != "medium"); err != nil {
		return nil, err
	}
	if was := b.get("was"); was != "" && was != b.get("vessel") {
		kept := url.Values{}
		for _, name := range []string{"mode", "vessel", "with", "by", "nitrogen"} {
			if b.q.Has(name) {
				kept.Set(name, b.q.Get(name))
			}
		}
		b.q = kept
	}
	return b, nil
}

// mix is the mixing bench.
func (s *server) mix(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "mix", "")
	if err != nil {
		return err
	}
	b, err := s.asked(r, frame, setup)
	if err != nil {
		return err
	}
	p := mixPage{Frame: frame, Mode: b.mode}
	p.Title, p.Sheet, p.Script = frame.W.T("mix.title"), "mix.css", "mix.js"
	for _, m := range mixModes {
		p.Modes = append(p.Modes, mixMode{m, frame.W.T("mix.mode." + m), "/mix?mode=" + m, m == b.mode})
	}
	b.fill(&p)
	if id := b.get("recorded"); id != "" {
		if e, err := s.Farm.Entry(r.Context(), id); err == nil {
			vs, err := s.vesselNames(r)
			if err != nil {
				return err
			}
			p.Recorded, p.UndoEntry, p.UndoID = frame.W.T("mix.recorded", "what", describe(frame.W, e, vs)), e.ID, s.newID()
		}
	}
	status := http.StatusOK
	if p.Out.Bad != nil && len(r.URL.Query()) > 1 {
		status = http.StatusUnprocessableEntity
	}
	return s.views.render(w, r, status, "mix", p)
}

// mixPart is only what changes while typing.
func (s *server) mixPart(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "mix", "")
	if err != nil {
		return err
	}
	b, err := s.asked(r, frame, setup)
	if err != nil {
		return err
	}
	p := mixPage{Frame: frame, Mode: b.mode}
	b.fill(&p)
	return s.views.renderPart(w, r, "mix", "mixout", p)
}

// fill works out the fields and the answer of the chosen mode.
func (b *benchAsk) fill(p *mixPage) {
	switch b.mode {
	case "feed":
		p.Main, p.More = b.feedFields()
		p.Out, p.Whys = b.feed(), whysFor(b.w, "feed")
	case "ph":
		p.Main, p.More = b.phFields()
		p.Out, p.Whys = b.ph(), whysFor(b.w, "adjust-ph")
	default:
		p.Main, p.More = b.mediumFields()
		p.Out, p.Whys = b.medium(), whysFor(b.w, "mix")
	}
	p.Out.Mode = b.mode
	p.Part = "/mix/part"
	p.Hidden = []mixField{{Name: "mode", Value: b.mode}}
	if v := b.vessel(); v != nil && b.mode != "medium" {
		p.Hidden = append(p.Hidden, mixField{Name: "was", Value: v.ID})
	}
	if item := b.get("item"); item != "" {
		p.Hidden = append(p.Hidden, mixField{Name: "item", Value: item})
	}
	bad := ""
	if p.Out.Bad != nil {
		bad = strings.Split(p.Out.Bad.Field, ".")[0]
		if bad == "salts_g_per_l" && b.recipe() == "own" {
			bad = "salts"
			p.Out.Bad.Message = strings.Replace(p.Out.Bad.Message, "Salts_g_per_l", b.w.T("mix.salts"), 1)
		}
	}
	for _, list := range [][]mixField{p.Main, p.More} {
		for i := range list {
			list[i].Bad = bad != "" && (list[i].Name == bad || typedAs[bad] == list[i].Name)
		}
	}
	for _, f := range p.More {
		p.MoreOpen = p.MoreOpen || f.Bad
	}
}

// typedAs are fields of the calculators that the form asks for under a name of
// its own, because they may be typed in any unit.
var typedAs = map[string]string{"volume_l": "volume", "temp_c": "temp", "salts_g_per_l": "recipe", "depth_cm": "depth", "dry_g": "dry", "cylinder_stands": "stands"}

// vessel is the vessel that is spoken of, or nil.
func (b *benchAsk) vessel() *keeper.BenchVessel {
	id := b.get("vessel")
	for i := range b.bench.Vessels {
		if v := &b.bench.Vessels[i]; v.ID == id || id == "" && b.mode != "medium" {
			return v
		}
	}
	return nil
}

// vesselField lets a vessel be chosen.
func (b *benchAsk) vesselField() mixField {
	f := mixField{Name: "vessel", Label: b.w.T("note.vessel"), Input: "select"}
	now := b.vessel()
	for _, v := range b.bench.Vessels {
		f.Options = append(f.Options, option{v.ID, v.Name, now != nil && v.ID == now.ID})
	}
	return f
}

func (b *benchAsk) text(name, label, unit, value, help string) mixField {
	return mixField{Name: name, Label: b.w.T(label), Unit: unit, Value: b.or(name, value), Input: "text", Help: help}
}

// choice is a list to choose from; names are the values, said under prefix.
func (b *benchAsk) choice(name, label, prefix, offered string, names ...string) mixField {
	f := mixField{Name: name, Label: b.w.T(label), Input: "select"}
	chosen := b.or(name, offered)
	for _, n := range names {
		f.Options = append(f.Options, option{n, b.w.T(prefix + n), n == chosen})
	}
	return f
}

func yes(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}

// volume reads a volume as people say it [L]; a bare number is in the farm's own
// unit.
func (b *benchAsk) volume(name, offered string) (float64, error) {
	text := b.or(name, offered)
	if text == "" {
		return 0, invalid(name, b.w.T("mix.volume_hint"), "%s is missing", name)
	}
	if x, err := plainNumber(name, text); err == nil {
		if !(x > 0) {
			return 0, invalid(name, "", "%s %q is not above zero", name, clip(text))
		}
		return b.w.Stored("volume_l", x), nil
	}
	q, err := units.Parse(text, units.Volume, b.system())
	if err != nil {
		return 0, invalid(name, b.w.T("mix.volume_hint"), "%s %q cannot be read: %s", name, clip(text), err.Error())
	}
	if !(q.Value > 0) {
		return 0, invalid(name, "", "%s %q is not above zero", name, clip(text))
	}
	return q.Value, nil
}

// temp reads a temperature [°C]; a bare number is in the farm's own unit.
func (b *benchAsk) temp(offeredC float64) (float64, error) {
	text := b.or("temp", b.shown("temp_c", offeredC))
	if text == "" {
		return offeredC, nil
	}
	if x, err := plainNumber("temp", text); err == nil {
		return b.w.Stored("temp_c", x), nil
	}
	q, err := units.Parse(text, units.Temperature, b.system())
	if err != nil {
		return 0, invalid("temp", "", "temp %q cannot be read: %s", clip(text), err.Error())
	}
	return q.Value, nil
}

// shown is a stored number as the form shows it, in the farm's unit.
func (b *benchAsk) shown(name string, x float64) string {
	if x == 0 {
		return ""
	}
	return strings.NewReplacer(b.w.T("format.group"), "", "−", "-").Replace(b.w.Number(name, x).Value)
}

func (b *benchAsk) system() units.System {
	if b.w.Measures() == words.US {
		return units.US
	}
	return units.Metric
}

func (b *benchAsk) measures() string {
	if b.w.Measures() == words.US {
		return "us"
	}
	return "metric"
}

// ask runs a calculator on what was typed for it and decodes its answer.
func (b *benchAsk) ask(c *calc.Calculator, typed map[string]string, into any) error {
	raw, err := c.Typed(typed, calc.MeasureIn(b.system()))
	if err != nil {
		return err
	}
	answer, err := c.Run(raw)
	if err != nil {
		return err
	}
	raw, err = json.Marshal(answer)
	if err != nil {
		return err
	}
	return json.Unmarshal(raw, into)
}

// badOf shows an error above the answer.
func badOf(err error) *badField {
	p := problemOf(statusOf(err), err)
	return &badField{p.Field, upperFirst(p.Detail), upperFirst(p.Hint)}
}

// exactly is a number for a calculator.
func exactly(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// ago says when something was, for lists.
func (b *benchAsk) ago(t time.Time) string {
	day, _ := b.w.Ago(t, b.bench.At)
	return day
}
