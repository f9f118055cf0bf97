// Package plot draws numbers as SVG: lines that lie over each other and bars
// that stand side by side, each told apart by dash, mark or filling and never by
// colour alone. It is pure: the same bytes for the same input. The drawings
// carry classes; Style is a sheet for a file that stands alone.
package plot
