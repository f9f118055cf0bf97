package main

import "sodalake/web/canned"

// wrongScenes are the pages of It looks wrong: nothing told, the journal's own
// signs, few signs, signs that quarrel, a dying culture, slips, and the sheet.
func wrongScenes() []scene {
	return []scene{
		{"wrong-", canned.New(), []string{
			"/wrong", "/wrong?vessel=boat-pond", "/wrong?vessel=lantern-pond", "/wrong?vessel=boat-pond&s=yellow&s=thinner",
			"/wrong?vessel=cistern-tank&s=slow_cloth&s=wet_paste&n=slime", "/wrong?vessel=boat-pond&s=brown&s=smell_rotten&s=blue_water&c=microscope:broken",
			"/wrong?vessel=boat-pond&s=settled&s=floating_skin&s=milky&s=larvae&s=smell_earthy&s=slow_cloth", "/wrong?vessel=boat-pond&s=purple",
			"/wrong/apart?vessel=boat-pond", "/wrong/apart?vessel=boat-pond&bleach=0.2", "/handing",
		}},
		{"wrong-us-", canned.NewUS(), []string{"/wrong?vessel=boat-pond&s=yellow", "/wrong/apart?vessel=boat-pond"}},
		{"wrong-empty-", canned.Empty(), []string{"/wrong", "/handing"}},
	}
}
