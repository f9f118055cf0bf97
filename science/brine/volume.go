package brine

// LitresPerKgWater returns the volume of solution that holds a kilogram of
// water [L/kg], where w is a solved water and tempC its temperature [°C]: the
// mass of water and solutes over DensityKgL.
func LitresPerKgWater(w *Water, tempC float64) float64 {
	grams := 1000.0
	for s, m := range w.Species {
		grams += m * bulk[s].mass
	}
	return grams / 1000 / DensityKgL(w, tempC)
}
