// Package advice writes the day list: for each vessel what to do today, with
// amounts, reasons and cautions; what to stop, to hold and to doubt; and what
// to wait for.
//
// It is pure: the state and the forecast of the farm go in, items come out.
// Items carry keys and arguments, never sentences, so that they can be said in
// any language.
package advice
