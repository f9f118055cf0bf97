package photo

import (
	"bytes"
	"encoding/binary"
)

// Markers of JPEG. Source: ITU-T T.81 (1992), table B.1; JFIF's APP0 ITU-T
// T.871 (2011), 10; Adobe's APP14 as T.872 (2012), 6.5.3 tells it.
const (
	mSOI, mEOI, mSOS, mTEM = 0xD8, 0xD9, 0xDA, 0x01
	mRST0, mRST7           = 0xD0, 0xD7
	mDQT, mDHT, mDRI       = 0xDB, 0xC4, 0xDD
	mDNL, mDAC, mJPG       = 0xDC, 0xCC, 0xC8
	mAPP0, mAPP1, mAPP14   = 0xE0, 0xE1, 0xEE
	mSOF0, mSOF15          = 0xC0, 0xCF
)

func brokenJPEG() error {
	return bad("take it again, or send it once more", "breaks off or is damaged")
}

// cleanJPEG keeps the segments that are needed to draw the picture, the plain
// head of JFIF, how colours were turned (Adobe's), and which way up it is.
// Everything else goes: positions, times, names, a small picture within, a
// profile, and what stands behind the end.
func cleanJPEG(raw []byte) ([]byte, error) {
	out := make([]byte, 0, len(raw))
	out = append(out, 0xFF, mSOI)
	turned := orientationOf(raw)
	if turned != 1 {
		out = append(out, exifSegment(turned)...)
	}
	frames, scans := 0, 0
	for at := 2; ; {
		// A marker is FF, more FF to fill, and its code.
		if at+1 >= len(raw) || raw[at] != 0xFF {
			return nil, brokenJPEG()
		}
		for at+1 < len(raw) && raw[at+1] == 0xFF {
			at++
		}
		if at+1 >= len(raw) {
			return nil, brokenJPEG()
		}
		m := raw[at+1]
		at += 2
		if m == mEOI {
			if frames != 1 || scans == 0 {
				return nil, brokenJPEG()
			}
			return append(out, 0xFF, mEOI), nil
		}
		if m == mTEM || m >= mRST0 && m <= mSOI || m == 0 {
			return nil, brokenJPEG()
		}
		if at+2 > len(raw) {
			return nil, brokenJPEG()
		}
		n := int(binary.BigEndian.Uint16(raw[at:])) // with its own two bytes
		if n < 2 || at+n > len(raw) {
			return nil, brokenJPEG()
		}
		data := raw[at+2 : at+n]
		at += n
		switch {
		case m == mAPP0 && bytes.HasPrefix(data, []byte("JFIF\x00")) && len(data) >= 14:
			data = append(bytes.Clone(data[:12]), 0, 0) // without its small picture
		case m == mAPP14 && bytes.HasPrefix(data, []byte("Adobe")) && len(data) >= 12:
			data = append([]byte("Adobe\x00\x64\x00\x00\x00\x00"), data[11]) // only the turning of colours
		case m == mDQT, m == mDHT, m == mDRI, m == mDNL, m == mDAC:
		case m >= mSOF0 && m <= mSOF15 && m != mJPG:
			frames++
		case m == mSOS:
			if frames == 0 {
				return nil, brokenJPEG()
			}
			scans++
		default:
			continue
		}
		out = append(out, 0xFF, m)
		out = binary.BigEndian.AppendUint16(out, uint16(len(data)+2))
		out = append(out, data...)
		if m != mSOS {
			continue
		}
		// The scan runs to the next marker that is neither a stuffed zero nor a
		// restart.
		from := at
		for {
			i := bytes.IndexByte(raw[at:], 0xFF)
			if i < 0 || at+i+1 >= len(raw) {
				return nil, brokenJPEG()
			}
			at += i
			if c := raw[at+1]; c == 0 || c >= mRST0 && c <= mRST7 {
				at += 2
				continue
			}
			break
		}
		out = append(out, raw[from:at]...)
	}
}

// exifHead begins the segment that tells which way up a photo is. Source: Exif
// 2.32 (CIPA DC-008-2019), 4.5.4 and 4.7.2.
var exifHead = []byte("Exif\x00\x00")

// orientationOf returns which way up a JPEG says it is, 1 if it does not say.
func orientationOf(raw []byte) int {
	for at := 2; at+4 <= len(raw) && raw[at] == 0xFF; {
		if raw[at+1] == 0xFF {
			at++
			continue
		}
		m, n := raw[at+1], int(binary.BigEndian.Uint16(raw[at+2:]))
		if m == mSOS || m == mEOI || n < 2 || at+2+n > len(raw) {
			break
		}
		if data := raw[at+4 : at+2+n]; m == mAPP1 && bytes.HasPrefix(data, exifHead) {
			return orientation(data[len(exifHead):])
		}
		at += 2 + n
	}
	return 1
}

// orientation reads tag 0x0112 of the first directory of a TIFF block, 1 if it
// is not there or means nothing. Source: TIFF 6.0 (1992), section 2 (directory)
// and page 36 (the tag).
func orientation(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	at := int64(order.Uint32(tiff[4:]))
	if at < 8 || at+2 > int64(len(tiff)) {
		return 1
	}
	n := int64(order.Uint16(tiff[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(tiff)) {
			return 1
		}
		if order.Uint16(tiff[e:]) != 0x0112 {
			continue
		}
		if order.Uint16(tiff[e+2:]) != 3 || order.Uint32(tiff[e+4:]) != 1 { // one SHORT
			return 1
		}
		if v := order.Uint16(tiff[e+8:]); v >= 1 && v <= 8 {
			return int(v)
		}
		return 1
	}
	return 1
}

// tiffOf returns a TIFF block that says which way up a photo is and nothing else.
func tiffOf(turned int) []byte {
	return []byte{
		'M', 'M', 0, '*', 0, 0, 0, 8, // big end first, the directory at 8
		0, 1, // one entry
		0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, byte(turned), 0, 0, // orientation, one SHORT
		0, 0, 0, 0, // no further directory
	}
}

// exifSegment returns the segment that says which way up a photo is.
func exifSegment(turned int) []byte {
	data := append(bytes.Clone(exifHead), tiffOf(turned)...)
	out := binary.BigEndian.AppendUint16([]byte{0xFF, mAPP1}, uint16(len(data)+2))
	return append(out, data...)
}
