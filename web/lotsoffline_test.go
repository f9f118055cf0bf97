package web_test

import (
	"context"
	"testing"

	"sodalake/web/canned"
)

// The running sheet of a lot without signal: steps are tapped, wait in the phone, on a
// kept sheet too, and come once and in order, each with the time at which it was done.
func TestJourneyLotOffline(t *testing.T) {
	b := open(t, canned.NewLots(), 360, 640)
	b.go_("/lots/may-a")
	b.until("the sheet", `document.querySelector("[data-send] select")`)
	b.until("the worker is there", `navigator.serviceWorker.controller`)
	b.go_("/lots/may-a") // which it keeps now
	b.until("the sheet again", `document.querySelector("[data-send] select")`)
	before, err := b.farm.Lot(context.Background(), "may-a", canned.Now)
	if err != nil {
		t.Fatal(err)
	}
	b.down.Store(true)
	for i, step := range []string{"weighed", "into_cold"} {
		ask[bool](b, `(() => { document.querySelector("[data-send] [name=step]").value = "`+step+`"; document.querySelector("[data-send] [name=temp]").value = "`+[]string{"22", "4"}[i]+`"; return true })()`)
		b.click("[data-send] button")
		b.until("queued", `!document.querySelector("[data-said]").hidden && Object.keys(localStorage).length === `+[]string{"1", "2"}[i])
	}
	b.shot("queued")
	// The phone slept and opens the sheet that it kept.
	b.go_("/lots/may-a")
	b.until("the kept sheet says that it is old", `/No signal/.test(document.querySelector(".stale")?.textContent)`)
	ask[bool](b, `(() => { document.querySelector("[data-send] [name=step]").value = "into_freezer"; return true })()`)
	b.click("[data-send] button")
	b.until("a third waits", `Object.keys(localStorage).length === 3`)
	if b.farm.Writes != 0 {
		t.Fatal("written without signal")
	}
	b.down.Store(false)
	b.go_("/lots/may-a")
	b.until("sent", `Object.keys(localStorage).length === 0`)
	v, err := b.farm.Lot(context.Background(), "may-a", canned.Now)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(v.Steps) - len(before.Steps); n != 3 || b.farm.Writes != 3 {
		t.Fatalf("%d steps came in %d writes", n, b.farm.Writes)
	}
	if a, z := v.Steps[len(v.Steps)-3], v.Steps[len(v.Steps)-2]; a.Step != "weighed" || z.Step != "into_cold" || z.TempC == nil || *z.TempC != 4 {
		t.Errorf("steps %+v, %+v", a, z)
	}
	// With signal a step is written at once and the page shows it.
	b.go_("/lots/may-a")
	ask[bool](b, `(() => { document.querySelector("[data-send] [name=step]").value = "out_of_freezer"; return true })()`)
	b.click("[data-send] button")
	b.until("the step stands there", `/out of the freezer/.test(document.querySelector(".log").textContent)`)
	if b.farm.Writes != 4 {
		t.Errorf("%d writes", b.farm.Writes)
	}
}
