package web

import (
	"context"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"sodalake/farm/lot"
	"sodalake/keeper"
)

// apiLots are the lots and traces for machines.
func (s *server) apiLots(api huma.API) {
	type lotsIn struct {
		PasteG float64 `query:"paste_g" minimum:"0" maximum:"10000000" doc:"Also say where so many grams of paste go today"`
	}
	type lotsOut struct{ Body keeper.Lots }
	type lotIn struct {
		ID string `path:"id" maxLength:"100" doc:"Name of the lot"`
	}
	type lotOut struct{ Body keeper.LotView }
	type traceIn struct {
		Name  string    `path:"name" maxLength:"100" doc:"A lot, a vessel, a supply, a tool or the entry of a batch of medium"`
		Since time.Time `query:"since" doc:"Since when a vessel is suspected, or when a tool was used"`
	}
	type traceOut struct{ Body lot.Trace }
	huma.Register(api, op("GET", "/api/lots", "list-lots", "Lots of the last months, and those of which any is left"), func(ctx context.Context, in *lotsIn) (*lotsOut, error) {
		l, err := s.Farm.Lots(ctx, s.Now(), in.PasteG)
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &lotsOut{l}, nil
	})
	huma.Register(api, op("GET", "/api/lots/{id}", "get-lot", "One lot with its checks, clock, holds and balance"), func(ctx context.Context, in *lotIn) (*lotOut, error) {
		v, err := s.Farm.Lot(ctx, in.ID, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &lotOut{v}, nil
	})
	huma.Register(api, op("GET", "/api/trace/{name}", "get-trace", "Where a lot comes from, and what a recall would reach"), func(ctx context.Context, in *traceIn) (*traceOut, error) {
		t, err := s.Farm.Trace(ctx, in.Name, in.Since, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &traceOut{t}, nil
	})
}
