package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"sodalake/housetest"
	"sodalake/web"
	"sodalake/web/canned"
)

// browser is one tab in front of a farm of its own.
type browser struct {
	t    *testing.T
	ctx  context.Context
	url  string
	farm *canned.Farm
	down atomic.Bool // the server does not answer

	mu   sync.Mutex
	said []string // what the browser complained of
}

// open starts a browser with an empty profile. What the page's scripts throw
// and what the content policy stops fails the test.
func open(t *testing.T, f *canned.Farm, width, height int64) *browser {
	t.Helper()
	exe := housetest.Need(t, "chromium", "chromium-browser", "google-chrome")
	b := &browser{t: t, farm: f}
	inner := handler(f)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if b.down.Load() {
			panic(http.ErrAbortHandler)
		}
		inner.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	b.url = server.URL
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(exe), chromedp.NoSandbox, chromedp.Flag("disable-background-networking", true))
	// On a busy machine the browser now and then does not start: it is tried
	// three times.
	var ctx context.Context
	for try := 1; ; try++ {
		alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
		tab, stop2 := chromedp.NewContext(alloc)
		limited, stop3 := context.WithTimeout(tab, 5*time.Minute) // a slow machine under the race detector
		err := chromedp.Do(limited, func(context.Context, *chromedp.Target) (chromedp.Void, error) { return chromedp.Void{}, nil })
		end := func() { stop3(); stop2(); stop() }
		if err == nil {
			ctx = limited
			t.Cleanup(end)
			break
		}
		end()
		if try == 3 {
			t.Fatal(err)
		}
	}
	b.ctx = ctx
	b.size(width, height)
	logs, faults := chromedp.Events(ctx, log.EntryAdded), chromedp.Events(ctx, runtime.ExceptionThrown)
	go func() {
		for e, err := range logs {
			if err != nil {
				return
			}
			if e.Entry != nil && e.Entry.Level == log.EntryLevelError && !strings.Contains(e.Entry.Text, "ERR_EMPTY_RESPONSE") { // that is our lost signal
				b.complain(e.Entry.Text + " " + e.Entry.URL)
			}
		}
	}()
	go func() {
		for e, err := range faults {
			if err != nil {
				return
			}
			if e.ExceptionDetails != nil {
				b.complain("script: " + e.ExceptionDetails.Text)
			}
		}
	}()
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, s := range b.said {
			t.Errorf("the browser complains: %s", s)
		}
	})
	return b
}

func (b *browser) complain(text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.said = append(b.said, text)
}

// do runs the actions one by one. Where a page is replaced between finding a
// place and acting on it, as on a busy machine, the place is looked for again:
// nothing was done to it yet.
func (b *browser) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for _, a := range actions {
		for try := 1; ; try++ {
			err := chromedp.Do(b.ctx, a)
			if err == nil {
				break
			}
			if try == 5 || !strings.Contains(strings.ToLower(err.Error()), "node with given id") {
				b.t.Fatal(err)
			}
			time.Sleep(100 * time.Millisecond)
		}
	}
}

func (b *browser) size(width, height int64) {
	b.t.Helper()
	b.do(func(ctx context.Context, tab *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tab, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1, Mobile: width < 500})
		return chromedp.Void{}, err
	})
}

func (b *browser) scheme(name string) {
	b.t.Helper()
	b.do(func(ctx context.Context, tab *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}}})
		return chromedp.Void{}, err
	})
}

func (b *browser) go_(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.url + path))
}

// ask evaluates an expression in the page.
func ask[T any](b *browser, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// until waits until the expression is true. (The library's own waiting builds
// functions from text, which the content policy rightly stops.)
func (b *browser) until(what, js string) {
	b.t.Helper()
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if v, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("Boolean("+js+")")); err == nil && v {
			return
		}
	}
	b.shot("stuck")
	b.t.Fatalf("did not happen: %s", what)
}

// shot keeps a picture among the test's artifacts.
func (b *browser) shot(name string) {
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.WriteFile(filepath.Join(b.t.ArtifactDir(), name+".png"), png, 0o644)
	}
	if err != nil {
		b.t.Logf("no picture %s: %v", name, err)
	}
}

func (b *browser) click(css string) {
	b.t.Helper()
	b.do(chromedp.Click(chromedp.CSS(css)))
}

func (b *browser) keys(digits string) {
	b.t.Helper()
	for _, d := range digits {
		ask[bool](b, fmt.Sprintf(`[...document.querySelectorAll(".key-btn")].find(k => k.textContent === %q).click() || true`, string(d)))
	}
}

// A first run: place, vessel with its volume shown while typing, what is in it,
// the first note.
func TestJourneyFirstRun(t *testing.T) {
	b := open(t, canned.Empty(), 360, 640)
	b.go_("/")
	b.click(".steps3 a.button")
	b.until("the form of the place", `document.querySelector("[name=lat_deg]")`)
	for name, v := range map[string]string{"name": "Test quay", "lat_deg": "44.2", "lon_deg": "-14.5", "elevation_m": "3"} {
		b.do(chromedp.SetValue(chromedp.CSS("[name="+name+"]"), v))
	}
	b.do(chromedp.SetValue(chromedp.CSS("[name=timezone]"), "Etc/GMT+1"))
	b.click("form[action='/farm/site'] button")
	b.until("the form of a vessel", `document.querySelector("[name=shape]")`)
	ask[bool](b, `document.querySelector("[value=box]").click() || true`)
	for name, v := range map[string]string{"name": "Quay box", "'box.length'": "200", "'box.width'": "100", "'box.height'": "30", "full_level": "20"} {
		b.do(chromedp.SendKeys(chromedp.CSS("[name="+name+"]"), v))
	}
	// 2 m x 1 m x 0.2 m = 400 L
	b.until("the volume while typing", `document.querySelector("[data-volume]").textContent.includes("400")`)
	if n := ask[int](b, `[...document.querySelectorAll(".dim")].filter(d => d.offsetParent).length`); n != 1 {
		t.Errorf("%d sets of dimensions are shown, want the chosen shape's", n)
	}
	b.click("form[action='/farm/vessel'] .button-solid")
	b.until("what is in it", `document.querySelector("[name=volume]")`)
	b.do(chromedp.SendKeys(chromedp.CSS("[name=volume]"), "120"))
	b.click("form[action='/farm/inside'] button")
	b.until("the note sheet", `document.querySelector("[data-pad]:not([hidden])")`)
	if s, _ := b.farm.Setup(context.Background()); len(s.Vessels) != 1 || !s.HasSite || s.Head != 3 {
		t.Errorf("setup %+v", s)
	}
}

// The ten-second sheet: everything on a short phone without scrolling; vessel,
// kind, digits, Done.
func TestJourneyNote(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.go_("/note")
	b.until("the pad", `document.querySelectorAll(".key-btn").length === 12`)
	if tall := ask[int](b, `document.documentElement.scrollHeight`); tall > 640 {
		b.shot("tall")
		t.Errorf("the sheet is %d px high, more than 640", tall)
	}
	ask[bool](b, `document.querySelector("[value=boat-pond]").click() || true`)
	ask[bool](b, `document.querySelector("[value=secchi]").click() || true`)
	b.keys("2.7")
	if s := ask[string](b, `document.querySelector("[data-expect]").textContent`); !strings.Contains(s, "This fits.") {
		t.Errorf("2.7 cm is said to be %q", s)
	}
	if s := ask[string](b, `document.querySelector("[data-summary]").textContent`); s != "Boat pond, Disc 2.7\u00a0cm" {
		t.Errorf("the button says %q", s)
	}
	b.click(".note-end button")
	b.until("said", `document.querySelector("[data-said]").textContent.startsWith("Noted: Boat pond, disc 2.7")`)
	// A second one straight after, under an identifier of its own.
	b.keys("2.6")
	b.click(".note-end button")
	b.until("said again", `document.querySelector("[data-said]").textContent.startsWith("Noted: Boat pond, disc 2.6")`)
	page, _ := b.farm.Entries(context.Background(), web.Ask{Newest: true, Limit: 2})
	if b.farm.Writes != 2 || page.Entries[0].Kind != "secchi" || page.Entries[0].ID == page.Entries[1].ID {
		t.Errorf("%d writes, last %+v", b.farm.Writes, page.Entries)
	}
}

// Without signal notes wait in the phone, their number stands in sight, and
// they are sent once and in order when it is back.
func TestJourneyOffline(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.go_("/note?vessel=boat-pond&kind=ph")
	b.until("the pad", `document.querySelectorAll(".key-btn").length === 12`)
	b.until("the worker is there", `navigator.serviceWorker.controller`) // else its script is asked for without signal
	b.down.Store(true)
	for i, v := range []string{"10.1", "10.2"} {
		b.keys(v)
		b.click(".note-end button")
		b.until("queued", fmt.Sprintf(`document.querySelector("[data-outbox]").textContent.startsWith("%d note")`, i+1))
	}
	b.shot("queued")
	if b.farm.Writes != 0 {
		t.Fatal("written without signal")
	}
	b.down.Store(false)
	b.go_("/")
	b.until("sent", `Object.keys(localStorage).length === 0`)
	page, _ := b.farm.Entries(context.Background(), web.Ask{Newest: true, Limit: 2})
	if b.farm.Writes != 2 || string(page.Entries[0].Body) != `{"ph":10.2}` || string(page.Entries[1].Body) != `{"ph":10.1}` {
		t.Errorf("%d writes: %s then %s", b.farm.Writes, page.Entries[1].Body, page.Entries[0].Body)
	}
	if n := ask[int](b, `Object.keys(localStorage).length`); n != 0 {
		t.Errorf("%d notes are left in the phone", n)
	}
}

// On an address that the browser trusts, the sheet opens again with no signal
// at all, says that it is old, and what is noted on it is sent later.
func TestJourneyReloadOffline(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.go_("/note")
	b.until("the worker has taken over", `navigator.serviceWorker.controller`)
	b.down.Store(true)
	for _, v := range []string{"10.1", "10.2"} {
		b.go_("/note?kind=ph") // the same stored sheet each time
		b.until("the stored sheet says that it is old", `/No signal/.test(document.querySelector(".stale")?.textContent)`)
		ask[bool](b, `document.querySelector("[value=boat-pond]").click() || true`)
		ask[bool](b, `document.querySelector("[value=ph]").click() || true`)
		b.keys(v)
		b.click(".note-end button")
		b.until("queued", `document.querySelector("[data-outbox]").textContent !== ""`)
	}
	b.down.Store(false)
	b.go_("/")
	b.until("sent", `Object.keys(localStorage).length === 0`)
	if b.farm.Writes != 2 {
		t.Errorf("%d writes of two notes from one stored sheet", b.farm.Writes)
	}
}

// What the server refuses is not lost from sight and does not hold up others.
func TestJourneyRefused(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.go_("/note?vessel=boat-pond&kind=ph")
	b.until("the pad", `document.querySelectorAll(".key-btn").length === 12`)
	b.keys("101")
	b.click(".note-end button")
	b.until("refused with its reason", `/ph 101/.test(document.querySelector("[data-said]").textContent)`)
	b.mu.Lock()
	b.said = nil // the browser notes the refusal in its log: that is meant
	b.mu.Unlock()
	if b.farm.Writes != 0 {
		t.Error("pH 101 was written")
	}
}

// An item done, then undone; another one with its own amount.
func TestJourneyToday(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.go_("/")
	b.click("#v-cistern-tank .do:first-child form .tick")
	b.until("done", `document.querySelector("#v-cistern-tank .ticked")`)
	b.click("#v-cistern-tank .ticked")
	b.until("undone", `!document.querySelector("#v-cistern-tank .ticked")`)
	b.click("#v-lantern-pond .do-now summary")
	b.until("the reasons", `document.querySelector("#v-lantern-pond details[open] .why dl")`)
	b.do(chromedp.SetValue(chromedp.CSS("#v-lantern-pond details[open] [name=amount]"), "280"))
	b.click("#v-lantern-pond details[open] .amount-edit button")
	b.until("280 L stand", `document.querySelector("#v-lantern-pond .do-done .amt b")?.textContent === "280"`)
	if b.farm.Writes != 3 {
		t.Errorf("%d writes, want the act, its correction and the other act", b.farm.Writes)
	}
}

// Tap the chart for its values, or use the slider with keys.
func TestJourneyPick(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	b.go_("/vessels/boat-pond")
	b.until("the slider", `document.querySelector(".picker input[type=range]")`)
	before := ask[string](b, `document.querySelector("[data-when]").textContent`)
	b.do(chromedp.Focus(chromedp.CSS(".picker input[type=range]")), chromedp.KeyEvent("\u0302"))
	ask[bool](b, `(r => { r.value = 3; r.dispatchEvent(new Event("input")); return true })(document.querySelector(".picker input[type=range]"))`)
	after := ask[string](b, `document.querySelector("[data-when]").textContent + document.querySelector("[data-value]").textContent`)
	if before == after || !strings.Contains(after, "g/L") {
		t.Errorf("picked %q after %q", after, before)
	}
	ask[bool](b, `(s => { const q = s.getBoundingClientRect(); s.dispatchEvent(new PointerEvent("pointerdown", {clientX: q.left + q.width * .9, clientY: q.top + 50})); return true })(document.querySelector(".on-phone svg[data-xy]"))`)
	if tapped := ask[string](b, `document.querySelector("[data-when]").textContent`); tapped == before {
		t.Error("a tap on the chart picks nothing")
	}
}

// Everything works with scripting off.
func TestJourneyWithoutScripts(t *testing.T) {
	b := open(t, canned.New(), 360, 640)
	b.do(func(ctx context.Context, tab *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tab, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return chromedp.Void{}, err
	})
	b.go_("/note?vessel=boat-pond&kind=level")
	b.do(chromedp.SendKeys(chromedp.CSS("[name=value]"), "15.8"), chromedp.Click(chromedp.CSS(".note-end button")))
	b.until("noted", `document.querySelector("[data-said]").textContent.startsWith("Noted: Boat pond")`)
	b.go_("/")
	b.click("#v-lantern-pond .do-now form .tick")
	b.until("done", `document.querySelector("#v-lantern-pond .ticked")`)
	b.go_("/calc/dilution")
	for name, v := range map[string]string{"volume_l": "200", "from_g_per_l": "0.6", "to_g_per_l": "0.2"} {
		b.do(chromedp.SendKeys(chromedp.CSS("[name="+name+"]"), v))
	}
	b.click(".calc-form .button-solid")
	b.until("the answer", `document.querySelector(".answers")?.textContent.includes("400")`)
	if b.farm.Writes != 2 {
		t.Errorf("%d writes, want 2", b.farm.Writes)
	}
}
