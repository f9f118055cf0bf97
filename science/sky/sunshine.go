package sky

// MonthGlobal returns the global radiation of an average day of a month
// [MJ/m²/d] from its hours of sunshine, by GlobalFromSunshine with the light
// above the air and the day length as means over the month's days. month counts
// from 0, January [1]; sunH is the mean sunshine of a day [h]; more than the day
// is long counts as the day's length.
//
// Source: fao56, eq. 35 with a = 0.25 and b = 0.50.
func MonthGlobal(site Site, month int, sunH float64) float64 {
	extra, day := monthSun(site, month)
	return GlobalFromSunshine(min(sunH, day), day, extra, angstromOvercast, angstromSun)
}

// MonthDays is how many days a month of an ordinary year has [d]. month counts
// from 0, January [1].
func MonthDays(month int) float64 { return float64(monthDays[month]) }
