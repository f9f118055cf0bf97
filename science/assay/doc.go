// Package assay is what a look, a gel and a laboratory tell: counts with exact
// intervals, what a look can and cannot rule out, fragment sizes from a ladder
// with calls that need their controls, mixes for a run, pigments from
// absorbances, and results held against dated limits. Its verdicts are passed,
// failed and missing; none of them says that food is fit to eat.
package assay
