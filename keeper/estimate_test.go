package keeper_test

import (
	"testing"

	"sodalake/keeper"
)

func width(v keeper.Vessel, q keeper.Quantity) float64 { b := v.Now.Bands[q]; return b.High / b.Low }

// A reading that was noted a moment ago is in the answer, and narrows it.
func TestReadingNarrowsAtOnce(t *testing.T) {
	w := season(t, small)
	before := w.vessel("one")
	w.note("2026-06-06T07:43:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	after := w.vessel("one")
	if a, b := width(before, keeper.DensityGPerL), width(after, keeper.DensityGPerL); b >= a {
		t.Errorf("a disc reading widens the density from %.3f to %.3f (high over low)", a, b)
	}
	if after.Last == nil || after.Last.At != moment(t, "2026-06-06T07:43:00Z") {
		t.Errorf("last reading is %+v, want the one of 07:43", after.Last)
	}
}
