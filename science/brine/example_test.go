package brine_test

import (
	"fmt"

	"sodalake/science/brine"
)

// The carbonate buffer by which meters are checked near the pH of a pond.
func Example() {
	buffer, err := brine.FromSaltsPerKg(map[string]float64{"NaHCO3": 25, "Na2CO3": 25})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := brine.New(brine.Pitzer)
	var w brine.Water
	for _, tempC := range []float64{15, 25, 35} {
		if err := s.Solve(&buffer, tempC, &w); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%g °C: pH %.2f\n", tempC, w.PH)
	}
	// Output:
	// 15 °C: pH 10.12
	// 25 °C: pH 10.01
	// 35 °C: pH 9.92
}

// Eight grams of baking soda in a litre, left standing in the open air.
func ExampleSolver_OpenTo() {
	totals, kgPerL, err := brine.FromSalts(map[string]float64{"NaHCO3": 8})
	if err != nil {
		fmt.Println(err)
		return
	}
	before := totals[brine.DIC]
	var w brine.Water
	if err := brine.New(brine.Pitzer).OpenTo(&totals, 25, 420e-6, &w); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("pH %.2f after %.2f g/L of carbon left\n", w.PH, (before-totals[brine.DIC])*12.011*kgPerL)
	// Output:
	// pH 9.71 after 0.30 g/L of carbon left
}
