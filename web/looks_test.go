package web_test

import (
	"strings"
	"testing"

	"sodalake/web/canned"
)

// looksJS checks a page in the browser as a person meets it. It returns what is
// wrong, one a line.
//
// Sources: WCAG 2.2, 1.4.3 and 1.4.6 (contrast; ours is 7:1 everywhere, the
// enhanced level, because pages are read in the sun), relative luminance as
// defined there; 1.4.10 (no sideways scrolling at 320 px); 2.4.3 (focus order);
// 2.5.8 (target size; ours is 48 px, inline links excepted as there).
const looksJS = `(() => {
const out = [];
const paper = document.documentElement.clientWidth; // on a phone innerWidth grows with what sticks out
const lum = c => { const f = c.map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
const rgb = s => { const m = /rgba?\(([^)]+)\)/.exec(s); if (!m) return null; const p = m[1].split(/[ ,\/]+/).map(Number); return p.length > 3 && p[3] === 0 ? null : p; };
const ratio = (a, b) => { const x = lum(a), y = lum(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
const seen = el => { const s = getComputedStyle(el); return el.getClientRects().length > 0 && s.visibility !== "hidden" && !el.closest(".vh, .skip"); };
const ground = el => {
  if (el.closest(".do-now .amt")) return rgb(getComputedStyle(el.closest(".amt"), "::before").backgroundColor);
  for (let e = el; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c) return c; }
  return [255, 255, 255];
};
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let n; (n = walk.nextNode());) {
  const el = n.parentElement;
  if (!n.data.trim() || !seen(el)) continue;
  const s = getComputedStyle(el);
  const svg = el.closest("svg");
  let fg = rgb(svg ? s.fill : s.color), bg = ground(svg || el);
  if (el.classList.contains("t-due")) bg = rgb(getComputedStyle(svg.querySelector(".due")).fill);
  if (!fg || !bg) continue;
  const grounds = [bg];
  if (svg && !el.classList.contains("t-due") && svg.querySelector(".future")) grounds.push(rgb(getComputedStyle(svg.querySelector(".future")).fill));
  for (const g of grounds) { const r = ratio(fg, g); if (r < 7) out.push("contrast " + r.toFixed(2) + " of " + JSON.stringify(n.data.trim().slice(0, 30))); }
  const size = parseFloat(s.fontSize) * (svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1);
  if (size < (paper < 350 ? 11 : 12.9)) out.push("text of " + size.toFixed(1) + " px: " + n.data.trim().slice(0, 30));
}
const root = document.documentElement;
if (root.scrollWidth > paper) {
  const wide = [...document.querySelectorAll("body *")].filter(e => seen(e) && e.getBoundingClientRect().right > paper + 1 && !e.closest("svg")).slice(0, 3).map(e => e.tagName + "." + e.className);
  out.push("scrolls sideways: " + root.scrollWidth + " px, " + wide.join(", "));
}
for (const el of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
  if (!seen(el)) continue;
  let box = el.getBoundingClientRect();
  if (el.matches("input[type=radio], input[type=checkbox]")) box = el.closest("label").getBoundingClientRect();
  if (el.matches(".entry-head h2 a, .log td a") || el.closest("p.caption, .entry-facts, p.held")) { if (box.height < 20) out.push("target of " + box.height.toFixed(0) + " px: " + el.textContent.trim().slice(0, 30)); continue; }
  if (box.height < 47.5 || box.width < 47.5) out.push("target " + box.width.toFixed(0) + " x " + box.height.toFixed(0) + ": " + (el.textContent.trim() || el.name || el.className).slice(0, 40));
}
for (const el of document.querySelectorAll("[tabindex]")) if (el.tabIndex > 0) out.push("tabindex " + el.tabIndex);
// The order of focus is the order of reading: no focusable lies above the one before in the same column.
// Text that is cut off.
for (const el of document.querySelectorAll("h1, h2, p, li, td, th, dd, label, .button, .what, .amt b, .tabs a")) {
  if (seen(el) && el.scrollWidth > el.clientWidth + 1 && getComputedStyle(el).overflow !== "visible") out.push("cut off: " + el.textContent.trim().slice(0, 30));
  const r = el.getBoundingClientRect();
  if (seen(el) && r.right > paper + 1 && !el.closest("svg")) out.push("runs out of the page: " + el.textContent.trim().slice(0, 30));
}
return [...new Set(out)].slice(0, 25).join("\n");
})()`

func TestLooks(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	targets := []string{"/", "/vessels", "/vessels/boat-pond", "/vessels/sill-bottles", "/note?vessel=boat-pond&kind=secchi&value=2.7", "/note?kind=fed", "/note?kind=smell", "/note/kinds", "/calc",
		"/calc/dilution?volume_l=200&from_g_per_l=0.6&to_g_per_l=0.2", "/farm", "/farm/climate", "/farm/instruments", "/farm/vessel", "/farm/inside?vessel=boat-pond", "/records", "/records/proof",
		"/mix?mode=medium&volume=200&recipe=pub.bicarbonate-farm&water=tap", "/mix?mode=medium&recipe=ready&ready_mix_g_per_l=12&ready_mix_ph=8.4", "/mix?mode=top&vessel=boat-pond", "/mix?mode=feed&vessel=lantern-pond",
		"/mix?mode=ph&vessel=cistern-tank&by=bicarbonate", "/mix/hold", "/shelf", "/shelf/lot", "/shelf/water", "/why", "/calc/mix", "/plan",
		"/power", "/power?pump_w=14&hours=8&by_sun=yes&panel_w=20&battery_ah=12&max_lift=1.8&max_flow=1200&volume=800", "/build", "/build?a_length=3&a_width=1&a_depth=15&b_length=3&b_width=1&b_depth=15&b_cover=tunnel&wish=100&p_kwh=1",
		"/wrong", "/wrong?vessel=lantern-pond", "/wrong?vessel=boat-pond&s=yellow&s=thinner&s=settled&s=floating_skin", "/wrong/apart?vessel=boat-pond", "/handing"}
	targets = append(targets, nurseryLooks...)
	for _, size := range [][2]int64{{320, 640}, {360, 740}, {1280, 900}} {
		b.size(size[0], size[1])
		for _, scheme := range []string{"light", "dark"} {
			if size[0] == 320 && scheme == "dark" {
				continue
			}
			b.scheme(scheme)
			for _, target := range targets {
				b.go_(target)
				ask[bool](b, `document.querySelectorAll("details:not(.when)").forEach(d => d.open = true) || true`)
				if bad := ask[string](b, looksJS); bad != "" {
					t.Errorf("%s at %d px, %s:\n  %s", target, size[0], scheme, strings.ReplaceAll(bad, "\n", "\n  "))
				}
			}
		}
	}
}

// A page that breaks each rule on purpose is caught.
func TestLooksCatches(t *testing.T) {
	b := open(t, canned.New(), 360, 740)
	b.go_("/records")
	ask[bool](b, `(() => { const d = document.createElement("div"); d.innerHTML = '<p class="x1">pale</p><a href="/x" class="x2">x</a><div class="x3"></div><p class="x4">tiny</p>'; document.querySelector("main").append(d);
		const set = (c, o) => Object.assign(d.querySelector(c).style, o); set(".x1", {color: "#888888"}); set(".x2", {display: "block", width: "20px", height: "20px"}); set(".x3", {width: "500px", height: "10px"}); set(".x4", {fontSize: "9px"}); return true })()`)
	got := ask[string](b, looksJS)
	for _, want := range []string{"contrast", "target 20 x 20", "scrolls sideways", "text of 9.0"} {
		if !strings.Contains(got, want) {
			t.Errorf("a page with %q is not caught: %s", want, got)
		}
	}
}
