package twin

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"reflect"
	"time"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// The frozen form of an ensemble, all little endian:
//
//	"SLTW", version, hash of the names of all numbers below (8 bytes),
//	members (4), moment in seconds (8) and nanoseconds (4),
//	for each kind of reading its fit (2 × 8) and its doubted ones (3 × 8),
//	number by number: 0 and one value (8), if all members have the same bits,
//	  or 1 and the value of each member,
//	CRC-32 (IEEE) of all before it (4)
//
// Numbers are the leaves of frozen in the order of their declaration. A change
// of what a member is made of changes the hash, so that an old blob is refused
// instead of misread.
const (
	freezeMagic   = "SLTW"
	freezeVersion = 2
	headerSize    = 4 + 1 + 8 + 4 + 8 + 4
	mostMembers   = 1 << 16
)

// Errors of Thaw, for errors.Is.
var (
	ErrNotFrozen = errors.New("twin: not a frozen ensemble")
	ErrOther     = errors.New("twin: frozen by another version of the model")
	ErrDamaged   = errors.New("twin: a frozen ensemble is damaged")
)

// frozen is a member as numbers.
type frozen struct {
	State    pond.State
	Hidden   pond.Hidden
	Setting  vessel.Setting
	Stir     pond.Stir
	Params   growth.Params
	Side     bool
	TapC     float64
	AirPPM   float64
	WarmerC  float64
	UreaPerD float64
	HeaterW  float64
	LnScale  float64
	LnSecchi float64
	LnOD     float64
	PHBias   float64
	Disc     float64
	Draw     int
	RNG      [2]uint64
}

// leaf is the way to one number of frozen.
type leaf struct {
	name string
	path []int
}

// leaves lists the numbers of a type by name. It panics on a kind of field that
// it cannot write, a slip of whoever added it.
func leaves(t reflect.Type, name string, path []int) []leaf {
	var out []leaf
	under := func(i int, name string, t reflect.Type) {
		out = append(out, leaves(t, name, append(append([]int(nil), path...), i))...)
	}
	switch t.Kind() {
	case reflect.Struct:
		for i := range t.NumField() {
			under(i, name+"."+t.Field(i).Name, t.Field(i).Type)
		}
	case reflect.Array:
		for i := range t.Len() {
			under(i, fmt.Sprintf("%s[%d]", name, i), t.Elem())
		}
	case reflect.Float64, reflect.Bool, reflect.Int, reflect.Uint64, reflect.Uint8:
		out = append(out, leaf{name + " " + t.Kind().String(), path})
	default:
		panic("twin: cannot freeze " + name)
	}
	return out
}

// layout is the numbers of frozen and the hash of their names.
var layout, layoutHash = func() ([]leaf, uint64) {
	l := leaves(reflect.TypeFor[frozen](), "", nil)
	h := fnv.New64a()
	for _, x := range l {
		h.Write([]byte(x.name))
		h.Write([]byte{0})
	}
	return l, h.Sum64()
}()

// at follows a way.
func (l *leaf) at(v reflect.Value) reflect.Value {
	for _, i := range l.path {
		if v.Kind() == reflect.Array {
			v = v.Index(i)
		} else {
			v = v.Field(i)
		}
	}
	return v
}

func bitsOf(v reflect.Value) uint64 {
	switch v.Kind() {
	case reflect.Float64:
		return math.Float64bits(v.Float())
	case reflect.Bool:
		if v.Bool() {
			return 1
		}
		return 0
	case reflect.Int:
		return uint64(v.Int())
	}
	return v.Uint()
}

// setBits is the inverse of bitsOf; false if the value does not hold them.
func setBits(v reflect.Value, bits uint64) bool {
	switch v.Kind() {
	case reflect.Float64:
		v.SetFloat(math.Float64frombits(bits))
	case reflect.Bool:
		v.SetBool(bits == 1)
		return bits <= 1
	case reflect.Int:
		v.SetInt(int64(bits))
		return bits < 1<<31
	case reflect.Uint8:
		v.SetUint(bits & 0xff)
		return bits <= 0xff
	default:
		v.SetUint(bits)
	}
	return true
}

// freeze writes a member down.
func (m *Member) freeze(f *frozen) {
	v := &m.Pond
	*f = frozen{
		State: v.State, Hidden: v.Hidden(), Setting: v.Setting, Stir: v.Stir, Params: v.Growth.Params(), Side: v.Side,
		TapC: v.TapC, AirPPM: v.AirPPM, WarmerC: v.WarmerC, UreaPerD: v.UreaPerD, HeaterW: v.HeaterW,
		LnScale: m.LnScale, LnSecchi: m.LnSecchi, LnOD: m.LnOD, PHBias: m.PHBias, Disc: m.disc, Draw: m.Draw,
	}
	b, err := m.rng.MarshalBinary()
	if err != nil || len(b) != 20 {
		panic("twin: the generator's form has changed")
	}
	f.RNG = [2]uint64{binary.BigEndian.Uint64(b[4:]), binary.BigEndian.Uint64(b[12:])}
}

// thaw makes a member of what was written down.
func (m *Member) thaw(base *pond.Vessel, f *frozen) error {
	m.Pond = *base
	v := &m.Pond
	v.State, v.Setting, v.Stir, v.Growth, v.Side = f.State, f.Setting, f.Stir, growth.NewModel(f.Params), f.Side
	v.TapC, v.AirPPM, v.WarmerC, v.UreaPerD, v.HeaterW = f.TapC, f.AirPPM, f.WarmerC, f.UreaPerD, f.HeaterW
	v.SetHidden(f.Hidden)
	m.LnScale, m.LnSecchi, m.LnOD, m.PHBias, m.disc, m.Draw = f.LnScale, f.LnSecchi, f.LnOD, f.PHBias, f.Disc, f.Draw
	b := binary.BigEndian.AppendUint64([]byte("pcg:"), f.RNG[0])
	m.rng = rand.PCG{}
	return m.rng.UnmarshalBinary(binary.BigEndian.AppendUint64(b, f.RNG[1]))
}

// sound reports whether a member can be stepped: numbers are numbers, amounts
// not below nothing, parameters such as the model takes.
func (f *frozen) sound() bool {
	v := reflect.ValueOf(f).Elem()
	tap := f.TapC
	f.TapC = 0 // may be no number
	for i := range layout {
		if x := layout[i].at(v); x.Kind() == reflect.Float64 && !(math.Abs(x.Float()) < 1e15) {
			return false
		}
	}
	f.TapC = tap
	for _, mol := range f.State.Mol {
		if mol < 0 {
			return false
		}
	}
	s := &f.State
	warm := func(c float64) bool { return c > -90 && c < 150 }
	return s.WaterKg >= 0 && s.BiomassG >= 0 && warm(s.Heat.WaterC) && warm(s.Heat.SoilC[0]) && warm(s.Heat.SoilC[1]) &&
		(math.IsNaN(tap) || warm(tap)) && f.Setting.Cover <= vessel.Tunnel && f.Setting.Vents <= vessel.Open &&
		math.Abs(f.LnScale) <= lnScaleMost && f.Params.Validate() == nil
}

// Freeze returns the ensemble in a compact form that Thaw takes back, for a
// checkpoint. Like a cut of the way at this moment it settles the members, so
// that the ensemble that goes on and the thawed one go on alike, to the last bit
// on one build.
func (e *Ensemble) Freeze() []byte {
	n := len(e.Members)
	e.each(func(_ int, m *Member, _ *brine.Solver) { m.Pond.Settle() })
	all := make([]frozen, n)
	values := make([]reflect.Value, n)
	for i := range all {
		e.Members[i].freeze(&all[i])
		values[i] = reflect.ValueOf(&all[i]).Elem()
	}
	le := binary.LittleEndian
	b := make([]byte, 0, headerSize+len(layout)*9+n*8*48)
	b = append(b, freezeMagic...)
	b = append(b, freezeVersion)
	b = le.AppendUint64(b, layoutHash)
	b = le.AppendUint32(b, uint32(n))
	b = le.AppendUint64(b, uint64(e.At.Unix()))
	b = le.AppendUint32(b, uint32(e.At.Nanosecond()))
	for _, f := range e.fit {
		b = le.AppendUint64(b, math.Float64bits(f.n))
		b = le.AppendUint64(b, math.Float64bits(f.d2))
	}
	for _, s := range e.streaks {
		b = le.AppendUint64(b, uint64(s.n))
		b = le.AppendUint64(b, math.Float64bits(s.value))
		b = le.AppendUint64(b, math.Float64bits(s.off))
	}
	column := make([]uint64, n)
	for l := range layout {
		same := true
		for i := range values {
			column[i] = bitsOf(layout[l].at(values[i]))
			same = same && column[i] == column[0]
		}
		if same {
			b = le.AppendUint64(append(b, 0), column[0])
			continue
		}
		b = append(b, 1)
		for _, x := range column {
			b = le.AppendUint64(b, x)
		}
	}
	return le.AppendUint32(b, crc32.ChecksumIEEE(b))
}

// Thaw returns the ensemble that Freeze wrote, around the model it was made
// around: base gives what does not change, the shape above all. The moment is
// in UTC.
//
// The error is ErrNotFrozen, ErrOther or ErrDamaged; nothing that is in blob
// makes it panic.
func Thaw(base *pond.Vessel, blob []byte) (*Ensemble, error) {
	le := binary.LittleEndian
	if len(blob) < headerSize+4 || string(blob[:4]) != freezeMagic {
		return nil, ErrNotFrozen
	}
	if blob[4] != freezeVersion || le.Uint64(blob[5:]) != layoutHash {
		return nil, ErrOther
	}
	body := blob[:len(blob)-4]
	if crc32.ChecksumIEEE(body) != le.Uint32(blob[len(body):]) {
		return nil, ErrDamaged
	}
	n := int(le.Uint32(body[13:]))
	if n < 1 || n > mostMembers {
		return nil, ErrDamaged
	}
	e := &Ensemble{At: time.Unix(int64(le.Uint64(body[17:])), int64(le.Uint32(body[25:]))).UTC()}
	if y := e.At.Year(); y < 1 || y > 9999 {
		return nil, ErrDamaged
	}
	body = body[headerSize:]
	ok := true
	take := func() uint64 {
		if len(body) < 8 {
			ok = false
			return 0
		}
		x := le.Uint64(body)
		body = body[8:]
		return x
	}
	for k := range e.fit {
		f := fit{math.Float64frombits(take()), math.Float64frombits(take())}
		ok = ok && f.n >= 0 && f.n < 1e6 && f.d2 >= 0 && f.d2 < 1e9
		e.fit[k] = f
	}
	for k := range e.streaks {
		n, value, off := take(), math.Float64frombits(take()), math.Float64frombits(take())
		ok = ok && n < 1<<31 && math.Abs(value) < 1e9 && math.Abs(off) < 1e9
		e.streaks[k] = streak{int(n), value, off}
	}
	// A blob cannot ask for more members than it has room for.
	if !ok || len(body) < len(layout)*9 || n > 1 && len(body) < 8*n {
		return nil, ErrDamaged
	}
	all := make([]frozen, n)
	values := make([]reflect.Value, n)
	for i := range all {
		values[i] = reflect.ValueOf(&all[i]).Elem()
	}
	for l := range layout {
		if len(body) < 9 || body[0] > 1 {
			return nil, ErrDamaged
		}
		each := body[0] == 1
		body = body[1:]
		x := uint64(0)
		for i := range values {
			if i == 0 || each {
				x = take()
			}
			ok = ok && setBits(layout[l].at(values[i]), x)
		}
		if !ok {
			return nil, ErrDamaged
		}
	}
	if len(body) != 0 {
		return nil, ErrDamaged
	}
	e.Members = make([]Member, n)
	for i := range all {
		if !all[i].sound() || e.Members[i].thaw(base, &all[i]) != nil {
			return nil, ErrDamaged
		}
	}
	e.each(func(_ int, m *Member, _ *brine.Solver) { m.Pond.Settle() })
	return e, nil
}
