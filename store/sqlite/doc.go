// Package sqlite keeps a farm's journal in one SQLite file: the store that a
// farm has unless it asks for another. Derived blobs live in a second file
// beside it, which may be deleted at any time.
//
// Several programs may open the same journal at once.
package sqlite
