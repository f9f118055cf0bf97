package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/photo"
	"sodalake/keeper"
	"sodalake/words"
)

// Photos is what the pages need of whoever keeps the photos.
type Photos interface {
	// KeepPhoto keeps a photo that was cleaned; it comes before the entry that
	// speaks of it.
	KeepPhoto(ctx context.Context, p photo.Photo) error
	// Photo is a photo by its name; farm.NotFound if it is not here.
	Photo(ctx context.Context, name string) (photo.Photo, error)
	// Shots are the last photos of a vessel, the newest first, at most so many.
	Shots(ctx context.Context, vessel string, most int) ([]keeper.Shot, error)
}

const (
	// drainLimit is how much of a form with a photo is read at all: beyond what
	// is kept it is thrown away, so that a browser hears the answer.
	drainLimit = 64 << 20
	// fieldLimit bounds what the fields beside a photo may hold together.
	fieldLimit = 256 << 10
	mostFields = 400
)

// carriesPhoto tells whether a request may be larger because of a photo.
func carriesPhoto(r *http.Request) bool {
	if r.Method != http.MethodPost || !strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		return false
	}
	return r.URL.Path == "/note" || strings.HasPrefix(r.URL.Path, "/checks")
}

// formWithPhoto reads a form that may carry a photo, nil if it carries none.
func (s *server) formWithPhoto(r *http.Request) (url.Values, *photo.Photo, error) {
	if !carriesPhoto(r) {
		if err := r.ParseForm(); err != nil {
			return nil, nil, formError(err)
		}
		return r.PostForm, nil, nil
	}
	form, shot, err := readForm(r)
	if err != nil {
		// What is left is read into nothing: an answer before the end of a form
		// looks to a browser like a broken line.
		_, _ = io.Copy(io.Discard, r.Body)
	}
	return form, shot, err
}

func readForm(r *http.Request) (url.Values, *photo.Photo, error) {
	if r.ContentLength > photo.MaxBytes+fieldLimit {
		return nil, nil, &http.MaxBytesError{Limit: photo.MaxBytes}
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, nil, invalid("", "", "the form cannot be read")
	}
	form, left := url.Values{}, int64(fieldLimit)
	var shot *photo.Photo
	for n := 0; ; n++ {
		part, err := parts.NextPart()
		if err == io.EOF {
			return form, shot, nil
		}
		if err != nil || n > mostFields {
			return nil, nil, formError(err)
		}
		if part.FileName() != "" {
			if part.FormName() != "photo" || shot != nil {
				continue
			}
			one, err := photo.Read(part)
			var e *farm.Error
			if err != nil && !errors.As(err, &e) {
				err = formError(err)
			}
			if err != nil {
				return nil, nil, err
			}
			shot = &one
			continue
		}
		text, err := io.ReadAll(io.LimitReader(part, left+1))
		if err != nil {
			return nil, nil, formError(err)
		}
		if left -= int64(len(text)); left < 0 {
			return nil, nil, invalid("", "", "the form holds more words than this program takes")
		}
		if name := part.FormName(); name != "" && name != "photo" {
			form.Add(name, string(text))
		}
	}
}

// withPhoto keeps the photo of a reading and says in its body which it is.
func (s *server) withPhoto(ctx context.Context, w *words.Speaker, k *farm.Kind, body json.RawMessage, form url.Values, shot *photo.Photo) (json.RawMessage, error) {
	name := form.Get("photo_was")
	if shot != nil {
		if err := s.Farm.KeepPhoto(ctx, *shot); err != nil {
			return nil, err
		}
		name = shot.SHA256
	}
	if k.Group != farm.GroupReading {
		return body, nil
	}
	if name == "" {
		if k.Name == "photo" && !strings.Contains(string(body), `"photo_sha256"`) {
			return nil, invalid("photo", w.T("photo.missing"), "photo is missing")
		}
		return body, nil
	}
	var all map[string]json.RawMessage
	if err := json.Unmarshal(body, &all); err != nil {
		return nil, err
	}
	all["photo_sha256"] = json.RawMessage(strconv.Quote(name))
	return json.Marshal(all)
}

// photoOfAct notes the photo that was sent with an act: acts name none, so it
// stands as an entry of its own beside it.
func (s *server) photoOfAct(ctx context.Context, k *farm.Kind, act farm.Entry, id string, shot *photo.Photo, origin farm.Origin) error {
	if shot == nil || k.Group == farm.GroupReading {
		return nil
	}
	body, err := json.Marshal(map[string]string{"photo_sha256": shot.SHA256})
	if err != nil {
		return err
	}
	e := farm.Entry{ID: id, Site: act.Site, Vessel: act.Vessel, Kind: "photo", V: 1, At: act.At, NotedAt: act.NotedAt, By: act.By, Body: body}
	_, _, err = s.write(ctx, e, origin)
	return err
}

// photo sends a photo. Its name is the hash of its bytes, so a browser may keep
// it for good; it is nobody else's, so nothing between may.
func (s *server) photo(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("name")
	h := w.Header()
	if photo.IsName(name) && strings.Contains(r.Header.Get("If-None-Match"), `"`+name+`"`) {
		h.Set("ETag", `"`+name+`"`)
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	p, err := s.Farm.Photo(r.Context(), name)
	if err != nil {
		return err
	}
	h.Set("Content-Type", string(p.Kind))
	h.Set("Content-Length", strconv.Itoa(len(p.Bytes)))
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("ETag", `"`+name+`"`)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	_, _ = w.Write(p.Bytes)
	return nil
}

// shot is a photo on a page.
type shot struct{ Src, Href, Alt, Text string }

// shots are the last photos of a vessel.
func (s *server) shots(ctx context.Context, w *words.Speaker, vessel string, names map[string]string, now time.Time) ([]shot, error) {
	list, err := s.Farm.Shots(ctx, vessel, 3)
	if err != nil {
		return nil, err
	}
	var out []shot
	for _, p := range list {
		day, clock := w.Ago(p.At, now)
		what := w.T("kind." + p.Kind)
		text := upperFirst(day) + " " + clock + ", " + what
		if p.Text != "" {
			text += ": " + clip(p.Text)
		}
		alt := w.T("photo.alt", "what", names[vessel]+", "+what, "time", w.Moment(p.At))
		out = append(out, shot{Src: "/photos/" + p.Photo, Href: "/records/entry/" + url.PathEscape(p.EntryID), Alt: alt, Text: text})
	}
	return out, nil
}

// PhotoMost is the largest photo in bytes, for the module that says at once
// that one is too large.
func (*notePage) PhotoMost() int { return photo.MaxBytes }
