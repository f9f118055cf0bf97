package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	_ "image/jpeg" // its header
	_ "image/png"  // its header
	"io"

	"sodalake/farm"
)

// What is refused. Phones make photos of 2 to 12 million bytes and up to 50
// million dots: common practice, no source.
const (
	MaxBytes  = 16 << 20    // largest file [1]
	MaxPixels = 100_000_000 // most dots in all [1]
	maxSide   = 30_000      // most dots along a side [1]
	maxHead   = 2 << 20     // bytes within which a file must have told its size in dots [1]
)

// Kind is how a photo is written.
type Kind string

// The kinds of photos that are kept.
const (
	JPEG Kind = "image/jpeg"
	PNG  Kind = "image/png"
)

// Photo is a photo without what it told besides its picture.
type Photo struct {
	Bytes  []byte // as kept and sent
	Kind   Kind   // media type
	SHA256 string // of Bytes, in hexadecimal digits: the name by which an entry speaks of it
}

// bad is the refusal of a file.
func bad(hint, format string, args ...any) error {
	return &farm.Error{Code: farm.Invalid, Field: "photo", Message: "photo " + fmt.Sprintf(format, args...), Hint: hint}
}

const likeThis = "a photo of a phone or a camera, as JPEG or PNG, of at most 16 MB"

func tooLarge() error { return bad(likeThis, "is larger than 16 MB") }

// Read reads a photo and takes from it all that is not its picture. Its head is
// read first: what is no photo, or has too many dots, is refused after that, and
// never more than MaxBytes are kept.
//
// The error is a *farm.Error of code Invalid on the field photo, or the
// reader's own.
func Read(r io.Reader) (Photo, error) {
	var head bytes.Buffer
	from := &heard{r: r}
	c, format, err := image.DecodeConfig(io.TeeReader(io.LimitReader(from, maxHead), &head))
	if from.err != nil {
		return Photo{}, from.err
	}
	if err != nil || format != "jpeg" && format != "png" {
		return Photo{}, bad(likeThis, "is no picture that can be read")
	}
	if err := fits(c); err != nil {
		return Photo{}, err
	}
	rest, err := io.ReadAll(io.LimitReader(r, int64(MaxBytes-head.Len())+1))
	if err != nil {
		return Photo{}, err
	}
	if head.Len()+len(rest) > MaxBytes {
		return Photo{}, tooLarge()
	}
	return Clean(append(head.Bytes(), rest...))
}

// heard remembers what went wrong with a reader, which a decoder may not pass on.
type heard struct {
	r   io.Reader
	err error
}

func (h *heard) Read(p []byte) (int, error) {
	n, err := h.r.Read(p)
	if err != nil && err != io.EOF {
		h.err = err
	}
	return n, err
}

func fits(c image.Config) error {
	if c.Width < 1 || c.Height < 1 {
		return bad(likeThis, "has no dots")
	}
	if c.Width > maxSide || c.Height > maxSide || c.Width*c.Height > MaxPixels {
		return bad("make it smaller first", "has %d by %d dots, more than this program takes", c.Width, c.Height)
	}
	return nil
}

// Clean takes from a file all that is not its picture. Cleaning twice changes
// nothing more.
func Clean(raw []byte) (Photo, error) {
	if len(raw) > MaxBytes {
		return Photo{}, tooLarge()
	}
	var out []byte
	var err error
	kind := KindOf(raw)
	switch kind {
	case JPEG:
		out, err = cleanJPEG(raw)
	case PNG:
		out, err = cleanPNG(raw)
	default:
		return Photo{}, bad(likeThis, "is no picture that can be read")
	}
	if err != nil {
		return Photo{}, err
	}
	// What is left must still tell its size, and the same rules hold for it.
	c, _, err := image.DecodeConfig(bytes.NewReader(out))
	if err != nil {
		return Photo{}, bad(likeThis, "cannot be read: %s", err)
	}
	if err := fits(c); err != nil {
		return Photo{}, err
	}
	return Photo{Bytes: out, Kind: kind, SHA256: Sum(out)}, nil
}

// Sum returns the name of a photo's bytes.
func Sum(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// KindOf tells by its first bytes how a photo is written, "" if in no way that
// is known here.
func KindOf(b []byte) Kind {
	switch {
	case len(b) > 3 && b[0] == 0xFF && b[1] == 0xD8 && b[2] == 0xFF:
		return JPEG
	case bytes.HasPrefix(b, pngSignature):
		return PNG
	}
	return ""
}

// IsName tells whether s can be the name of a photo: 64 small hexadecimal digits.
func IsName(s string) bool {
	if len(s) != 64 {
		return false
	}
	for _, c := range []byte(s) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}
