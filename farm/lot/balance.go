package lot

import (
	"fmt"
	"math"
	"strings"
	"time"

	"sodalake/farm"
)

// tolerance is by how much more may leave a lot than it weighed [g]: two scales
// and crumbs on a spoon. Judgement, no source: 1 % and at least 2 g.
func tolerance(massG float64) float64 { return math.Max(0.01*massG, 2) }

// Balance is where the mass of a lot is [g].
type Balance struct {
	InG        float64 `json:"in_g"`                 // came in [g]
	LostG      float64 `json:"lost_g"`               // water that left, and what no weighing found again [g]
	LeftG      float64 `json:"left_g"`               // is here [g]
	SoldG      float64 `json:"sold_g"`               // [g]
	GivenG     float64 `json:"given_g"`              // [g]
	UsedG      float64 `json:"used_g"`               // [g]
	DestroyedG float64 `json:"destroyed_g"`          // [g]
	MadeG      float64 `json:"made_g"`               // went into other lots [g]
	Unknown    int     `json:"unknown,omitempty"`    // amounts that were never said
	ReturnedG  float64 `json:"returned_g,omitempty"` // came back by a recall; counted as out above [g]
}

func (b *Balance) add(o Balance) {
	b.InG += o.InG
	b.LostG += o.LostG
	b.LeftG += o.LeftG
	b.SoldG += o.SoldG
	b.GivenG += o.GivenG
	b.UsedG += o.UsedG
	b.DestroyedG += o.DestroyedG
	b.MadeG += o.MadeG
	b.ReturnedG += o.ReturnedG
	b.Unknown += o.Unknown
}

// balance is where the mass of a lot is. In is the sum of the others where
// every amount was said.
func (f *folding) balance() Balance {
	b := Balance{InG: known(f.inG), LostG: known(f.lostG), LeftG: known(f.leftG), ReturnedG: f.returnedG}
	if f.inG != f.inG || f.begun && f.massG != f.massG {
		b.Unknown++
	}
	for _, o := range f.l.Outs {
		if o.MassG == nil {
			b.Unknown++
			continue
		}
		switch o.Way {
		case WaySold:
			b.SoldG += *o.MassG
		case WayGiven:
			b.GivenG += *o.MassG
		case WayUsed:
			b.UsedG += *o.MassG
		case WayDestroyed:
			b.DestroyedG += *o.MassG
		case WayMade:
			b.MadeG += *o.MassG
		}
	}
	return b
}

// Balance is where the mass of a lot is.
func (b *Book) Balance(id string) Balance { return b.plainBook().all(id).balance() }

// known is v [any unit], 0 where it is not known.
func known(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// pointer is v [any unit], nil where it is not known.
func pointer(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

func short(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.6g", v), ".0") }

// holdsAt are the holds that stood on a vessel at a moment.
func (b *Book) holdsAt(vessel string, t time.Time) []farm.Hold {
	if b.plain {
		return nil
	}
	all, known := b.holds[vessel]
	if !known {
		all = b.p.Holds(vessel, time.Time{})
		b.holds[vessel] = all
	}
	var out []farm.Hold
	for _, h := range all {
		if !h.Since.After(t) && (h.EndedAt.IsZero() || h.EndedAt.After(t)) {
			out = append(out, h)
		}
	}
	return out
}

// firstWeighed takes the first mass [g] that is known of a lot after parts of it
// left: what came in was at least what left and what is here.
func (f *folding) firstWeighed(massG float64) {
	f.inG, f.lostG = massG, 0
	for _, o := range f.l.Outs {
		if o.MassG != nil {
			f.inG += *o.MassG
		}
	}
}
