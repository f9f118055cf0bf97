package storetest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"sodalake/farm"
)

// setUp returns entries of an invented farm, a lighthouse run by a small
// co-operative, with n readings after its descriptions.
func setUp(t *testing.T, m *maker, n int) []farm.Entry {
	t.Helper()
	bodies := []struct{ kind, vessel, body string }{
		{"site", "", `{"id":"lighthouse","name":"Saltmarsh lighthouse (invented)","lat_deg":41.2,"lon_deg":-8.9,"timezone":"Europe/Lisbon"}`},
		{"vessel", "", `{"id":"lantern-pond","shape":{"kind":"box","length_m":4,"width_m":1.5,"height_cm":35}}`},
	}
	for i := range n {
		bodies = append(bodies, struct{ kind, vessel, body string }{"ph", "lantern-pond", fmt.Sprintf(`{"ph":%.2f}`, 9.5+0.01*float64(i%90))})
	}
	out := make([]farm.Entry, len(bodies))
	for i, b := range bodies {
		e := m.entry(t, i)
		e.Kind, e.Vessel, e.Body = b.kind, b.vessel, json.RawMessage(b.body)
		out[i] = e
	}
	return out
}

func exportImport(t *testing.T, h Harness) {
	ctx := t.Context()
	from, m := h.open(t), newMaker(14)
	must[[]farm.Entry](t)(from.Append(ctx, setUp(t, m, 700)))
	var file bytes.Buffer
	if n, err := farm.Export(&file, from.Entries(ctx, 0, 0)); err != nil || n != 702 {
		t.Fatalf("exported %d entries, %v", n, err)
	}
	later := Noon.Add(72 * time.Hour)
	to := h.Open(t, func() time.Time { return later })
	defer to.Close()
	if n := must[int](t)(to.Load(ctx, farm.ReadEntries(bytes.NewReader(file.Bytes()), farm.NewPresent(), later))); n != 702 {
		t.Fatalf("imported %d entries, want 702", n)
	}
	// The whole journal in another store is the same chain.
	if a, b := must[farm.Head](t)(from.Head(ctx)), must[farm.Head](t)(to.Head(ctx)); a != b {
		t.Errorf("the copy ends with %+v, the journal with %+v", b, a)
	}
	original := all(t, from)
	for i, e := range all(t, to) {
		if !same(e, original[i]) {
			t.Fatalf("the copy has %+v, the journal %+v", e, original[i])
		}
	}
	p := farm.NewPresent()
	if err := p.Fold(to.Entries(ctx, 0, 0)); err != nil {
		t.Fatal(err)
	}
	if n := must[int](t)(to.Load(ctx, farm.ReadEntries(bytes.NewReader(file.Bytes()), p, later))); n != 0 {
		t.Errorf("imported again, %d entries are new", n)
	}
	// A file cut anywhere but at the end of a line writes nothing.
	third := h.Open(t, func() time.Time { return later })
	defer third.Close()
	cut := file.Bytes()[:file.Len()-40]
	if n, err := third.Load(ctx, farm.ReadEntries(bytes.NewReader(cut), farm.NewPresent(), later)); err == nil || n != 0 {
		t.Errorf("a torn file gave %d, %v", n, err)
	}
	wantWhole(t, third, 0)
}
