package calc

// All returns the registry of every calculator.
func All() *Registry {
	return NewRegistry(Sun(), Evaporation(), Volume(), Density())
}
