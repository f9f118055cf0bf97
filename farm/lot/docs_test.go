package lot

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the table of choices in docs/lots.md anew")

// The table of choices in the handbook is the one in the code.
func TestDocs(t *testing.T) {
	var b strings.Builder
	b.WriteString("| setting | unit | default | from | to | what |\n|---|---|---|---|---|---|\n")
	num := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	for _, c := range Choices() {
		def, low, high := num(c.Default), num(c.Low), num(c.High)
		switch {
		case c.YesNo:
			def, low, high = map[bool]string{true: "true", false: "false"}[c.Default >= 0.5], "", ""
		case len(c.Words) > 0:
			def, low, high = "`"+c.Words[0]+"`", "", "one of `"+strings.Join(c.Words, "`, `")+"`"
			def = strings.ReplaceAll(def, "``", "empty")
			high = strings.ReplaceAll(high, "``", "empty")
		case c.Text:
			def, low, high = "empty", "", "text"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | %s |\n", c.Key, c.Unit, def, low, high, c.What)
	}
	const file, begin, end = "../../docs/lots.md", "-update -->\n", "<!-- end -->"
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(raw), begin)
	old, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatal("docs/lots.md has no place for the table")
	}
	if old == b.String() {
		return
	}
	if !*update {
		t.Fatal("docs/lots.md shows other choices than the code: go test ./farm/lot -run TestDocs -update")
	}
	if err := os.WriteFile(file, []byte(head+begin+b.String()+end+tail), 0o600); err != nil {
		t.Fatal(err)
	}
}
