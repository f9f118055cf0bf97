// Package farm holds the words of a farm and its rules: the entry of the
// journal and the closed lists of what can be noted, vessels and sites as
// entries describe them, the fold from the journal to the farm's present, and
// the store that it needs somebody to keep.
//
// It imports no technology: how entries are kept, sent or shown is told by the
// packages above it.
package farm
