package advice

import (
	"encoding/json"
	"fmt"
	"slices"

	"sodalake/farm"
)

// accepted checks that the entry of every item is one that the journal takes
// from a form. Where a value is not known beforehand it is filled in as a
// person would.
func accepted(t interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, s *Situation, items []Item) {
	t.Helper()
	p := farm.NewPresent()
	seq := 0
	id := func() string { seq++; return fmt.Sprintf("01J0000000000000000000%04d", seq) }
	write := func(kind string, body any) {
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatalf("%v", err)
		}
		at := s.Now.AddDate(-1, 0, 0)
		e := farm.Entry{ID: id(), Kind: kind, V: 1, At: at, NotedAt: at, By: "tester", Body: raw}
		if _, bad := farm.Check(e, p, farm.Typed, s.Now); bad != nil {
			t.Fatalf("%s is not taken: %v", kind, bad)
		}
		p.Apply(e)
	}
	write("site", map[string]any{"id": "here", "name": "Here", "lat_deg": 10, "lon_deg": 10, "timezone": "UTC"})
	vessels := []string{}
	vessel := func(id string) {
		if !slices.Contains(vessels, id) {
			vessels = append(vessels, id)
			write("vessel", map[string]any{"id": id, "shape": map[string]any{"kind": "box", "length_m": 40, "width_m": 10, "height_m": 1}})
		}
	}
	for i := range s.Vessels {
		vessel(s.Vessels[i].ID)
		if into := s.Vessels[i].Into; into != nil {
			vessel(into.ID)
		}
	}
	for _, tool := range s.Tools {
		write("tool", map[string]any{"id": tool.ID, "name": tool.Name})
	}
	for _, in := range s.Instruments {
		write("instrument", map[string]any{"id": in.ID, "name": in.Name})
	}
	for _, m := range s.Meters {
		write("instrument", map[string]any{"id": m.ID, "name": m.Name})
	}
	for i := range items {
		it := &items[i]
		if it.Record == nil {
			if it.Class == Do && it.Act != "buy" && it.Act != "prepare" && it.Reason.Key != "reason.reserve.none" && it.Reason.Key != "reason.reserve.season" {
				t.Errorf("%s carries no entry", it.Act)
			}
			continue
		}
		e := *it.Record
		k := farm.KindNamed(e.Kind)
		if k == nil {
			t.Fatalf("%s writes kind %q", it.Act, e.Kind)
		}
		if e.Item != it.ID {
			t.Errorf("%s writes item %q, not %q", it.Act, e.Item, it.ID)
		}
		if k.Group == farm.GroupReading || e.Kind == "checked" {
			e.Body = filled(k, e.Body)
		}
		e.ID, e.At, e.NotedAt, e.By = id(), s.Now, s.Now, "tester"
		if doubts, bad := farm.Check(e, p, farm.Typed, s.Now); bad != nil {
			t.Errorf("the entry of %s, %s %s, is not taken: %v", it.Act, e.Kind, e.Body, bad)
		} else if len(doubts) > 0 {
			t.Errorf("the entry of %s, %s %s, is doubted: %v", it.Act, e.Kind, e.Body, doubts)
		}
	}
}

// filled is a body with the value that only the person who does it knows.
func filled(k *farm.Kind, raw []byte) []byte {
	body := map[string]any{}
	if json.Unmarshal(raw, &body) != nil {
		return raw
	}
	value := map[string]any{
		"secchi": 3.0, "ph": 10.1, "level": 17.0, "conductivity": 21.0, "temperature": 24.0, "microscope": 300, "checked": "good", "reading": 17.0, "optical_density": 0.8, "dry_weight": 0.5,
	}[k.Name]
	key := map[string]string{"checked": "result", "reading": "level_cm"}[k.Name]
	if key == "" && len(k.Main) > 0 {
		key = k.Main[0]
	}
	body[key] = value
	out, err := json.Marshal(body)
	if err != nil {
		return raw
	}
	return out
}
