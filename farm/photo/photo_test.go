package photo_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/farm/photo"
)

// picture is something to photograph, with colours that would show a mistake.
func picture(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.RGBA{uint8(x * 7), uint8(y * 5), uint8(x * y), 255})
		}
	}
	return m
}

func jpegOf(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// segment is one of JPEG: marker, length with its own two bytes, data (ITU-T
// T.81, B.1.1.4).
func segment(m byte, data string) []byte {
	return append([]byte{0xFF, m, byte((len(data) + 2) >> 8), byte(len(data) + 2)}, data...)
}

func chunk(kind, data string) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	out = append(append(out, kind...), data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// exif is a block with orientation, a maker's name and a position, laid out as
// Exif 2.32 (CIPA DC-008-2019) and TIFF 6.0 say, the little end first.
func exif(turned byte) string {
	var b bytes.Buffer
	le := func(v ...any) {
		for _, x := range v {
			_ = binary.Write(&b, binary.LittleEndian, x)
		}
	}
	b.WriteString("II*\x00")
	le(uint32(8), uint16(3))
	le(uint16(0x010F), uint16(2), uint32(12), uint32(62)) // Make, ASCII
	le(uint16(0x0112), uint16(3), uint32(1), uint16(turned), uint16(0))
	le(uint16(0x8825), uint16(4), uint32(1), uint32(74)) // GPS directory
	le(uint32(0))
	if b.Len() != 50 {
		panic("the directory ends elsewhere")
	}
	b.Write(make([]byte, 12))
	b.WriteString("SECRETMAKER\x00")
	le(uint16(1), uint16(2), uint16(5), uint32(1), uint32(92), uint32(0)) // GPSLatitude
	b.WriteString("SECRETLATITUDE")
	return b.String()
}

// secrets are words that the files carry where no picture needs them.
var secrets = []string{"SECRET", "GPS", "xmp", "Exif\x00\x00II"}

// laden puts all kinds of riders into a JPEG after its first marker.
func laden(t testing.TB, plain []byte, turned byte) []byte {
	out := bytes.Clone(plain[:2])
	out = append(out, segment(0xE0, "JFIF\x00\x01\x02\x00\x00\x01\x00\x01\x01\x01SEC")...) // with a small picture of one dot
	out = append(out, segment(0xE1, "Exif\x00\x00"+exif(turned))...)
	out = append(out, segment(0xE1, "http://ns.adobe.com/xap/1.0/\x00<xmp>SECRET</xmp>")...)
	out = append(out, segment(0xE2, "MPF\x00SECRET")...)
	out = append(out, segment(0xED, "Photoshop 3.0\x00SECRET")...)
	out = append(out, 0xFF, 0xFF) // fill bytes before a marker (T.81, B.1.1.2)
	out = append(out, segment(0xFE, "SECRET words")...)
	out = append(out, plain[2:]...)
	return append(out, "SECRETSECRET behind the end"...)
}

func decode(t *testing.T, b []byte) image.Image {
	t.Helper()
	m, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("what was kept cannot be drawn: %v", err)
	}
	return m
}

func samePicture(t *testing.T, a, b image.Image) {
	t.Helper()
	if a.Bounds() != b.Bounds() {
		t.Fatalf("bounds %v, want %v", a.Bounds(), b.Bounds())
	}
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			if a.At(x, y) != b.At(x, y) {
				t.Fatalf("dot %d, %d is %v, want %v", x, y, a.At(x, y), b.At(x, y))
			}
		}
	}
}

func free(t *testing.T, b []byte) {
	t.Helper()
	for _, s := range secrets {
		if bytes.Contains(b, []byte(s)) {
			t.Errorf("what is kept still carries %q", s)
		}
	}
}

func TestJPEGLosesWhatItTells(t *testing.T) {
	plain := jpegOf(t, picture(37, 23))
	for turned := byte(1); turned <= 8; turned++ {
		got, err := photo.Clean(laden(t, plain, turned))
		if err != nil {
			t.Fatal(err)
		}
		free(t, got.Bytes)
		samePicture(t, decode(t, got.Bytes), decode(t, plain))
		if got.Kind != photo.JPEG || got.SHA256 != photo.Sum(got.Bytes) || !photo.IsName(got.SHA256) {
			t.Errorf("kind %s, name %s", got.Kind, got.SHA256)
		}
		// The turning stands in a block of its own, big end first: TIFF 6.0,
		// tag 274, one SHORT.
		want := []byte{0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, turned, 0, 0}
		if has := bytes.Contains(got.Bytes, want); has != (turned != 1) {
			t.Errorf("turned %d: orientation is there: %v", turned, has)
		}
		again, err := photo.Clean(got.Bytes)
		if err != nil || !bytes.Equal(again.Bytes, got.Bytes) {
			t.Errorf("cleaning twice changed it: %v", err)
		}
	}
}

func TestPNGLosesWhatItTells(t *testing.T) {
	plain := pngOf(t, picture(19, 31))
	head := len("\x89PNG\r\n\x1a\n") + 25 // signature and IHDR
	for turned := byte(1); turned <= 8; turned++ {
		raw := bytes.Clone(plain[:head])
		raw = append(raw, chunk("eXIf", exif(turned))...)
		raw = append(raw, chunk("gAMA", "\x00\x00\xb1\x8f")...)
		raw = append(raw, chunk("tEXt", "Comment\x00SECRET")...)
		raw = append(raw, chunk("iTXt", "XML:com.adobe.xmp\x00\x00\x00\x00\x00SECRET")...)
		raw = append(raw, chunk("tIME", "\x07\xea\x05\x0e\x07\x2d\x00")...)
		raw = append(raw, chunk("prVt", "SECRET")...)
		raw = append(raw, plain[head:]...)
		raw = append(raw, "SECRET behind the end"...)
		got, err := photo.Clean(raw)
		if err != nil {
			t.Fatal(err)
		}
		free(t, got.Bytes)
		for _, kind := range []string{"tEXt", "iTXt", "tIME", "prVt"} {
			if bytes.Contains(got.Bytes, []byte(kind)) {
				t.Errorf("chunk %s is still there", kind)
			}
		}
		if !bytes.Contains(got.Bytes, []byte("gAMA")) {
			t.Error("the meaning of its colours is gone")
		}
		samePicture(t, decode(t, got.Bytes), decode(t, plain))
		if has := bytes.Contains(got.Bytes, []byte("eXIf")); has != (turned != 1) {
			t.Errorf("turned %d: orientation is there: %v", turned, has)
		}
		again, err := photo.Clean(got.Bytes)
		if err != nil || !bytes.Equal(again.Bytes, got.Bytes) {
			t.Errorf("cleaning twice changed it: %v", err)
		}
	}
}

// endless gives bytes without an end and counts them.
type endless struct {
	head []byte
	read int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.head)
	e.head = e.head[n:]
	clear(p[n:])
	e.read += len(p)
	return len(p), nil
}

func TestRefused(t *testing.T) {
	plain, drawn := jpegOf(t, picture(8, 8)), pngOf(t, picture(8, 8))
	huge := bytes.Clone(drawn)
	binary.BigEndian.PutUint32(huge[16:], 60000) // IHDR's width and its check sum
	binary.BigEndian.PutUint32(huge[29:], crc32.ChecksumIEEE(huge[12:29]))
	flipped := bytes.Clone(drawn)
	flipped[len(flipped)-20] ^= 1
	twice := append(bytes.Clone(plain[:len(plain)-2]), plain[2:]...)
	for name, raw := range map[string][]byte{
		"nothing":                {},
		"words":                  []byte("this is a note"),
		"a web page":             []byte("<!doctype html><script>alert(1)</script>"),
		"a drawing in XML":       []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="x()"/>`),
		"another kind":           []byte("GIF89a\x01\x00\x01\x00\x80\x00\x00"),
		"only a signature":       plain[:4],
		"a JPEG cut short":       plain[:len(plain)-9],
		"a PNG cut short":        drawn[:len(drawn)-9],
		"too many dots":          huge,
		"a PNG with a wrong bit": flipped,
		"two pictures in one":    twice,
		"a JPEG head and junk":   append(bytes.Clone(plain[:20]), "junk junk junk junk"...),
	} {
		_, err := photo.Read(bytes.NewReader(raw))
		var e *farm.Error
		if !errors.As(err, &e) || e.Code != farm.Invalid || e.Field != "photo" {
			t.Errorf("%s: %v, want invalid at photo", name, err)
		}
	}
}

func TestTooLargeIsNotReadOut(t *testing.T) {
	for name, c := range map[string]struct {
		head []byte
		most int
	}{
		"no picture":       {[]byte("word word word word"), 1 << 16},
		"a picture's head": {jpegOf(t, picture(8, 8)), photo.MaxBytes + 1<<20},
	} {
		e := &endless{head: c.head}
		_, err := photo.Read(e)
		if farm.CodeOf(err) != farm.Invalid {
			t.Errorf("%s without an end: %v", name, err)
		}
		if e.read > c.most {
			t.Errorf("%s without an end: %d bytes were read, more than %d", name, e.read, c.most)
		}
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

func TestReaderErrorComesThrough(t *testing.T) {
	gone := errors.New("the line is gone")
	plain := jpegOf(t, picture(8, 8))
	for _, r := range []io.Reader{failing{gone}, io.MultiReader(bytes.NewReader(plain[:100]), failing{gone})} {
		if _, err := photo.Read(r); !errors.Is(err, gone) {
			t.Errorf("error %v, want the reader's own", err)
		}
	}
}

func TestIsName(t *testing.T) {
	for name, want := range map[string]bool{
		strings.Repeat("0f", 32): true, strings.Repeat("0F", 32): false, "": false, "../../etc/passwd": false,
		strings.Repeat("0", 63): false, strings.Repeat("g", 64): false,
	} {
		if photo.IsName(name) != want {
			t.Errorf("name %q: %v, want %v", name, !want, want)
		}
	}
}

// A photo of a phone's size: 12 million dots of noise, some megabytes.
func BenchmarkClean(b *testing.B) {
	m := image.NewGray(image.Rect(0, 0, 4000, 3000))
	for i := range m.Pix {
		m.Pix[i] = byte(i*i>>7 ^ i*31)
	}
	raw := laden(b, jpegOf(b, m), 6)
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := photo.Read(bytes.NewReader(raw)); err != nil {
			b.Fatal(err)
		}
	}
}

// FuzzClean sends anything at all: it never panics, and what it keeps can be
// cleaned again to the same bytes and carries no rider.
func FuzzClean(f *testing.F) {
	plain := jpegOf(f, picture(9, 7))
	f.Add(plain)
	f.Add(laden(f, plain, 6))
	f.Add(pngOf(f, picture(9, 7)))
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x08Exif\x00\x00"))
	f.Add(append([]byte("\x89PNG\r\n\x1a\n"), chunk("IEND", "")...))
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, err := photo.Read(bytes.NewReader(raw))
		if err != nil {
			if farm.CodeOf(err) != farm.Invalid {
				t.Fatalf("error %v is not one that a person is shown", err)
			}
			return
		}
		if len(got.Bytes) > len(raw)+64 {
			t.Fatalf("%d bytes became %d", len(raw), len(got.Bytes))
		}
		again, err := photo.Clean(got.Bytes)
		if err != nil || !bytes.Equal(again.Bytes, got.Bytes) {
			t.Fatalf("cleaning twice: %v", err)
		}
		// No segment but those of the picture stands before the scan.
		if got.Kind != photo.JPEG {
			return
		}
		for at := 2; at+4 <= len(got.Bytes) && got.Bytes[at+1] != 0xDA; at += 2 + int(binary.BigEndian.Uint16(got.Bytes[at+2:])) {
			switch m := got.Bytes[at+1]; {
			case m == 0xE0, m == 0xEE, m == 0xE1 && at == 2 && len(got.Bytes) > 38, m >= 0xC0 && m <= 0xDF:
			default:
				t.Fatalf("segment %X is kept", m)
			}
		}
	})
}
