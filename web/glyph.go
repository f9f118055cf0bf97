package web

import (
	"html/template"
	"strings"
	"time"

	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/web/draw"
	"sodalake/words"
)

// shapeOf is how a vessel looks from the side.
func shapeOf(v keeper.Vessel) draw.Shape {
	switch v.Spec.Shape.Kind {
	case "bottle":
		if v.Spec.Number() > 1 {
			return draw.Bottles
		}
		return draw.Bottle
	case "lying_cylinder":
		return draw.Lying
	case "raceway":
		return draw.Raceway
	case "liner":
		return draw.Pond
	case "box", "ellipse", "measured":
		if v.Spec.InGround != nil && *v.Spec.InGround {
			return draw.Pond
		}
	}
	return draw.Tank
}

// staleAfter is how old a density reading may be before the disc is drawn
// empty: the estimate then stands on the model.
const staleAfter = 7 * 24 * time.Hour

// columnOf is the drawing of a vessel; id must be unique on its page.
func columnOf(v keeper.Vessel, id string, now time.Time) draw.Column {
	c := draw.Column{
		ID: id, Shape: shapeOf(v), Known: v.Now.Known, Full: v.Spec.FullLevelCM, Count: v.Spec.Number(),
		Grams: v.Now.Bands[keeper.DensityGPerL].Mid,
		Stale: v.Last == nil || now.Sub(v.Last.At) > staleAfter,
	}
	if b, ok := v.Now.Bands[keeper.LevelCM]; ok {
		c.Level = b.Mid
	} else {
		c.Level = c.Full
	}
	if c.Full == 0 {
		c.Full = v.Spec.RimCM()
	}
	if b, ok := v.Now.Bands[keeper.SecchiCM]; ok && b.Mid > 0 {
		c.Disc = &b
	}
	return c
}

// glyph is the small drawing for lists, hidden from those who cannot see it:
// the name beside it is the link.
func glyph(v keeper.Vessel, id string, now time.Time) template.HTML {
	return template.HTML(columnOf(v, id, now).Glyph()) //nolint:gosec // made by draw, which escapes
}

// largeSection is the large drawing with its words.
func largeSection(w *words.Speaker, v keeper.Vessel, now time.Time) template.HTML {
	c := columnOf(v, "sec", now)
	name := v.Spec.Name
	switch {
	case c.Shape == draw.Bottles:
		c.Says = w.T("vessel.shelf", "name", name, "count", c.Count)
		return template.HTML(c.Large()) //nolint:gosec // made by draw
	case !c.Known || !(c.Level > 0):
		c.Says = w.T("vessel.section_empty", "name", name)
		return template.HTML(c.Large()) //nolint:gosec // made by draw
	}
	level := w.Band("level_cm", v.Now.Bands[keeper.LevelCM])
	if _, known := v.Now.Bands[keeper.LevelCM]; !known {
		level = w.Number("level_cm", c.Level)
	}
	c.Labels.Level = level.Plain()
	c.Labels.Floor = w.T("vessel.floor", "level", level.Value)
	c.Says = w.T("vessel.section", "name", name, "level", level.Plain())
	if c.Disc != nil {
		disc := w.Band("secchi_cm", *c.Disc)
		c.Labels.Disc, c.Labels.Spread = disc.Plain(), disc.Spread
		c.Says = w.T("vessel.section_disc", "name", name, "level", level.Plain(), "disc", disc.Plain(), "spread", disc.Spread)
		if dark := draw.DarkCM(c.Grams); dark < c.Level {
			said := w.Number("level_cm", dark)
			c.Labels.Dark = w.T("vessel.dark", "depth", said.Value)
			c.Says = w.T("vessel.section_dark", "name", name, "level", level.Plain(), "disc", disc.Plain(), "spread", disc.Spread, "dark", said.Plain())
		}
	}
	return template.HTML(c.Large()) //nolint:gosec // made by draw
}

// toneOf is the class of the water's colour.
func toneOf(b num.Band) string { return "wc-" + string(rune('0'+draw.Tone(b.Mid))) }

// idOf makes a name of the page from any identifier.
func idOf(t string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			return r
		}
		return '-'
	}, t)
}
