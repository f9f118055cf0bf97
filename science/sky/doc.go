// Package sky is the light and weather over a place: where the sun stands, what
// a clear sky gives, what clouds leave of it, the weather of an hour as a series
// or as a draw from a generator, and the evaporation that follows from it.
package sky
