// Package power is the small machine beside a pond: a panel, a battery and
// loads, hour by hour over many years of weather, and the pump, its pipe and
// the moving water. It answers whether a set lasts through a grey week, which
// is the smallest that does, what a pump delivers through its pipe, and how
// fast the water goes round.
//
// All of it is direct current at extra-low voltage. Mains is not dealt with but
// in Cautions.
package power
