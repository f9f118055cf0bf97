package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"image/jpeg"
	"io"
	"mime/multipart"
	"net/http/httptest"
	"strings"
	"testing"

	"sodalake/farm/photo"
	"sodalake/web"
	"sodalake/web/canned"
)

// form makes a multipart form; a file of no bytes is a choice that was not made.
func form(t testing.TB, fields map[string]string, name string, file []byte) (string, *bytes.Buffer) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range fields {
		if err := m.WriteField(k, v); err != nil {
			t.Fatal(err)
		}
	}
	// A browser sends an empty part for the input that was left alone.
	for _, f := range []struct {
		name string
		file []byte
	}{{"", nil}, {name, file}} {
		w, err := m.CreateFormFile("photo", f.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(f.file); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return m.FormDataContentType(), &b
}

func sendForm(t testing.TB, f web.Farm, target string, fields map[string]string, name string, file []byte) *httptest.ResponseRecorder {
	t.Helper()
	kind, body := form(t, fields, name, file)
	r := local("POST", target, body)
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := httptest.NewRecorder()
	handler(f).ServeHTTP(w, r)
	return w
}

// withPosition is a JPEG that says where it was taken: a segment APP1 right
// behind its first marker, as Exif 2.32 (CIPA DC-008-2019), 4.5.4 lays it out.
func withPosition(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 64, 48)), nil); err != nil {
		t.Fatal(err)
	}
	data := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00GPS at 44.2 north"
	seg := append([]byte{0xFF, 0xE1, 0, byte(len(data) + 2)}, data...)
	return append(append(bytes.Clone(b.Bytes()[:2]), seg...), b.Bytes()[2:]...)
}

func id(n string) string { return "01KRJ0000000000000000000" + n }

func TestPhotoWithNote(t *testing.T) {
	f := canned.New()
	h := handler(f)
	raw := withPosition(t)
	fields := map[string]string{"id": id("A1"), "photo_id": id("B1"), "vessel": "boat-pond", "kind": "photo", "photo.text": "pale at the edge"}
	w := sendForm(t, f, "/note", fields, "IMG_0001.jpg", raw)
	if w.Code != 303 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	e, err := f.Entry(context.Background(), id("A1"))
	if err != nil {
		t.Fatal(err)
	}
	var body struct {
		Photo string `json:"photo_sha256"`
		Text  string
	}
	if err := json.Unmarshal(e.Body, &body); err != nil || body.Text != "pale at the edge" || e.Kind != "photo" {
		t.Fatalf("entry %s %s: %v", e.Kind, e.Body, err)
	}
	// Sent twice it is the same note.
	if w := sendForm(t, f, "/note", fields, "IMG_0001.jpg", raw); w.Code != 303 || f.Writes != 1 {
		t.Errorf("sent twice: status %d, %d writes", w.Code, f.Writes)
	}

	got := get(t, h, "/photos/"+body.Photo)
	if got.Code != 200 || got.Header().Get("Content-Type") != "image/jpeg" || got.Header().Get("X-Content-Type-Options") != "nosniff" {
		t.Fatalf("photo: status %d, %v", got.Code, got.Header())
	}
	if cc := got.Header().Get("Cache-Control"); !strings.Contains(cc, "private") || !strings.Contains(cc, "immutable") {
		t.Errorf("Cache-Control %q", cc)
	}
	if bytes.Contains(got.Body.Bytes(), []byte("GPS")) || photo.Sum(got.Body.Bytes()) != body.Photo {
		t.Error("the photo that is sent says where it was taken, or is not the one that is named")
	}
	if !bytes.Contains(got.Body.Bytes(), []byte("\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06")) {
		t.Error("which way up it is was lost")
	}
	r := local("GET", "/photos/"+body.Photo, nil)
	r.Header.Set("If-None-Match", got.Header().Get("ETag"))
	again := httptest.NewRecorder()
	h.ServeHTTP(again, r)
	if again.Code != 304 || again.Body.Len() != 0 {
		t.Errorf("asked again: status %d, %d bytes", again.Code, again.Body.Len())
	}
	for _, page := range []string{"/vessels/boat-pond", "/records/entry/" + id("A1")} {
		found := false
		for _, img := range all(parse(t, get(t, h, page)), "img") {
			found = found || attr(img, "src") == "/photos/"+body.Photo && attr(img, "alt") != ""
		}
		if !found {
			t.Errorf("%s does not show the photo with words for who cannot see it", page)
		}
	}
}

func TestPhotoBesideOthers(t *testing.T) {
	f := canned.New()
	raw := withPosition(t)
	// A reading carries it itself.
	w := sendForm(t, f, "/note", map[string]string{"id": id("A2"), "photo_id": id("B2"), "vessel": "boat-pond", "kind": "secchi", "value": "2.6"}, "a.jpg", raw)
	e, err := f.Entry(context.Background(), id("A2"))
	if w.Code != 303 || err != nil || !strings.Contains(string(e.Body), `"photo_sha256"`) || !strings.Contains(string(e.Body), `2.6`) {
		t.Errorf("reading: status %d, %s, %v", w.Code, e.Body, err)
	}
	// An act has it beside it.
	w = sendForm(t, f, "/note", map[string]string{"id": id("A3"), "photo_id": id("B3"), "vessel": "boat-pond", "kind": "topped_up", "value": "12", "topped_up.with": "water"}, "a.jpg", raw)
	act, err := f.Entry(context.Background(), id("A3"))
	if w.Code != 303 || err != nil || strings.Contains(string(act.Body), "photo") {
		t.Errorf("act: status %d, %s, %v", w.Code, act.Body, err)
	}
	beside, err := f.Entry(context.Background(), id("B3"))
	if err != nil || beside.Kind != "photo" || beside.Vessel != "boat-pond" {
		t.Errorf("beside the act: %s %s, %v", beside.Kind, beside.Body, err)
	}
	// A correction keeps the photo of what it corrects.
	page := get(t, handler(f), "/note?corrects="+id("A2"))
	was := ""
	for _, in := range all(parse(t, page), "input") {
		if attr(in, "name") == "photo_was" {
			was = attr(in, "value")
		}
	}
	w = sendForm(t, f, "/note", map[string]string{"id": id("A4"), "corrects": id("A2"), "photo_was": was, "vessel": "boat-pond", "kind": "secchi", "value": "2.5"}, "", nil)
	e, err = f.Entry(context.Background(), id("A4"))
	if w.Code != 303 || err != nil || was == "" || !strings.Contains(string(e.Body), was) {
		t.Errorf("correction: status %d, %s, %v", w.Code, e.Body, err)
	}
	// Without a photo the sheet works as before, in both forms.
	w = sendForm(t, f, "/note", map[string]string{"id": id("A5"), "vessel": "boat-pond", "kind": "ph", "value": "10.2"}, "", nil)
	if e, err := f.Entry(context.Background(), id("A5")); w.Code != 303 || err != nil || string(e.Body) != `{"ph":10.2}` {
		t.Errorf("without: status %d, %s, %v", w.Code, e.Body, err)
	}
}

func TestPhotoRefused(t *testing.T) {
	raw := withPosition(t)
	fields := map[string]string{"id": id("A6"), "vessel": "boat-pond", "kind": "photo"}
	for name, c := range map[string]struct {
		file   []byte
		status int
	}{
		"not chosen":       {nil, 422},
		"words":            {[]byte("<script>alert(1)</script>"), 422},
		"cut short":        {raw[:len(raw)/2], 422},
		"40 MB of a photo": {append(bytes.Clone(raw), make([]byte, 40<<20)...), 413},
		"16 MB and a bit":  {append(bytes.Clone(raw), make([]byte, photo.MaxBytes)...), 422},
		"more than 64 MB":  {make([]byte, 70<<20), 413},
	} {
		f := canned.New()
		file := "x.jpg"
		if c.file == nil {
			file = ""
		}
		w := sendForm(t, f, "/note", fields, file, c.file)
		if w.Code != c.status || f.Writes != 0 {
			t.Errorf("%s: status %d, want %d; %d writes", name, w.Code, c.status, f.Writes)
		}
		checkPage(t, name, w)
		if c.status == 413 && !strings.Contains(w.Body.String(), "larger than 16 MB") {
			t.Errorf("%s: the page does not say what was too large", name)
		}
	}
}

// A length that is not told does not help: no more than a photo's worth is kept.
func TestPhotoOfUnknownLength(t *testing.T) {
	kind, body := form(t, map[string]string{"id": id("A7"), "vessel": "boat-pond", "kind": "photo"}, "x.jpg", append(withPosition(t), make([]byte, 30<<20)...))
	f := canned.New()
	r := local("POST", "/note", io.NopCloser(body))
	r.ContentLength = -1
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := httptest.NewRecorder()
	handler(f).ServeHTTP(w, r)
	if w.Code != 422 || f.Writes != 0 || !strings.Contains(w.Body.String(), "16 MB") {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

// The forms that may carry a photo are the only ones that may be that large.
func TestOthersStaySmall(t *testing.T) {
	for _, target := range []string{"/done", "/farm/site", "/shelf/lot"} {
		w := sendForm(t, canned.New(), target, map[string]string{"id": id("A8")}, "x.jpg", make([]byte, 3<<20))
		if w.Code == 200 || w.Code == 303 {
			t.Errorf("%s took a form of 3 MB: status %d", target, w.Code)
		}
	}
}

func TestPhotoIsNotThere(t *testing.T) {
	for _, name := range []string{"..%2f..%2fetc%2fpasswd", strings.Repeat("0F", 32), strings.Repeat("ab", 32)} {
		if w := get(t, handler(canned.New()), "/photos/"+name); w.Code != 404 {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
}

// On a phone a photo goes by itself: without signal it waits in the form, never
// half sent, and the same press later sends it once.
func TestJourneyPhoto(t *testing.T) {
	f := canned.New()
	b := open(t, f, 360, 640)
	b.go_("/note?vessel=boat-pond&kind=secchi")
	b.until("the pad", `document.querySelectorAll(".key-btn").length === 12`)
	b.keys("2.4")
	ask[bool](b, `fetch("/photos/`+canned.PondPhoto().SHA256+`").then((r) => r.blob()).then((blob) => {
		const dt = new DataTransfer();
		dt.items.add(new File([blob], "a.jpg", { type: "image/jpeg" }));
		const input = document.querySelector("[name=photo]");
		input.files = dt.files;
		input.dispatchEvent(new Event("change", { bubbles: true }));
	}) && true`)
	b.until("the photo is chosen", `document.querySelector("[data-photo-summary]").textContent === "Photo: 1"`)
	b.down.Store(true)
	b.click(".note-end button")
	b.until("no signal", `document.querySelector("[data-said]").textContent.startsWith("There is no signal")`)
	if f.Writes != 0 || ask[int](b, `Object.keys(localStorage).length`) != 0 || ask[string](b, `document.querySelector("[data-value]").value`) != "2.4" {
		t.Errorf("without signal: %d writes, or the note is gone from the form", f.Writes)
	}
	b.down.Store(false)
	b.click(".note-end button")
	b.until("said", `document.querySelector("[data-said]").textContent.startsWith("Noted: Boat pond, disc 2.4")`)
	page, _ := f.Entries(context.Background(), web.Ask{Newest: true, Limit: 1})
	if f.Writes != 1 || string(page.Entries[0].Body) != `{"photo_sha256":"`+canned.PondPhoto().SHA256+`","secchi_cm":2.4}` {
		t.Errorf("%d writes, last %s", f.Writes, page.Entries[0].Body)
	}
	if s := ask[string](b, `document.querySelector("[data-photo-summary]").textContent`); s != "Photo" {
		t.Errorf("the photo still stands in the form: %q", s)
	}
}
