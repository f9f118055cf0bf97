package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
)

// fullMedium is a published spirulina medium (after Zarrouk 1966) without its
// trace metals, in grams per litre.
var fullMedium = map[string]float64{
	"NaHCO3": 16.8, "K2HPO4": 0.5, "NaNO3": 2.5, "NaCl": 1.0, "MgSO4.7H2O": 0.2, "CaCl2.2H2O": 0.04,
	"K2SO4": 1.0, "FeSO4.7H2O": 0.01, "Na2EDTA.2H2O": 0.08, "H3BO3": 0.00286,
}

// A full medium from nothing, at a new temperature each time.
func BenchmarkSolveFullMedium(b *testing.B) {
	totals := made(b, fullMedium)
	s := brine.New(brine.Pitzer)
	var w brine.Water
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		i++
		if err := s.Solve(&totals, 20+0.1*float64(i%100), &w); err != nil {
			b.Fatal(err)
		}
	}
}

// The same with sodium and carbon alone.
func BenchmarkSolveBicarbonate(b *testing.B) {
	totals := made(b, map[string]float64{"NaHCO3": 8})
	s := brine.New(brine.Pitzer)
	var w brine.Water
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		i++
		if err := s.Solve(&totals, 20+0.1*float64(i%100), &w); err != nil {
			b.Fatal(err)
		}
	}
}

// Days of 144 steps with a swing of 10 °C, refreshing included: the average
// over what a pond asks for.
func BenchmarkSolveWarmDay(b *testing.B) {
	totals := made(b, fullMedium)
	totals[brine.DIC] *= 0.7
	s := brine.New(brine.Pitzer)
	var w brine.Water
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		i++
		day := 2 * math.Pi * float64(i%144) / 144
		totals[brine.DIC] *= 1 - 3e-4*math.Sin(day)
		if err := s.SolveWarm(&totals, 22+5*math.Sin(day-1), &w); err != nil {
			b.Fatal(err)
		}
	}
}

// One step between refreshings.
func BenchmarkSolveWarmStep(b *testing.B) {
	totals := made(b, fullMedium)
	totals[brine.DIC] *= 0.7
	s := brine.New(brine.Pitzer)
	var w brine.Water
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		i++
		up := float64(i & 1)
		totals[brine.DIC] *= 1 + 2e-4*(up-0.5)
		if err := s.SolveWarm(&totals, 22+0.1*up, &w); err != nil {
			b.Fatal(err)
		}
	}
}
