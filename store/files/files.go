package files

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"sodalake/farm"
)

// Folder is a folder of blobs. It is made when the first one comes. All its
// methods may be called at once, by several programs too.
type Folder struct{ path string }

// At returns the folder at path.
func At(path string) *Folder { return &Folder{path: path} }

// Path returns where the folder is.
func (f *Folder) Path() string { return f.path }

// file returns the file of a name, which must be a SHA-256 in small hexadecimal
// digits: no other name reaches the file system.
func (f *Folder) file(name string) (string, error) {
	if raw, err := hex.DecodeString(name); err != nil || len(raw) != sha256.Size || hex.EncodeToString(raw) != name {
		return "", &farm.Error{Code: farm.NotFound, Field: "name", Message: fmt.Sprintf("file %q does not exist", short(name))}
	}
	return filepath.Join(f.path, name), nil
}

func short(name string) string { return name[:min(len(name), 80)] }

// Put keeps blob and returns its name. When it returns without error the blob is
// on disk. What is there already is not written again.
func (f *Folder) Put(_ context.Context, blob []byte) (string, error) {
	sum := sha256.Sum256(blob)
	name := hex.EncodeToString(sum[:])
	path, err := f.file(name)
	if err != nil {
		return "", err
	}
	if there, err := os.ReadFile(path); err == nil && bytes.Equal(there, blob) {
		return name, nil
	}
	if err := f.write(path, blob); err != nil {
		return "", fmt.Errorf("file %s could not be kept: %w", name, err)
	}
	return name, nil
}

func (f *Folder) write(path string, blob []byte) error {
	if err := os.MkdirAll(f.path, 0o700); err != nil {
		return err
	}
	part, err := os.CreateTemp(f.path, ".part-*")
	if err != nil {
		return err
	}
	_, err = part.Write(blob)
	if err == nil {
		err = part.Sync()
	}
	if e := part.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		_ = os.Remove(part.Name())
		return err
	}
	return syncFolder(f.path)
}

// syncFolder makes the names in a folder last.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) && !errors.Is(err, fs.ErrInvalid) && !errors.Is(err, fs.ErrPermission) {
		return err
	}
	return nil
}

// Get returns the blob of a name, or a *farm.Error of code NotFound. A file
// whose bytes no longer have its name is an error and not given out.
func (f *Folder) Get(_ context.Context, name string) ([]byte, error) {
	path, err := f.file(name)
	if err != nil {
		return nil, err
	}
	blob, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &farm.Error{Code: farm.NotFound, Field: "name", Message: fmt.Sprintf("file %q does not exist", name), Hint: "it is kept in the folder of the farm where it was taken"}
	}
	if err != nil {
		return nil, fmt.Errorf("file %s could not be read: %w", name, err)
	}
	if sum := sha256.Sum256(blob); hex.EncodeToString(sum[:]) != name {
		return nil, fmt.Errorf("file %s is damaged: its bytes have another hash", name)
	}
	return blob, nil
}
