package web_test

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"sodalake/science/assay"
	"sodalake/web/canned"
)

// The master mix of 8 samples, three controls and a tenth to spare: 12.1 tubes
// of 12.5 + 1 + 1 + 8.5 µL. Worked out by hand from C1 V1 = C2 V2.
func TestPCRSheet(t *testing.T) {
	got := strings.ReplaceAll(said(t, canned.New(), "/checks/pcr?samples=8&assay=hep"), "\u00a0", " ")
	for _, want := range []string{"11 tubes; the mix is made for 12.1", "151.25 µL", "12.10 µL", "102.85 µL", "278.30 µL", "23.00 µL of the mix into each tube", "25.30 µL of the mix are left", "0.75 g of agarose", "472 bp", "positive control", "without template", "extraction blank", "sample 8", "Ultraviolet", "stains"} {
		if !strings.Contains(got, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	if got := said(t, canned.New(), "/checks/pcr?positive_controls=0"); !strings.Contains(got, "the run will be invalid") {
		t.Error("a run without a positive control is not called invalid")
	}
	for _, bad := range []string{"samples=-2", "samples=x", "assay=nowhere", "template_ul=100", "samples=1.5"} {
		if w := get(t, handler(canned.New()), "/checks/pcr?"+bad); w.Code != 422 {
			t.Errorf("%s: status %d", bad, w.Code)
		}
	}
}

func TestLabSheet(t *testing.T) {
	f := canned.NewLots()
	// Each verdict is that of the table of limits, whose values and sources
	// science/assay holds and tests; here only what the page makes of them.
	for _, c := range []struct{ query, want, source string }{
		{"analyte=salmonella&place=fr&found=absent+in+25+g", "passed absent in 25 g lies within each limit", "absence in 25 g is asked for"},
		{"analyte=salmonella&place=fr&found=absent+in+10+g", "missing", "10 g are less than 25 g"},
		{"analyte=salmonella&place=fr&found=present+in+25+g", "failed", "found where absence is asked for"},
		{"analyte=lead&place=eu&found=%3C0.05+mg/kg", "passed <0.05 mg/kg", "below a limit of detection that lies under every limit"},
		{"analyte=lead&place=eu&found=%3C90+mg/kg", "missing", "a limit of detection above the limit"},
		{"analyte=lead&place=eu&found=90+mg/kg", "failed", "over every limit of lead"},
	} {
		if got := said(t, f, "/checks/lab?"+c.query); !strings.Contains(got, "What it says"+c.want) && !strings.Contains(got, "What it says "+c.want) {
			t.Errorf("%s: want %q (%s) in %q", c.query, c.want, c.source, got)
		}
	}
	// A limit that the tables call law is shown with its source.
	shown := said(t, f, "/checks/lab?place=eu")
	for _, l := range assay.Limits("eu") {
		if !strings.Contains(shown, l.Source) {
			t.Errorf("the limit of %s is shown without its source %q", l.Analyte, l.Source)
		}
	}
	good := url.Values{"id": {id("E1")}, "of": {"l:may-a"}, "analyte": {"lead"}, "found": {"< 0.05 mg/kg"}, "laboratory": {"an invented one"}, "place": {"eu"}}
	if w := post(handler(f), "/checks/lab", good); w.Code != 303 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	e, err := f.Entry(context.Background(), id("E1"))
	if err != nil || strings.ReplaceAll(string(e.Body), `\u003c`, "<") != `{"analyte":"lead","check":"laboratory","found":"< 0.05 mg/kg","laboratory":"an invented one","lot":"may-a"}` {
		t.Errorf("%s, %v", e.Body, err)
	}
	writes := f.Writes
	for name, change := range map[string][2]string{"no unit": {"found", "0.21"}, "no portion": {"found", "not detected"}, "empty": {"found", ""}, "no lot": {"of", ""}, "an analyte nobody knows": {"analyte", "gold"}, "negative": {"found", "-1 mg/kg"}} {
		v := url.Values{}
		for k := range good {
			v.Set(k, good.Get(k))
		}
		v.Set("id", id("E2"))
		v.Set(change[0], change[1])
		if w := post(handler(f), "/checks/lab", v); w.Code != 422 || f.Writes != writes {
			t.Errorf("%s: status %d, %d writes", name, w.Code, f.Writes-writes)
		}
	}
}
