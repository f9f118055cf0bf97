package farm

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"sodalake/science/medium"
)

// Stock is a lot on the shelf with what is left of it, as far as the records
// tell.
type Stock struct {
	Supply
	Of      string    // the ingredient by its name in the table, a ready mix by its recipe, or "" where it is neither
	Since   time.Time // when it was first written down
	Counted time.Time // when what was left of it was last weighed; zero: never
	LeftG   float64   // what is left [g]
	OverG   float64   // taken, by the records, beyond what it held [g]
	Uses    []Use     // what was taken of it, oldest first
}

// Use is what one act took of a lot.
type Use struct {
	EntryID string
	At      time.Time
	Kind    string
	Vessel  string  // "" where medium was mixed to stand ready
	MassG   float64 // [g]
	Told    bool    // the act names the lot; else the oldest lot that had any left is taken
}

// Standing is medium that was mixed to stand ready.
type Standing struct {
	EntryID string
	At      time.Time
	Medium  MediumMix
	VolumeL float64 // as mixed [L]
	LeftL   float64 // not poured yet [L]
}

// Shelf is what stands on the shelf and in the barrel.
type Shelf struct {
	Lots     []Stock              // by ingredient, then the oldest first
	Batches  []Standing           // of which any is left, the oldest first
	Untraced map[string]float64   // by ingredient, what was taken although no lot had any left [g]
	Media    map[string]MediumMix // by vessel, the medium that was poured in last, where it was said
	Pours    []Pour               // out of batches that stood ready, the oldest first
}

// Pour is medium that one act took from a batch that stood ready.
type Pour struct {
	EntryID string // the act
	Batch   string // the entry that mixed the batch
	Vessel  string
	At      time.Time
	VolumeL float64 // [L]
	Told    bool    // the act names the batch; else the oldest of that recipe that had any left is taken
}

// batchDays is how long a batch that stands ready is taken to be what a top-up
// without a named batch was poured from [d]: judgement, no source.
const batchDays = 60

// draw is what an act takes from the shelf, or from a batch.
type draw struct {
	r        *record
	volumeL  float64 // of medium [L]
	medium   *MediumMix
	supplies []weighed // by lot
	salts    []weighed // by a word for the salt, or by the recipe of a ready mix
}

type weighed struct {
	name  string
	massG float64 // [g]
}

// ShelfReader reads the shelf and remembers what acts took, so that the next
// reading takes only new acts apart. It serves one Present, and one goroutine
// at a time.
type ShelfReader struct{ known map[string]draw }

// NewShelfReader returns a reader that knows nothing yet.
func NewShelfReader() *ShelfReader { return &ShelfReader{known: map[string]draw{}} }

// takes are the kinds that take from the shelf, or at least tell of a medium.
var takes = map[string]bool{"mixed": true, "fed": true, "dosed": true, "topped_up": true, "purged": true, "inoculated": true}

// Shelf returns what stands on the shelf at t, a zero t being the last word.
//
// What an act took is as it says: the lots by supplies_g, else the salts, else
// what a recipe takes for the volume. Salts without a lot are taken from the
// oldest lot of that ingredient that has any left. Medium that was poured
// without saying from which batch comes from the oldest batch of that recipe
// that is not older than two months, and only then from the shelf.
func (p *Present) Shelf(t time.Time) Shelf { return NewShelfReader().Shelf(p, t) }

// Shelf is Present.Shelf.
func (sr *ShelfReader) Shelf(p *Present, t time.Time) Shelf {
	s := shelver{p: p, lots: map[string]*Stock{}, words: map[string]string{}, out: Shelf{Untraced: map[string]float64{}, Media: map[string]MediumMix{}}}
	var supplies []*record
	for _, id := range sortedKeys(p.things["supply"]) {
		supplies = append(supplies, p.things["supply"][id]...)
	}
	slices.SortFunc(supplies, compareRecords)
	for _, d := range sr.draws(p, t) {
		for len(supplies) > 0 && compareRecords(supplies[0], d.r) <= 0 {
			s.describe(supplies[0])
			supplies = supplies[1:]
		}
		s.take(d)
	}
	for _, r := range supplies {
		if t.IsZero() || !r.when().After(t) {
			s.describe(r)
		}
	}
	for _, id := range s.order {
		s.out.Lots = append(s.out.Lots, *s.lots[id])
	}
	slices.SortStableFunc(s.out.Lots, func(a, b Stock) int {
		return cmp.Or(strings.Compare(a.Of, b.Of), a.Since.Compare(b.Since))
	})
	s.out.Batches = slices.DeleteFunc(s.out.Batches, func(b Standing) bool { return b.LeftL < 0.05 })
	return s.out
}

// draws are the acts that take from the shelf, in the order in which they
// happened.
func (sr *ShelfReader) draws(p *Present, t time.Time) []draw {
	var out []draw
	for _, l := range p.lines {
		for _, r := range l.events {
			if r.kind.Group != GroupAct || !takes[r.kind.Name] || !t.IsZero() && r.when().After(t) {
				continue
			}
			d, known := sr.known[r.id]
			if !known {
				d = drawOf(r)
				sr.known[r.id] = d
			}
			if d.r != nil {
				d.r = r
				out = append(out, d)
			}
		}
	}
	slices.SortFunc(out, func(a, b draw) int { return compareRecords(a.r, b.r) })
	return slices.CompactFunc(out, func(a, b draw) bool { return a.r == b.r })
}

// drawOf takes an act apart; the record of one that takes nothing is nil.
func drawOf(r *record) draw {
	if !r.mayHold([]string{"salts_g", "supplies_g", "ready_mix_g", "medium"}) {
		return draw{}
	}
	b := r.decoded()
	d := draw{r: r, medium: b.Medium(), supplies: weighedOf(b.Amounts("supplies_g")), salts: weighedOf(b.Amounts("salts_g"))}
	d.volumeL, _ = b.Number("volume_l")
	if refill, ok := b.Number("refill_l"); ok {
		d.volumeL = refill
	}
	if g, ok := b.Number("ready_mix_g"); ok {
		d.salts = append(d.salts, weighed{b.Text("ready_mix"), g})
	}
	return d
}

func weighedOf(m map[string]float64) []weighed {
	var out []weighed
	for _, name := range sortedKeys(m) {
		out = append(out, weighed{name, m[name]})
	}
	return out
}

type shelver struct {
	p     *Present
	lots  map[string]*Stock // by id
	order []string          // ids as first written down
	words map[string]string // what a word for a salt means
	out   Shelf
}

// ingredient is the name in the table of a word for a salt, or of a ready mix;
// "" where it is neither.
func (s *shelver) ingredient(word string) string {
	if word == "" {
		return ""
	}
	of, known := s.words[word]
	if !known {
		of = IngredientOf(word)
		if of == "" {
			if r, ok := s.p.Recipe(word, time.Time{}); ok && r.ReadyMix {
				of = r.ID
			}
		}
		s.words[word] = of
	}
	return of
}

// IngredientOf is the name in the table of ingredients of a word for a salt, or
// "" where it is none.
func IngredientOf(word string) string {
	i, err := medium.Lookup(word, medium.US)
	if err != nil {
		return ""
	}
	return i.ID
}

// describe takes in what an entry says of a lot.
func (s *shelver) describe(r *record) {
	sup := r.thing.(Supply)
	word := cmp.Or(sup.Salt, sup.Name, sup.ID)
	lot := s.lots[sup.ID]
	if lot == nil {
		lot = &Stock{Since: r.when(), LeftG: sup.MassG}
		s.lots[sup.ID] = lot
		s.order = append(s.order, sup.ID)
	} else {
		lot.LeftG = max(lot.LeftG+sup.MassG-lot.MassG, 0) // more was bought, or it was put right
	}
	lot.Supply, lot.Of = sup, s.ingredient(word)
	if sup.LeftG != nil {
		lot.LeftG, lot.OverG, lot.Counted = *sup.LeftG, 0, r.when()
	}
}

// take takes what an act took.
func (s *shelver) take(d draw) {
	at := d.r.when()
	volume, m := d.volumeL, d.medium
	if m != nil && d.r.vessel != "" && (m.Recipe != "" || len(m.SaltsGPerL) > 0) {
		s.out.Media[d.r.vessel] = *m
	}
	switch {
	case d.r.kind.Name == "inoculated":
		return // it came mixed
	case m == nil:
	case d.r.kind.Name == "mixed" && d.r.vessel == "":
		s.out.Batches = append(s.out.Batches, Standing{EntryID: d.r.id, At: at, Medium: *m, VolumeL: volume, LeftL: volume})
	default:
		volume = s.pour(d.r, m, volume, at)
	}
	switch {
	case len(d.supplies) > 0:
		for _, w := range d.supplies {
			if lot := s.lots[w.name]; lot != nil {
				lot.use(d.r, w.massG, true)
			}
		}
	case len(d.salts) > 0:
		for _, w := range d.salts {
			s.fetch(d.r, s.ingredient(w.name), w.massG)
		}
	case m != nil && volume > 0:
		perL, readyMix := s.recipe(m, at)
		for _, salt := range sortedKeys(perL) {
			of := salt
			if !readyMix {
				of = s.ingredient(salt)
			}
			s.fetch(d.r, of, perL[salt]*volume)
		}
	}
}

// pour takes medium from a batch, and returns what of the volume came from none
// [L].
func (s *shelver) pour(r *record, m *MediumMix, volumeL float64, at time.Time) float64 {
	for i := range s.out.Batches {
		b := &s.out.Batches[i]
		named := m.Batch == b.EntryID
		if !named && (m.Batch != "" || m.Recipe == "" || m.Recipe != b.Medium.Recipe || at.Sub(b.At) > batchDays*24*time.Hour) {
			continue
		}
		out := min(volumeL, b.LeftL)
		poured := out
		if named {
			poured = volumeL
		}
		if poured > 0 || named {
			s.out.Pours = append(s.out.Pours, Pour{EntryID: r.id, Batch: b.EntryID, Vessel: r.vessel, At: at, VolumeL: poured, Told: named})
		}
		b.LeftL -= out
		volumeL -= out
		if named {
			return 0 // it says where it came from, whatever was thought to be left
		}
	}
	if m.Batch != "" {
		return 0
	}
	return volumeL
}

// recipe is what a litre of a medium takes, by salt [g/L]; for a ready mix by
// the recipe's own id.
func (s *shelver) recipe(m *MediumMix, at time.Time) (gPerL map[string]float64, readyMix bool) {
	if len(m.SaltsGPerL) > 0 {
		return m.SaltsGPerL, false
	}
	if r, ok := s.p.Recipe(m.Recipe, at); ok {
		if r.ReadyMix {
			return map[string]float64{r.ID: r.GPerL}, true
		}
		return r.SaltsGPerL, false
	}
	if r, ok := medium.Find(m.Recipe); ok {
		return r.Weighed(), false
	}
	return nil, false
}

// fetch takes an ingredient from its lots, the oldest with any left first.
func (s *shelver) fetch(r *record, of string, g float64) {
	if of == "" || g <= 0 {
		return
	}
	var last *Stock
	for _, id := range s.order {
		lot := s.lots[id]
		if lot.Of != of {
			continue
		}
		last = lot
		if out := min(g, lot.LeftG); out > 0 {
			lot.use(r, out, false)
			g -= out
		}
		if g <= 1e-9 {
			return
		}
	}
	if last != nil {
		s.out.Untraced[of] += g
	}
}

func (l *Stock) use(r *record, g float64, told bool) {
	l.Uses = append(l.Uses, Use{EntryID: r.id, At: r.when(), Kind: r.kind.Name, Vessel: r.vessel, MassG: g, Told: told})
	if l.LeftG -= g; l.LeftG < 0 {
		l.OverG -= l.LeftG
		l.LeftG = 0
	}
}
