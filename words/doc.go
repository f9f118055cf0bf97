// Package words turns keys and numbers into sentences: it holds the catalogues
// of every language that the pages, the terminal and the labels speak, and the
// rules by which a number is said (its unit always, its spread beside it, and
// no digit that the spread does not earn) in the measures that the farm chose.
//
// What is said is decided elsewhere, as a key with arguments; how it is said is
// decided here and nowhere else.
package words
