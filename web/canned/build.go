package canned

import (
	"context"

	"sodalake/farm/design"
	"sodalake/keeper"
)

// Design answers at once, over a few drawn years only; a busy farm is on its
// way for ever.
func (f *Farm) Design(ctx context.Context, _ string, a *design.Ask) (keeper.Designed, error) {
	if f.Fail != nil {
		return keeper.Designed{}, f.Fail
	}
	if err := a.Check(); err != nil {
		return keeper.Designed{}, err
	}
	if f.Busy {
		return keeper.Designed{Done: 18, Of: a.Years}, nil
	}
	few := *a
	few.Years = min(a.Years, 5)
	answer, err := design.Run(ctx, &few, nil)
	return keeper.Designed{Answer: answer, Done: few.Years, Of: few.Years}, err
}
