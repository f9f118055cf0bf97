// Package medium is what a culture grows in: the salts, fertilisers and source
// waters it is made of, published recipes and what a shelf can make of them,
// what a mix will read, drop and carry, and what corrects it once it lives.
package medium
