// Package energy tells whether a small set of panel and battery carries the
// stirring at a place: through drawn years, through the greyest week of the worst
// month, which is the smallest set that does, and when a pump runs by the sun. It
// is pure: the same question gives the same answer.
package energy
