package growth

// Warmth of the water at which a grower is told to act, and at which it is an
// alarm [°C]. The end of the temperature curve is not a safe limit.
//
// Source: jourdan2014, 43 °C named as the lethal risk; 40 °C judgement, no source.
const (
	HeatActC   = 40.0
	HeatAlarmC = 43.0
)

// HeatLevel is what the water's warmth asks for.
type HeatLevel uint8

// The levels of HeatLevel in rising order.
const (
	HeatNone HeatLevel = iota
	HeatAct
	HeatAlarm
)

// HeatOf returns the level for water of tempC [°C].
func HeatOf(tempC float64) HeatLevel {
	switch {
	case tempC > HeatAlarmC:
		return HeatAlarm
	case tempC > HeatActC:
		return HeatAct
	}
	return HeatNone
}

// HeatHarm returns the heat that counts as harm [°C·h], time by excess over
// 40 °C, for a step of hours [h] in water of tempC [°C]. Sum it over a day.
//
// Source: judgement, no source: harm grows with both time and excess.
func HeatHarm(tempC, hours float64) float64 {
	return max(0, tempC-HeatActC) * max(0, hours)
}

// heatDeathPerK is the loss of a culture a day for each degree over
// HeatAlarmC [1/d/K].
//
// Source: judgement, no source: six hours at 50 °C take some 40 % of a culture,
// four at 45 °C some 10 %.
const heatDeathPerK = 0.3

// HeatDeath returns the rate at which a culture dies of heat [1/d]: nothing up
// to HeatAlarmC, then in step with the excess, where tempC is the water's
// temperature [°C].
func HeatDeath(tempC float64) float64 { return heatDeathPerK * max(0, tempC-HeatAlarmC) }
