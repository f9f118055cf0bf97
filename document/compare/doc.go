// Package compare writes scenarios side by side: a page of HTML with drawings
// that stands alone and asks nothing of a network, and rows of CSV.
package compare
