package document

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"sodalake/farm/lot"
	"sodalake/housetest"
	"sodalake/science/process"
	"sodalake/words"
)

// manyLots is a plan of a farm that works hard, invented.
func manyLots(n int) *lot.HazardPlan {
	from := time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)
	h := &lot.HazardPlan{From: from, To: from.AddDate(1, 0, 0), Plan: lot.Plan{PortionG: 3}}
	for _, key := range []string{"salts", "culture", "acidity", "people", "tools", "bodies", "release"} {
		h.Controls = append(h.Controls, lot.Control{Key: key, Critical: key == "culture", Check: lot.Microscope, Limit: map[string]any{"filaments": 100.0, "within_h": 24.0, "limit_ph": 9.8, "every_d": 365.0}})
	}
	for i := range n {
		l := *aLot()
		l.ID = fmt.Sprintf("lot-%03d", i)
		for _, key := range []string{lot.Microscope, lot.Smell, lot.Acidity, lot.Colour, lot.Cleaning, lot.TimeClock, lot.Dryness} {
			l.Checks = append(l.Checks, lot.Check{Key: key, Required: true, State: process.Passed, Why: lot.Said{Key: "lots.why.in_time"}})
		}
		h.Lots = append(h.Lots, l)
	}
	return h
}

// The bound plan has a page for each thing it says, numbered, and reads back.
func TestHazardReport(t *testing.T) {
	speak := words.New("en", words.Metric, time.UTC)
	var b, again bytes.Buffer
	made := time.Date(2032, 1, 2, 0, 0, 0, 0, time.UTC)
	for _, w := range []*bytes.Buffer{&b, &again} {
		if err := HazardReport(manyLots(30), []lot.Register{{Kind: "cleaned", What: "cloth", Result: "good", By: "ines", At: made}}, "Lighthouse", speak, made).PDF(w); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same plan has other bytes")
	}
	file := filepath.Join(t.TempDir(), "plan.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(housetest.Need(t, "pdftotext"), "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimRight(string(out), "\f"), "\f")
	if len(pages) < 5 {
		t.Fatalf("%d pages", len(pages))
	}
	for i, p := range pages {
		if lines := strings.Fields(p); lines[len(lines)-1] != strconv.Itoa(i+1) || !strings.Contains(p, "Lighthouse") {
			t.Errorf("page %d has no head or ends in %q", i+1, lines[len(lines)-1])
		}
	}
	text := strings.Join(strings.Fields(string(out)), " ")
	for _, want := range []string{"at least 100 filaments", "lot-000", "lot-029", "Checks of lot lot-017", "What local law adds", "Drawn up by"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in it", want)
		}
	}
}

// A bound plan of more than 60 pages.
func BenchmarkHazardReport(b *testing.B) {
	speak := words.New("en", words.Metric, time.UTC)
	h := manyLots(300)
	b.ReportAllocs()
	for b.Loop() {
		var out bytes.Buffer
		if err := HazardReport(h, nil, "Lighthouse", speak, time.Unix(0, 0)).PDF(&out); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(bytes.Count(out.Bytes(), []byte("/Type /Page\n"))), "pages")
	}
}
