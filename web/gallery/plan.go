package main

import "sodalake/web/canned"

// planScenes are the pages of the harvest plan in each of its states.
func planScenes() []scene {
	plan := []string{"/plan"}
	nursery := []string{"/scale?from=sill-bottles&to=lantern-pond", "/scale?to=cistern-tank", "/scale?to=&target=200", "/scale?to=", "/scale", "/reserve", "/reserve?each=150", "/reserve?restart=yes", "/reserve/intake", "/reserve/intake?what=living&volume=2", "/reserve/intake?what=powder"}
	return []scene{
		{"", canned.New(), append(plan, nursery...)}, {"empty-", canned.Empty(), append(plan, "/scale", "/reserve", "/reserve/intake?what=living")}, {"us-", canned.NewUS(), append(plan, nursery[0], nursery[8])},
		{"short-", canned.NewPlan("short"), plan}, {"waiting-", canned.NewPlan("waiting"), append(plan, "/vessels/lantern-pond")}, {"again-", canned.NewPlan("again"), plan},
	}
}
