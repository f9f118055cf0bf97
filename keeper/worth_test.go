package keeper_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"sodalake/keeper"
)

type worthOf = keeper.Worthwhile

// Nobody said how dense the culture was that came in: the disc tells most about
// the next decision, is asked for with how much, and once read tells little more.
func TestWorthOfTheDisc(t *testing.T) {
	opt := small
	opt.Members = 100
	w := newWorld(t, "2026-06-06T07:44:00Z", opt)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-05T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "medium": soda})
	w.note("2026-06-05T09:05:00Z", "one", "ph", body{"ph": 9.7})
	f, err := w.k.Forecast(context.Background(), "one", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Worth) == 0 || f.Worth[0].Kind != "secchi" || f.Worth[0].Share < 0.2 {
		t.Fatalf("worth taking are %+v, want the disc before all", f.Worth)
	}
	i := slices.IndexFunc(f.Worth, func(x worthOf) bool { return x.Kind == "conductivity" || x.Kind == "optical_density" })
	if i >= 0 {
		t.Errorf("a reading is offered for which the farm has nothing: %+v", f.Worth[i])
	}
	var asked itemOf
	for _, it := range w.today().Vessels[0].Items {
		if it.Act == "take_reading" {
			asked = it
		}
	}
	if !strings.HasPrefix(asked.Reason.Key, "reason.read.worth") || asked.Record.Kind != "secchi" {
		t.Errorf("the list asks for %q by %q, want the disc for what it is worth", asked.Act, asked.Reason.Key)
	}
	w.note("2026-06-06T07:43:00Z", "one", "secchi", body{"secchi_cm": 3})
	g, err := w.k.Forecast(context.Background(), "one", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range g.Worth {
		if x.Kind == "secchi" && x.Share > f.Worth[0].Share/2 {
			t.Errorf("once read a second disc is still worth %.2f, the first %.2f", x.Share, f.Worth[0].Share)
		}
	}
	for _, it := range w.today().Vessels[0].Items {
		if it.Act == "take_reading" && it.Record.Kind == "secchi" {
			t.Errorf("the disc is asked for again a minute later: %+v", it.Reason)
		}
	}
}
