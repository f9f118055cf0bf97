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
