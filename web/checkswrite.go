package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/farm/photo"
	"sodalake/words"
)

// writeLook writes a look down: of a vessel as a reading, of a lot as checks.
func (s *server) writeLook(w http.ResponseWriter, r *http.Request) error {
	form, shot, err := s.formWithPhoto(r)
	if err != nil {
		return err
	}
	sp, now := s.speaker(r), s.Now()
	l, err := lookOf(form)
	if err != nil {
		return err
	}
	vessel, lotID := ofWhat(form.Get("of"))
	if vessel == "" && lotID == "" {
		return invalid("of", "choose a vessel or a lot", "of what it was is missing")
	}
	if lotID != "" {
		err = s.writeLookOfLot(r, sp, form, &l, lotID, shot, now)
	} else {
		err = s.writeLookOfVessel(r, sp, form, &l, vessel, shot, now)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/checks?"+url.Values{"of": {form.Get("of")}, "noted": {form.Get("id")}}.Encode(), http.StatusSeeOther)
	return nil
}

func (s *server) writeLookOfVessel(r *http.Request, sp *words.Speaker, form url.Values, l *lookSheet, vessel string, shot *photo.Photo, now time.Time) error {
	body := map[string]any{}
	if l.counted {
		body["filaments_seen"], body["foreign_seen"] = l.own, l.foreignAll
		if l.own > 0 {
			body["straight_seen"], body["broken_seen"] = l.straight, l.broken
		}
	}
	if l.lookedML > 0 {
		body["looked_ml"] = l.lookedML
	}
	for _, key := range []string{"ph", "temp_c"} {
		text := strings.TrimSpace(form.Get(key))
		if text == "" {
			continue
		}
		x, err := plainNumber(key, text)
		if err != nil {
			return err
		}
		if y := sp.Stored(key, x); y != x {
			x = roundTo(y, 5)
		}
		body[key] = x
	}
	for _, key := range []string{"smell", "colour"} {
		if word := strings.TrimSpace(form.Get(key)); word != "" {
			body[key] = word
		}
	}
	if text := l.words(sp, strings.TrimSpace(form.Get("text"))); text != "" {
		body["text"] = text
	}
	if len(body) == 0 {
		return invalid("own", sp.T("look.nothing"), "nothing was counted or noted")
	}
	if !l.counted && body["text"] == nil {
		body["text"] = sp.T("look.text_not_counted")
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	k := farm.KindNamed("microscope")
	if raw, err = s.withPhoto(r.Context(), sp, k, raw, form, shot); err != nil {
		return err
	}
	e := farm.Entry{ID: form.Get("id"), Vessel: vessel, Kind: k.Name, V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
	_, _, err = s.write(r.Context(), e, farm.Typed)
	return err
}

func (s *server) writeLookOfLot(r *http.Request, sp *words.Speaker, form url.Values, l *lookSheet, lotID string, shot *photo.Photo, now time.Time) error {
	lots, err := s.Farm.Lots(r.Context(), now, 0)
	if err != nil {
		return err
	}
	least := int(lots.Plan.LeastSeen)
	type note struct{ id, check, outcome, what string }
	var notes []note
	if l.counted {
		n := note{form.Get("id"), lot.Microscope, "passed", fmt.Sprintf("%d foreign, %d own; %s", l.foreignAll, l.own, l.words(sp, strings.TrimSpace(form.Get("text"))))}
		n.what = strings.TrimSuffix(n.what, "; ")
		if l.foreignAll > 0 {
			n.outcome = "failed"
		} else if l.own < least {
			return invalid("own", sp.T("look.too_few", "seen", strconv.Itoa(l.own), "least", strconv.Itoa(least), "more", strconv.Itoa(least-l.own)), "own %d is fewer than the %d filaments that this farm's plan asks for", l.own, least)
		}
		notes = append(notes, n)
	}
	for _, sense := range []struct {
		key, check, id string
		good           []string
	}{{"smell", lot.Smell, form.Get("id_smell"), goodSmells}, {"colour", lot.Colour, form.Get("id_colour"), goodHues}} {
		word := form.Get(sense.key)
		if word == "" {
			continue
		}
		n := note{sense.id, sense.check, "failed", wordOf(sp, sense.key, word)}
		if slices.Contains(sense.good, word) {
			n.outcome = "passed"
		}
		if len(notes) == 0 {
			n.id = form.Get("id")
		}
		notes = append(notes, n)
	}
	if len(notes) == 0 {
		return invalid("own", sp.T("look.nothing"), "nothing was counted or noted")
	}
	for _, n := range notes {
		raw, err := json.Marshal(map[string]any{"lot": lotID, "check": n.check, "outcome": n.outcome, "what": n.what})
		if err != nil {
			return err
		}
		e := farm.Entry{ID: n.id, Kind: "lot_check", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
		if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
			return err
		}
	}
	if shot == nil {
		return nil
	}
	if err := s.Farm.KeepPhoto(r.Context(), *shot); err != nil {
		return err
	}
	raw, err := json.Marshal(map[string]any{"photo_sha256": shot.SHA256, "text": sp.T("look.photo_of_lot", "lot", lotID)})
	if err != nil {
		return err
	}
	e := farm.Entry{ID: form.Get("photo_id"), Kind: "photo", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw}
	_, _, err = s.write(r.Context(), e, farm.Typed)
	return err
}

// Words of smell and colour that pass, as the plan of lots takes them: common
// practice, no source.
var (
	goodSmells = []string{"none", "grassy", "soda"}
	goodHues   = []string{"dark_green", "green", "blue_green"}
)
