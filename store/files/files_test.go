package files_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"sodalake/farm"
	"sodalake/store/files"
)

func TestPutAndGet(t *testing.T) {
	ctx, path := context.Background(), filepath.Join(t.TempDir(), "photos")
	f := files.At(path)
	// FIPS 180-4's example: SHA-256 of "abc".
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if _, err := f.Get(ctx, abc); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("before anything was kept: %v, want not found", err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if name, err := f.Put(ctx, []byte("abc")); err != nil || name != abc {
				t.Errorf("put: %q, %v, want %s (FIPS 180-4)", name, err, abc)
			}
		})
	}
	wg.Wait()
	if got, err := f.Get(ctx, abc); err != nil || !bytes.Equal(got, []byte("abc")) {
		t.Errorf("get: %q, %v", got, err)
	}
	list, err := os.ReadDir(path)
	if err != nil || len(list) != 1 {
		t.Errorf("the folder holds %v (%v), want one file", list, err)
	}
	// Bytes that were changed are not given out, and Put sets them right.
	if err := os.WriteFile(filepath.Join(path, abc), []byte("abd"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Get(ctx, abc); err == nil || farm.CodeOf(err) == farm.NotFound {
		t.Errorf("changed bytes: %v, want an error of our own", err)
	}
	if _, err := f.Put(ctx, []byte("abc")); err != nil {
		t.Error(err)
	}
	if got, err := f.Get(ctx, abc); err != nil || string(got) != "abc" {
		t.Errorf("set right: %q, %v", got, err)
	}
}

func TestNamesStayInTheFolder(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "secret"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	f := files.At(filepath.Join(dir, "photos"))
	for _, name := range []string{"../secret", "", ".", "/etc/hostname", strings.Repeat("A", 64), strings.Repeat("0", 63) + "/"} {
		if _, err := f.Get(context.Background(), name); farm.CodeOf(err) != farm.NotFound {
			t.Errorf("name %q: %v, want not found", name, err)
		}
	}
}

func TestFullDisk(t *testing.T) {
	// A file stands where the folder should be.
	path := filepath.Join(t.TempDir(), "photos")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := files.At(path).Put(context.Background(), []byte("abc")); err == nil {
		t.Error("kept where nothing can be kept")
	}
}
