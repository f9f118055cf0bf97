package canned

import (
	"context"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
)

// ScaleUp is a canned way up, invented; to "cistern-tank" it gets stuck.
func (f *Farm) ScaleUp(_ context.Context, at time.Time, wish keeper.ScaleWish) (keeper.ScaleUp, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	switch {
	case f.Fail != nil:
		return keeper.ScaleUp{}, f.Fail
	case wish.To == "" && wish.TargetL == 0:
		return keeper.ScaleUp{}, &farm.Error{Code: farm.Invalid, Field: "target_l", Message: "target_l is missing: say a vessel or a volume"}
	case wish.To == "cistern-tank":
		return keeper.ScaleUp{At: at, To: wish.To, TargetL: 240, Stuck: &keeper.ScaleStuck{Name: "Cistern tank", Why: "growth", VolumeL: 12, DensityGL: 0.11}}, nil
	}
	on := func(d int) keeper.Window {
		return keeper.Window{Early: Now.AddDate(0, 0, d-d/5), Mid: Now.AddDate(0, 0, d), Late: Now.AddDate(0, 0, d+d/3+1)}
	}
	step := func(name string, size float64, same bool, pour, medium float64, day int, wait, start float64) keeper.ScaleStep {
		return keeper.ScaleStep{Name: name, SizeL: size, Same: same, PourL: pour, MediumL: medium, FillL: pour + medium, Recipe: "station-medium", When: on(day),
			WaitGL: wait, WaitCM: 1.2 / wait, StartGL: about(start, 0.12), LeastGL: 0.12, ShadePc: 60}
	}
	u := keeper.ScaleUp{At: at, FromL: 1, FromGL: about(0.8, 0.2), To: "lantern-pond", TargetL: 920, ReadyGL: 0.5, Added: []float64{20, 70}, MediumL: 919.2, Ready: on(27), Days: num.Band{Low: 22, Mid: 27, High: 37}}
	u.Steps = []keeper.ScaleStep{
		step("", 20, false, 0.8, 4, 2, 0.6, 0.13), step("", 20, true, 4.8, 13, 6, 0.42, 0.13), step("", 70, false, 17.8, 52, 11, 0.45, 0.13),
		step("Lantern pond", 0, false, 69.8, 180, 16, 0.42, 0.12), step("Lantern pond", 0, true, 249.8, 670, 21, 0.45, 0.13),
	}
	u.Steps[0].KeepL, u.Steps[0].Indoors = 0.2, true
	if wish.TargetL > 0 && wish.To == "" {
		u.To, u.TargetL = "", wish.TargetL
		u.Ready.Late = time.Time{}
	}
	return u, nil
}

// Tree is a canned tree, invented.
func (f *Farm) Tree(time.Time) []*keeper.Branch {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.present.Vessels()) == 0 {
		return nil
	}
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 9, 0, 0, 0, Zone) }
	return []*keeper.Branch{{
		Vessel: "sill-bottles", Name: "Sill bottles", At: day(1, 8), VolumeL: 6, Strain: "coiled, from the light on the next rock",
		Joined: []keeper.Joined{{From: "Boat pond", At: day(4, 2), VolumeL: 1}}, Given: []keeper.Joined{{Whom: "the pilot's station", At: day(4, 20), VolumeL: 0.5}},
		Grew: []*keeper.Branch{
			{Vessel: "cistern-tank", Name: "Cistern tank", At: day(1, 30), VolumeL: 4, Ended: day(3, 9), Grew: []*keeper.Branch{
				{Vessel: "boat-pond", Name: "Boat pond", At: day(3, 9), VolumeL: 180, Grew: []*keeper.Branch{{Vessel: "lantern-pond", Name: "Lantern pond", At: day(3, 20), VolumeL: 500, Text: "from the boat pond, then medium"}}},
			}},
			{Vessel: "cistern-tank", Name: "Cistern tank", At: day(4, 11), VolumeL: 3},
		},
	}}
}

// Reserve is a canned reserve, invented, but for the chances.
func (f *Farm) Reserve(_ context.Context, at time.Time, wish keeper.LossWish) (keeper.Reserve, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if wish.Each < 0 || wish.Each >= 1 {
		return keeper.Reserve{}, &farm.Error{Code: farm.Invalid, Field: "each", Message: "each 1.5 does not lie between 0 and 1"}
	}
	r := keeper.Reserve{At: at, Loss: wish, AllLost: 1, SeenD: 56, RenewD: 28, DrillD: 180, Needs: []keeper.Needed{{Places: 1, AllLost: 0.03}, {Places: 2, Each: 2, AllLost: 0.0016}, {Places: 3, Each: 1, AllLost: 0.002}}}
	if f.Fail != nil {
		return r, f.Fail
	}
	if len(f.present.Vessels()) == 0 {
		return r, nil
	}
	day := func(n int) time.Time { return at.AddDate(0, 0, -n) }
	r.Backups = []keeper.Backup{
		{Vessel: "cistern-tank", Name: "Crate in the cistern", Place: "outdoors", Count: 1, Holds: true, Unseen: true, Litres: about(5, 0.1), Density: about(0.6, 0.2), Begun: day(160), Renewed: day(90), Read: day(75)},
		{Vessel: "sill-bottles", Name: "Sill bottles", Place: "indoors", Count: 6, Holds: true, Alive: true, Clean: true, Litres: about(6, 0.1), Density: about(0.9, 0.15), Begun: day(120), Renewed: day(20), Looked: day(9), Read: day(4), GrownUp: day(33)},
		{Vessel: "sill-bottles", Name: "Stair window", Place: "indoors", Count: 2, Holds: true, Alive: true, Old: true, Litres: about(2, 0.1), Density: about(0.7, 0.15), Begun: day(120), Renewed: day(41), Read: day(12)},
		{Vessel: "sill-bottles", Name: "Lamp room jar", Place: "indoors", Count: 1},
	}
	r.Living, r.Places, r.Each, r.AllLost, r.Largest, r.Drilled = true, 1, 8, 0.03, "boat-pond", day(33)
	r.Turns = []keeper.Turn{{Vessel: "cistern-tank", Name: "Crate in the cistern", At: at}, {Vessel: "sill-bottles", Name: "Stair window", At: at}, {Vessel: "sill-bottles", Name: "Sill bottles", At: at.AddDate(0, 0, 8)}}
	return r, nil
}
