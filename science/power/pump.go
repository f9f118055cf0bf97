package power

import (
	"fmt"
	"math"
	"slices"

	"sodalake/science/num"
)

// Point is one point of a pump's curve.
type Point struct {
	FlowM3S float64 // [m³/s]
	HeadM   float64 // [m]
}

// Curve is the head that a pump gives at each flow: H = H0 − a Q^b.
type Curve struct {
	ShutoffM float64 // head without flow, H0 [m]
	Drop     float64 // a, in the unit of b [1]
	Power    float64 // b [1]
}

// NewCurve returns the curve through points, which are put in the order of
// their flow:
//
//	one, the design point (Qd, Hd)   H = 4/3 Hd − (Hd/3)(Q/Qd)²
//	two, one of them without flow    H = H0 − a Q²
//	three, the first without flow    H = H0 − a Q^b
//
// Heads must fall. The error is an *InputError. Sheets of small pumps often give
// the two ends only, the highest lift and the most flow: two points.
//
// Source: epanet2020, section 3.1, pump curves.
func NewCurve(points ...Point) (Curve, error) {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b Point) int { return cmpFloat(a.FlowM3S, b.FlowM3S) })
	for i, x := range p {
		switch {
		case math.IsNaN(x.FlowM3S) || math.IsInf(x.FlowM3S, 0) || math.IsNaN(x.HeadM) || math.IsInf(x.HeadM, 0):
			return Curve{}, &InputError{Field: "pump", Reason: "pump: a point is not a number"}
		case x.FlowM3S < 0 || x.HeadM < 0:
			return Curve{}, &InputError{Field: "pump", Reason: fmt.Sprintf("pump: a point at %g m³/s and %g m lies below 0", x.FlowM3S, x.HeadM)}
		case i > 0 && !(x.HeadM < p[i-1].HeadM && x.FlowM3S > p[i-1].FlowM3S):
			return Curve{}, &InputError{Field: "pump", Reason: fmt.Sprintf("pump: the head does not fall from %g to %g m³/s", p[i-1].FlowM3S, x.FlowM3S)}
		}
	}
	switch len(p) {
	case 1:
		if !(p[0].FlowM3S > 0 && p[0].HeadM > 0) {
			return Curve{}, &InputError{Field: "pump", Reason: "pump: a single point must have a flow and a head above 0"}
		}
		h := p[0].HeadM
		return Curve{ShutoffM: h * 4 / 3, Drop: h / 3 / (p[0].FlowM3S * p[0].FlowM3S), Power: 2}, nil
	case 2, 3:
		if p[0].FlowM3S > 0 {
			return Curve{}, &InputError{Field: "pump", Reason: "pump: one point must be the head without flow"}
		}
	default:
		return Curve{}, &InputError{Field: "pump", Reason: fmt.Sprintf("pump: %d points are given, one to three are wanted", len(p))}
	}
	h0 := p[0].HeadM
	if len(p) == 2 {
		return Curve{ShutoffM: h0, Drop: (h0 - p[1].HeadM) / (p[1].FlowM3S * p[1].FlowM3S), Power: 2}, nil
	}
	b := math.Log((h0-p[2].HeadM)/(h0-p[1].HeadM)) / math.Log(p[2].FlowM3S/p[1].FlowM3S)
	a := (h0 - p[1].HeadM) / math.Pow(p[1].FlowM3S, b)
	if math.IsInf(a, 0) || math.IsNaN(a) || !(b > 0) {
		return Curve{}, &InputError{Field: "pump", Reason: "pump: the three points lie too close together for a curve"}
	}
	return Curve{ShutoffM: h0, Drop: a, Power: b}, nil
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// HeadM returns the head [m] at flowM3S [m³/s], below 0 past the most flow.
func (c Curve) HeadM(flowM3S float64) float64 {
	return c.ShutoffM - c.Drop*math.Pow(flowM3S, c.Power)
}

// MostM3S returns the flow without any head [m³/s].
func (c Curve) MostM3S() float64 { return math.Pow(c.ShutoffM/c.Drop, 1/c.Power) }

// Slowed returns the curve at speed times its speed [1]: flow by the speed, head
// by its square.
//
// Source: the affinity laws; epanet2020, section 3.1.
func (c Curve) Slowed(speed float64) Curve {
	return Curve{ShutoffM: c.ShutoffM * speed * speed, Drop: c.Drop * math.Pow(speed, 2-c.Power), Power: c.Power}
}

// NoMeetError says that a pump cannot push water through a system at all.
type NoMeetError struct {
	ShutoffM float64 // head of the pump without flow [m]
	StaticM  float64 // height to be lifted [m]
}

// Error says by how much.
func (e *NoMeetError) Error() string {
	return fmt.Sprintf("pump: its highest lift, %.3g m, does not reach the height of %.3g m: it never delivers", e.ShutoffM, e.StaticM)
}

// Circuit is what a pump pushes through.
type Circuit struct {
	StaticM      float64 // from water surface to outlet, or to the surface it enters [m]
	Pipes        []Pipe  // one after the other
	ViscosityM2S float64 // of the water [m²/s]
}

// HeadM returns the head [m] that the circuit asks for at flowM3S [m³/s].
func (c *Circuit) HeadM(flowM3S float64) float64 {
	h := c.StaticM
	for i := range c.Pipes {
		h += c.Pipes[i].HeadM(flowM3S, c.ViscosityM2S)
	}
	return h
}

// Meet returns the flow [m³/s] and the head [m] at which pump and circuit agree.
// The error is a *NoMeetError when the height is too much for the pump.
//
// Source: epanet2020, section 3.1.
func Meet(pump Curve, c *Circuit) (flowM3S, headM float64, err error) {
	if !(pump.ShutoffM > c.StaticM) {
		return 0, 0, &NoMeetError{ShutoffM: pump.ShutoffM, StaticM: c.StaticM}
	}
	most := pump.MostM3S()
	if c.HeadM(most) <= pump.HeadM(most) { // a fall helps more than the pump can run
		return most, pump.HeadM(most), nil
	}
	q, err := num.Root(func(q float64) float64 { return pump.HeadM(q) - c.HeadM(q) }, 0, most, 1e-9*most)
	if err != nil {
		return 0, 0, err
	}
	return q, c.HeadM(q), nil
}

// InputW returns the electric power [W] of a pump that lifts flowM3S [m³/s] by
// headM [m] with an overall efficiency [1]:
//
//	P = ρ g Q H/η
//
// densityKgM3 is ρ [kg/m³].
func InputW(flowM3S, headM, efficiency, densityKgM3 float64) float64 {
	return densityKgM3 * Gravity * flowM3S * headM / efficiency
}

// TurnoverH returns the time [h] in which a flow of flowM3S [m³/s] has moved
// volumeL [L] once.
func TurnoverH(volumeL, flowM3S float64) float64 { return volumeL / 1000 / flowM3S / 3600 }
