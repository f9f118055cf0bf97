package web

import (
	"bytes"
	"compress/gzip"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"time"

	"sodalake/words"
)

//go:embed pages
var pageFiles embed.FS

// views are the parsed templates, one set for each page.
type views struct {
	pages  map[string]*template.Template
	assets *assets
	bufs   sync.Pool
	zips   sync.Pool
}

// loadViews parses every page with the common parts; a broken one is fatal.
func loadViews(a *assets) *views {
	v := &views{pages: map[string]*template.Template{}, assets: a}
	v.bufs.New = func() any { return new(bytes.Buffer) }
	v.zips.New = func() any { z, _ := gzip.NewWriterLevel(io.Discard, 5); return z }
	base := template.New("").Funcs(template.FuncMap{"asset": a.path, "nb": nb, "dict": dict, "upper": upperFirst})
	base = template.Must(base.ParseFS(pageFiles, "pages/parts/*.html"))
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		panic("web: pages: " + err.Error())
	}
	for _, file := range names {
		name := strings.TrimSuffix(strings.TrimPrefix(file, "pages/"), ".html")
		page := template.Must(template.Must(base.Clone()).ParseFS(pageFiles, file))
		v.pages[name] = page
	}
	return v
}

// dict makes the arguments of a part.
func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict: a name without a value")
	}
	m := make(map[string]any, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		m[fmt.Sprint(pairs[i])] = pairs[i+1]
	}
	return m, nil
}

var numberUnit = regexp.MustCompile(`(\d) ((?:g/L|mg/L|mS/cm|µmol|°C|°F|cm|mm|mM|mL|kg|lb|oz|gal|L|g|m|days?|US|times)\b|%)`)

// nb keeps a number and its unit on one line.
func nb(t string) string { return numberUnit.ReplaceAllString(t, "$1\u00a0$2") }

// Frame is what every page has.
type Frame struct {
	W        *words.Speaker
	Title    string
	Tab      string // which tab is open
	Farm     string // name of the place
	Invented bool
	Said     string // one line on what was just done; empty for none
	Sheet    string // a further style sheet; empty for none
	Script   string // a further module; empty for none
	Now      time.Time
}

// Tabs are the pages in the order of the tabs.
func (f Frame) Tabs() []Tab {
	all := []Tab{
		{"today", "/", false}, {"vessels", "/vessels", false}, {"note", "/note", false}, {"mix", "/mix", false},
		{"plan", "/plan", true}, {"harvests", "/harvests", true},
		{"shelf", "/shelf", true}, {"calculators", "/calc", true}, {"why", "/why", true}, {"farm", "/farm", true}, {"records", "/records", true},
	}
	return all
}

// Tab is one tab.
type Tab struct {
	Name, Href string
	More       bool // stands below the others on a desk, at the foot on a phone
}

// render writes a page. It is made whole before the first byte is sent, so that
// an error never leaves half a page.
func (v *views) render(w http.ResponseWriter, r *http.Request, status int, name string, data any) error {
	return v.send(w, r, status, name, "layout", data)
}

// renderPart writes only one part of a page, for a script that puts it in the
// place of the old one.
func (v *views) renderPart(w http.ResponseWriter, r *http.Request, name, part string, data any) error {
	return v.send(w, r, http.StatusOK, name, part, data)
}

func (v *views) send(w http.ResponseWriter, r *http.Request, status int, name, part string, data any) error {
	t, ok := v.pages[name]
	if !ok {
		return fmt.Errorf("page %q has no template", name)
	}
	buf := v.bufs.Get().(*bytes.Buffer)
	defer v.bufs.Put(buf)
	buf.Reset()
	if err := t.ExecuteTemplate(buf, part, data); err != nil {
		return fmt.Errorf("page %s: %w", name, err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Vary", "Accept-Encoding")
	if !accepts(r) {
		w.WriteHeader(status)
		_, err := w.Write(buf.Bytes())
		return ignoreGone(err)
	}
	h.Set("Content-Encoding", "gzip")
	w.WriteHeader(status)
	z := v.zips.Get().(*gzip.Writer)
	defer v.zips.Put(z)
	z.Reset(w)
	_, err := z.Write(buf.Bytes())
	if err == nil {
		err = z.Close()
	}
	return ignoreGone(err)
}

// ignoreGone drops the error of a reader that went away: the page was sent.
func ignoreGone(error) error { return nil }

// speaker returns who speaks on a page: in the site's language and measures.
func (s *server) speaker(r *http.Request) *words.Speaker {
	setup, err := s.Farm.Setup(r.Context())
	if err != nil || !setup.HasSite {
		return words.New(acceptLanguage(r), words.Metric, nil)
	}
	return speakerOf(setup, r)
}

func speakerOf(setup Setup, r *http.Request) *words.Speaker {
	if !setup.HasSite {
		return words.New(acceptLanguage(r), words.Metric, nil)
	}
	lang := setup.Site.Language
	if lang == "" {
		lang = acceptLanguage(r)
	}
	zone, err := time.LoadLocation(setup.Site.Timezone)
	if err != nil {
		zone = time.UTC
	}
	return words.New(lang, words.Measures(setup.Site.Measures), zone)
}

// acceptLanguage is the first language that the browser asks for.
func acceptLanguage(r *http.Request) string {
	first, _, _ := strings.Cut(r.Header.Get("Accept-Language"), ",")
	first, _, _ = strings.Cut(first, ";")
	return strings.TrimSpace(first)
}

// frame begins a page.
func (s *server) frame(r *http.Request, tab, title string) (Frame, Setup, error) {
	setup, err := s.Farm.Setup(r.Context())
	if err != nil {
		return Frame{}, setup, err
	}
	w := speakerOf(setup, r)
	return Frame{W: w, Title: title, Tab: tab, Farm: setup.Site.Name, Invented: s.Invented, Now: s.Now()}, setup, nil
}

// zoneOf is the zone of that name, UTC if there is none.
func zoneOf(name string) *time.Location {
	if z, err := time.LoadLocation(name); err == nil && name != "" {
		return z
	}
	return time.UTC
}
