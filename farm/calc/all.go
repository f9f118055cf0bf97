package calc

// All returns the registry of every calculator.
func All() *Registry {
	return NewRegistry(Water(), Sun(), Evaporation(), Volume(), Density())
}
