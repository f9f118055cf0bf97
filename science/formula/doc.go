// Package formula is the chemical formula as a label prints it: "CaCl2.2H2O",
// "(NH4)2SO4", "Na2EDTA.2H2O". It counts the atoms and weighs them by the
// standard atomic weights; what the substance does in water is for others.
package formula
