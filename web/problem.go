package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"sodalake/farm"
)

// handler is a page that may fail.
type handler func(http.ResponseWriter, *http.Request) error

// page turns a handler into one that shows its errors.
func (s *server) page(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.fail(w, r, 0, err)
		}
	}
}

// statusOf is the HTTP status of an error.
func statusOf(err error) int {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return http.StatusRequestEntityTooLarge
	}
	switch farm.CodeOf(err) {
	case farm.Invalid:
		return http.StatusUnprocessableEntity
	case farm.NotFound:
		return http.StatusNotFound
	case farm.Conflict:
		return http.StatusConflict
	case farm.Denied:
		return http.StatusForbidden
	}
	return http.StatusInternalServerError
}

type problemPage struct {
	Frame
	Lead, Message, Hint, Field string
	Back                       string
}

// fail shows an error: to machines as problem details, to people as one calm
// sentence that says what to do. What is our own fault is logged in full.
func (s *server) fail(w http.ResponseWriter, r *http.Request, status int, err error) {
	if status == 0 {
		status = statusOf(err)
	}
	if status >= 500 {
		s.Log.Error("request failed", "method", r.Method, "path", r.URL.Path, "error", err)
	}
	if strings.HasPrefix(r.URL.Path, "/api/") || strings.Contains(r.Header.Get("Accept"), "application/json") {
		p := problemOf(status, err)
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(p)
		return
	}
	frame, _, ferr := s.frame(r, "", "")
	if ferr != nil {
		frame.W = s.speaker(r)
	}
	t := frame.W.T
	p := problemPage{Frame: frame, Lead: t("problem.internal"), Hint: t("problem.internal_hint")}
	var e *farm.Error
	switch {
	case status == http.StatusRequestEntityTooLarge:
		p.Lead, p.Hint = t("problem.too_large"), ""
		if carriesPhoto(r) {
			p.Hint = t("photo.large")
		}
	case errors.As(err, &e) && e.Code != farm.Internal:
		p.Message, p.Hint, p.Field = e.Message, e.Hint, e.Field
		switch e.Code {
		case farm.NotFound:
			p.Lead = t("problem.not_found")
			if r.Method == http.MethodPost {
				p.Lead = t("problem.missing")
			} else if p.Hint == "" {
				p.Hint = t("problem.not_found_hint")
			}
		case farm.Conflict:
			p.Lead = t("problem.conflict")
		case farm.Denied:
			p.Lead = t("problem.denied")
		default:
			p.Lead = t("problem.invalid")
			if p.Hint == "" {
				p.Hint = t("problem.back")
			}
		}
	}
	p.Title = t("problem.title")
	if err := s.views.render(w, r, status, "problem", p); err != nil {
		s.Log.Error("error page failed", "error", err)
		http.Error(w, p.Lead, status)
	}
}

// Problem is RFC 9457 problem details with the field that the error names.
type Problem struct {
	Type   string `json:"type,omitempty"`
	Title  string `json:"title" doc:"Short words for the status"`
	Status int    `json:"status" doc:"HTTP status"`
	Detail string `json:"detail" doc:"What is wrong, subject first"`
	Field  string `json:"field,omitempty" doc:"The input that the error names"`
	Hint   string `json:"hint,omitempty" doc:"What to do next"`
}

// Error returns the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus returns the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType turns JSON into problem details.
func (p *Problem) ContentType(ct string) string {
	if ct == "application/json" {
		return "application/problem+json"
	}
	return ct
}

// problemOf makes problem details of an error; one that cannot be shown to a
// person says nothing of its cause.
func problemOf(status int, err error) *Problem {
	p := &Problem{Title: http.StatusText(status), Status: status, Detail: "something went wrong here; the log of the program tells more"}
	var e *farm.Error
	if errors.As(err, &e) && e.Code != farm.Internal {
		p.Detail, p.Field, p.Hint = e.Message, e.Field, e.Hint
	} else if status == http.StatusRequestEntityTooLarge {
		p.Detail = "the request is larger than this program takes"
	}
	return p
}
