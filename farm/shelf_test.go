package farm

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/science/medium"
)

// stocked is the lighthouse with two lots of soda, one of saltpetre and its own
// recipe.
func stocked(t testing.TB) *notebook {
	n := lighthouse(t)
	n.note("", "recipe", `{"id":"shelf-medium","salts_g_per_l":{"NaHCO3":8,"potassium nitrate":2}}`)
	n.note("", "recipe", `{"id":"kit","ready_mix":true,"g_per_l":12}`)
	n.note("", "supply", `{"id":"soda-1","name":"soda, old sack","salt":"baking soda","mass_g":5000,"price":10}`)
	n.note("", "supply", `{"id":"soda-2","name":"soda, new sack","salt":"NaHCO3","mass_g":25000,"price":31,"bulk_g_per_l":930,"certificate":"food grade, invented"}`)
	n.note("", "supply", `{"id":"nitre","name":"saltpetre","salt":"KNO3","mass_g":10000}`)
	n.note("", "supply", `{"id":"powder","name":"kit powder","salt":"kit","mass_g":1000}`)
	return n
}

func left(t *testing.T, n *notebook) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, l := range n.present().Shelf(time.Time{}).Lots {
		out[l.ID] = l.LeftG
	}
	return out
}

// What is left is arithmetic on what was noted: the numbers are worked out here
// by hand.
func TestShelfDraws(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(n *notebook)
		want map[string]float64
	}{
		{"nothing", func(*notebook) {}, map[string]float64{"soda-1": 5000, "soda-2": 25000, "nitre": 10000, "powder": 1000}},
		{"fed by salt: the oldest lot", func(n *notebook) { n.note("lantern-pond", "fed", `{"salts_g":{"NaHCO3":400,"KNO3":120}}`) },
			map[string]float64{"soda-1": 4600, "nitre": 9880}},
		{"fed by lot", func(n *notebook) {
			n.note("lantern-pond", "fed", `{"salts_g":{"NaHCO3":400},"supplies_g":{"soda-2":404}}`)
		}, map[string]float64{"soda-1": 5000, "soda-2": 24596}},
		{"over the end of a lot", func(n *notebook) { n.note("lantern-pond", "dosed", `{"salts_g":{"baking soda":5600}}`) },
			map[string]float64{"soda-1": 0, "soda-2": 24400}},
		{"mixed into a vessel by recipe", func(n *notebook) {
			n.note("boat-pond", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
		}, map[string]float64{"soda-1": 4200, "nitre": 9800}},
		{"mixed with what was weighed", func(n *notebook) {
			n.note("boat-pond", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"},"salts_g":{"NaHCO3":810,"KNO3":205}}`)
		}, map[string]float64{"soda-1": 4190, "nitre": 9795}},
		{"a published recipe", func(n *notebook) {
			n.note("boat-pond", "topped_up", `{"volume_l":10,"with":"medium","medium":{"recipe":"zarrouk"}}`)
		}, map[string]float64{"soda-1": 4832}}, // 16.8 g/L: zarrouk1966, table as in most laboratory protocols
		{"a top-up with water takes nothing", func(n *notebook) {
			n.note("boat-pond", "topped_up", `{"volume_l":10,"with":"water"}`)
		}, map[string]float64{"soda-1": 5000}},
		{"from a batch: weighed once", func(n *notebook) {
			b := n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
			n.note("boat-pond", "topped_up", `{"volume_l":60,"with":"medium","medium":{"recipe":"shelf-medium","batch":"`+b.ID+`"}}`)
			n.note("boat-pond", "topped_up", `{"volume_l":30,"with":"medium","medium":{"recipe":"shelf-medium"}}`)
		}, map[string]float64{"soda-1": 4200}},
		{"from a batch that was taken back: weighed by nobody", func(n *notebook) {
			b := n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
			n.note("boat-pond", "topped_up", `{"volume_l":60,"with":"medium","medium":{"recipe":"shelf-medium","batch":"`+b.ID+`"}}`)
			n.correct(b, "", "withdrawn", `{}`)
		}, map[string]float64{"soda-1": 5000}},
		{"more than the batch held", func(n *notebook) {
			n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"}}`)
			n.note("boat-pond", "topped_up", `{"volume_l":150,"with":"medium","medium":{"recipe":"shelf-medium"}}`)
		}, map[string]float64{"soda-1": 3800}},
		{"ready mix", func(n *notebook) {
			n.note("boat-pond", "mixed", `{"volume_l":10,"medium":{"recipe":"kit"}}`)
			n.note("boat-pond", "fed", `{"ready_mix":"kit","ready_mix_g":30}`)
		}, map[string]float64{"powder": 850}},
		{"weighed again", func(n *notebook) {
			n.note("boat-pond", "fed", `{"salts_g":{"KNO3":500}}`)
			n.note("", "supply", `{"id":"nitre","name":"saltpetre","salt":"KNO3","mass_g":10000,"left_g":9300}`)
			n.note("boat-pond", "fed", `{"salts_g":{"KNO3":100}}`)
			n.note("", "supply", `{"id":"nitre","name":"saltpetre, renamed","salt":"KNO3","mass_g":10000}`)
		}, map[string]float64{"nitre": 9200}},
		{"bought more of the same", func(n *notebook) {
			n.note("boat-pond", "fed", `{"salts_g":{"KNO3":500}}`)
			n.note("", "supply", `{"id":"nitre","salt":"KNO3","mass_g":12000}`)
		}, map[string]float64{"nitre": 11500}},
		{"a culture that came mixed takes nothing", func(n *notebook) {
			n.note("boat-pond", "inoculated", `{"volume_l":10,"medium":{"recipe":"shelf-medium"}}`)
		}, map[string]float64{"soda-1": 5000}},
		{"taken back", func(n *notebook) {
			e := n.note("boat-pond", "fed", `{"salts_g":{"KNO3":500}}`)
			n.correct(e, "boat-pond", "withdrawn", `{}`)
		}, map[string]float64{"nitre": 10000}},
		{"before it was there", func(n *notebook) {
			n.at(n.now.Add(-20*24*time.Hour), "boat-pond", "fed", `{"salts_g":{"KNO3":500}}`)
		}, map[string]float64{"nitre": 10000}},
	} {
		n := stocked(t)
		c.do(n)
		got := left(t, n)
		for id, want := range c.want {
			if math.Abs(got[id]-want) > 1e-6 {
				t.Errorf("%s: %g g of %s are left, want %g", c.name, got[id], id, want)
			}
		}
	}
}

func TestShelfTells(t *testing.T) {
	n := stocked(t)
	b := n.note("", "mixed", `{"volume_l":100,"medium":{"recipe":"shelf-medium"},"salts_g":{"NaHCO3":800,"KNO3":200},"supplies_g":{"soda-2":800,"nitre":200}}`)
	n.note("boat-pond", "topped_up", `{"volume_l":40,"with":"medium","medium":{"recipe":"shelf-medium","batch":"`+b.ID+`"}}`)
	n.note("boat-pond", "fed", `{"salts_g":{"KNO3":10300}}`)
	p := n.present()
	s := p.Shelf(time.Time{})
	if len(s.Batches) != 1 || s.Batches[0].EntryID != b.ID || math.Abs(s.Batches[0].LeftL-60) > 1e-9 {
		t.Errorf("batches %+v, want 60 L of %s", s.Batches, b.ID)
	}
	if m := s.Media["boat-pond"]; m.Recipe != "shelf-medium" || len(s.Media) != 1 {
		t.Errorf("media %+v, want shelf-medium in the boat pond", s.Media)
	}
	if g := s.Untraced[IngredientOf("KNO3")]; math.Abs(g-500) > 1e-6 {
		t.Errorf("untraced %v, want 500 g of saltpetre: 10 300 fed of 9800", s.Untraced)
	}
	for _, l := range s.Lots {
		switch l.ID {
		case "soda-2":
			if len(l.Uses) != 1 || !l.Uses[0].Told || l.Uses[0].MassG != 800 || l.Certificate == "" || l.BulkGPerL != 930 {
				t.Errorf("soda-2: %+v", l)
			}
		case "nitre":
			if len(l.Uses) != 2 || l.Uses[1].Told || l.Uses[1].Vessel != "boat-pond" || l.LeftG > 1e-9 {
				t.Errorf("nitre: %+v", l)
			}
		}
	}
	// As of an earlier moment.
	if early := p.Shelf(b.At.Add(-time.Minute)); len(early.Batches) != 0 || len(early.Lots) != 4 || len(early.Lots[0].Uses) != 0 {
		t.Errorf("before the batch: %+v", early)
	}
}

// A lot that is not there, a negative rest and a bulk density of stone are
// refused with their field.
func TestShelfChecks(t *testing.T) {
	n := stocked(t)
	p := n.present()
	for _, c := range []struct{ vessel, kind, body, field string }{
		{"boat-pond", "fed", `{"salts_g":{"KNO3":5},"supplies_g":{"nitre-9":5}}`, "body.supplies_g.nitre-9"},
		{"boat-pond", "fed", `{"salts_g":{"KNO3":5},"supplies_g":{"nitre":-5}}`, "body.supplies_g.nitre"},
		{"boat-pond", "secchi", `{"secchi_cm":3,"supplies_g":{"nitre":5}}`, "body.supplies_g"},
		{"", "supply", `{"id":"x","mass_g":5,"left_g":-1}`, "body.left_g"},
		{"", "supply", `{"id":"x","mass_g":5,"bulk_g_per_l":20000}`, "body.bulk_g_per_l"},
	} {
		if _, bad := check(t, n, p, Typed, c.vessel, c.kind, c.body); bad == nil || bad.Field != c.field {
			t.Errorf("%s %s: %v, want an error at %s", c.kind, c.body, bad, c.field)
		}
	}
	for _, c := range [][3]string{
		{"boat-pond", "topped_up", `{"volume_l":5,"with":"medium","supplies_g":{"nitre":5}}`},
		{"boat-pond", "purged", `{"volume_l":5,"refill_l":5,"with":"medium","supplies_g":{"nitre":5}}`},
		{"boat-pond", "dosed", `{"salts_g":{"KNO3":5},"supplies_g":{"nitre":5}}`},
		{"", "supply", `{"id":"x","mass_g":5,"left_g":0}`},
	} {
		if _, bad := check(t, n, p, Typed, c[0], c[1], c[2]); bad != nil {
			t.Errorf("%s %s: %v", c[1], c[2], bad)
		}
	}
}

// Whatever is noted, nothing appears from nowhere: what was on the shelf is what
// is left and what was taken, lot by lot, and no rest is below zero.
func TestShelfLoses(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := stocked(t)
		for range rapid.IntRange(0, 25).Draw(rt, "acts") {
			v := rapid.SampledFrom([]string{"lantern-pond", "boat-pond"}).Draw(rt, "vessel")
			g := rapid.Float64Range(0.1, 4000).Draw(rt, "grams")
			switch rapid.IntRange(0, 4).Draw(rt, "act") {
			case 0:
				n.note(v, "fed", fmt.Sprintf(`{"salts_g":{"NaHCO3":%f,"KNO3":%f}}`, g, g/10))
			case 1:
				n.note(v, "dosed", fmt.Sprintf(`{"salts_g":{"NaHCO3":%f},"supplies_g":{"soda-2":%f}}`, g, g))
			case 2:
				n.note("", "mixed", fmt.Sprintf(`{"volume_l":%f,"medium":{"recipe":"shelf-medium"}}`, g/10))
			case 3:
				n.note(v, "topped_up", fmt.Sprintf(`{"volume_l":%f,"with":"medium","medium":{"recipe":"shelf-medium"}}`, g/10))
			case 4:
				n.note(v, "mixed", fmt.Sprintf(`{"volume_l":%f,"medium":{"recipe":"kit"}}`, g/100))
			}
		}
		s := n.present().Shelf(time.Time{})
		for _, l := range s.Lots {
			sum := l.LeftG - l.OverG
			for _, u := range l.Uses {
				sum += u.MassG
			}
			if l.LeftG < 0 || math.Abs(sum-l.MassG) > 1e-6 {
				rt.Fatalf("%s: %g left, %g over and %d uses make %g of %g", l.ID, l.LeftG, l.OverG, len(l.Uses), sum, l.MassG)
			}
		}
		for _, b := range s.Batches {
			if b.LeftL < 0 || b.LeftL > b.VolumeL {
				rt.Fatalf("batch %+v", b)
			}
		}
	})
}

func TestIngredientOf(t *testing.T) {
	for word, want := range map[string]string{"NaHCO3": "baking-soda", "bicarbonate of soda": "baking-soda", "MgSO4.7H2O": "epsom-salt", "": "", "hope": ""} {
		if got := IngredientOf(word); got != want {
			t.Errorf("%q is %q, want %q as in the table of ingredients", word, got, want)
		}
	}
	if i, err := medium.Lookup("20-20-20", medium.US); err != nil || IngredientOf("20-20-20") != i.ID || i.ID == "" {
		t.Errorf("a label is %q: %v", IngredientOf("20-20-20"), err)
	}
}

// Ten years of a large farm: 20 000 acts that take from the shelf among 200 000
// readings.
func BenchmarkShelf(b *testing.B) {
	n := stocked(b)
	for i := range 220_000 {
		if i%11 == 0 {
			n.now = n.now.Add(-59 * time.Minute)
			n.note("boat-pond", "fed", `{"salts_g":{"NaHCO3":0.4,"KNO3":0.1}}`)
			continue
		}
		n.now = n.now.Add(-59 * time.Minute)
		n.note("boat-pond", "ph", `{"ph":10.2}`)
	}
	p := NewPresent()
	for i, e := range n.all {
		e.Seq = int64(i + 1)
		p.Apply(e)
	}
	sr := NewShelfReader()
	sr.Shelf(p, time.Time{})
	b.ReportAllocs()
	for b.Loop() {
		if s := sr.Shelf(p, time.Time{}); len(s.Lots) != 4 {
			b.Fatal("lots are gone")
		}
	}
}
