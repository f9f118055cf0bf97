package photo

import (
	"encoding/binary"
	"hash/crc32"
)

// pngSignature begins every PNG. Source: PNG specification, third edition (W3C
// 2025), 5.2.
var pngSignature = []byte("\x89PNG\r\n\x1a\n")

func brokenPNG() error { return bad("send it once more", "breaks off or is damaged") }

// pngKept are the chunks that are needed to draw the picture: the critical ones,
// and those that say which colours its numbers mean. Source: PNG specification,
// third edition (W3C 2025), 11.2 and 11.3.
var pngKept = map[string]bool{
	"IHDR": true, "PLTE": true, "IDAT": true, "IEND": true,
	"tRNS": true, "gAMA": true, "cHRM": true, "sRGB": true, "cICP": true,
}

// pngLengths are the lengths of chunks that have one, so that nothing hides in
// them.
var pngLengths = map[string]uint32{"IHDR": 13, "IEND": 0, "gAMA": 4, "cHRM": 32, "sRGB": 1, "cICP": 4}

// cleanPNG keeps the chunks of pngKept and which way up the picture is.
func cleanPNG(raw []byte) ([]byte, error) {
	out := make([]byte, 0, len(raw))
	out = append(out, pngSignature...)
	body := []byte(nil)
	turned, data := 1, false
	for at, first := len(pngSignature), true; ; first = false {
		if at+12 > len(raw) {
			return nil, brokenPNG()
		}
		n := binary.BigEndian.Uint32(raw[at:])
		if uint64(n) > uint64(len(raw)-at-12) {
			return nil, brokenPNG()
		}
		chunk := raw[at : at+12+int(n)]
		kind := string(chunk[4:8])
		if binary.BigEndian.Uint32(chunk[8+n:]) != crc32.ChecksumIEEE(chunk[4:8+n]) || first != (kind == "IHDR") {
			return nil, brokenPNG()
		}
		at += len(chunk)
		if want, fixed := pngLengths[kind]; fixed && want != n {
			return nil, brokenPNG()
		}
		switch {
		case kind == "eXIf" && turned == 1:
			turned = orientation(chunk[8 : 8+n])
		case kind[0]&0x20 == 0 && !pngKept[kind]: // critical, and nobody here knows it
			return nil, brokenPNG()
		case kind == "IHDR":
			out = append(out, chunk...)
		case kind == "IEND":
			if !data {
				return nil, brokenPNG()
			}
			if turned != 1 {
				out = append(out, pngChunk("eXIf", tiffOf(turned))...)
			}
			out = append(out, body...)
			return append(out, chunk...), nil
		case pngKept[kind]:
			data = data || kind == "IDAT"
			body = append(body, chunk...)
		}
	}
}

// pngChunk writes a chunk.
func pngChunk(kind string, data []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	out = append(append(out, kind...), data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}
