package document

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sodalake/housetest"
)

// bench is an invented sheet.
func bench(rows, cares int) *MixSheet {
	s := &MixSheet{
		Head: "Mixing sheet · Saltmarsh lighthouse (invented) · 4 May 2031", Title: "200 L of Station medium",
		Lead: "8 g of soda a litre, 3.3 kg of salts in all. Tick each one as it goes in.", Columns: [5]string{"Weigh", "Salt", "Weighed", "Lot", "In"},
		GetsTitle: "What you will get", Gets: []MixGet{{"pH as mixed", "8.1", "", "8.0–8.2"}, {"pH after 3 days in air", "8.8", "", "8.7–9.0"}, {"Salts", "19", "mS/cm", "18–20"}},
		CareTitle: "Take care", Signs: [3]string{"Mixed by", "Date and hour", "Vessel"}, Made: time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC),
	}
	for i := range rows {
		if i%3 == 0 {
			s.Stages = append(s.Stages, MixStage{Number: fmt.Sprint(len(s.Stages) + 1), Text: "In a jug of its own; pour it in."})
		}
		st := &s.Stages[len(s.Stages)-1]
		st.Rows = append(st.Rows, MixRow{fmt.Sprint(1600 - i), "g", fmt.Sprintf("salt number %d", i+1), "3⅓ US cups, ½ tsp", fmt.Sprintf("Z-%02d", i)})
	}
	for i := range cares {
		s.Care = append(s.Care, fmt.Sprintf("Caution number %d: feeds a fire (H272). Dry, apart from anything that burns; out of reach of children; §µ°é.", i+1))
	}
	return s
}

// read gives the text of a PDF back by another program, poppler's pdftotext.
func read(t *testing.T, s *MixSheet) (text string, pages int) {
	t.Helper()
	exe := housetest.Need(t, "pdftotext")
	var b bytes.Buffer
	if err := s.PDF(&b); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(exe, "-layout", "-enc", "UTF-8", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out), strings.Count(string(out), "\f")
}

func TestMixSheet(t *testing.T) {
	s := bench(9, 9)
	text, pages := read(t, s)
	if pages != 1 {
		t.Errorf("%d pages, want one sheet", pages)
	}
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"Mixing sheet · Saltmarsh", "200 L of Station medium", "Weighed", "1600", "salt number 9", "Z-08", "3 1/3 US cups", "½ tsp",
		"What you will get", "8.0–8.2", "mS/cm", "Caution number 9", "§µ°é", "Mixed by", "Date and hour"} {
		if !strings.Contains(flat, want) {
			t.Errorf("the sheet lacks %q:\n%s", want, text)
		}
	}
	// Amounts stand left of their names, in the order of mixing.
	last := -1
	for i := range 9 {
		at := strings.Index(text, fmt.Sprintf("salt number %d", i+1))
		if at < last {
			t.Errorf("salt number %d stands before the one before", i+1)
		}
		last = at
		line := text[strings.LastIndex(text[:at], "\n")+1 : at]
		if a := fmt.Sprint(1600 - i); !strings.Contains(line, a) && !strings.Contains(text[max(0, at-200):at+200], a) {
			t.Errorf("no %s beside salt number %d", a, i+1)
		}
	}
}

// A long sheet shrinks, and one that would become too small goes on overleaf;
// nothing is left out.
func TestMixSheetLong(t *testing.T) {
	for _, c := range []struct{ rows, cares, pages int }{{14, 14, 1}, {24, 45, 3}} {
		text, pages := read(t, bench(c.rows, c.cares))
		if pages > c.pages {
			t.Errorf("%d rows and %d cautions take %d pages, more than %d", c.rows, c.cares, pages, c.pages)
		}
		for i := range c.rows {
			if !strings.Contains(text, fmt.Sprintf("salt number %d\n", i+1)) && !strings.Contains(text, fmt.Sprintf("salt number %d ", i+1)) {
				t.Errorf("salt number %d is left out", i+1)
			}
		}
		for i := range c.cares {
			if !strings.Contains(text, fmt.Sprintf("Caution number %d:", i+1)) {
				t.Errorf("caution number %d is left out", i+1)
			}
		}
	}
}

// The same sheet made at the same moment has the same bytes.
func TestMixSheetSame(t *testing.T) {
	var a, b bytes.Buffer
	if err := bench(9, 5).PDF(&a); err != nil {
		t.Fatal(err)
	}
	if err := bench(9, 5).PDF(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) || !bytes.HasPrefix(a.Bytes(), []byte("%PDF-1.")) {
		t.Error("two sheets of one moment differ")
	}
	t.Logf("%d bytes", a.Len())
}

func BenchmarkMixSheet(b *testing.B) {
	s := bench(9, 9)
	b.ReportAllocs()
	for b.Loop() {
		var out bytes.Buffer
		if err := s.PDF(&out); err != nil {
			b.Fatal(err)
		}
	}
}
