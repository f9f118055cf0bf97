// Package draw draws a vessel and its curves as SVG: the water column seen from
// the side, the fan of estimate and forecast, the daily swings, the light of
// the day. It is pure: numbers and words go in, a drawing comes out, the same
// bytes for the same input.
//
// The drawings carry classes and no colours; the style sheet gives those. Each
// is an image with a sentence for those who cannot see it. Every text handed in
// is escaped here.
package draw
