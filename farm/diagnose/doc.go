// Package diagnose weighs what may be behind a culture that looks wrong: signs
// that were seen, looked for and not seen, or not looked for; what the vessel's
// own record tells; and the outcomes of checks. From these it makes ranked
// causes, the check that splits them best, what to do in the next hour and what
// to leave, and whether the harvest may be eaten: "no" or "not shown", never
// yes.
//
// The table of causes, signs and checks is table.toml. It is pure: numbers and
// identifiers go in and come out, no sentences.
package diagnose
