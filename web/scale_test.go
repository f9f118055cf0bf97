package web_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sodalake/web"
	"sodalake/web/canned"
)

// The pages of scaling up and of the reserve in each of their states.
func TestScaleAndReservePages(t *testing.T) {
	for target, wants := range map[string][]string{
		"/scale?from=sill-bottles&to=lantern-pond": {"Pour 0.8\u00a0L into a tub of 20\u00a0L and add 4\u00a0L of Station medium", "Fill up Lantern pond with 670\u00a0L", "disc goes out of sight at 2\u00a0cm", "Keep 0.2\u00a0L back",
			"Shade of 60\u00a0%", "recipe=farm.station-medium", "20\u00a0L and 70\u00a0L", "Who came from whom", "coiled, from the light on the next rock", "given to the pilot"},
		"/scale?to=&target=200":                   {"in some of the courses tried it takes far longer"},
		"/scale?to=cistern-tank":                  {"in Cistern tank the culture stays at 0.11\u00a0g/L"},
		"/scale?to=":                              {"Target_l is missing", "Show the steps"},
		"/scale?to=lantern-pond&start=much":       {"is not a number"},
		"/reserve":                                {"once in 33", "nobody has looked for 75", "due for renewal", "Sill bottles × 6", "none will do", "/scale?from=sill-bottles&amp;to=boat-pond"},
		"/reserve?restart=yes":                    {"a dark bottle of 0.5\u00a0L", "27\u00a0days (22–37)", "Until the largest pond is dark"},
		"/reserve?each=150":                       {"does not lie between 0 and 1", "Whose turn it is"},
		"/reserve/intake?what=powder":             {"are no seed"},
		"/reserve/intake?what=living&volume=2":    {"1.8\u00a0L of culture and 1.8\u00a0L of new medium make 3.6\u00a0L at 0.25\u00a0g/L", "Fourteen days"},
		"/reserve/intake?what=living&density=0.1": {"too thin to be diluted"},
		"/reserve/intake?what=living&volume=-1":   {"outside what a bottle can be"},
		"/vessels":                                {`href="/plan"`, `href="/scale"`, `href="/reserve"`},
		"/vessels/lantern-pond":                   {"/scale?from=lantern-pond", `href="/reserve"`},
	} {
		w := get(t, handler(canned.New()), target)
		for _, want := range wants {
			if !strings.Contains(w.Body.String(), want) {
				t.Errorf("%s does not say %q (status %d)", target, want, w.Code)
			}
		}
	}
	for target, want := range map[string]string{"/scale": "appears here as a tree", "/reserve": "No living reserve is known"} {
		if body := get(t, handler(canned.Empty()), target).Body.String(); !strings.Contains(body, want) {
			t.Errorf("%s of an empty farm does not say %q", target, want)
		}
	}
	// 10 US gal are 37.85 L, NIST SP 811; the form is in gallons.
	if body := get(t, handler(canned.NewUS()), "/scale?from=&to=&target=10").Body.String(); !strings.Contains(body, "A tub of 10\u00a0gal is dark") {
		t.Error("ten gallons are not ten gallons")
	}
}

// A bottle is noted and its vessel kept apart, once.
func TestIntakeIsNoted(t *testing.T) {
	f := canned.New()
	h := handler(f)
	id := attr(find(t, parse(t, get(t, h, "/note?kind=smell")), "id"), "value")
	form := url.Values{"id": {id}, "vessel": {"sill-bottles"}, "volume_l": {"2"}, "density_g_per_l": {"0.5"}, "strain": {"from the pilot's station"}}
	for range 2 {
		if w := post(h, "/reserve/intake", form); w.Code != http.StatusSeeOther {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	page, err := f.Entries(context.Background(), web.Ask{Newest: true, Limit: 2})
	if err != nil || f.Writes != 1 || page.Entries[0].Kind != "quarantined" || page.Entries[1].Kind != "inoculated" || page.Entries[1].Vessel != "sill-bottles" {
		t.Errorf("%d writes: %+v, %v", f.Writes, page.Entries, err)
	}
	bad := url.Values{"id": {"x"}, "vessel": {"sill-bottles"}, "volume_l": {"2"}, "density_g_per_l": {"0.5"}}
	if w := post(h, "/reserve/intake", bad); w.Code < 400 || w.Code >= 500 || f.Writes != 1 {
		t.Errorf("a form without an identifier: status %d", w.Code)
	}
}

// nurseryLooks are the addresses whose looks are checked.
var nurseryLooks = []string{"/scale?from=sill-bottles&to=lantern-pond", "/reserve?restart=yes", "/reserve/intake?what=living&volume=2"}
