package keeper

import (
	"context"
	"fmt"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/photo"
)

// Blobs keep bytes under the SHA-256 of themselves.
type Blobs interface {
	// Put keeps blob and returns its name, in hexadecimal digits. When it returns
	// without error the blob is on disk.
	Put(ctx context.Context, blob []byte) (name string, err error)
	// Get returns the blob of a name, or a *farm.Error of code NotFound.
	Get(ctx context.Context, name string) ([]byte, error)
}

// KeepPhoto keeps a photo beside the journal. It comes before the entry that
// speaks of it: a photo that no entry names does no harm, an entry without its
// photo would.
func (k *Keeper) KeepPhoto(ctx context.Context, p photo.Photo) error {
	if k.opt.Photos == nil {
		return &farm.Error{Code: farm.Denied, Field: "photo", Message: "photo cannot be kept: this farm has no folder for photos"}
	}
	name, err := k.opt.Photos.Put(ctx, p.Bytes)
	if err != nil {
		return err
	}
	if name != p.SHA256 {
		return fmt.Errorf("photo %s was kept under the name %s", p.SHA256, name)
	}
	return nil
}

// Photo returns a photo by its name, or a *farm.Error of code NotFound.
func (k *Keeper) Photo(ctx context.Context, name string) (photo.Photo, error) {
	missing := &farm.Error{Code: farm.NotFound, Field: "photo", Message: fmt.Sprintf("photo %q does not exist here", name[:min(len(name), 64)]), Hint: "photos stand in a folder beside the journal, on the machine where they were taken in"}
	if k.opt.Photos == nil || !photo.IsName(name) {
		return photo.Photo{}, missing
	}
	blob, err := k.opt.Photos.Get(ctx, name)
	if farm.CodeOf(err) == farm.NotFound {
		return photo.Photo{}, missing
	}
	if err != nil {
		return photo.Photo{}, err
	}
	kind := photo.KindOf(blob)
	if kind == "" {
		return photo.Photo{}, fmt.Errorf("photo %s is no picture", name)
	}
	return photo.Photo{Bytes: blob, Kind: kind, SHA256: name}, nil
}

// Shot is a photo that an entry speaks of.
type Shot struct {
	EntryID string    `json:"entry_id"`
	Kind    string    `json:"kind"` // of the entry
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	Text    string    `json:"text,omitempty"` // words noted with it
	Photo   string    `json:"photo_sha256"`   // its name
}

// shotDays is how far back photos of a vessel are looked for [d].
const shotDays = 180

// Shots are the last photos of a vessel, the newest first, most of them at most.
func (k *Keeper) Shots(_ context.Context, vessel string, most int) ([]Shot, error) {
	var out []Shot
	k.Read(func(p *farm.Present) {
		for _, r := range slices.Backward(p.VesselRefs(vessel, k.now().AddDate(0, 0, -shotDays), time.Time{})) {
			kind := farm.KindNamed(r.Kind)
			if len(out) >= most {
				return
			}
			if kind == nil || kind.Group != farm.GroupReading {
				continue
			}
			e, ok := p.Event(r.ID)
			if !ok {
				continue
			}
			if name := e.Body.Text("photo_sha256"); name != "" {
				out = append(out, Shot{EntryID: r.ID, Kind: r.Kind, At: r.At, By: e.Entry.By, Text: e.Body.Text("text"), Photo: name})
			}
		}
	})
	return out, nil
}
