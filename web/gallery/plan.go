package main

import "sodalake/web/canned"

// planScenes are the pages of the harvest plan in each of its states.
func planScenes() []scene {
	plan := []string{"/plan"}
	return []scene{
		{"", canned.New(), plan}, {"empty-", canned.Empty(), plan}, {"us-", canned.NewUS(), plan},
		{"short-", canned.NewPlan("short"), plan}, {"waiting-", canned.NewPlan("waiting"), append(plan, "/vessels/lantern-pond")}, {"again-", canned.NewPlan("again"), plan},
	}
}
