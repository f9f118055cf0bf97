package medium

import "sort"

// Pour is one step of mixing.
type Pour struct {
	Code  string // what to do
	Doses []int  // which of the doses, in the order of the batch
	Jug   bool   // dissolve in a jug of water of its own first
}

// Order returns the steps of mixing a batch, first to last. What would fall out
// together is kept apart: soda in its own jug, phosphate before magnesium,
// chelator before iron, calcium dilute and last.
//
// The codes:
//
//	water        measure the water, free of chlorine by a strip, into the vessel: four fifths of it
//	soda         dissolve the soda in its own jug, pour it in
//	alkali       caustic, dilute and cold, before anything with ammonium
//	salts        the plain salts, one after the other
//	phosphate    in its own jug
//	magnesium    in its own jug
//	iron         chelator first, then the iron into the same jug
//	nitrogen     urea or ammonium, when the rest is in
//	traces       by the drop or the syringe
//	calcium      in its own jug, dilute, slowly, stirring
//	fill         the rest of the water
//	wait         stir, let it stand, read the pH
//
// Source: the order of a laboratory protocol after zarrouk1966 (soda apart,
// calcium last); the rest is common practice, no source.
func Order(doses []Dose) []Pour {
	group := map[string]int{
		"soda": 1, "alkali": 2, "salts": 3, "phosphate": 4, "magnesium": 5, "iron": 6, "nitrogen": 7, "traces": 8, "calcium": 9,
	}
	code := map[Step]string{
		StepSoda: "soda", StepAlkali: "alkali", StepSalt: "salts", StepNitrate: "salts", StepPhosphate: "phosphate", StepMagnesium: "magnesium",
		StepChelator: "iron", StepIron: "iron", StepNitrogen: "nitrogen", StepTrace: "traces", StepCalcium: "calcium",
	}
	by := map[string][]int{}
	for i := range doses {
		if c, ok := code[doses[i].Of.Step]; ok && doses[i].MassG > 0 {
			by[c] = append(by[c], i)
		}
	}
	codes := sortedKeys(by)
	sort.Slice(codes, func(i, j int) bool { return group[codes[i]] < group[codes[j]] })
	out := []Pour{{Code: "water"}}
	for _, c := range codes {
		is := by[c]
		sort.SliceStable(is, func(i, j int) bool { return doses[is[i]].Of.Step.place() < doses[is[j]].Of.Step.place() })
		out = append(out, Pour{Code: c, Doses: is, Jug: c != "salts" && c != "nitrogen"})
	}
	return append(out, Pour{Code: "fill"}, Pour{Code: "wait"})
}
