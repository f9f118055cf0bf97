package main

import "sodalake/web/canned"

// twoPonds is a question of the page before you build.
const twoPonds = "/build?a_name=open&a_shape=raceway&a_length=8&a_width=2.4&a_depth=20&a_cover=none&a_second=no&a_shade=0&a_stirring=continuous&a_winter=indoors&a_ready=0.5&a_leave=0.35&b_name=in+a+tunnel&b_shape=raceway&b_length=8&b_width=2.4&b_depth=15&b_cover=tunnel&b_second=yes&b_shade=0&b_stirring=continuous&b_winter=pond&b_ready=0.5&b_leave=0.35&recipe=bicarbonate-farm&wish=500&p_salts=1.6&p_co2=1.2&p_water=2&p_kwh=0.25&p_build=45&p_lasts=8"

// setAndPump is a question of the page on power.
const setAndPump = "/power?pump_w=14&hours=8&by_sun=yes&always_w=0.3&panel_w=20&battery_ah=12&volt=12&kind=lead&controller=tracking&allowed=2&one_panel_w=50&one_ah=12&max_lift=1.8&max_flow=1200&lift=0.3&pipe=3&inside=16&volume=800"

// buildScenes are the pages of plans for ponds and power: asked, full, wrong, on
// the way and without a place.
func buildScenes() []scene {
	busy := canned.New()
	busy.Busy = true
	return []scene{
		{"", canned.New(), []string{"/build", twoPonds, "/build?a_length=-3", "/power", setAndPump, "/power?pump_w=5&hours=30"}},
		{"us-", canned.NewUS(), []string{twoPonds, setAndPump}},
		{"busy-", busy, []string{twoPonds}},
		{"empty-", canned.Empty(), []string{"/build", "/power"}},
	}
}
