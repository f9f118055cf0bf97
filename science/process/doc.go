// Package process is what happens to a harvest between the pond and the jar:
// cloth, rinsing, pressing, drying and when it ends, the clock of time and
// temperature, freezing, keeping, colour, and what a portion brings. It tells
// figures with their spread and which limits were passed; it never says that
// food is fit to eat, and no step here is one that kills.
package process
