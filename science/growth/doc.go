// Package growth is the organism: what a culture of Arthrospira platensis
// gains and loses in a step under given light, warmth and water, what it is
// made of, and what a reading says of its density.
//
// The structure and the defaults were fitted by us to published cases of
// outdoor and bench cultures, most of them known from their abstracts; the
// misfit inside those cases is up to 20 % on a yield, so a pond never seen
// deserves ±25–30 % before its first reading.
package growth
