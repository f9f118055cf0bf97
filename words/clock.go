package words

import (
	"strconv"
	"strings"
	"time"
)

// Clock says the time of day, "07:45".
func (s *Speaker) Clock(t time.Time) string { return t.In(s.zone).Format("15:04") }

// Day says a day in short, "Sat 18".
func (s *Speaker) Day(t time.Time) string {
	t = t.In(s.zone)
	return s.T("day.short."+weekday(t)) + " " + strconv.Itoa(t.Day())
}

// LongDay says a day in full, "Saturday 18 April".
func (s *Speaker) LongDay(t time.Time) string {
	t = t.In(s.zone)
	return s.T("format.longday", "day", s.T("day.long."+weekday(t)), "date", strconv.Itoa(t.Day()), "month", s.month(t))
}

// DayMonth says a day with its month, "Sat 18 April".
func (s *Speaker) DayMonth(t time.Time) string {
	t = t.In(s.zone)
	return s.T("format.longday", "day", s.T("day.short."+weekday(t)), "date", strconv.Itoa(t.Day()), "month", s.month(t))
}

// When says a moment, "Sat 18, 13:00".
func (s *Speaker) When(t time.Time) string { return s.Day(t) + ", " + s.Clock(t) }

// Moment says a moment in full, "Sat 18 April 2026, 13:00".
func (s *Speaker) Moment(t time.Time) string {
	return s.DayMonth(t) + " " + strconv.Itoa(t.In(s.zone).Year()) + ", " + s.Clock(t)
}

// Ago says a past moment as seen from now: the day as "today", "yesterday" or
// "Sat 18", and the clock.
func (s *Speaker) Ago(t, now time.Time) (day, clock string) {
	t, now = t.In(s.zone), now.In(s.zone)
	switch days := daysBetween(t, now); days {
	case 0:
		day = s.T("format.today")
	case 1:
		day = s.T("format.yesterday")
	default:
		day = s.Day(t)
		if days > 25 || days < -25 {
			day = strconv.Itoa(t.Day()) + " " + s.month(t)
		}
	}
	return day, s.Clock(t)
}

// daysBetween counts the local midnights from t to now [1].
func daysBetween(t, now time.Time) int {
	a := time.Date(t.Year(), t.Month(), t.Day(), 12, 0, 0, 0, time.UTC)
	b := time.Date(now.Year(), now.Month(), now.Day(), 12, 0, 0, 0, time.UTC)
	return int(b.Sub(a) / (24 * time.Hour))
}

// Count says a small whole number as a word, "four", and a larger one in
// digits.
func (s *Speaker) Count(n int) string {
	if key := "number." + strconv.Itoa(n); Has(key) {
		return s.T(key)
	}
	return strconv.Itoa(n)
}

// List joins words as a sentence does, "a, b and c".
func (s *Speaker) List(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	head := strings.Join(words[:len(words)-1], ", ")
	return s.T("format.and", "head", head, "last", words[len(words)-1])
}

func weekday(t time.Time) string { return strings.ToLower(t.Weekday().String()[:3]) }

func (s *Speaker) month(t time.Time) string {
	return s.T("month." + strings.ToLower(t.Month().String()[:3]))
}
