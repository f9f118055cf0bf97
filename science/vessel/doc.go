// Package vessel is a body of water in its place: the shape that holds it
// (volume, surface and walls against level, and back), and the heat and water
// that it trades with sun, sky, air, ground and cover.
//
// A Geometry answers how much and how deep. A Setting says where the vessel
// stands and under what; its Step moves the temperatures forward by some
// minutes and books what each law carried, so that the books close.
package vessel
