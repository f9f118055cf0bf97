package twin

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/pond"
)

// A thawed ensemble goes the way of the one that was frozen, to the last bit,
// through readings, acts and weather.
func TestFrozenGoesOn(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64Range(0, 1<<40).Draw(rt, "seed")
		e := started(t, Config{Members: rapid.IntRange(2, 20).Draw(rt, "members"), Draws: 2, Seed: seed})
		if rapid.Bool().Draw(rt, "old") {
			story(e)
		}
		// The shape is what base is asked for; all else comes from the blob.
		base := e.Members[0].Pond
		base.WaterKg, base.BiomassG = 0, 0
		blob := e.Freeze()
		back, err := Thaw(&base, blob)
		if err != nil {
			rt.Fatal(err)
		}
		if !back.At.Equal(e.At) || !reflect.DeepEqual(back.fit, e.fit) || !reflect.DeepEqual(back.streaks, e.streaks) {
			rt.Errorf("moment %v and fits did not come back", back.At)
		}
		again := e.Copy()
		for _, x := range []*Ensemble{again, back} {
			at := x.At
			w := wrap(flatWeather(begins, 12, 750, 23), flatWeather(begins, 12, 650, 25))
			x.Tell(ReadSecchi(3))
			x.Advance(at.AddDate(0, 0, 1), w, nil)
			x.Do(func(_ int, m *Member) {
				p := poured(100, 20)
				m.Blur(&p, 0.1)
				m.Do(&pond.Act{Pour: p, ClothL: 200, CakeG: 4})
			})
			x.Tell(ReadPH(9.8, false))
			x.Advance(at.AddDate(0, 0, 3), w, nil)
		}
		if !bytes.Equal(again.Freeze(), back.Freeze()) {
			rt.Error("the thawed ensemble went another way")
		}
	})
}

func TestThawRefuses(t *testing.T) {
	e := started(t, Config{Members: 3, Draws: 1, Seed: 51})
	base := e.Members[0].Pond
	good := e.Freeze()
	change := func(f func(b []byte) []byte) []byte {
		b := f(bytes.Clone(good))
		return sign(b)
	}
	for _, c := range []struct {
		what string
		blob []byte
		want error
	}{
		{"nothing", nil, ErrNotFrozen},
		{"something else", []byte("a note of some length that is no ensemble at all"), ErrNotFrozen},
		{"another version", change(func(b []byte) []byte { b[4]++; return b }), ErrOther},
		{"another layout", change(func(b []byte) []byte { b[5]++; return b }), ErrOther},
		{"a flipped bit", func() []byte { b := bytes.Clone(good); b[200] ^= 4; return b }(), ErrDamaged},
		{"no members", change(func(b []byte) []byte { binary.LittleEndian.PutUint32(b[13:], 0); return b }), ErrDamaged},
		{"too many members", change(func(b []byte) []byte { binary.LittleEndian.PutUint32(b[13:], 1<<31); return b }), ErrDamaged},
		{"cut short", change(func(b []byte) []byte { return b[:len(b)-40] }), ErrDamaged},
		{"too long", change(func(b []byte) []byte { return append(b[:len(b)-4], 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0) }), ErrDamaged},
		{"no number", change(func(b []byte) []byte {
			at := headerSize + int(NumKinds)*32 + 1
			binary.LittleEndian.PutUint64(b[at:], math.Float64bits(math.NaN()))
			return b
		}), ErrDamaged},
		{"water below nothing", change(func(b []byte) []byte {
			at := headerSize + int(NumKinds)*32 + 1
			binary.LittleEndian.PutUint64(b[at:], math.Float64bits(-5))
			return b
		}), ErrDamaged},
	} {
		if got, err := Thaw(&base, c.blob); !errors.Is(err, c.want) || got != nil {
			t.Errorf("%s: %v, want %v", c.what, err, c.want)
		}
	}
}

// sign puts the right checksum at the end.
func sign(b []byte) []byte {
	if len(b) < 4 {
		return b
	}
	binary.LittleEndian.PutUint32(b[len(b)-4:], crc32.ChecksumIEEE(b[:len(b)-4]))
	return b
}

// FuzzThaw asks that nothing makes Thaw panic, and that what it takes can be
// stepped: the checksum is put right, so that the fuzzer gets past it.
func FuzzThaw(f *testing.F) {
	e := started(f, Config{Members: 2, Draws: 1, Seed: 52})
	base := e.Members[0].Pond
	good := e.Freeze()
	f.Add(good)
	f.Add(good[:len(good)/2])
	for i := headerSize; i < len(good); i += 97 {
		b := bytes.Clone(good)
		b[i] ^= 0xff
		f.Add(b)
	}
	w := wrap(flatWeather(begins, 1, 700, 20))
	f.Fuzz(func(t *testing.T, blob []byte) {
		got, err := Thaw(&base, sign(bytes.Clone(blob)))
		if err != nil {
			return
		}
		if len(got.Members) > 8 {
			return
		}
		got.At = begins
		got.Advance(begins.Add(stepTime*2), w, nil)
		got.Tell(ReadSecchi(2.5))
		got.Troubles()
		got.Freeze()
	})
}
