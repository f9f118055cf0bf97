// Package calc is the registry of calculators. A calculator is defined once, as
// a Go function from a typed input to a typed output with a name, units,
// bounds, defaults, sources and cautions as data; the command, the HTTP call,
// the web form, the schema and the handbook page all come from that one
// definition.
package calc
