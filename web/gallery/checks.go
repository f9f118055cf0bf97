package main

import "sodalake/web/canned"

// gelQuery is the gel as typed, of a lot.
func gelQuery() string {
	q := canned.GelQuery()
	q.Set("lot", "may-a")
	return q.Encode()
}

// checkScenes are the sheets of the checks: empty, counted, with what is foreign,
// with what cannot be read, and with a lot.
func checkScenes() []scene {
	return []scene{
		{"checks-", canned.NewLots(), []string{
			"/note?kind=photo&vessel=boat-pond", "/checks", "/checks?of=v:boat-pond&fields=20&own=300&straight=12&field_number_mm=18&objective=10&depth_mm=0.1",
			"/checks?of=v:boat-pond&fields=8&own=41", "/checks?of=l:may-a&fields=20&own=260&foreign.thin=2&foreign.balls=1", "/checks?own=many", "/checks/pcr", "/checks/pcr?samples=-2", "/checks/gel", "/checks/gel?photo=" + canned.GelPhoto().SHA256, "/checks/gel?" + gelQuery(), "/checks/gel?ladder=500+23.5", "/checks/lab", "/checks/lab?lot=may-a&analyte=lead&found=0.21+mg/kg&place=eu", "/checks/lab?analyte=salmonella&found=absent+in+10+g&place=fr", "/checks/lab?analyte=lead&found=0.21",
		}},
		{"checks-empty-", canned.Empty(), []string{"/checks"}},
	}
}
