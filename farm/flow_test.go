package farm

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestFlows(t *testing.T) {
	for _, c := range []struct{ vessel, kind, body, want string }{
		{"cistern", "inoculated", `{"volume_l":40}`, "outside>cistern 40 culture"},
		{"cistern", "inoculated", `{"volume_l":40,"from":"sill"}`, "sill>cistern 40 culture"},
		{"cistern", "split", `{"to":"boat-pond","volume_l":200}`, "cistern>boat-pond 200 culture"},
		{"cistern", "moved", `{"to":"boat-pond"}`, "cistern>boat-pond all culture"},
		{"cistern", "moved", `{"to":"boat-pond","volume_l":30}`, "cistern>boat-pond 30 culture"},
		{"cistern", "mixed", `{"volume_l":500,"medium":{"recipe":"house-salt"}}`, "medium>cistern 500 medium (house-salt)"},
		{"", "mixed", `{"volume_l":500,"medium":{"recipe":"house-salt"}}`, ""},
		{"cistern", "topped_up", `{"with":"water","volume_l":60,"water":"rain-butt"}`, "source>cistern 60 water from rain-butt"},
		{"cistern", "topped_up", `{"with":"water","level_after_cm":20}`, "source>cistern to 20 cm water"},
		{"cistern", "topped_up", `{"with":"medium","volume_l":60}`, "medium>cistern 60 medium"},
		{"cistern", "fed", `{"salts_g":{"KNO3":10}}`, ""},
		{"cistern", "fed", `{"salts_g":{"KNO3":10},"dissolved_in_l":5}`, "source>cistern 5 water"},
		{"cistern", "harvested", `{"volume_l":100,"mass_g":900}`, "cistern>cloth 100 culture; cloth>cistern 99.1 filtrate"},
		{"cistern", "harvested", `{"volume_l":100,"filtrate_to":"drain"}`, "cistern>cloth 100 culture"},
		{"cistern", "harvested", `{"mass_g":900}`, ""},
		{"cistern", "harvested", `{"volume_l":0.5,"mass_g":900}`, "cistern>cloth 0.5 culture"},
		{"cistern", "purged", `{"volume_l":50}`, "cistern>drain 50 culture"},
		{"cistern", "purged", `{"volume_l":50,"refill_l":45,"with":"medium"}`, "cistern>drain 50 culture; medium>cistern 45 medium"},
		{"cistern", "drew_off", `{"volume_l":50}`, "cistern>drain 50 culture"},
		{"cistern", "drew_off", `{"volume_l":50,"to":"sill"}`, "cistern>sill 50 culture"},
		{"cistern", "discarded", `{"all":true}`, "cistern>drain all culture"},
		{"", "discarded", `{"lot":"l-1"}`, ""},
		{"cistern", "gave", `{"volume_l":2}`, "cistern>outside 2 culture"},
		{"", "sold", `{"lot":"l-1"}`, ""},
		{"cistern", "event", `{"event":"leak","volume_l":80}`, "cistern>drain 80 culture"},
		{"cistern", "event", `{"event":"flood","volume_l":80}`, ""},
		{"cistern", "shaded", `{"shade_pct":30}`, ""},
	} {
		k := KindNamed(c.kind)
		b, bad := DecodeBody(k, []byte(c.body))
		if bad != nil {
			t.Fatal(c.kind, c.body, bad)
		}
		var got []string
		for _, f := range flowsOf(k, "x", c.vessel, b) {
			amount := fmt.Sprint(f.VolumeL)
			if f.All {
				amount = "all"
			} else if f.ToCM > 0 {
				amount = fmt.Sprintf("to %g cm", f.ToCM)
			}
			s := fmt.Sprintf("%s>%s %s %s", f.From, f.To, amount, f.What)
			if f.Medium != nil {
				s += " (" + f.Medium.Recipe + ")"
			}
			if f.Water != "" {
				s += " from " + f.Water
			}
			got = append(got, s)
		}
		if s := strings.Join(got, "; "); s != c.want {
			t.Errorf("%s %s: %q, want %q", c.kind, c.body, s, c.want)
		}
	}
}

// No act makes water out of a vessel that it does not speak of, or puts back
// more than it took.
func TestFlowsAreSound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.SampledFrom(Kinds()).Draw(rt, "kind")
		if k.Group != GroupAct {
			return
		}
		body := "{"
		for _, f := range k.Fields() {
			if rapid.Bool().Draw(rt, "has") || slices.Contains(k.Need, f.Key) {
				if len(body) > 1 {
					body += ","
				}
				body += fmt.Sprintf("%q:%s", f.Key, anyValue(rt, f))
			}
		}
		b, bad := DecodeBody(&k, []byte(body+"}"))
		if bad != nil {
			return
		}
		taken, back := 0.0, 0.0
		for _, f := range flowsOf(&k, "x", "cistern", b) {
			if f.From != "cistern" && f.To != "cistern" || f.From == f.To || f.VolumeL < 0 {
				rt.Fatalf("%s %s flows %+v", k.Name, body, f)
			}
			if f.VolumeL == 0 && !f.All && f.ToCM == 0 {
				rt.Fatalf("%s %s flows nothing: %+v", k.Name, body, f)
			}
			if f.To == Cloth {
				taken += f.VolumeL
			}
			if f.From == Cloth {
				back += f.VolumeL
			}
		}
		if back > taken {
			rt.Fatalf("%s %s gives back %g of %g", k.Name, body, back, taken)
		}
	})
}

func TestLineage(t *testing.T) {
	n := lighthouse(t)
	a := n.note("sill", "inoculated", `{"volume_l":3}`)
	b := n.note("sill", "split", `{"to":"cistern","volume_l":2}`)
	c := n.note("cistern", "split", `{"to":"boat-pond","volume_l":200}`)
	d := n.note("cistern", "moved", `{"to":"lantern-pond"}`)
	e := n.note("cistern", "inoculated", `{"volume_l":40}`)
	f := n.note("cistern", "split", `{"to":"sill","volume_l":1}`)
	g := n.note("boat-pond", "gave", `{"volume_l":1,"whom":"a neighbour"}`)
	n.note("boat-pond", "discarded", `{"all":true,"reason":"flies"}`)
	emptied := n.note("boat-pond", "inoculated", `{"volume_l":5}`)
	p := n.present()
	links := func(list []Link) string {
		var out []string
		for _, l := range list {
			out = append(out, l.EntryID)
		}
		return strings.Join(out, " ")
	}
	ids := func(list ...Entry) string {
		var out []string
		for _, e := range list {
			out = append(out, e.ID)
		}
		return strings.Join(out, " ")
	}
	for _, x := range []struct{ what, got, want string }{
		{"lantern pond", links(p.Lineage("lantern-pond", time.Time{})), ids(a, b, d)},
		{"boat pond", links(p.Lineage("boat-pond", g.At)), ids(a, b, c)},
		{"boat pond, thrown away and begun anew", links(p.Lineage("boat-pond", time.Time{})), ids(emptied)},
		{"cistern, emptied and begun anew", links(p.Lineage("cistern", time.Time{})), ids(e)},
		{"cistern before", links(p.Lineage("cistern", c.At)), ids(a, b)},
		{"sill", links(p.Lineage("sill", time.Time{})), ids(a, e, f)},
		{"out of the sill", links(p.Offspring("sill", time.Time{})), ids(b, c, d, f, g)},
		{"out of the sill later", links(p.Offspring("sill", c.At)), ids()},
		{"out of the boat pond", links(p.Offspring("boat-pond", time.Time{})), ids(g)},
	} {
		if x.got != x.want {
			t.Errorf("%s: %s, want %s", x.what, x.got, x.want)
		}
	}
}

func TestHolds(t *testing.T) {
	for _, c := range []struct{ kind, body, want string }{
		{"microscope", `{"filaments_seen":300,"foreign_seen":1}`, "foreign_cells"},
		{"microscope", `{"filaments_seen":300,"foreign_seen":0}`, ""},
		{"smell", `{"smell":"rotten"}`, "smell"},
		{"smell", `{"smell":"grassy"}`, ""},
		{"reading", `{"ph":10,"smell":"ammonia"}`, "smell"},
		{"secchi", `{"secchi_cm":2,"colour":"milky"}`, "colour"},
		{"colour", `{"colour":"pale"}`, ""},
		{"animals", `{"animals":["flies","droppings"]}`, "animals"},
		{"animals", `{"animals":["flies"]}`, ""},
		{"event", `{"event":"smoke"}`, "smoke"},
		{"event", `{"event":"power_cut"}`, ""},
		{"quarantined", `{"reason":"x"}`, "quarantined"},
		{"held", `{"reason":"x"}`, "held"},
		{"note", `{"text":"it does not smell of \"foreign_seen\":9"}`, ""},
	} {
		n := lighthouse(t)
		n.note("cistern", c.kind, c.body)
		got := ""
		for _, h := range n.present().OnHold("cistern", time.Time{}) {
			got += h.Reason
			if !slices.Contains(HoldReasons, h.Reason) {
				t.Errorf("reason %s is not of the list", h.Reason)
			}
		}
		if got != c.want {
			t.Errorf("%s %s: hold %q, want %q", c.kind, c.body, got, c.want)
		}
	}
}

func TestHoldsGoWithTheCulture(t *testing.T) {
	n := lighthouse(t)
	n.note("cistern", "split", `{"to":"sill","volume_l":1}`) // before anything was seen
	seen := n.note("cistern", "microscope", `{"filaments_seen":300,"foreign_seen":4}`)
	n.note("cistern", "split", `{"to":"boat-pond","volume_l":100}`)
	moved := n.note("boat-pond", "split", `{"to":"lantern-pond","volume_l":50}`)
	state := func(at time.Time) string {
		p := n.present()
		var out []string
		for _, v := range []string{"cistern", "boat-pond", "lantern-pond", "sill"} {
			for _, h := range p.OnHold(v, at) {
				out = append(out, v+" via "+strings.Join(h.Via, ","))
			}
		}
		return strings.Join(out, "; ")
	}
	all := "cistern via ; boat-pond via cistern; lantern-pond via cistern,boat-pond"
	if got := state(time.Time{}); got != all {
		t.Errorf("holds %q, want %q", got, all)
	}
	if got, want := state(moved.At.Add(-1)), "cistern via ; boat-pond via cistern"; got != want {
		t.Errorf("before the second move %q, want %q", got, want)
	}
	n.note("cistern", "released", `{"hold":"`+seen.ID+`","reason":"two clean looks"}`)
	if got, want := state(time.Time{}), "boat-pond via cistern; lantern-pond via cistern,boat-pond"; got != want {
		t.Errorf("each vessel is released by itself: %q, want %q", got, want)
	}
	n.note("boat-pond", "released", `{"hold":"`+seen.ID+`","reason":"two clean looks"}`)
	last := n.note("lantern-pond", "released", `{"hold":"`+seen.ID+`","reason":"two clean looks"}`)
	if got := state(time.Time{}); got != "" {
		t.Errorf("all released: %q", got)
	}
	other := n.note("cistern", "smell", `{"smell":"rotten"}`)
	n.note("cistern", "released", `{"hold":"`+seen.ID+`","reason":"again"}`)
	if got := n.present().OnHold("cistern", time.Time{}); len(got) != 1 || got[0].EntryID != other.ID {
		t.Errorf("the end of one hold left %+v, want the other one", got)
	}
	n.note("cistern", "released", `{"hold":"`+other.ID+`","reason":"two clean looks"}`)
	for _, h := range n.present().Holds("cistern", time.Time{}) {
		if h.EndedBy != "ines" || h.Why != "two clean looks" || h.EndedAt.IsZero() {
			t.Errorf("the ended hold tells %+v", h)
		}
	}
	// A release that is taken back ends nothing.
	n.correct(last, "", "withdrawn", `{}`)
	if got, want := state(time.Time{}), "lantern-pond via cistern,boat-pond"; got != want {
		t.Errorf("with the release taken back %q, want %q", got, want)
	}
	// Moved in a ring, holds come to an end.
	n.note("lantern-pond", "split", `{"to":"cistern","volume_l":5}`)
	n.note("cistern", "split", `{"to":"lantern-pond","volume_l":5}`)
	if got, want := state(time.Time{}), "cistern via cistern,boat-pond,lantern-pond; lantern-pond via cistern,boat-pond"; got != want {
		t.Errorf("moved in a ring %q, want %q", got, want)
	}
}
