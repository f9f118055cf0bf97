package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/store/files"
	"sodalake/store/sqlite"
)

// openFarm opens the farm in the data folder; create makes it if it is not
// there yet.
func openFarm(ctx context.Context, set *settings, out surroundings, create bool, opt keeper.Options) (*keeper.Keeper, func(), error) {
	dir, err := set.dataDir(out)
	if err != nil {
		return nil, nil, err
	}
	path := filepath.Join(dir, "farm.db")
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) && !create {
		return nil, nil, &farm.Error{Code: farm.Invalid, Field: "data", Message: fmt.Sprintf("data folder %q holds no farm", dir), Hint: "begin with sodalake serve and the page Farm, with sodalake import FILE.jsonl, or look at sodalake demo"}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, nil, fmt.Errorf("data folder could not be made: %w", err)
	}
	store, err := sqlite.Open(ctx, path, out.now)
	if err != nil {
		return nil, nil, err
	}
	opt.Photos = files.At(photosBeside(store))
	return keep(ctx, store, set, out, opt)
}

// photosBeside is the folder of the photos that a journal speaks of.
func photosBeside(store *sqlite.Store) string { return store.Path() + "-photos" }

// closer is a store that can be closed.
type closer interface {
	farm.Store
	Close() error
}

// keep opens the keeper of a store by the clock of the settings.
func keep(ctx context.Context, store closer, set *settings, out surroundings, opt keeper.Options) (*keeper.Keeper, func(), error) {
	now := out.now
	if set.At != "" {
		// A local time is the farm's, so the farm is asked for its zone first.
		first, err := keeper.Open(ctx, store, now, keeper.Options{})
		if err != nil {
			store.Close()
			return nil, nil, err
		}
		zone := time.Local
		first.Read(func(p *farm.Present) {
			if sites := p.Sites(); len(sites) > 0 {
				if z, err := time.LoadLocation(sites[0].Timezone); err == nil {
					zone = z
				}
			}
		})
		first.Close()
		if now, err = set.clock(out, zone); err != nil {
			store.Close()
			return nil, nil, err
		}
	}
	opt.Version = build()
	k, err := keeper.Open(ctx, store, now, opt)
	if err != nil {
		store.Close()
		return nil, nil, err
	}
	return k, func() { k.Close(); store.Close() }, nil
}

type importCmd struct {
	File string `arg:"" help:"Entries, one JSON object a line, as export writes them; - reads standard input."`
}

// Run takes in entries, all or none.
func (c *importCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	var r io.Reader = out.stdin
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return &farm.Error{Code: farm.Invalid, Field: "file", Message: fmt.Sprintf("file %q cannot be opened", c.File)}
		}
		defer f.Close()
		r = f
	}
	k, done, err := openFarm(ctx, set, out, true, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	added, known, err := k.Import(ctx, r)
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, map[string]int64{"new": added, "known": known})
	}
	_, err = fmt.Fprintf(out.stdout, "%s new, %d here already\n", count(added, "entry", "entries"), known)
	return err
}

type exportCmd struct {
	Out string `help:"File to write, else standard output." placeholder:"FILE"`
}

// Run writes the whole journal.
func (c *exportCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	if c.Out == "" {
		_, err = k.Export(ctx, out.stdout)
		return err
	}
	var b bytes.Buffer
	n, err := k.Export(ctx, &b)
	if err != nil {
		return err
	}
	// Beside the file and then in its place: an earlier export is not lost to
	// a full disk.
	if err := os.WriteFile(c.Out+".part", b.Bytes(), 0o600); err != nil {
		return fmt.Errorf("export could not be written: %w", err)
	}
	if err := os.Rename(c.Out+".part", c.Out); err != nil {
		return fmt.Errorf("export could not be written: %w", err)
	}
	_, err = fmt.Fprintf(out.stderr, "sodalake: %s written to %s\n", count(int64(n), "entry", "entries"), c.Out)
	return err
}

type verifyCmd struct{}

// Run reads the whole chain.
func (verifyCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	whole, head, err := k.Verify(ctx)
	if err != nil {
		return fmt.Errorf("journal is broken after entry %d: %w", whole, err)
	}
	if set.JSON {
		return writeJSON(out.stdout, map[string]any{"whole": true, "entries": whole, "hash": head.Hash})
	}
	if whole == 0 {
		_, err = fmt.Fprintln(out.stdout, "whole: no entries yet")
		return err
	}
	_, err = fmt.Fprintf(out.stdout, "whole: %s\nlast hash %s\n", count(whole, "entry", "entries"), head.Hash)
	return err
}

// count says a number of things.
func count(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.FormatInt(n, 10) + " " + many
}

// newEntry makes an entry as a person at a terminal makes it.
func newEntry(now time.Time, by, site, vessel, kind string, body map[string]any) (farm.Entry, error) {
	id, err := farm.NewIDs(rand.Reader).Make(now)
	if err != nil {
		return farm.Entry{}, err
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return farm.Entry{}, err
	}
	return farm.Entry{ID: id, Site: site, Vessel: vessel, Kind: kind, V: 1, At: now, NotedAt: now, By: by, Body: raw}, nil
}
