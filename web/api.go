package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/calc"
	"sodalake/keeper"
	"sodalake/words"
)

// apiError turns any error into problem details with the right status.
func (s *server) apiError(ctx context.Context, err error) error {
	status := statusOf(err)
	if status >= 500 {
		s.Log.ErrorContext(ctx, "api request failed", "error", err)
	}
	return problemOf(status, err)
}

// maxEntries is how many entries one request may bring.
const maxEntries = 1000

type vesselOut struct{ Body keeper.Vessel }
type vesselsOut struct{ Body []keeper.Vessel }
type forecastOut struct{ Body keeper.Forecast }
type todayOut struct{ Body keeper.Today }

type entriesOut struct {
	Body struct {
		Entries []farm.Entry `json:"entries"`
		More    bool         `json:"more" doc:"There are more after the last one"`
	}
}

type rawOut struct{ Body json.RawMessage }

// api adds the JSON API. Its description comes from the same definitions.
func (s *server) api(mux *http.ServeMux) {
	cfg := huma.DefaultConfig("Sodalake", s.version())
	cfg.OpenAPIPath, cfg.DocsPath, cfg.SchemasPath = "/api/openapi", "", ""
	cfg.CreateHooks = nil
	cfg.Info.Description = "The journal, the estimates and the calculators of one farm. Errors are problem details (RFC 9457) with the field they name. Times are RFC 3339 with an offset."
	cfg.Transformers = []huma.Transformer{ownProblem}
	cfg.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", schemaName)
	api := humago.New(mux, cfg)

	type idIn struct {
		ID string `path:"id" maxLength:"100" doc:"Identifier of the vessel"`
	}
	huma.Register(api, op("GET", "/api/vessels", "list-vessels", "All vessels with their present"), func(ctx context.Context, _ *struct{}) (*vesselsOut, error) {
		vs, err := s.Farm.Vessels(ctx, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		if vs == nil {
			vs = []keeper.Vessel{}
		}
		return &vesselsOut{vs}, nil
	})
	huma.Register(api, op("GET", "/api/vessels/{id}", "get-vessel", "One vessel with its present"), func(ctx context.Context, in *idIn) (*vesselOut, error) {
		v, err := s.Farm.Vessel(ctx, in.ID, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &vesselOut{v}, nil
	})
	huma.Register(api, op("GET", "/api/vessels/{id}/forecast", "get-forecast", "Ten days of one vessel, with spread"), func(ctx context.Context, in *idIn) (*forecastOut, error) {
		f, err := s.Farm.Forecast(ctx, in.ID, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &forecastOut{f}, nil
	})
	s.apiPlan(api)
	s.apiLots(api)
	huma.Register(api, op("GET", "/api/today", "get-today", "The day list"), func(ctx context.Context, _ *struct{}) (*todayOut, error) {
		t, err := s.Farm.Today(ctx, s.Now())
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		setup, err := s.Farm.Setup(ctx)
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		lang := setup.Site.Language
		if lang == "" {
			lang = "en"
		}
		return &todayOut{withText(words.New(lang, words.Measures(setup.Site.Measures), zoneOf(t.Zone)), t)}, nil
	})
	type afterIn struct {
		After int64 `query:"after" minimum:"0" doc:"Only entries with a higher seq"`
		Limit int   `query:"limit" minimum:"1" maximum:"1000" default:"200"`
	}
	huma.Register(api, op("GET", "/api/entries", "list-entries", "The journal in the order of its chain"), func(ctx context.Context, in *afterIn) (*entriesOut, error) {
		page, err := s.Farm.Entries(ctx, Ask{After: in.After, Limit: in.Limit})
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		out := &entriesOut{}
		out.Body.Entries, out.Body.More = page.Entries, page.More
		if out.Body.Entries == nil {
			out.Body.Entries = []farm.Entry{}
		}
		return out, nil
	})
	s.apiWrite(api)
	for _, c := range s.Calculators.All() {
		s.apiCalculator(api, c)
	}
	type nameIn struct {
		Name    string `path:"name" maxLength:"60"`
		RawBody []byte `contentType:"application/json"`
	}
	hidden := op("POST", "/api/calc/{name}", "run-calculator", "One calculator by its name")
	hidden.Hidden, hidden.SkipValidateBody = true, true
	huma.Register(api, hidden, func(ctx context.Context, in *nameIn) (*rawOut, error) {
		_, err := s.Calculators.Get(in.Name)
		if err == nil {
			err = fmt.Errorf("calculator %q is registered but has no address", in.Name)
		}
		return nil, s.apiError(ctx, err)
	})
}

// schemaName keeps the journal's description of a vessel apart from the vessel
// with its present.
func schemaName(t reflect.Type, hint string) string {
	if t == reflect.TypeFor[farm.Vessel]() {
		return "VesselSpec"
	}
	return huma.DefaultSchemaNamer(t, hint)
}

func (s *server) version() string {
	if s.Version == "" {
		return "dev"
	}
	return s.Version
}

// op describes one operation; every one may answer with problem details.
func op(method, path, id, summary string) huma.Operation {
	return huma.Operation{Method: method, Path: path, OperationID: id, Summary: summary, MaxBodyBytes: bodyLimit}
}

// apiWrite is the one call that writes.
func (s *server) apiWrite(api huma.API) {
	type in struct {
		RawBody []byte `contentType:"application/json"`
	}
	o := op("POST", "/api/entries", "append-entries", "Write one entry or a list, all or none")
	o.Description = "Each entry carries the ULID its maker gave it. Sent again with the same bytes it changes nothing and is answered the same; with other bytes the answer is 409."
	o.DefaultStatus = http.StatusOK
	registry := api.OpenAPI().Components.Schemas
	registry.Schema(reflect.TypeFor[farm.Entry](), true, "Entry")
	ref := &huma.Schema{Ref: "#/components/schemas/Entry"}
	o.SkipValidateBody = true
	huma.Register(api, o, func(ctx context.Context, req *in) (*entriesOut, error) {
		entries, bad := farm.DecodeEntries(req.RawBody, maxEntries)
		if bad != nil {
			return nil, s.badJSON(ctx, req.RawBody, bad)
		}
		got, err := s.Farm.Append(ctx, entries, farm.Sent)
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		out := &entriesOut{}
		out.Body.Entries = got
		return out, nil
	})
	takes(api, o.Path, &huma.MediaType{Schema: &huma.Schema{OneOf: []*huma.Schema{ref, {Type: huma.TypeArray, Items: ref}}}})
}

// takes describes what a call takes. It stands behind Register, which describes
// a body that is read raw as bytes and no more.
func takes(api huma.API, path string, media *huma.MediaType) {
	api.OpenAPI().Paths[path].Post.RequestBody = &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"application/json": media}}
}

// ownProblem gives the errors that the framework finds, in an address or a
// query, the same form as ours.
func ownProblem(_ huma.Context, _ string, v any) (any, error) {
	m, ok := v.(*huma.ErrorModel)
	if !ok {
		return v, nil
	}
	p := &Problem{Title: m.Title, Status: m.Status, Detail: m.Detail}
	if len(m.Errors) > 0 {
		p.Detail = m.Errors[0].Message
		p.Field = m.Errors[0].Location
		for _, part := range []string{"path.", "query.", "header.", "body."} {
			p.Field = strings.TrimPrefix(p.Field, part)
		}
		p.Detail = strings.TrimSpace(p.Field + ": " + p.Detail)
	}
	return p, nil
}

// badJSON is 400 where the request is no whole JSON at all, and 422 where JSON
// says something that cannot be taken.
func (s *server) badJSON(ctx context.Context, raw []byte, err error) error {
	if !json.Valid(raw) {
		return problemOf(http.StatusBadRequest, err)
	}
	return s.apiError(ctx, err)
}

// apiCalculator adds one calculator under its own address, with the schema that
// its definition gives.
func (s *server) apiCalculator(api huma.API, c *calc.Calculator) {
	type in struct {
		RawBody []byte `contentType:"application/json"`
	}
	o := op("POST", "/api/calc/"+c.Name, "calc-"+c.Name, c.Title)
	o.Description = c.Sentence
	o.DefaultStatus = http.StatusOK
	o.SkipValidateBody = true
	o.Tags = []string{"calculators"}
	media := &huma.MediaType{Schema: schemaOf(c.Inputs, true)}
	if c.Example != "" {
		media.Example = json.RawMessage(c.Example)
	}
	o.Responses = map[string]*huma.Response{"200": {
		Description: "The answer",
		Content:     map[string]*huma.MediaType{"application/json": {Schema: schemaOf(c.Outputs, false)}},
	}}
	huma.Register(api, o, func(ctx context.Context, req *in) (*rawOut, error) {
		answer, err := c.Run(req.RawBody)
		if err != nil {
			return nil, s.badJSON(ctx, req.RawBody, err)
		}
		raw, err := json.Marshal(answer)
		if err != nil {
			var unsupported *json.UnsupportedValueError
			if errors.As(err, &unsupported) {
				err = &farm.Error{Code: farm.Invalid, Message: "the answer holds a number that is not finite: an input lies outside what the law can tell"}
			}
			return nil, s.apiError(ctx, err)
		}
		return &rawOut{raw}, nil
	})
	takes(api, o.Path, media)
}

// schemaOf describes a calculator's fields.
func schemaOf(fields []calc.Field, input bool) *huma.Schema {
	sch := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}}
	for i := range fields {
		f := &fields[i]
		p := &huma.Schema{Description: strings.TrimSpace(f.Label + " " + bracket(f.Unit) + " " + f.Help)}
		switch f.Kind {
		case calc.Number:
			p.Type = huma.TypeNumber
		case calc.Whole:
			p.Type = huma.TypeInteger
		case calc.Flag:
			p.Type = huma.TypeBoolean
		case calc.Amounts:
			p.Type = huma.TypeObject
			p.AdditionalProperties = &huma.Schema{Type: huma.TypeNumber}
		case calc.List:
			p.Type, p.Items = huma.TypeArray, &huma.Schema{Type: huma.TypeString}
		case calc.Rows:
			p.Type, p.Items = huma.TypeArray, schemaOf(f.Columns, input)
		default:
			p.Type = huma.TypeString
			for _, c := range f.Choices {
				p.Enum = append(p.Enum, c)
			}
		}
		if !math.IsInf(f.Min, 0) && p.Type == huma.TypeNumber {
			p.Minimum = &f.Min
		}
		if !math.IsInf(f.Max, 0) && p.Type == huma.TypeNumber {
			p.Maximum = &f.Max
		}
		if f.Default != "" {
			p.Description = strings.TrimSpace(p.Description + "; else " + f.Default)
		}
		sch.Properties[f.Key] = p
		if input && f.Required {
			sch.Required = append(sch.Required, f.Key)
		}
	}
	if input {
		sch.AdditionalProperties = false
	}
	return sch
}

func bracket(unit string) string {
	if unit == "" {
		return ""
	}
	return "[" + unit + "]"
}

// withText adds the sentences that keys and arguments make.
func withText(w *words.Speaker, t keeper.Today) keeper.Today {
	vs := make([]keeper.TodayVessel, len(t.Vessels))
	copy(vs, t.Vessels)
	for i := range vs {
		items := make([]advice.Item, len(vs[i].Items))
		copy(items, vs[i].Items)
		for j := range items {
			p := todayPage{Frame: Frame{W: w}}
			view := p.item(items[j], vs[i], t.At, func() string { return "" })
			items[j].Text = strings.TrimSpace(view.Title + " " + view.Small)
			said := make([]string, len(items[j].Cautions))
			for k, c := range items[j].Cautions {
				said[k] = w.T(c)
			}
			items[j].Cautions = said
		}
		vs[i].Items = items
	}
	t.Vessels = vs
	return t
}
