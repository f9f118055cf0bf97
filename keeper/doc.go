// Package keeper keeps the farm going: it holds the clock, the twins and their
// caches, asks the store for the journal, runs the science and answers what a
// page, a command or the API wants to know.
package keeper
