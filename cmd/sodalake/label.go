package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"time"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/keeper"
)

type labelCmd struct {
	Lot   string  `arg:"" help:"Lot, by its name."`
	Out   string  `help:"File to write, a PDF." placeholder:"FILE"`
	Size  string  `help:"Size in millimetres: 99x68, 105x148, 62x100, 70x37, 102x51 or 102x76." default:"99x68"`
	Grams float64 `help:"What is in the pack, else what the lot's packs hold on the average." placeholder:"G"`
}

// Run writes the label of a lot. A lot that nobody let go says so on it.
func (c *labelCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	size, ok := document.LabelSizeOf(c.Size)
	if !ok {
		return &farm.Error{Code: farm.Invalid, Field: "size", Message: fmt.Sprintf("size %q is not known", c.Size), Hint: "one of " + strings.Join(document.LabelKeys(), ", ")}
	}
	if c.Out == "" {
		return &farm.Error{Code: farm.Invalid, Field: "out", Message: "out is missing", Hint: "say which file to write: --out label.pdf"}
	}
	if !(c.Grams >= 0 && c.Grams <= 1e5) {
		return &farm.Error{Code: farm.Invalid, Field: "grams", Message: fmt.Sprintf("grams %g fit in no pack", c.Grams)}
	}
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	l, err := k.Lot(ctx, c.Lot, time.Time{})
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := document.LabelOf(&l.Lot, &l.Plan, speaker(k), size, c.Grams, k.Now()).PDF(&b); err != nil {
		return err
	}
	return writeFile(out, c.Out, b.Bytes())
}
