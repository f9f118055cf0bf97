// Package demo is a made-up farm: a station at a lighthouse that never stood,
// kept by a small co-operative that does not exist. Its season of readings comes
// out of the generator in this package, which lets true vessels grow under drawn
// weather and notes what a grower with a stick, a meter and a thermometer would
// have noted. Every number is invented.
package demo
