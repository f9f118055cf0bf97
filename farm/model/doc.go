// Package model turns what is said of a vessel (its shape, place, cover,
// stirring and medium) into one that can be stepped.
package model
