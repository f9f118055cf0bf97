// Package document puts on paper what the pages show: sheets that are printed,
// filled in by hand and kept. It gets words that are said already, and decides
// only where they stand.
package document
