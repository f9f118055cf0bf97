package farm

import (
	"testing"
	"time"
)

func ids(refs []Ref) string {
	s := ""
	for _, r := range refs {
		s += r.ID[len(r.ID)-4:] + ":" + r.Kind + " "
	}
	return s
}

// What is asked for by lot, tool, vessel or kind comes in the order in which it
// happened, and what was taken back is gone.
func TestRefs(t *testing.T) {
	n := lighthouse(t)
	n.note("", "tool", `{"id":"cloth-1"}`)
	harvest := n.note("boat-pond", "harvested", `{"volume_l":50,"mass_g":400,"lot":"a","tools":["cloth-1"]}`)
	clean := n.note("", "cleaned", `{"tools":["cloth-1"],"result":"good"}`)
	part := n.note("", "lot", `{"lot":"b","from_lots":["a"],"from_g":{"a":100}}`)
	early := n.at(harvest.At.Add(-time.Minute), "boat-pond", "microscope", `{"filaments_seen":100,"foreign_seen":0}`)
	p := n.present()
	short := func(es ...Entry) string {
		s := ""
		for _, e := range es {
			s += e.ID[len(e.ID)-4:] + ":" + e.Kind + " "
		}
		return s
	}
	for _, c := range []struct{ what, got, want string }{
		{"lot a, with what was made of it", ids(p.LotRefs("a")), short(harvest, part)},
		{"lot b", ids(p.LotRefs("b")), short(part)},
		{"cloth", ids(p.ToolRefs("cloth-1", time.Time{}, time.Time{})), short(harvest, clean)},
		{"cloth, since", ids(p.ToolRefs("cloth-1", clean.At, time.Time{})), short(clean)},
		{"cloth, until", ids(p.ToolRefs("cloth-1", time.Time{}, clean.At)), short(harvest)},
		{"vessel, harvests", ids(p.VesselRefs("boat-pond", time.Time{}, time.Time{}, "harvested")), short(harvest)},
		{"vessel, all", ids(p.VesselRefs("boat-pond", time.Time{}, time.Time{})), short(early, harvest)},
		{"kind", ids(p.KindRefs("cleaned", time.Time{}, time.Time{})), short(clean)},
		{"readings are not kept by kind", ids(p.KindRefs("microscope", time.Time{}, time.Time{})), ""},
		{"no vessel", ids(p.VesselRefs("nowhere", time.Time{}, time.Time{})), ""},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, want %s", c.what, c.got, c.want)
		}
	}
	if !p.HasLot("b") || p.HasLot("c") {
		t.Error("lots b and c: one is there, the other is not")
	}
	n.correct(clean, "", "withdrawn", `{}`)
	n.correct(harvest, "boat-pond", "harvested", `{"volume_l":50,"mass_g":400,"lot":"c"}`)
	p = n.present()
	if got := ids(p.ToolRefs("cloth-1", time.Time{}, time.Time{})); got != "" {
		t.Errorf("the cloth still has %s", got)
	}
	if got := ids(p.LotRefs("a")); got != short(part) {
		t.Errorf("lot a has %s, want only what names it: %s", got, short(part))
	}
}

// A choice holds from when it was made; a person is one by what was written
// down then.
func TestAsOf(t *testing.T) {
	n := lighthouse(t)
	first := n.note("", "setting", `{"key":"sell_fresh","value":true}`)
	n.note("", "person", `{"id":"jon","name":"Jon (invented)","role":"worker"}`)
	promoted := n.note("", "person", `{"id":"jon","name":"Jon (invented)","role":"owner"}`)
	n.note("", "person", `{"id":"kit","name":"Same name","role":"worker"}`)
	n.note("", "person", `{"id":"kim","name":"Same name","role":"owner"}`)
	p := n.present()
	if _, ok := p.SettingAt("sell_fresh", first.At.Add(-time.Second)); ok {
		t.Error("a choice held before it was made")
	}
	if s, ok := p.SettingAt("sell_fresh", first.At); !ok || string(s.Value) != "true" {
		t.Errorf("the choice is %s, %v", s.Value, ok)
	}
	for _, c := range []struct {
		who  string
		at   time.Time
		role string
	}{
		{"jon", promoted.At.Add(-time.Second), "worker"}, {"jon", promoted.At, "owner"}, {"jon", time.Time{}, "owner"},
		{"Jon (invented)", time.Time{}, "owner"}, {"jon", first.At, ""}, {"Same name", time.Time{}, ""}, {"kim", time.Time{}, "owner"}, {"nobody", time.Time{}, ""},
	} {
		if got, _ := p.PersonAt(c.who, c.at); got.Role != c.role {
			t.Errorf("%s at %s is %q, want %q", c.who, c.at, got.Role, c.role)
		}
	}
}

// Medium poured names its batch, told or by its recipe.
func TestShelfPours(t *testing.T) {
	n := stocked(t)
	a := n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
	b := n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
	one := n.note("boat-pond", "topped_up", `{"volume_l":130,"with":"medium","medium":{"recipe":"shelf-medium"}}`)
	two := n.note("boat-pond", "topped_up", `{"volume_l":20,"with":"medium","medium":{"batch":"`+b.ID+`"}}`)
	want := []Pour{
		{one.ID, a.ID, "boat-pond", one.At, 100, false}, {one.ID, b.ID, "boat-pond", one.At, 30, false}, {two.ID, b.ID, "boat-pond", two.At, 20, true},
	}
	got := n.present().Shelf(time.Time{}).Pours
	if len(got) != len(want) {
		t.Fatalf("%+v, want %+v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("pour %d is %+v, want %+v", i, got[i], want[i])
		}
	}
}
