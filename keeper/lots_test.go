package keeper_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/keeper"
)

// lotWorld is the farm with an owner, a cloth and one dried lot that was looked
// at, harvested on the day before now.
func lotWorld(t testing.TB) *world {
	w := newWorld(t, "2026-06-06T09:00:00Z", keeper.Options{})
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-01T08:05:00Z", "", "person", body{"id": "owner", "role": "owner"})
	w.note("2026-06-01T08:06:00Z", "", "tool", body{"id": "cloth", "name": "Filter cloth"})
	w.note("2026-06-01T08:07:00Z", "", "supply", body{"id": "soda", "salt": "NaHCO3", "mass_g": 25000})
	return w
}

// lotOf notes a dried lot of a vessel, harvested at a moment.
func (w *world) lotOf(id, vessel string, at time.Time) []farm.Entry {
	say := func(after time.Duration) string { return at.Add(after).Format(time.RFC3339) }
	return []farm.Entry{
		w.entry(say(0), vessel, "reading", body{"filaments_seen": 200.0, "foreign_seen": 0.0, "ph": 10.2, "temp_c": 22.0, "smell": "grassy", "colour": "green"}),
		w.entry(say(5*time.Minute), "", "cleaned", body{"tools": []string{"cloth"}, "result": "good"}),
		w.entry(say(10*time.Minute), vessel, "harvested", body{"volume_l": 20.0, "mass_g": 120.0, "lot": id, "tools": []string{"cloth"}, "temp_c": 22.0}),
		w.entry(say(30*time.Minute), "", "lot_step", body{"lot": id, "step": "into_dryer", "temp_c": 45.0}),
		w.entry(say(4*time.Hour), "", "lot_step", body{"lot": id, "step": "out_of_dryer", "mass_g": 12.0}),
		w.entry(say(5*time.Hour), "", "lot_check", body{"lot": id, "check": "dry", "water_activity": 0.45}),
	}
}

// What a person types about lots is held against their rules; what a phone sent
// late is kept, doubted and told.
func TestLotsTyped(t *testing.T) {
	w := lotWorld(t)
	vessel := w.firstVessel()
	w.write(w.lotOf("one", vessel, moment(t, "2026-06-05T08:00:00Z"))...)
	ctx := context.Background()
	sell := w.entry("2026-06-06T08:00:00Z", "", "sold", body{"lot": "one", "mass_g": 5.0, "whom": "market"})
	if _, err := w.k.Append(ctx, []farm.Entry{sell}, farm.Typed); farm.CodeOf(err) != farm.Invalid {
		t.Errorf("sold before it was released: %v", err)
	}
	if _, err := w.k.Append(ctx, []farm.Entry{sell}, farm.Sent); err != nil {
		t.Errorf("the same from a phone that was away: %v", err)
	}
	if _, err := w.k.Append(ctx, []farm.Entry{sell}, farm.Typed); err != nil {
		t.Errorf("the same once more: %v", err)
	}
	v, err := w.k.Lot(ctx, "one", time.Time{})
	if err != nil || len(v.Doubts) != 1 || v.Doubts[0].Key != "doubt.lot.not_released" || v.State != lot.OnHold {
		t.Errorf("%v: %s, doubts %+v", err, v.State, v.Doubts)
	}
	release := w.entry("2026-06-06T08:30:00Z", "", "released", body{"lot": "one", "reason": "all seen"})
	if _, err := w.k.Append(ctx, []farm.Entry{release}, farm.Typed); farm.CodeOf(err) != farm.Denied {
		t.Errorf("released by one who is no owner: %v", err)
	}
	release.By = "owner"
	if _, err := w.k.Append(ctx, []farm.Entry{release}, farm.Typed); err != nil {
		t.Errorf("released by the owner: %v", err)
	}
	l, err := w.k.Lots(ctx, time.Time{}, 0)
	if err != nil || len(l.Lots) != 1 || l.Lots[0].State != lot.Released || len(l.Soonest) != 1 {
		t.Errorf("%v: %+v", err, l.Lots)
	}
	tr, err := w.k.Trace(ctx, "one", time.Time{}, time.Time{})
	if err != nil || tr.Origin == nil || len(tr.Origin.Harvests) != 1 || len(tr.Recall.People) != 1 || tr.Recall.People[0].Whom != "market" {
		t.Errorf("%v: trace %+v", err, tr)
	}
	if _, err := w.k.Trace(ctx, "nobody", time.Time{}, time.Time{}); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("a trace of nothing: %v", err)
	}
	if _, err := w.k.Lot(ctx, "two", time.Time{}); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("a lot that is not there: %v", err)
	}
	h, err := w.k.Hazards(ctx, moment(t, "2026-06-01T00:00:00Z"), moment(t, "2026-06-07T00:00:00Z"), time.Time{})
	if err != nil || len(h.Lots) != 1 || len(h.Controls) < 9 {
		t.Errorf("%v: plan of control of %d lots with %d controls", err, len(h.Lots), len(h.Controls))
	}
}

// firstVessel is one of the farm's.
func (w *world) firstVessel() string {
	id := ""
	w.k.Read(func(p *farm.Present) { id = p.Vessels()[0].ID })
	return id
}

// One step of the running sheet, the list and a trace on a farm with many lots.
func BenchmarkLots(b *testing.B) {
	w := lotWorld(b)
	vessel := w.firstVessel()
	const lots = 2000
	day := moment(b, "2026-06-05T08:00:00Z")
	var all []farm.Entry
	for i := range lots {
		id := fmt.Sprintf("lot-%d", i)
		at := day.AddDate(0, 0, -i/2)
		all = append(all, w.lotOf(id, vessel, at)...)
		if i > 40 {
			all = append(all, w.entry(at.Add(6*time.Hour).Format(time.RFC3339), "", "discarded", body{"lot": id}))
		}
	}
	w.write(all...)
	ctx := context.Background()
	b.Run("sheet", func(b *testing.B) {
		n := 0
		for b.Loop() {
			e := w.entry("2026-06-06T08:00:00Z", "", "lot_step", body{"lot": "lot-1", "step": "weighed", "mass_g": 12.0, "text": fmt.Sprint(n)})
			n++
			if _, err := w.k.Append(ctx, []farm.Entry{e}, farm.Typed); err != nil {
				b.Fatal(err)
			}
			if _, err := w.k.Lot(ctx, "lot-1", time.Time{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("list", func(b *testing.B) {
		n := 0
		for b.Loop() {
			e := w.entry("2026-06-06T08:00:00Z", "", "lot_step", body{"lot": "lot-2", "step": "weighed", "mass_g": 12.0, "text": fmt.Sprint(n)})
			n++
			if _, err := w.k.Append(ctx, []farm.Entry{e}, farm.Typed); err != nil {
				b.Fatal(err)
			}
			if _, err := w.k.Lots(ctx, time.Time{}, 0); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("trace", func(b *testing.B) {
		for b.Loop() {
			if _, err := w.k.Trace(ctx, "lot-30", time.Time{}, time.Time{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// A lot that stays wet past the farm's limit stands on the day list, and a tool
// that was used and not cleaned does where its plan has a day.
func TestLotsOnTheDayList(t *testing.T) {
	w := lotWorld(t)
	w.begin("2026-06-01T09:00:00Z")
	vessel := w.firstVessel()
	w.note("2026-06-01T10:00:00Z", "", "tool", body{"id": "press", "name": "Press", "every_days": 3.0})
	w.note("2026-06-06T05:00:00Z", vessel, "harvested", body{"volume_l": 20.0, "mass_g": 120.0, "lot": "wet", "tools": []string{"press"}, "temp_c": 24.0})
	has := func(act string) bool {
		items, err := w.k.Items(context.Background(), time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		for _, it := range items {
			if it.Act == act {
				return true
			}
		}
		return false
	}
	if !has("hold_lot") || !has("clean") {
		t.Errorf("four hours wet: hold %v, clean %v", has("hold_lot"), has("clean"))
	}
	w.note("2026-06-06T08:30:00Z", "", "cleaned", body{"tools": []string{"press"}, "result": "good"})
	w.note("2026-06-06T08:31:00Z", "", "held", body{"lot": "wet", "reason": "too long wet"})
	if has("hold_lot") || has("clean") {
		t.Errorf("held and cleaned: hold %v, clean %v", has("hold_lot"), has("clean"))
	}
}
