// Package canned is a farm of invented numbers for the gallery and the tests:
// the Saltmarsh Lighthouse Station, a retired lighthouse run by a small
// co-operative on a coast that is on no map. Every name and every number in it
// is made up. What is appended to it is kept in memory and folded like any
// journal; its estimates and forecasts are drawn with a ruler, not modelled.
package canned
