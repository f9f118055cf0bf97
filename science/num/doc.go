// Package num holds the small numerical tools that the laws need and gonum
// lacks: bracketed roots, steppers, and the three-number spread in which every
// estimate is told.
package num
