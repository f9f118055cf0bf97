// Package optics is light at and below a flat water surface: how much of it
// enters, at what slant it goes down, and what a layer that absorbs it sees on
// the average over its depth.
package optics
