package keeper_test

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"sodalake/farm"
)

func (w *world) seq() int64 {
	w.t.Helper()
	head, err := w.store.Head(context.Background())
	if err != nil {
		w.t.Fatal(err)
	}
	return head.Seq
}

func (w *world) knows(vessel string) (known bool) {
	w.k.Read(func(p *farm.Present) { _, known = p.Vessel(vessel) })
	return known
}

// A list is taken whole, and its second entry may speak of what its first
// describes.
func TestAppendList(t *testing.T) {
	w := newWorld(t, "2026-06-01T08:00:00Z", small)
	vessel := body{"id": "jar", "shape": body{"kind": "bottle", "diameter_m": 0.1, "height_m": 0.2}, "place": "indoors"}
	w.write(
		w.entry("2026-06-01T07:00:00Z", "", "vessel", vessel),
		w.entry("2026-06-01T07:30:00Z", "jar", "inoculated", body{"volume_l": 1, "density_g_per_l": 0.5}),
		w.entry("2026-06-01T07:31:00Z", "jar", "temperature", body{"temp_c": 22}),
	)
	if w.seq() != 3 || !w.knows("jar") {
		t.Errorf("journal holds %d entries, jar known: %t; want 3, true", w.seq(), w.knows("jar"))
	}
	if v := w.vessel("jar"); !v.Now.Known {
		t.Error("the jar of the list is not followed")
	}
}

// One bad entry, and nothing of its list is written or remembered.
func TestAppendAllOrNone(t *testing.T) {
	w := newWorld(t, "2026-06-01T08:00:00Z", small)
	w.describe("2026-06-01T06:00:00Z", nil)
	before := w.seq()
	list := []farm.Entry{
		w.entry("2026-06-01T07:00:00Z", "", "vessel", body{"id": "jar", "shape": body{"kind": "bottle", "diameter_m": 0.1, "height_m": 0.2}}),
		w.entry("2026-06-01T07:30:00Z", "jar", "ph", body{"ph": 101}),
		w.entry("2026-06-01T07:31:00Z", "jar", "temperature", body{"temp_c": 22}),
	}
	_, err := w.k.Append(context.Background(), list, farm.Typed)
	var fe *farm.Error
	if !errors.As(err, &fe) || fe.Code != farm.Invalid || fe.Field != "body.ph" || !strings.Contains(fe.Message, "entry 2") {
		t.Errorf("a pH of 101 as second of three gives %+v, want invalid at body.ph, entry 2", err)
	}
	if w.seq() != before || w.knows("jar") {
		t.Errorf("of a refused list %d entries were written, jar known: %t", w.seq()-before, w.knows("jar"))
	}
	if _, err := w.k.Append(context.Background(), list[2:], farm.Sent); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("a reading of a vessel that was never taken gives %v, want not_found", err)
	}
}

// Sending again changes nothing and answers the same; the same identifier with
// other words is a conflict and changes nothing either.
func TestAppendAgain(t *testing.T) {
	w := season(t, small)
	e := w.entry("2026-06-06T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.3})
	first := w.write(e)[0]
	before, said := w.seq(), all(t, w.k)
	second := w.write(e)[0]
	a, _ := json.Marshal(first)
	b, _ := json.Marshal(second)
	if string(a) != string(b) || w.seq() != before {
		t.Errorf("sent again it is answered\n%s\nnot\n%s\n(%d entries more)", b, a, w.seq()-before)
	}
	other := e
	other.Body = []byte(`{"secchi_cm":3.3}`)
	if _, err := w.k.Append(context.Background(), []farm.Entry{other}, farm.Sent); farm.CodeOf(err) != farm.Conflict {
		t.Errorf("the same identifier with another depth gives %v, want conflict", err)
	}
	// In a list too, where the first of it is new.
	fresh := w.entry("2026-06-06T07:05:00Z", "one", "temperature", body{"temp_c": 21})
	if _, err := w.k.Append(context.Background(), []farm.Entry{fresh, other}, farm.Sent); farm.CodeOf(err) != farm.Conflict {
		t.Errorf("a conflict in a list gives %v, want conflict", err)
	}
	if now := all(t, w.k); w.seq() != before || now != said {
		t.Errorf("a conflict changed what is said (%d entries more):\n%s", w.seq()-before, firstDifference(now, said))
	}
}

// What somebody else claims about when it was received is not believed.
func TestAppendStampsReceipt(t *testing.T) {
	w := season(t, small)
	e := w.entry("2026-06-06T07:00:00Z", "one", "temperature", body{"temp_c": 21})
	e.ReceivedAt, e.Seq, e.Hash = moment(t, "2020-01-01T00:00:00Z"), 99, "00"
	got := w.write(e)[0]
	if !got.ReceivedAt.Equal(w.clock()) || got.Seq != w.seq() || got.Hash == "00" {
		t.Errorf("accepted as %+v, want it stamped by the farm's own clock %s", got, w.clock())
	}
}

func TestImport(t *testing.T) {
	w := season(t, small)
	var b strings.Builder
	n, err := w.k.Export(context.Background(), &b)
	if err != nil || int64(n) != w.seq() {
		t.Fatalf("exported %d of %d: %v", n, w.seq(), err)
	}
	file := b.String()

	fresh := newWorld(t, "2026-06-06T07:44:00Z", small)
	bring := func(text string) (added, known int64, err error) {
		return fresh.k.Import(context.Background(), strings.NewReader(text))
	}
	// A file that ends early, or has one bad line, leaves nothing behind.
	for name, text := range map[string]string{
		"cut off":  file[:len(file)-30],
		"bad line": file + `{"kind":"ph","vessel":"one","v":1,"at":"2026-06-06T07:00:00Z","by":"x","body":{"ph":101}}` + "\n",
		"tampered": strings.Replace(file, `"secchi_cm":2.8`, `"secchi_cm":1.8`, 1),
	} {
		if _, _, err := bring(text); farm.CodeOf(err) != farm.Invalid || !strings.HasPrefix(err.Error(), "line ") {
			t.Errorf("%s: %v, want invalid with its line", name, err)
		}
		if fresh.seq() != 0 || fresh.knows("one") {
			t.Errorf("%s: %d entries were written, vessel known: %t", name, fresh.seq(), fresh.knows("one"))
		}
	}
	// In two parts, with a question between: the second part is not overlooked.
	half := strings.Index(file, `"kind":"level"`)
	half = strings.LastIndexByte(file[:half], '\n') + 1
	if _, _, err := bring(file[:half]); err != nil {
		t.Fatal(err)
	}
	part := all(t, fresh.k)
	first := fresh.seq()
	added, known, err := bring(file)
	added, known = added+first, known-first
	if all(t, fresh.k) == part {
		t.Error("the second part of a file changes nothing that is said")
	}
	if err != nil || added != int64(n) || known != 0 {
		t.Fatalf("import: %d new, %d known, %v; want %d new", added, known, err, n)
	}
	if a, b := all(t, fresh.k), all(t, w.k); a != b {
		t.Errorf("an imported farm says otherwise than the one it was exported from:\n%s", firstDifference(a, b))
	}
	added, known, err = bring(file)
	if err != nil || added != 0 || known != int64(n) || fresh.seq() != int64(n) {
		t.Errorf("import again: %d new, %d known, %v, %d in all; want 0 new, %d known", added, known, err, fresh.seq(), n)
	}
	if whole, _, err := fresh.k.Verify(context.Background()); err != nil || whole != int64(n) {
		t.Errorf("verify: %d whole, %v; want %d", whole, err, n)
	}
}
