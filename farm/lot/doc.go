// Package lot follows a harvest from the cloth to the jar: what it was made of,
// what was done to it and when, what it weighs and where it went, which checks
// passed, failed or are missing, and whether a person let it go out. From these
// it answers where something came from, where it went, and whom to tell.
//
// Nothing here is kept: a lot is what the journal says of it, folded in the
// order in which it happened. The rules of that fold stand once, in fold.go; a
// form asks them before it writes (Check), and what was written elsewhere is
// kept, doubted and left without effect. No rule ends a hold or lets a lot go
// out by itself, and none speaks of a lot as a whole.
package lot
