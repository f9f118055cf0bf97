package calc

import (
	"errors"
	"fmt"
	"math"

	"sodalake/science/power"
)

type pumpIn struct {
	MaxLiftM   *float64           `json:"pump_max_lift_m" label:"Pump: highest lift, without flow" unit:"m" min:"0.05" max:"500" help:"both ends stand on the sheet of most small pumps"`
	MaxFlowLH  *float64           `json:"pump_max_flow_l_per_h" label:"Pump: most flow, without lift" unit:"L/h" min:"1" max:"10000000"`
	AtFlowLH   *float64           `json:"pump_at_flow_l_per_h" label:"Pump: or one point, flow" unit:"L/h" min:"1" max:"10000000"`
	AtLiftM    *float64           `json:"pump_at_lift_m" label:"Pump: at a lift of" unit:"m" min:"0.05" max:"500"`
	FlowLH     *float64           `json:"flow_l_per_h" label:"Or no pump yet: flow wanted" unit:"L/h" min:"1" max:"10000000"`
	LiftM      float64            `json:"lift_m" label:"Height from water to outlet" unit:"m" min:"0" max:"200" default:"0" help:"0 where it goes back under water"`
	LengthM    float64            `json:"pipe_m" label:"Pipe or hose" unit:"m" min:"0.01" max:"10000" default:"2"`
	InsideMM   float64            `json:"inside_mm" label:"Its width inside" unit:"mm" min:"2" max:"1000" default:"20"`
	Material   string             `json:"material" label:"Of" choices:"plastic|smooth hose|ribbed hose|new steel|galvanised steel" default:"smooth hose"`
	Fittings   map[string]float64 `json:"fittings" label:"Fittings on it" min:"0" max:"1000" help:"short elbow 2, gate valve 1; entrance and exit are counted"`
	TempC      float64            `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"0" max:"60" default:"25"`
	PowerW     *float64           `json:"pump_w" label:"Pump: power that it draws" unit:"W" min:"0.1" max:"1000000"`
	Efficiency float64            `json:"efficiency_pct" label:"Of its power, what arrives in the water" unit:"%" min:"1" max:"95" default:"15" help:"small immersed pumps 10 to 25"`
	VolumeL    *float64           `json:"volume_l" label:"Water in the vessel" unit:"L" min:"0.5" max:"100000000" help:"to tell the turnover"`
	WidthM     *float64           `json:"channel_width_m" label:"Raceway: width of the channel" unit:"m" min:"0.05" max:"100" help:"to tell what keeps it moving"`
	DepthCM    *float64           `json:"channel_depth_cm" label:"Raceway: depth" unit:"cm" min:"1" max:"200"`
	LoopM      *float64           `json:"channel_loop_m" label:"Raceway: once round" unit:"m" min:"0.5" max:"10000"`
	WantMS     float64            `json:"want_m_s" label:"Raceway: velocity wanted" unit:"m/s" min:"0.01" max:"2" default:"0.2"`
	PaddleEff  float64            `json:"paddle_efficiency_pct" label:"Raceway: of the paddle's power, what arrives" unit:"%" min:"1" max:"95" default:"17"`
	Floor      string             `json:"floor" label:"Raceway: floor" choices:"plastic|lined earth" default:"plastic"`
}

type pumpOut struct {
	FlowLH    float64  `json:"flow_l_per_h" label:"Flow" unit:"L/h"`
	HeadM     float64  `json:"head_m" label:"At a head of" unit:"m"`
	FrictionM float64  `json:"friction_m" label:"Of that, lost in pipe and fittings" unit:"m"`
	HazenM    *float64 `json:"hazen_williams_m,omitempty" label:"Pipe alone, by Hazen and Williams" unit:"m"`
	PipeMS    float64  `json:"pipe_velocity_m_s" label:"Velocity in the pipe" unit:"m/s"`
	Reynolds  float64  `json:"reynolds" label:"Reynolds number"`
	NeedW     float64  `json:"power_w" label:"Power that takes" unit:"W"`
	TurnoverH *float64 `json:"turnover_h,omitempty" label:"All of the water once in" unit:"h"`
	PaddleW   *float64 `json:"raceway_power_w,omitempty" label:"Raceway: power for the velocity wanted" unit:"W"`
	PaddleWM2 *float64 `json:"raceway_power_w_per_m2,omitempty" label:"Raceway: for a square metre" unit:"W/m²"`
	BendsPct  *float64 `json:"raceway_bends_pct,omitempty" label:"Raceway: of that, lost in the turns" unit:"%"`
	RoundS    *float64 `json:"raceway_round_s,omitempty" label:"Raceway: once round in" unit:"s"`
	Pace      string   `json:"pace,omitempty" label:"Raceway: that velocity"`
	Told
}

// Pump is the calculator of pumps, pipes and raceways.
func Pump() *Calculator {
	return Define(About{
		Name: "pump", Title: "What does the pump move?",
		Sentence: "The flow at which a pump and its pipe agree, or the head and power for a flow; turnover; the power of a raceway.",
		Equations: []string{
			"pump: H = H0 - a Q² through the two ends, or through 4/3 of one point",
			"pipe: h = (f L/d + K) v²/2g, f by Colebrook",
			"Hazen-Williams: h = 10.67 L Q^1.852/(C^1.852 d^4.8704)",
			"power = density x g x Q x H / efficiency",
			"raceway: slope = n² v² / R^(4/3), each turn 2.4 v²/2g",
		},
		Sources: []Source{
			{"colebrook1939", "Colebrook 1939, Journal of the Institution of Civil Engineers 11:133"},
			{"epanet2020", "fittings and pump curves: EPANET 2.2 user manual, EPA/600/R-20/133"},
			{"chow1959", "Manning: Chow 1959, Open-channel hydraulics (from memory)"},
			{"chisti2016", "roughness and paddle efficiency: Chisti 2016, in Algae biotechnology (from memory)"},
		},
		Example: `{"pump_max_lift_m":1.8,"pump_max_flow_l_per_h":1200,"lift_m":0.3,"pipe_m":3,"inside_mm":16,"fittings":{"short elbow":2},"pump_w":14,"volume_l":800}`,
	}, computePump)
}

func computePump(in pumpIn) (pumpOut, error) {
	var out pumpOut
	nu := power.WaterViscosity(in.TempC)
	wall, _ := power.MaterialByName(in.Material)
	pipe := power.Pipe{LengthM: in.LengthM, DiameterM: in.InsideMM / 1000, RoughnessM: wall.RoughnessM, Minor: 1.5}
	for _, name := range sortedKeys(in.Fittings) {
		f, ok := power.FittingByName(name)
		if !ok {
			return out, invalid("fittings."+name, "known are "+fittingNames(), "fitting %q is not known", name)
		}
		pipe.Minor += f.K * in.Fittings[name]
	}
	circuit := power.Circuit{StaticM: in.LiftM, Pipes: []power.Pipe{pipe}, ViscosityM2S: nu}
	density := 1000.0
	var q float64 // m³/s
	curve, have, err := in.curve()
	switch {
	case err != nil:
		return out, err
	case have && in.FlowLH != nil:
		return out, invalid("flow_l_per_h", "say one of them", "a pump and a flow are both given")
	case have:
		if q, out.HeadM, err = power.Meet(curve, &circuit); err != nil {
			var never *power.NoMeetError
			if errors.As(err, &never) {
				return out, invalid("lift_m", "a stronger pump, or a lower outlet", "%s", never.Error())
			}
			return out, err
		}
		if speed := math.Abs(curve.HeadM(q)); q > 0.9*curve.MostM3S() && speed < 0.1*curve.ShutoffM {
			out.Cautions = append(out.Cautions, "It runs near its most flow, where small pumps are poor and loud.")
		}
	case in.FlowLH != nil:
		q = *in.FlowLH / 3.6e6
		out.HeadM = circuit.HeadM(q)
	default:
		return out, invalid("pump_max_lift_m", "or the flow wanted", "pump_max_lift_m with pump_max_flow_l_per_h, one point, or flow_l_per_h is needed")
	}
	out.FlowLH = q * 3.6e6
	out.FrictionM = out.HeadM - in.LiftM
	out.PipeMS = pipe.VelocityMS(q)
	out.Reynolds = power.Reynolds(out.PipeMS, pipe.DiameterM, nu)
	out.NeedW = power.InputW(q, out.HeadM, in.Efficiency/100, density)
	if pipe.DiameterM >= 0.025 && out.Reynolds > 4000 {
		out.HazenM = finite(power.HazenWilliamsM(q, in.LengthM, pipe.DiameterM, wall.Coefficient))
	}
	if in.VolumeL != nil {
		out.TurnoverH = finite(power.TurnoverH(*in.VolumeL, q))
	}
	if in.PowerW != nil {
		eff := density * power.Gravity * q * out.HeadM / *in.PowerW
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("of the %s W drawn, %s %% arrive as flow and head", Digits(*in.PowerW), Digits(100*eff)))
		if eff > 0.75 {
			out.Cautions = append(out.Cautions, "That is more than a pump can do: look at its figures again.")
		}
	}
	if out.FrictionM > 0.5*out.HeadM && out.PipeMS > 1.5 {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Half of the head goes into the hose at %s m/s: a wider one moves more water and spares the filaments.", Digits(out.PipeMS)))
	}
	if err := in.raceway(&out, density); err != nil {
		return out, err
	}
	out.Assumptions = append(out.Assumptions,
		"a medium as thin as water, free of air; a square entrance and an exit are counted",
		"a curve through the ends bends as a parabola; the sheet's own curve is better")
	for _, c := range power.For(power.Water | power.Mains | power.Pumps) {
		out.Cautions = append(out.Cautions, c.Text)
	}
	out.Cautions = append(out.Cautions, "Fast centrifugal pumps break tightly coiled filaments: slow, wide, and look at the filtrate's colour.")
	return out, nil
}

// curve reads the pump, if one is told.
func (in *pumpIn) curve() (power.Curve, bool, error) {
	ends := in.MaxLiftM != nil || in.MaxFlowLH != nil
	point := in.AtFlowLH != nil || in.AtLiftM != nil
	var pts []power.Point
	switch {
	case !ends && !point:
		return power.Curve{}, false, nil
	case ends && (in.MaxLiftM == nil || in.MaxFlowLH == nil):
		field := "pump_max_flow_l_per_h"
		if in.MaxLiftM == nil {
			field = "pump_max_lift_m"
		}
		return power.Curve{}, false, invalid(field, "both ends are needed", "%s is missing", field)
	case point && (in.AtFlowLH == nil || in.AtLiftM == nil):
		field := "pump_at_lift_m"
		if in.AtFlowLH == nil {
			field = "pump_at_flow_l_per_h"
		}
		return power.Curve{}, false, invalid(field, "", "%s is missing", field)
	}
	if ends {
		pts = append(pts, power.Point{HeadM: *in.MaxLiftM}, power.Point{FlowM3S: *in.MaxFlowLH / 3.6e6})
	}
	if point {
		pts = append(pts, power.Point{FlowM3S: *in.AtFlowLH / 3.6e6, HeadM: *in.AtLiftM})
	}
	c, err := power.NewCurve(pts...)
	if err != nil {
		return c, false, fromPower(err, map[string]string{"pump": "pump_at_lift_m"})
	}
	return c, true, nil
}

// raceway tells what keeps a channel moving.
func (in *pumpIn) raceway(out *pumpOut, density float64) error {
	if in.WidthM == nil && in.DepthCM == nil && in.LoopM == nil {
		return nil
	}
	for _, f := range []struct {
		v    *float64
		name string
	}{{in.WidthM, "channel_width_m"}, {in.DepthCM, "channel_depth_cm"}, {in.LoopM, "channel_loop_m"}} {
		if f.v == nil {
			return invalid(f.name, "", "%s is missing beside the rest of the raceway", f.name)
		}
	}
	r := power.Raceway{WidthM: *in.WidthM, DepthM: *in.DepthCM / 100, LoopM: *in.LoopM, Manning: power.PlasticManning, Bends: 2}
	if in.Floor == "lined earth" {
		r.Manning = power.EarthManning
	}
	m := r.At(in.WantMS, in.PaddleEff/100, density)
	out.PaddleW, out.PaddleWM2, out.RoundS = finite(m.InputW), finite(m.PerM2W), finite(m.RoundS)
	out.BendsPct = finite(100 * m.BendsM / (m.BendsM + m.FrictionM))
	out.Pace = map[power.Pace]string{
		power.Settles: "too slow: filaments settle or float", power.Slow: "slow", power.Usual: "usual", power.Good: "good", power.Harsh: "fast: power runs away and filaments break",
	}[power.PaceOf(in.WantMS)]
	out.Assumptions = append(out.Assumptions, "two turns by 180°, without vanes", "power goes by the cube of the velocity: twice as fast takes eight times as much")
	return nil
}

func fittingNames() string {
	s := ""
	for i, f := range power.Fittings {
		if i > 0 {
			s += ", "
		}
		s += f.Name
	}
	return s
}

// fromPower turns an error of the power science into one of the farm; fields
// gives a field another name.
func fromPower(err error, fields map[string]string) error {
	var in *power.InputError
	if errors.As(err, &in) {
		field := in.Field
		if f, ok := fields[field]; ok {
			field = f
		}
		return invalid(field, in.Hint, "%s", in.Reason)
	}
	return err
}
