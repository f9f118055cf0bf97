package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/keeper"
)

type traceCmd struct {
	Name  string `arg:"" help:"A lot; or a vessel, a supply, a tool, or the entry of a batch of medium, for what a recall from it would reach."`
	Since string `help:"Since when a vessel is suspected, or when a tool was used." placeholder:"TIME"`
	Out   string `help:"Write the trace to a file: .csv or .pdf." placeholder:"FILE"`
}

// Run follows a lot backwards and forwards.
func (c *traceCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	ending := strings.ToLower(filepath.Ext(c.Out))
	if c.Out != "" && ending != ".csv" && ending != ".pdf" {
		return &farm.Error{Code: farm.Invalid, Field: "out", Message: fmt.Sprintf("out %q is neither .csv nor .pdf", c.Out)}
	}
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	speak := speaker(k)
	var since time.Time
	if c.Since != "" {
		if since, err = atClock(c.Since).in(speak.Zone()); err != nil {
			return &farm.Error{Code: farm.Invalid, Field: "since", Message: fmt.Sprintf("since %q is not a time", c.Since), Hint: "write it as 2026-06-18 or 2026-06-18T07:40"}
		}
	}
	t, err := k.Trace(ctx, c.Name, since, time.Time{})
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, t)
	}
	rows := document.TraceRows(&t, speak)
	if c.Out != "" {
		var b bytes.Buffer
		if ending == ".csv" {
			err = document.TraceCSV(&b, rows)
		} else {
			name := ""
			k.Read(func(p *farm.Present) {
				if s := p.Sites(); len(s) > 0 {
					name = s[0].Name
				}
			})
			err = document.TraceReport(&t, name, speak, t.At).PDF(&b)
		}
		if err != nil {
			return err
		}
		return writeFile(out, c.Out, b.Bytes())
	}
	p := newPage(out)
	p.line(document.TraceTitle(&t, speak))
	for _, part := range []string{"back", "forward", "people", "balance"} {
		var lines []string
		for _, r := range rows {
			if r.Part == part {
				var said []string
				for _, cell := range r.Cells(speak) {
					if cell != "" {
						said = append(said, cell)
					}
				}
				lines = append(lines, strings.Join(said, ", "))
			}
		}
		p.list(speak.T("trace."+part), lines)
	}
	if notice := document.TraceNotice(&t, speak); notice != "" {
		p.list(speak.T("trace.notice_title"), []string{notice})
	}
	return p.to(out.stdout)
}

// writeFile writes a document beside its place and then into it.
func writeFile(out surroundings, name string, b []byte) error {
	if err := os.WriteFile(name+".part", b, 0o600); err != nil {
		return fmt.Errorf("%s could not be written: %w", name, err)
	}
	if err := os.Rename(name+".part", name); err != nil {
		return fmt.Errorf("%s could not be written: %w", name, err)
	}
	_, err := fmt.Fprintf(out.stderr, "sodalake: written to %s\n", name)
	return err
}
