package farm

// MonthKeys are the keys of a month of a site's normals, all of which it has.
var MonthKeys = []Field{
	{Key: "ghi_mj_m2_d", Form: FormNumber, Unit: "MJ/m²/d", What: "sun and sky on a level plane, on an average day", Hard: from(0, 45)},
	{Key: "t_min_c", Form: FormNumber, Unit: "°C", What: "mean of the daily lowest temperature", Hard: from(-60, 50)},
	{Key: "t_max_c", Form: FormNumber, Unit: "°C", What: "mean of the daily highest temperature", Hard: from(-60, 60)},
	{Key: "rh_pct", Form: FormNumber, Unit: "%", What: "mean relative humidity", Hard: from(0, 100)},
	{Key: "wind_m_s", Form: FormNumber, Unit: "m/s", What: "mean wind at 10 m", Hard: from(0, 40)},
	{Key: "rain_mm", Form: FormNumber, Unit: "mm", What: "rain in the month", Hard: from(0, 5000)},
	{Key: "rain_days", Form: FormNumber, Unit: "d", What: "days with rain in the month", Hard: from(0, 31)},
}

// Of returns where m keeps the value of one of MonthKeys; nil for no such key.
func (m *Month) Of(key string) *float64 {
	switch key {
	case "t_min_c":
		return &m.TMinC
	case "t_max_c":
		return &m.TMaxC
	case "rh_pct":
		return &m.RHPct
	case "wind_m_s":
		return &m.WindMS
	case "rain_mm":
		return &m.RainMM
	case "rain_days":
		return &m.RainDays
	case "ghi_mj_m2_d":
		return &m.GHIMJM2D
	}
	return nil
}

func (o *object) month() Month {
	var m Month
	for _, f := range MonthKeys {
		o.need(f.Key)
		*m.Of(f.Key), _ = o.number(f.Key, f.Hard)
	}
	if m.TMinC > m.TMaxC {
		o.fail("t_min_c", "%s is above t_max_c", shortNumber(m.TMinC))
	}
	return m
}
