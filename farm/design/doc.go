// Package design looks at a pond before it is built: many drawn years of a site
// go over each design, under the same weather and the same draws of what nobody
// knows yet, and give its yield by month with spread, its season, water, salts,
// power and cost. It is pure: the same question gives the same answer on any
// number of cores.
package design
