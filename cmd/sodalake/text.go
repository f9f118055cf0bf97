package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// page writes plain text for people: wrapped to the width of the terminal,
// columns in line. No colour and no control characters: what is urgent is said
// in words, so that it reads the same on paper and to the ear.
type page struct {
	strings.Builder
	width int // columns
}

// newPage is as wide as COLUMNS says, 80 where it says nothing.
func newPage(out surroundings) *page {
	width := 80
	if n, err := strconv.Atoi(out.env("COLUMNS")); err == nil && n > 0 {
		width = min(max(n, 50), 120)
	}
	return &page{width: width}
}

// para writes a paragraph whose first line begins with head and whose further
// lines stand under the text.
func (p *page) para(head, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(head))
	line, used := head, utf8.RuneCountInString(head)
	empty := true
	for _, w := range strings.Fields(text) {
		n := utf8.RuneCountInString(w)
		if !empty && used+1+n > p.width {
			p.line(line)
			line, used, empty = indent, len(indent), true
		}
		if !empty {
			line, used = line+" ", used+1
		}
		line, used, empty = line+w, used+n, false
	}
	p.line(line)
}

func (p *page) line(text string) { p.WriteString(strings.TrimRight(text, " ") + "\n") }

func (p *page) linef(format string, args ...any) { p.line(fmt.Sprintf(format, args...)) }

// list writes a heading with its lines under it, nothing where there are none.
func (p *page) list(title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.linef("\n%s", title)
	for _, l := range lines {
		p.para("  - ", l)
	}
}

// table writes rows in columns with gap between them. sides says of each column
// whether it stands to the left (l) or to the right (r).
func (p *page) table(sides, gap string, rows [][]string) {
	widths := make([]int, len(sides))
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		var b strings.Builder
		for i, c := range r {
			if i > 0 {
				b.WriteString(gap)
			}
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if sides[i] == 'r' {
				b.WriteString(pad + c)
			} else {
				b.WriteString(c + pad)
			}
		}
		p.line(b.String())
	}
}

// to writes the page out.
func (p *page) to(w io.Writer) error {
	_, err := io.WriteString(w, p.String())
	return err
}

// working says on the terminal, after a second, what takes so long; the
// returned function must be called when it is done. Without a terminal it is
// silent.
func working(out surroundings, what string) (done func()) {
	if !out.terminal {
		return func() {}
	}
	t := time.AfterFunc(time.Second, func() { fmt.Fprintln(out.stderr, "sodalake:", what) })
	return func() { t.Stop() }
}
