// Package brine is the chemistry of soda water: what a handful of salts become
// in it, its pH at its own temperature, the carbon dioxide it gives or takes,
// what falls out of it, how heavy it is and how well it conducts.
package brine
