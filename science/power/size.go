package power

import (
	"fmt"
	"math"
)

// Market is what can be bought: panels and batteries in whole units.
type Market struct {
	PanelW     float64 // rated power of one panel [W]
	PanelCost  float64 // of one panel [money]
	MostPanels int
	BatteryWh  float64 // nominal energy of one battery [Wh]
	BattCost   float64 // of one battery [money]
	MostBatts  int
}

// Set is one set that reaches the reliability asked for.
type Set struct {
	Panels     int
	Batteries  int
	PanelW     float64 // rated, in all [W]
	BatteryWh  float64 // nominal, in all [Wh]
	Cost       float64 // of both [money]
	LossOfLoad float64 // share of the wanted energy not given [1]
}

// NoSetError says that nothing on the market is reliable enough.
type NoSetError struct {
	Wanted float64 // loss of load that was allowed [1]
	Best   Set     // what the largest set gives
}

// Error says what is possible.
func (e *NoSetError) Error() string {
	return fmt.Sprintf("loss of load of %.3g cannot be reached: the largest set, %.0f W and %.0f Wh, loses %.3g", e.Wanted, e.Best.PanelW, e.Best.BatteryWh, e.Best.LossOfLoad)
}

// Smallest returns the cheapest set of the market whose loss of load over the
// years is at most allowed [1], and every set on the way: for each number of
// batteries the fewest panels that do, as long as one battery more spares a
// panel. A market without prices counts panel watts and battery watt-hours
// alike. The error is a *NoSetError, or an *InputError.
//
// battery and loads are those of the set; the capacity of battery is replaced.
func Smallest(years [][]Hour, battery Battery, loads []Load, m Market, allowed float64) (best Set, front []Set, err error) {
	switch {
	case !(m.PanelW > 0):
		return best, nil, &InputError{Field: "panel_w", Reason: fmt.Sprintf("panel_w %g is not above 0", m.PanelW)}
	case !(m.BatteryWh > 0):
		return best, nil, &InputError{Field: "battery_wh", Reason: fmt.Sprintf("battery_wh %g is not above 0", m.BatteryWh)}
	case m.MostPanels < 1 || m.MostBatts < 1:
		return best, nil, &InputError{Field: "most", Reason: "most panels and most batteries must be 1 or more"}
	case !(allowed >= 0 && allowed < 1):
		return best, nil, &InputError{Field: "loss_of_load", Reason: fmt.Sprintf("loss_of_load %g does not lie between 0 and 1", allowed)}
	}
	if m.PanelCost <= 0 && m.BattCost <= 0 {
		m.PanelCost, m.BattCost = m.PanelW, m.BatteryWh
	}
	try := func(panels, batts int) float64 {
		s := System{PanelW: m.PanelW * float64(panels), Battery: battery, Loads: loads}
		s.Battery.CapacityWh = m.BatteryWh * float64(batts)
		return s.loss(years, 1)
	}
	set := func(panels, batts int, loss float64) Set {
		p, b := float64(panels), float64(batts)
		return Set{Panels: panels, Batteries: batts, PanelW: p * m.PanelW, BatteryWh: b * m.BatteryWh, Cost: p*m.PanelCost + b*m.BattCost, LossOfLoad: loss}
	}
	largest := try(m.MostPanels, m.MostBatts)
	if largest > allowed {
		return best, nil, &NoSetError{Wanted: allowed, Best: set(m.MostPanels, m.MostBatts, largest)}
	}
	best.Cost = math.Inf(1)
	ceiling := m.MostPanels // more panels than the last battery wanted are never needed
	for batts := 1; batts <= m.MostBatts; batts++ {
		// A dearer battery alone than the best set: nothing further can win.
		if float64(batts)*m.BattCost+m.PanelCost > best.Cost {
			break
		}
		loss := try(ceiling, batts)
		if loss > allowed {
			continue
		}
		lo, hi, at := 0, ceiling, loss // lo does not do, hi does
		for hi-lo > 1 {
			mid := (lo + hi) / 2
			if l := try(mid, batts); l <= allowed {
				hi, at = mid, l
			} else {
				lo = mid
			}
		}
		if len(front) > 0 && front[len(front)-1].Panels == hi {
			continue
		}
		s := set(hi, batts, at)
		front = append(front, s)
		if s.Cost < best.Cost {
			best = s
		}
		if ceiling = hi; hi == 1 {
			break
		}
	}
	return best, front, nil
}

// InputError names an input that cannot be.
type InputError struct {
	Field  string
	Reason string
	Hint   string
}

// Error returns the reason.
func (e *InputError) Error() string { return e.Reason }

// ArrayW returns the rated power [W] that a day's energy asks for, by the rule
// of thumb:
//
//	W = E/(G K)
//
// dayWh is E [Wh], sunHours is G, the hours of 1000 W/m² on the plane in the
// worst month [h], and system is K, what is left between the panel and the load
// [1], about 0.7.
//
// Source: pvrule, the usual sizing of teaching texts.
func ArrayW(dayWh, sunHours, system float64) float64 { return dayWh / (sunHours * system) }

// Sizing is the rule of thumb for a battery.
type Sizing struct {
	DayWh    float64 // load of a day [Wh]
	Days     float64 // days without sun that it must last [d]
	Volt     float64 // of the battery [V]
	Depth    float64 // share that may be taken out [1]
	Delivery float64 // share of it that arrives: wires, inverter [1]
	EndLife  float64 // capacity left at the end of its life; 0 is taken as 1 [1]
	Cold     float64 // more capacity for the cold; 0 is taken as 1 [1]
	Margin   float64 // 0 is taken as 1 [1]
}

// Ah returns the capacity of the battery [Ah]:
//
//	C = E days cold margin/(V depth delivery end)
//
// Source: pvrule; the order of the steps: ieee1013, from memory.
func (z Sizing) Ah() float64 {
	one := func(x float64) float64 {
		if x > 0 {
			return x
		}
		return 1
	}
	return z.DayWh * z.Days * one(z.Cold) * one(z.Margin) / (z.Volt * z.Depth * one(z.Delivery) * one(z.EndLife))
}

// LastsH returns for how many hours [h] a full battery carries loadW [W] without
// any sun, at tempC [°C].
func (b *Battery) LastsH(loadW, tempC float64) float64 {
	if !(loadW > 0) {
		return math.Inf(1)
	}
	return b.UsableWh(tempC) / loadW
}
