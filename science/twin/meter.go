package twin

import (
	"fmt"
	"math"
)

// Buffer is a solution of known pH.
type Buffer int

// The buffers, by their pH at 25 °C.
const (
	Phthalate4  Buffer = iota // 4.01
	Phosphate7                // 6.86
	Technical7                // 7.00
	Borax9                    // 9.18
	Carbonate10               // 10.01
	numBuffers
)

// bufferTempsC are the temperatures of the tables [°C].
var bufferTempsC = [11]float64{0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50}

// buffers are the pH of each buffer at those temperatures [1].
//
// Source: phthalate, equimolal phosphate, borax and carbonate: the primary
// standards of the National Bureau of Standards as in DIN 19266, from memory;
// the technical phosphate of 7.00: tables printed with meters, to 0.01.
var buffers = [numBuffers]struct {
	name string
	ph   [11]float64
}{
	{"4.01", [11]float64{4.003, 3.999, 3.998, 3.999, 4.002, 4.008, 4.015, 4.024, 4.035, 4.047, 4.060}},
	{"6.86", [11]float64{6.984, 6.951, 6.923, 6.900, 6.881, 6.865, 6.853, 6.844, 6.838, 6.834, 6.833}},
	{"7.00", [11]float64{7.12, 7.09, 7.06, 7.04, 7.02, 7.00, 6.99, 6.98, 6.98, 6.97, 6.97}},
	{"9.18", [11]float64{9.464, 9.395, 9.332, 9.276, 9.225, 9.180, 9.139, 9.102, 9.068, 9.038, 9.011}},
	{"10.01", [11]float64{10.317, 10.245, 10.179, 10.118, 10.062, 10.012, 9.966, 9.925, 9.889, 9.856, 9.828}},
}

// String returns the buffer's pH at 25 °C as it is printed on the bottle.
func (b Buffer) String() string {
	if b < 0 || b >= numBuffers {
		return "unknown"
	}
	return buffers[b].name
}

// ParseBuffer returns the buffer that a bottle names, and whether it is one.
func ParseBuffer(name string) (Buffer, bool) {
	switch name {
	case "4.00", "4.0", "4":
		return Phthalate4, true
	case "6.87", "6.86":
		return Phosphate7, true
	case "7.0", "7":
		return Technical7, true
	case "10.00", "10.0", "10":
		return Carbonate10, true
	}
	for b := range numBuffers {
		if buffers[b].name == name {
			return b, true
		}
	}
	return 0, false
}

// PH returns the pH of the buffer [1] at tempC [°C], straight between the
// tabulated temperatures.
//
// Special case: NaN outside 0 to 50 °C and for a buffer that is none.
func (b Buffer) PH(tempC float64) float64 {
	if b < 0 || b >= numBuffers || !(tempC >= 0 && tempC <= 50) {
		return math.NaN()
	}
	i := min(int(tempC/5), 9)
	ph := &buffers[b].ph
	return ph[i] + (ph[i+1]-ph[i])*(tempC-bufferTempsC[i])/5
}

// NernstMV returns the voltage of an ideal electrode per unit of pH [mV] at
// tempC [°C]:
//
//	ln 10 · R T/F
//
// Source: CODATA 2018 constants R and F.
func NernstMV(tempC float64) float64 {
	const r, f = 8.314462618, 96485.33212
	return math.Ln10 * r * (tempC + 273.15) / f * 1000
}

// InBuffer is what a meter showed in a buffer.
type InBuffer struct {
	Buffer Buffer
	TempC  float64 // of the buffer [°C]
	Shown  float64 // what the meter shows [1]
}

// Meter is a pH meter as two buffers found it.
type Meter struct {
	Offset      float64 // what it shows too much at pH 7 [1]
	Slope       float64 // what it shows for one unit of pH at CheckC, over 1 [1]
	CheckC      float64 // mean temperature of the check [°C]
	Compensated bool    // it knows the temperature and allows for it
	low, high   float64 // pH of the buffers
	slopeSD     float64 // of a slope that was not found but taken [1]
}

// MeterError says what is wrong with a check.
type MeterError struct {
	Field string
	Why   string
	Hint  string
}

// Error implements error.
func (e *MeterError) Error() string { return e.Field + ": " + e.Why }

// bufferError is the error of one reading in a buffer: display, drift, a buffer
// that stood open [1]. Judgement, no source.
const bufferError = 0.03

// CheckMeter returns a meter from its readings in two buffers. compensated says
// that it measures temperature, or was told it, and allows for it.
//
//	shown = 7 + offset + slope·(pH − 7)
//
// The error is a *MeterError: buffers less than 2 apart, a temperature outside
// their tables, a difference that no electrode gives.
func CheckMeter(a, b InBuffer, compensated bool) (Meter, error) {
	if a.Buffer.PH(25) > b.Buffer.PH(25) {
		a, b = b, a
	}
	for _, x := range []struct {
		field string
		in    InBuffer
	}{{"low", a}, {"high", b}} {
		if math.IsNaN(x.in.Buffer.PH(x.in.TempC)) {
			return Meter{}, &MeterError{Field: x.field + ".temp_c", Why: fmt.Sprintf("must lie between 0 and 50, got %g", x.in.TempC)}
		}
		if !(x.in.Shown >= 0 && x.in.Shown <= 14) {
			return Meter{}, &MeterError{Field: x.field + ".shown", Why: fmt.Sprintf("must lie between 0 and 14, got %g", x.in.Shown)}
		}
	}
	low, high := a.Buffer.PH(a.TempC), b.Buffer.PH(b.TempC)
	if high-low < 2 {
		return Meter{}, &MeterError{"high.buffer", "is too near the other", "take 7.00 and 10.01"}
	}
	m := Meter{Slope: (b.Shown - a.Shown) / (high - low), CheckC: (a.TempC + b.TempC) / 2, Compensated: compensated, low: low, high: high}
	if !(m.Slope > 0.3 && m.Slope < 1.7) {
		return Meter{}, &MeterError{"high.shown", fmt.Sprintf("a change of %.2f between the buffers, where %.2f is right", b.Shown-a.Shown, high-low),
			"the electrode is dead, dry or the buffers were taken for each other"}
	}
	m.Offset = a.Shown - 7 - m.Slope*(low-7)
	return m, nil
}

// takenSlopeSD is what a slope that nobody found may lie from that of an ideal
// electrode [1]. Judgement, no source: between good and worn, see State.
const takenSlopeSD = 0.05

// FoundMeter returns a meter as a journal keeps its check: it showed shown [1] in
// a buffer of pH ph [1] at tempC [°C], and gives slope [1] of what an ideal
// electrode gives, found in a second buffer three units away towards the other
// side of neutral. With a slope of NaN, a check in one buffer, the slope is taken
// to be 1 and the bias grows away from that buffer.
//
// The error is a *MeterError, as of CheckMeter.
func FoundMeter(ph, shown, slope, tempC float64) (Meter, error) {
	for _, x := range []struct {
		field string
		ph    float64
	}{{"expected", ph}, {"read", shown}} {
		if !(x.ph >= 0 && x.ph <= 14) {
			return Meter{}, &MeterError{Field: x.field, Why: fmt.Sprintf("must lie between 0 and 14, got %g", x.ph)}
		}
	}
	m := Meter{Slope: slope, CheckC: tempC, Compensated: true, low: ph, high: ph + 3}
	if ph > 8.5 {
		m.high = ph - 3
	}
	if math.IsNaN(slope) {
		m.Slope, m.slopeSD = 1, takenSlopeSD
	}
	if !(m.Slope > 0.3 && m.Slope < 1.7) {
		return Meter{}, &MeterError{"slope_pct", fmt.Sprintf("is %.0f, where 100 is right", 100*slope), "the electrode is dead, dry or the buffers were taken for each other"}
	}
	m.Offset = shown - 7 - m.Slope*(ph-7)
	return m, nil
}

// at is the slope at a temperature: a meter that does not allow for it shows
// more the warmer the electrode.
func (m *Meter) at(tempC float64) float64 {
	if m.Compensated {
		return m.Slope
	}
	return m.Slope * (tempC + 273.15) / (m.CheckC + 273.15)
}

// True returns the pH [1] of water at tempC [°C] in which the meter shows a pH
// of shown [1].
func (m *Meter) True(shown, tempC float64) float64 { return 7 + (shown-7-m.Offset)/m.at(tempC) }

// Bias returns what the meter shows too much [1] in water of the given pH, ph
// [1], at tempC [°C], and the standard deviation of that [1]: outside the two
// buffers it grows.
func (m *Meter) Bias(ph, tempC float64) (bias, sd float64) {
	bias = m.Offset + (m.at(tempC)-1)*(ph-7)
	high := (ph - m.low) / (m.high - m.low)
	return bias, math.Hypot(bufferError*math.Hypot(high, 1-high), m.slopeSD*(ph-m.low))
}

// State says how an electrode is by its slope: "good", "worn" or "failing".
// Makers' practice, no source: 95 to 105 % of the ideal is good, below 85 % an
// electrode is replaced.
func (m *Meter) State() string {
	switch {
	case m.Slope >= 0.95 && m.Slope <= 1.05 && math.Abs(m.Offset) <= 0.5:
		return "good"
	case m.Slope >= 0.85 && m.Slope <= 1.10 && math.Abs(m.Offset) <= 1:
		return "worn"
	}
	return "failing"
}

// Reading returns the check as a reading of the meter's bias in the water of a
// vessel: ph is what the meter last showed there [1], tempC its temperature
// [°C]. Readings stay as they were shown; the members learn the bias, and with
// it what the shown ones had said of carbon.
func (m *Meter) Reading(ph, tempC float64) Reading {
	bias, sd := m.Bias(m.True(ph, tempC), tempC)
	return Reading{Kind: MeterCheck, Value: bias, Sigma: sd, Op: '=', Slip: 4}
}

// Adjusted says that the meter was set by its buffers: what it was biased by is
// forgotten and what remains of it is sd [1].
func (e *Ensemble) Adjusted(sd float64) {
	x := make([]float64, len(e.Members))
	for i := range e.Members {
		x[i] = e.Members[i].PHBias
	}
	mean, variance := moments(x)
	f := 0.0
	if variance > 0 {
		f = sd / math.Sqrt(variance)
	}
	// The members keep their order, which was found with the old bias; a turn by
	// half the members breaks the bond to their carbon.
	n := len(x)
	for i := range e.Members {
		e.Members[i].PHBias = (x[(i+n/2)%n] - mean) * f
	}
}
