package web

import (
	"crypto/rand"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/calc"
)

// Config is what a server is made of.
type Config struct {
	Farm        Farm
	Calculators *calc.Registry
	Version     string

	Now func() time.Time // the clock; nil: the machine's
	Log *slog.Logger     // nil: the default

	// Who names the person behind a request; nil: everybody is "farm". It is
	// for whoever wires logins; the pages never ask for one themselves.
	Who func(*http.Request) string
	// Hosts are names besides the machine's own under which the program may be
	// opened. Loopback names, numbers and single-label or .local names are
	// always taken; any other is refused, so that a page elsewhere cannot point
	// its own name at this machine and speak for the person in front of it.
	Hosts []string
	// Token tells whether a request carries a token that its bearer may write
	// with; nil: none does.
	Token func(*http.Request) bool
	// Invented puts the words 'an invented place' on every page: the demo.
	Invented bool
}

type server struct {
	Config
	ids    *farm.IDs
	assets *assets
	views  *views
	csrf   *http.CrossOriginProtection
	bench  benchCalcs
}

// New returns the handler of all pages and of the API. It panics if a template
// or an asset that it carries is broken, because no test can have passed then.
func New(cfg Config) http.Handler {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	if cfg.Who == nil {
		cfg.Who = func(*http.Request) string { return "farm" }
	}
	if cfg.Token == nil {
		cfg.Token = func(*http.Request) bool { return false }
	}
	if cfg.Calculators == nil {
		cfg.Calculators = calc.NewRegistry()
	}
	s := &server{Config: cfg, ids: farm.NewIDs(rand.Reader), assets: loadAssets(), csrf: http.NewCrossOriginProtection(), bench: newBenchCalcs()}
	s.views = loadViews(s.assets)

	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page(s.today))
	mux.HandleFunc("POST /done", s.page(s.done))
	mux.HandleFunc("POST /undo", s.page(s.undo))
	mux.HandleFunc("GET /vessels", s.page(s.vessels))
	mux.HandleFunc("GET /vessels/{id}", s.page(s.vessel))
	mux.HandleFunc("GET /handing", s.page(s.handing))
	mux.HandleFunc("GET /handing/helper.pdf", s.page(s.helperPDF))
	mux.HandleFunc("GET /handing/travel.pdf", s.page(s.travelPDF))
	mux.HandleFunc("GET /handing/class.pdf", s.page(s.classPDF))
	mux.HandleFunc("GET /handing/emergency.pdf", s.page(s.emergencyPDF))
	mux.HandleFunc("GET /wrong", s.page(s.wrong))
	mux.HandleFunc("POST /wrong", s.page(s.writeWrong))
	mux.HandleFunc("GET /wrong/apart", s.page(s.apart))
	mux.HandleFunc("GET /wrong/apart.pdf", s.page(s.apartPDF))
	mux.HandleFunc("GET /note", s.page(s.note))
	mux.HandleFunc("GET /note/kinds", s.page(s.kinds))
	mux.HandleFunc("POST /note", s.page(s.writeNote))
	mux.HandleFunc("GET /checks", s.page(s.checks))
	mux.HandleFunc("GET /checks/says", s.page(s.checkSays))
	mux.HandleFunc("POST /checks", s.page(s.writeLook))
	mux.HandleFunc("GET /checks/pcr", s.page(s.pcr))
	mux.HandleFunc("GET /checks/gel", s.page(s.gel))
	mux.HandleFunc("POST /checks/gel", s.page(s.writeGel))
	mux.HandleFunc("POST /checks/gel/photo", s.page(s.writeGelPhoto))
	mux.HandleFunc("GET /checks/lab", s.page(s.lab))
	mux.HandleFunc("POST /checks/lab", s.page(s.writeLab))
	mux.HandleFunc("GET /photos/{name}", s.page(s.photo))
	mux.HandleFunc("GET /mix", s.page(s.mix))
	mux.HandleFunc("GET /mix/part", s.page(s.mixPart))
	mux.HandleFunc("GET /mix/sheet.pdf", s.page(s.mixPDF))
	mux.HandleFunc("GET /mix/hold", s.page(s.hold))
	mux.HandleFunc("POST /mix", s.page(s.writeMix))
	mux.HandleFunc("POST /mix/recipe", s.page(s.writeRecipe))
	mux.HandleFunc("GET /shelf", s.page(s.shelf))
	mux.HandleFunc("GET /shelf/lot", s.page(s.lotForm))
	mux.HandleFunc("POST /shelf/lot", s.page(s.writeLot))
	mux.HandleFunc("POST /shelf/left", s.page(s.writeLeft))
	mux.HandleFunc("GET /shelf/water", s.page(s.waterForm))
	mux.HandleFunc("POST /shelf/water", s.page(s.writeWater))
	mux.HandleFunc("GET /plan", s.page(s.plan))
	mux.HandleFunc("GET /scale", s.page(s.scale))
	mux.HandleFunc("GET /reserve", s.page(s.reserve))
	mux.HandleFunc("GET /reserve/intake", s.page(s.intake))
	mux.HandleFunc("POST /reserve/intake", s.page(s.writeIntake))
	mux.HandleFunc("POST /plan/wish", s.page(s.writeWish))
	mux.HandleFunc("GET /harvests", s.page(s.harvests))
	mux.HandleFunc("GET /harvests/new", s.page(s.harvestForm))
	mux.HandleFunc("POST /harvests/new", s.page(s.writeHarvest))
	mux.HandleFunc("POST /harvests/name", s.page(s.nameHarvest))
	mux.HandleFunc("GET /harvests/plan", s.page(s.lotPlan))
	mux.HandleFunc("POST /harvests/plan", s.page(s.writeLotPlan))
	mux.HandleFunc("POST /harvests/tool", s.page(s.writeTool))
	mux.HandleFunc("POST /harvests/cleaned", s.page(s.writeCleaned))
	mux.HandleFunc("GET /lots/{id}", s.page(s.lotSheet))
	mux.HandleFunc("POST /lots/{id}", s.page(s.writeLotAct))
	mux.HandleFunc("GET /lots/{id}/label.pdf", s.page(s.label))
	mux.HandleFunc("GET /lots/{id}/trace", s.page(s.trace))
	mux.HandleFunc("GET /lots/{id}/trace.csv", s.page(s.traceFile))
	mux.HandleFunc("GET /lots/{id}/trace.pdf", s.page(s.traceFile))
	mux.HandleFunc("GET /hazards", s.page(s.hazards))
	mux.HandleFunc("GET /hazards.pdf", s.page(s.hazardsPDF))
	mux.HandleFunc("GET /trace", s.page(s.trace))
	mux.HandleFunc("GET /trace.csv", s.page(s.traceFile))
	mux.HandleFunc("GET /trace.pdf", s.page(s.traceFile))
	mux.HandleFunc("GET /why", s.page(s.why))
	mux.HandleFunc("GET /calc", s.page(s.calculators))
	mux.HandleFunc("GET /calc/{name}", s.page(s.calculator))
	mux.HandleFunc("GET /farm", s.page(s.setup))
	mux.HandleFunc("POST /farm/site", s.page(s.writeSite))
	mux.HandleFunc("GET /farm/climate", s.page(s.climate))
	mux.HandleFunc("POST /farm/climate", s.page(s.writeClimate))
	mux.HandleFunc("GET /farm/instruments", s.page(s.instruments))
	mux.HandleFunc("POST /farm/instruments/check", s.page(s.writeCheck))
	mux.HandleFunc("GET /farm/vessel", s.page(s.vesselForm))
	mux.HandleFunc("POST /farm/vessel", s.page(s.writeVessel))
	mux.HandleFunc("POST /farm/person", s.page(s.writePerson))
	mux.HandleFunc("POST /farm/instrument", s.page(s.writeInstrument))
	mux.HandleFunc("GET /farm/inside", s.page(s.insideForm))
	mux.HandleFunc("POST /farm/inside", s.page(s.writeInside))
	mux.HandleFunc("GET /build", s.page(s.build))
	mux.HandleFunc("GET /power", s.page(s.power))
	mux.HandleFunc("GET /records", s.page(s.records))
	mux.HandleFunc("GET /records/entry/{id}", s.page(s.record))
	mux.HandleFunc("GET /records/export.jsonl", s.page(s.export))
	mux.HandleFunc("GET /records/proof", s.page(s.proof))
	mux.HandleFunc("POST /records/import", s.page(s.importRecords))
	mux.HandleFunc("GET /healthz", s.healthz)
	mux.HandleFunc("GET /assets/{file}", s.assets.serve)
	mux.HandleFunc("GET /sw.js", s.assets.worker)
	mux.HandleFunc("GET /manifest.webmanifest", s.assets.manifest)
	s.api(mux)
	mux.HandleFunc("/", s.page(func(w http.ResponseWriter, r *http.Request) error {
		return &farm.Error{Code: farm.NotFound, Message: "page " + clip(r.URL.Path) + " does not exist"}
	}))
	return s.guard(mux)
}

// bodyLimit bounds what a request may carry, but for an import.
const (
	bodyLimit   = 2 << 20
	importLimit = 256 << 20
)

// guard stands before every handler: the names the program answers to, who may
// write, what a page may load, and how large a request may be.
func (s *server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		// Not no-referrer: browsers would then send the Origin "null" with our
		// own forms where the page has no secure context.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if !s.answersTo(r.Host) {
			s.fail(w, r, http.StatusMisdirectedRequest, &farm.Error{Code: farm.Denied, Field: "host", Message: s.speaker(r).T("problem.host", "name", clip(r.Host)), Hint: s.speaker(r).T("problem.host_hint")})
			return
		}
		limit := int64(bodyLimit)
		switch {
		case r.URL.Path == "/records/import":
			limit = importLimit
		case carriesPhoto(r):
			limit = drainLimit
		}
		if r.Body != nil {
			r.Body = http.MaxBytesReader(w, r.Body, limit)
		}
		if err := s.mayWrite(r); err != nil {
			s.fail(w, r, http.StatusForbidden, err)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// mayWrite refuses a write that comes from another site's page, and one from a
// program that is not on this machine and carries no token.
func (s *server) mayWrite(r *http.Request) error {
	switch r.Method {
	case http.MethodGet, http.MethodHead, http.MethodOptions:
		return nil
	}
	denied := &farm.Error{Code: farm.Denied, Message: s.speaker(r).T("problem.csrf"), Hint: s.speaker(r).T("problem.denied_hint")}
	if err := s.csrf.Check(r); err != nil {
		return denied
	}
	if r.Header.Get("Origin") == "" && r.Header.Get("Sec-Fetch-Site") == "" && !fromLoopback(r) && !s.Token(r) {
		return &farm.Error{Code: farm.Denied, Message: "a program that is not on this machine needs a token to write"}
	}
	return nil
}

// fromLoopback tells whether the request was made on this machine.
func fromLoopback(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// answersTo tells whether the program may be opened by that name.
func (s *server) answersTo(hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.ToLower(strings.Trim(strings.TrimSuffix(host, "."), "[]"))
	if host == "" || net.ParseIP(host) != nil || !strings.Contains(host, ".") ||
		strings.HasSuffix(host, ".local") || strings.HasSuffix(host, ".localhost") {
		return true
	}
	for _, h := range s.Hosts {
		if host == strings.ToLower(h) {
			return true
		}
	}
	return false
}

func (s *server) healthz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if _, err := s.Farm.Setup(r.Context()); err != nil {
		s.Log.Error("health", "error", err)
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("the journal cannot be read\n"))
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}

// clip shortens what a stranger sent to what a sentence can carry.
func clip(t string) string {
	const most = 80
	if len(t) <= most {
		return t
	}
	return strings.ToValidUTF8(t[:most], "") + "…"
}
