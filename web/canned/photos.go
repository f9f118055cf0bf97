package canned

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"net/url"
	"slices"
	"strings"
	"sync"

	"sodalake/farm"
	"sodalake/farm/photo"
	"sodalake/keeper"
)

// The canned photos are drawn, not taken: a pond's edge, and a gel whose bands
// stand where an invented run would have them.
var (
	PondPhoto = sync.OnceValue(func() photo.Photo { return made(pond()) })
	GelPhoto  = sync.OnceValue(func() photo.Photo { return made(gel()) })
)

// GelDotsPerMM is how many dots of GelPhoto are a millimetre [1/mm], and
// GelWellDot where its wells stand [1].
const (
	GelDotsPerMM = 8.0
	GelWellDot   = 40.0
)

// GelLanes are the bands of GelPhoto: lane by lane the ways from the well [mm].
// They follow one law of Southern's form, 12000 bp mm/(way - 5 mm) - 150 bp.
var GelLanes = [][]float64{
	gelAt(1500, 1000, 900, 800, 700, 600, 500, 400, 300, 200, 100), // ladder
	gelAt(472, 700), // positive control
	nil,             // without template
	nil,             // extraction blank
	gelAt(700),      // sample
}

func gelAt(bp ...float64) []float64 {
	mm := make([]float64, len(bp))
	for i, l := range bp {
		mm[i] = math.Round(10*(12000/(l+150)+5)) / 10
	}
	slices.Sort(mm)
	return mm
}

func made(m image.Image) photo.Photo {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 85}); err != nil {
		panic("canned: " + err.Error())
	}
	p, err := photo.Clean(b.Bytes())
	if err != nil {
		panic("canned: " + err.Error())
	}
	return p
}

func pond() image.Image {
	m := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for y := range 480 {
		for x := range 640 {
			wave := 6 * math.Sin(float64(x)/23+float64(y)/9)
			c := color.RGBA{uint8(24 + wave), uint8(104 + wave), uint8(88 + wave), 255}
			if edge := 150 + 20*math.Sin(float64(x)/170); float64(y) < edge {
				c = color.RGBA{uint8(196 + y/8), uint8(188 + y/8), uint8(168 + y/9), 255}
			}
			m.Set(x, y, c)
		}
	}
	return m
}

func gel() image.Image {
	const w, h, lane = 480, 520, 90
	m := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.SetGray(x, y, color.Gray{uint8(18 + (x*7+y*13)%5)})
		}
	}
	bar := func(x0 int, y, half float64, bright float64) {
		for y0 := int(y - 3*half); y0 <= int(y+3*half); y0++ {
			for x := x0; x < x0+60; x++ {
				d := (float64(y0) - y) / half
				v := float64(m.GrayAt(x, y0).Y) + bright*math.Exp(-d*d)
				m.SetGray(x, y0, color.Gray{uint8(min(v, 255))})
			}
		}
	}
	for i, bands := range GelLanes {
		x := 25 + i*lane
		bar(x, GelWellDot, 3, 60)
		for _, mm := range bands {
			bar(x, GelWellDot+GelDotsPerMM*mm, 2.5, 200)
		}
	}
	return m
}

func (f *Farm) keepPictures() {
	for _, p := range []photo.Photo{PondPhoto(), GelPhoto()} {
		f.photos[p.SHA256] = p
	}
}

// KeepPhoto keeps a photo.
func (f *Farm) KeepPhoto(_ context.Context, p photo.Photo) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.photos[p.SHA256] = p
	return nil
}

// Photo is a photo by its name.
func (f *Farm) Photo(_ context.Context, name string) (photo.Photo, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if p, ok := f.photos[name]; ok {
		return p, nil
	}
	return photo.Photo{}, &farm.Error{Code: farm.NotFound, Field: "photo", Message: fmt.Sprintf("photo %q does not exist here", name)}
}

// Shots are the last photos of a vessel.
func (f *Farm) Shots(_ context.Context, vessel string, most int) ([]keeper.Shot, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var out []keeper.Shot
	for _, e := range slices.Backward(f.entries) {
		k := farm.KindNamed(e.Kind)
		if e.Vessel != vessel || k.Group != farm.GroupReading || len(out) == most {
			continue
		}
		body, bad := farm.DecodeBody(k, e.Body)
		if bad != nil {
			continue
		}
		if name := body.Text("photo_sha256"); name != "" {
			out = append(out, keeper.Shot{EntryID: e.ID, Kind: e.Kind, At: e.At, By: e.By, Text: body.Text("text"), Photo: name})
		}
	}
	return out, nil
}

// GelQuery is what somebody types who reads GelPhoto with a ruler.
func GelQuery() url.Values {
	q := url.Values{"photo": {GelPhoto().SHA256}, "assay": {"hep"}, "companion": {"700"}, "tall_mm": {"65"}}
	var rows []string
	for i, bp := range []int{1500, 1000, 900, 800, 700, 600, 500, 400, 300, 200, 100} {
		rows = append(rows, fmt.Sprintf("%d %.1f", bp, GelLanes[0][i]))
	}
	q.Set("ladder", strings.Join(rows, "\n"))
	for i, lane := range []struct{ name, kind string }{{"pos", "positive"}, {"water", "no-template"}, {"blank", "extraction-blank"}, {"S1", "sample"}} {
		key := fmt.Sprintf("lane.%d", i+1)
		q.Set(key+".name", lane.name)
		q.Set(key+".kind", lane.kind)
		var ways []string
		for _, mm := range GelLanes[i+1] {
			ways = append(ways, fmt.Sprintf("%.1f", mm))
		}
		q.Set(key+".mm", strings.Join(ways, " "))
	}
	return q
}
