// Package medium is what a culture grows in: published recipes, the salts they
// are made of, and what a volume of them takes.
package medium
