package main

import "sodalake/web/canned"

// lotScenes are the pages of harvests: full, empty, in US measures, and with
// what cannot be answered.
func lotScenes() []scene {
	return []scene{
		{"lots-", canned.NewLots(), []string{"/harvests", "/harvests?paste=2500", "/harvests?paste=many", "/harvests/new", "/lots/may-a", "/lots/may-b", "/lots/april-d", "/lots/april-e", "/lots/april-d/trace", "/trace", "/trace?from=cloth", "/trace?from=nobody", "/lots/nothing", "/harvests/plan", "/hazards", "/hazards?from=2026-05-20&to=2026-05-01"}},
		{"lots-empty-", canned.Empty(), []string{"/harvests", "/harvests/new", "/trace", "/hazards"}},
	}
}
