// Command sodalake helps a small spirulina grower: it keeps the farm's journal,
// follows every vessel with a model that learns from the readings, and says
// what to do today. Every calculation is also a calculator by itself.
package main

import (
	"os"
	"time"
	_ "time/tzdata" // zones for machines that carry none
)

func main() {
	os.Exit(run(os.Args[1:], surroundings{
		stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr,
		env: os.Getenv, now: time.Now, terminal: isTerminal(os.Stderr),
	}))
}

// isTerminal reports whether progress may be written to f.
func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
