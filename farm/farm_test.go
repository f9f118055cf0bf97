package farm

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// The farm of these tests is invented: Saltmarsh lighthouse, a retired station
// run by a small co-operative, with two ponds, a cistern and bottles on a sill.

// noon is the clock of these tests.
var noon = time.Date(2031, 5, 4, 12, 0, 0, 0, time.UTC)

// notebook writes entries of the invented farm.
type notebook struct {
	t   testing.TB
	ids *IDs
	now time.Time
	all []Entry
}

func newNotebook(t testing.TB) *notebook {
	return &notebook{t: t, ids: NewIDs(rand.NewChaCha8([32]byte{9})), now: noon.Add(-30 * 24 * time.Hour)}
}

// note writes an entry an hour after the one before.
func (n *notebook) note(vessel, kind, body string) Entry {
	n.t.Helper()
	n.now = n.now.Add(time.Hour)
	return n.at(n.now, vessel, kind, body)
}

func (n *notebook) at(at time.Time, vessel, kind, body string) Entry {
	n.t.Helper()
	id, err := n.ids.Make(at)
	if err != nil {
		n.t.Fatal(err)
	}
	e := Entry{ID: id, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at, By: "ines", Body: json.RawMessage(body)}
	n.all = append(n.all, e)
	return e
}

// correct writes an entry that corrects old.
func (n *notebook) correct(old Entry, vessel, kind, body string) Entry {
	n.t.Helper()
	n.now = n.now.Add(time.Hour)
	e := n.at(old.At, vessel, kind, body)
	e.Corrects, e.NotedAt = old.ID, n.now
	n.all[len(n.all)-1] = e
	return e
}

// settle is what the store does: places and times of receipt.
func (n *notebook) settled() []Entry {
	out := make([]Entry, len(n.all))
	for i, e := range n.all {
		b, err := e.Canonical()
		if err != nil {
			n.t.Fatal(err)
		}
		if out[i], err = DecodeStored(b); err != nil {
			n.t.Fatal(err)
		}
		out[i].Seq, out[i].ReceivedAt = int64(i+1), e.NotedAt
	}
	return out
}

func (n *notebook) present() *Present {
	p := NewPresent()
	for _, e := range n.settled() {
		p.Apply(e)
	}
	return p
}

// lighthouse describes the invented farm.
func lighthouse(t testing.TB) *notebook {
	n := newNotebook(t)
	n.note("", "site", `{"id":"lighthouse","name":"Saltmarsh lighthouse (invented)","lat_deg":41.2,"lon_deg":-8.9,"elevation_m":12,"timezone":"Europe/Lisbon","measures":"metric"}`)
	n.note("", "vessel", `{"id":"lantern-pond","name":"Lantern pond","shape":{"kind":"liner","top_length_m":6,"top_width_m":2.5,"depth_cm":35,"slope":0.5},"full_level_cm":20,"place":"tunnel","cover":{"kind":"tunnel","vents":"half"},"stirring":{"kind":"continuous"},"material":"liner","use":"grow"}`)
	n.note("", "vessel", `{"id":"boat-pond","name":"Boat pond","shape":{"kind":"box","length_m":4,"width_m":1.5,"height_cm":30},"full_level_cm":18,"place":"outdoors","shade_pct":30,"use":"grow"}`)
	n.note("", "vessel", `{"id":"cistern","name":"Cistern tank","shape":{"kind":"cylinder","diameter_m":1.2,"height_m":0.8},"use":"starter","food":false}`)
	n.note("", "vessel", `{"id":"sill","name":"Sill bottles","shape":{"kind":"bottle","diameter_cm":10,"height_cm":20,"shoulder_height_cm":5,"neck_diameter_cm":3,"neck_height_cm":4},"count":6,"use":"reserve","lit":"side","place":"indoors"}`)
	n.note("", "person", `{"id":"ines","name":"Ines (invented)","role":"owner"}`)
	n.note("", "instrument", `{"id":"meter-2","measures":"ph","make":"meter","every_days":7}`)
	n.note("", "recipe", `{"id":"house-salt","salts_g_per_l":{"NaHCO3":8,"KNO3":2,"NaCl":5},"origin":"invented"}`)
	n.note("", "water", `{"id":"rain-butt","origin":"rain","analysis":{"hardness_mg_per_l":12}}`)
	return n
}

func wantField(t *testing.T, what string, e *Error, code Code, field, part string) {
	t.Helper()
	switch {
	case e == nil:
		t.Errorf("%s is taken, want it refused at %q", what, field)
	case e.Code != code || e.Field != field || !strings.Contains(e.Message, part):
		t.Errorf("%s is refused with code %s, field %q, %q; want %s, %q and a word of %q", what, e.Code, e.Field, e.Message, code, field, part)
	case strings.HasSuffix(e.Message, ".") || strings.Contains(e.Message, "\n"):
		t.Errorf("%s is refused with %q: no full stop, one line", what, e.Message)
	}
}
