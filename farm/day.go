package farm

import "time"

// DayOf returns the local day that t lies in: its first moment, and the first
// moment of the next. Days are 23 to 25 hours long where clocks change, and in
// some zones midnight itself is left out or comes twice.
func DayOf(t time.Time, zone *time.Location) (from, to time.Time) {
	y, m, d := t.In(zone).Date()
	from = firstMoment(y, m, d, zone)
	return from, firstMoment(y, m, d+1, zone)
}

// DayAfter returns the local day n days after the one that t lies in.
func DayAfter(t time.Time, n int, zone *time.Location) (from, to time.Time) {
	y, m, d := t.In(zone).Date()
	return DayOf(time.Date(y, m, d+n, 12, 0, 0, 0, zone), zone)
}

// firstMoment is the first moment of a local date. Go answers a midnight that
// does not exist with one of two others, so it is looked for from there.
func firstMoment(y int, m time.Month, d int, zone *time.Location) time.Time {
	const quarter = 15 * time.Minute // all changes of clocks since 1900 but a few are whole quarters
	noon := time.Date(y, m, d, 12, 0, 0, 0, zone)
	_, _, day := noon.Date()
	at := time.Date(y, m, d, 0, 0, 0, 0, zone)
	for at.Day() != day && at.Before(noon) {
		at = at.Add(quarter)
	}
	for at.Add(-quarter).Day() == day {
		at = at.Add(-quarter)
	}
	return at
}
