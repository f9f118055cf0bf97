package web_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"sodalake/housetest"
	"sodalake/web"
	"sodalake/web/canned"
)

// amountOf reads the grams of an ingredient off the sheet.
const amountOf = `(name => { const tr = [...document.querySelectorAll(".sheet tr")].find(r => r.querySelector(".ing")?.firstChild.data.trim() === name); return tr ? tr.querySelector(".g").textContent.trim() : "" })`

// The amounts move while typing, ticks stay, a slip is said at once, another lot
// is taken, and one tap writes the batch down.
func TestJourneyMix(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	b.go_("/mix")
	b.until("the script has begun", `document.querySelector("[data-mix-go]").hidden`)
	if got := ask[string](b, amountOf+`("Baking soda")`); got != "240 g" {
		t.Errorf("20 L begin with %q of soda, want 240 g", got)
	}
	b.click(".sheet .box label")
	ask[bool](b, `(i => { i.value = "50"; i.dispatchEvent(new Event("input", {bubbles: true})); return true })(document.querySelector("[name=volume]"))`)
	b.until("600 g for 50 L", amountOf+`("Baking soda") === "600 g"`)
	if !ask[bool](b, `document.querySelector(".sheet .box input").checked`) {
		t.Error("the tick is lost when the amounts move")
	}
	if got := ask[string](b, `location.search`); !strings.Contains(got, "volume=50") {
		t.Errorf("the address %q does not hold what was typed", got)
	}
	ask[bool](b, `(i => { i.value = "fifty"; i.dispatchEvent(new Event("input", {bubbles: true})); return true })(document.querySelector("[name=volume]"))`)
	b.until("the slip is said", `document.querySelector(".bad")?.textContent.includes("fifty")`)
	ask[bool](b, `(i => { i.value = "13 gal"; i.dispatchEvent(new Event("input", {bubbles: true})); return true })(document.querySelector("[name=volume]"))`)
	b.until("590.5 g for 13 gal", `/^59\d g$/.test(`+amountOf+`("Baking soda"))`) // 49.2 L, NIST SP 811
	ask[bool](b, `(s => { s.value = "soda-8"; s.dispatchEvent(new Event("change", {bubbles: true})); return true })(document.querySelector("[name='lot.baking-soda']"))`)
	b.until("the other lot stands in the record", `document.querySelector("[name=record]").value.includes("soda-8")`)
	b.click(".mix-record button")
	b.until("recorded", `document.querySelector(".mix-said")?.textContent.includes("Recorded")`)
	last, _ := b.farm.Entries(context.Background(), web.Ask{Newest: true, Limit: 1})
	if e := last.Entries[0]; b.farm.Writes != 1 || e.Kind != "mixed" || !strings.Contains(string(e.Body), `"soda-8":59`) {
		t.Errorf("%d writes, last %s %s", b.farm.Writes, e.Kind, e.Body)
	}
	b.click(".mix-said button")
	b.until("taken back", `!document.querySelector(".mix-said")`)
	if b.farm.Writes != 2 {
		t.Errorf("%d writes, want the batch and its withdrawal", b.farm.Writes)
	}
}

// From the day list to the bench and back: the item is answered.
func TestJourneyTodayToMix(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	b.go_("/")
	ask[bool](b, `document.querySelectorAll("details").forEach(d => d.open = true) || true`)
	b.click("#v-lantern-pond a[href^='/mix?']")
	b.until("the feed of the item", `document.querySelector(".mix-record [name=item]")?.value.startsWith("lantern-pond.")`)
	b.click(".mix-record button")
	b.until("recorded", `document.querySelector(".mix-said")?.textContent.includes("Lantern pond")`)
	b.go_("/")
	b.until("it is done", `document.querySelector("#v-lantern-pond .do-done")`)
	if n := ask[int](b, `document.querySelectorAll("#v-lantern-pond a[href^='/mix?']").length`); n != 0 {
		t.Errorf("the item still asks: %d links", n)
	}
}

// With scripting off a button works it out, and the record is made.
func TestJourneyMixWithoutScripts(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	b.do(func(ctx context.Context, tab *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tab, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return chromedp.Void{}, err
	})
	b.go_("/mix")
	b.do(chromedp.SetValue(chromedp.CSS("[name=volume]"), "30"))
	b.click(".mix-go button")
	b.until("360 g for 30 L", amountOf+`("Baking soda") === "360 g"`)
	b.click(".mix-record button")
	b.until("recorded", `document.querySelector(".mix-said")`)
	b.go_("/mix?mode=ph&vessel=lantern-pond")
	b.do(chromedp.SetValue(chromedp.CSS("[name=by]"), "bicarbonate"))
	b.click(".mix-go button")
	b.until("the effect", `document.querySelector(".mix-facts")?.textContent.includes("conductivity")`)
	b.go_("/shelf/lot")
	b.do(chromedp.SetValue(chromedp.CSS("[name=salt]"), "salt"), chromedp.SetValue(chromedp.CSS("[name=mass]"), "2 kg"))
	b.click("form[action='/shelf/lot'] button")
	// 4600 g as weighed, less 60 g that the 30 L took, and 2 kg more.
	b.until("on the shelf", `document.querySelector("#i-salt")?.textContent.includes("6540")`)
	if b.farm.Writes != 2 {
		t.Errorf("%d writes, want the batch and the lot", b.farm.Writes)
	}
}

// printed prints the page as the browser does and counts its sheets with
// poppler.
func (b *browser) printed() int {
	b.t.Helper()
	exe := housetest.Need(b.t, "pdftotext")
	raw, err := chromedp.Run(b.ctx, func(ctx context.Context, tab *chromedp.Target) ([]byte, error) {
		got, err := cdp.Call(ctx, tab, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true)})
		return got.Data, err
	})
	if err != nil {
		b.t.Fatal(err)
	}
	file := filepath.Join(b.t.ArtifactDir(), "print.pdf")
	if err := os.WriteFile(file, raw, 0o600); err != nil {
		b.t.Fatal(err)
	}
	out, err := exec.Command(exe, "-layout", file, "-").Output()
	if err != nil {
		b.t.Fatal(err)
	}
	if !strings.Contains(string(out), "Mixed by") || strings.Contains(string(out), "How much") {
		b.t.Errorf("the print lacks the lines to sign, or holds the form:\n%s", out)
	}
	return strings.Count(string(out), "\f")
}

// Printed, the sheet is one page of A4: what a browser prints is a PDF whose
// pages are counted.
func TestMixPrintsOnOnePage(t *testing.T) {
	b := open(t, canned.New(), 1280, 900)
	for _, query := range []string{"/mix?mode=medium&volume=200&recipe=pub.zarrouk&water=tap", "/mix?mode=medium&volume=200&recipe=pub.bicarbonate-farm&water=tap"} {
		b.go_(query)
		if pages := b.printed(); pages != 1 {
			t.Errorf("%s prints on %d pages, want one", query, pages)
		}
	}
}
