// Package twin keeps an estimate of a vessel: an ensemble of models whose
// states and parameters are corrected reading by reading, with the spread that
// the readings earn, and runs it ahead as a forecast.
package twin
