package document

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sodalake/farm/lot"
	"sodalake/housetest"
	"sodalake/science/process"
	"sodalake/words"
)

// A lot of an invented farm.
func aLot() *lot.Lot {
	pack := 50.0
	born := time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC)
	return &lot.Lot{
		ID: "tower-0412", Born: born, Began: born, PackedAt: born.Add(30 * time.Hour), Form: process.DriedSealed, State: lot.Released, PackG: &pack,
		Keep: &lot.Keep{Form: process.DriedSealed, From: born, SellBy: born.AddDate(0, 9, 0)},
	}
}

func labelText(t *testing.T, pdf []byte) (text, code string) {
	t.Helper()
	totext, topng, zbar := housetest.Need(t, "pdftotext"), housetest.Need(t, "pdftoppm"), housetest.Need(t, "zbarimg")
	dir := t.TempDir()
	file := filepath.Join(dir, "label.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(totext, "-layout", file, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	if err := exec.Command(topng, "-r", "300", "-f", "1", "-l", "1", "-png", file, filepath.Join(dir, "page")).Run(); err != nil {
		t.Fatalf("pdftoppm: %v", err)
	}
	pages, _ := filepath.Glob(filepath.Join(dir, "page*.png"))
	read, err := exec.Command(zbar, "--raw", "-q", pages[0]).Output()
	if err != nil {
		t.Fatalf("zbarimg reads no code: %v", err)
	}
	return strings.Join(strings.Fields(string(out)), " "), strings.TrimSpace(string(read))
}

// The label says what it must by the rules of either place, its code is read by
// an independent reader at 300 dots an inch, in every size.
func TestLabel(t *testing.T) {
	speak := words.New("en", words.Metric, time.UTC)
	for _, c := range []struct {
		rules string
		says  []string
	}{
		// Expected amounts of dried spirulina: USDA SR28, item 11667, rounded by the
		// Commission's guidance of December 2012 (eu) and 21 CFR 101.9 (us).
		{"eu", []string{"1637 kJ / 388 kcal", "Fat 7.7 g", "of which saturates 2.7 g", "Carbohydrate 20 g", "of which sugars 3.1 g", "Fibre 3.6 g", "Protein 57 g", "Salt 2.6 g"}},
		{"us", []string{"of a portion of 3 g", "10 kcal", "Fat 0 g", "Sodium 30 mg", "Protein 2 g"}},
	} {
		plan := &lot.Plan{Rules: c.rules, PortionG: 3, Address: "https://light.example/"}
		for _, size := range LabelSizes {
			var a, b bytes.Buffer
			for _, w := range []*bytes.Buffer{&a, &b} {
				if err := LabelOf(aLot(), plan, speak, size, 0, time.Date(2031, 5, 6, 0, 0, 0, 0, time.UTC)).PDF(w); err != nil {
					t.Fatal(err)
				}
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s: two labels of the same have different bytes", size.Key)
			}
			text, code := labelText(t, a.Bytes())
			if want := "https://light.example/lots/tower-0412/trace"; code != want {
				t.Errorf("%s: the code says %q, want %q", size.Key, code, want)
			}
			for _, want := range append(c.says, "dried", "tower-0412", "2031-05-04", "2031-05-05", "2032-02-04", "50 g", "no warmer than 25", "phenylketonuria", "vitamin B12", "Grower and address", "local law") {
				if !strings.Contains(strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(want, " ", "")) {
					t.Errorf("%s, %s: %q is not in: %s", size.Key, c.rules, want, text)
				}
			}
			for _, never := range []string{"NOT RELEASED", "approved", "certified", "afe"} {
				if strings.Contains(strings.ReplaceAll(text, "safe.example", ""), never) {
					t.Errorf("%s: %q stands on the label: %s", size.Key, never, text)
				}
			}
		}
	}
}

// A lot that no one let go says so on its label; what is not known stays blank.
func TestLabelNotReleased(t *testing.T) {
	speak := words.New("en", words.US, time.UTC)
	l := aLot()
	l.State, l.PackG, l.Keep, l.Form = lot.OnHold, nil, nil, process.FreshUnwashed
	var b bytes.Buffer
	size, _ := LabelSizeOf("99x68")
	if err := LabelOf(l, &lot.Plan{Rules: "us", PortionG: 3}, speak, size, 0, l.Born).PDF(&b); err != nil {
		t.Fatal(err)
	}
	text, code := labelText(t, b.Bytes())
	if code != "lot:tower-0412" {
		t.Errorf("without an address the code says %q", code)
	}
	for _, want := range []string{"NOT RELEASED: on hold", "________", "no table holds for paste", "refrigerator"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in: %s", want, text)
		}
	}
	if strings.Contains(text, "Best before") {
		t.Errorf("a date that nobody knows: %s", text)
	}
}
