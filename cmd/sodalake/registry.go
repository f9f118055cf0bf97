package main

import "sodalake/farm/calc"

// calculators are all that the program has, in the order of the list.
func calculators() *calc.Registry { return calc.All() }
