// Command write makes the season of the demo anew: go generate ./demo.
package main

import (
	"fmt"
	"os"

	"sodalake/demo"
)

func main() {
	f, err := os.Create("season.jsonl")
	if err != nil {
		fmt.Fprintln(os.Stderr, "write:", err)
		os.Exit(1)
	}
	if err := demo.Write(f); err != nil {
		fmt.Fprintln(os.Stderr, "write:", err)
		os.Exit(1)
	}
	if err := f.Close(); err != nil {
		fmt.Fprintln(os.Stderr, "write:", err)
		os.Exit(1)
	}
}
