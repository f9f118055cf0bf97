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

// made is an invented sheet of so many steps.
func made(steps int, large float64) *StepSheet {
	s := &StepSheet{Head: "Saltmarsh lighthouse (invented)", Title: "A sheet", Lead: "Tick each.", Large: large, Foot: "No source.", CareTitle: "Take care", Care: []string{"Hot."}, Signs: [3]string{"By", "When", "Where"}, Made: time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC)}
	x := StepSection{Title: "Steps", Facts: [][2]string{{"Full", "16 cm"}}, Notes: []string{"First a note."}, After: []string{"Afterwards."}, Lines: []string{"Telephone"}}
	for i := range steps {
		x.Steps = append(x.Steps, fmt.Sprintf("Step number %d, long enough that it may take a second line on a sheet of paper in large letters", i+1))
	}
	s.Sections = []StepSection{x}
	return s
}

func textOf(t *testing.T, pdf []byte) (text string, pages int) {
	t.Helper()
	exe := housetest.Need(t, "pdftotext")
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(exe, "-layout", "-enc", "UTF-8", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out), strings.Count(string(out), "\f")
}

// Nothing is lost, on one page or on many; the same sheet has the same bytes.
func TestStepSheet(t *testing.T) {
	for _, c := range []struct {
		steps       int
		large       float64
		least, most int
	}{{3, 0, 1, 1}, {20, 0, 1, 1}, {8, 1.7, 1, 1}, {120, 0, 2, 6}, {60, 1.7, 2, 9}} {
		var a, b bytes.Buffer
		if err := made(c.steps, c.large).PDF(&a); err != nil {
			t.Fatal(err)
		}
		if err := made(c.steps, c.large).PDF(&b); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%d steps: the same sheet has other bytes (%v)", c.steps, err)
		}
		text, pages := textOf(t, a.Bytes())
		if pages < c.least || pages > c.most {
			t.Errorf("%d steps, letters %g times: %d pages, want %d to %d", c.steps, c.large, pages, c.least, c.most)
		}
		for _, want := range []string{"A sheet", "16 cm", "First a note.", "Afterwards.", "Telephone", "Take care", "Hot.", "By", "No source.", "Step number 1,", fmt.Sprintf("Step number %d,", c.steps)} {
			if !strings.Contains(text, want) {
				t.Errorf("%d steps: the paper lacks %q", c.steps, want)
			}
		}
		for i := range c.steps {
			if n := strings.Count(text, fmt.Sprintf("Step number %d,", i+1)); n != 1 {
				t.Errorf("%d steps: number %d stands %d times", c.steps, i+1, n)
			}
		}
	}
	var b bytes.Buffer
	if err := StepSheets(&b, "All", made(1, 0).Made, []*StepSheet{made(4, 1.4), made(5, 1.4), made(6, 1.4)}); err != nil {
		t.Fatal(err)
	}
	if _, pages := textOf(t, b.Bytes()); pages != 3 {
		t.Errorf("three sheets stand on %d pages", pages)
	}
}
