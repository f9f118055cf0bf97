package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"regexp"
	"strings"
)

//go:embed assets
var assetFiles embed.FS

//go:embed worker/sw.js
var workerFile string

// asset is one file as it is sent.
type asset struct {
	kind   string // media type
	plain  []byte
	zipped []byte
}

// assets holds every file under a name that carries the hash of its content,
// so that a browser may keep it for good.
type assets struct {
	byName  map[string]asset  // hashed name
	address map[string]string // plain name to address
	script  []byte            // of the service worker, which keeps its own name
}

// imports finds the module names that a script imports.
var imports = regexp.MustCompile(`from "\./([a-z]+\.js)"`)

// loadAssets reads the embedded files, hashes them and packs them once.
func loadAssets() *assets {
	a := &assets{byName: map[string]asset{}, address: map[string]string{}}
	files := map[string][]byte{}
	names, err := fs.ReadDir(assetFiles, "assets")
	if err != nil {
		panic("web: assets: " + err.Error())
	}
	for _, e := range names {
		b, err := assetFiles.ReadFile("assets/" + e.Name())
		if err != nil {
			panic("web: assets: " + err.Error())
		}
		files[e.Name()] = b
	}
	var add func(name string)
	add = func(name string) {
		if _, done := a.address[name]; done {
			return
		}
		b, ok := files[name]
		if !ok {
			panic("web: a script imports " + name + ", which is not there")
		}
		if strings.HasSuffix(name, ".js") {
			// A module is named by its hash too, so what imports it must say so.
			b = imports.ReplaceAllFunc(b, func(m []byte) []byte {
				other := string(imports.FindSubmatch(m)[1])
				add(other)
				return []byte(`from "./` + path.Base(a.address[other]) + `"`)
			})
		}
		sum := sha256.Sum256(b)
		ext := path.Ext(name)
		hashed := strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:6]) + ext
		kind := mime.TypeByExtension(ext)
		if ext == ".js" {
			kind = "text/javascript; charset=utf-8"
		}
		a.byName[hashed] = asset{kind: kind, plain: b, zipped: zip(b)}
		a.address[name] = "/assets/" + hashed
	}
	for name := range files {
		add(name)
	}
	list := sortedKeys(a.byName)
	for i, name := range list {
		list[i] = "/assets/" + name
	}
	raw, err := json.Marshal(list)
	if err != nil {
		panic("web: assets: " + err.Error())
	}
	sum := sha256.Sum256(raw)
	a.script = []byte(strings.NewReplacer("VERSION", hex.EncodeToString(sum[:6]), "ASSETS", string(raw)).Replace(workerFile))
	return a
}

// worker sends the service worker. Its name stays, so that browsers find the
// next one; it is asked for anew each time.
func (a *assets) worker(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(a.script)
}

func zip(b []byte) []byte {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err == nil {
		_, err = z.Write(b)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic("web: gzip: " + err.Error())
	}
	return out.Bytes()
}

// path returns the address of a file; templates use it.
func (a *assets) path(name string) string {
	p, ok := a.address[name]
	if !ok {
		panic("web: no asset " + name)
	}
	return p
}

func (a *assets) serve(w http.ResponseWriter, r *http.Request) {
	f, ok := a.byName[r.PathValue("file")]
	if !ok {
		http.Error(w, "no such file", http.StatusNotFound)
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("Vary", "Accept-Encoding")
	if accepts(r) {
		h.Set("Content-Encoding", "gzip")
		_, _ = w.Write(f.zipped)
		return
	}
	_, _ = w.Write(f.plain)
}

// manifest lets a phone keep the program on its first screen.
func (a *assets) manifest(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "application/manifest+json")
	w.Header().Set("Cache-Control", "public, max-age=3600")
	_, _ = w.Write([]byte(`{"name":"Sodalake","short_name":"Sodalake","start_url":"/","display":"standalone","background_color":"#FAFBF7","theme_color":"#FAFBF7","icons":[{"src":"` + a.path("icon.svg") + `","sizes":"any","type":"image/svg+xml"}]}`))
}

// accepts tells whether the client takes gzip.
func accepts(r *http.Request) bool {
	for _, v := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(v), ";")
		if strings.EqualFold(name, "gzip") {
			return strings.TrimSpace(q) != "q=0"
		}
	}
	return false
}

// AssetNames returns the names of all assets as they are served, for tests and
// for whoever keeps a copy.
func AssetNames() map[string]bool {
	out := map[string]bool{}
	for name := range loadAssets().byName {
		out[name] = true
	}
	return out
}
