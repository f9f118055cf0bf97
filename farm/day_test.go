package farm

import (
	"testing"
	"time"
)

// TestDayOf walks every day of two years in zones whose clocks change at
// midnight (IANA time zone database: Azores 00:00 to 01:00 in March, Beirut and
// Santiago at midnight) and in ordinary ones.
func TestDayOf(t *testing.T) {
	for _, name := range []string{"Atlantic/Azores", "Asia/Beirut", "America/Santiago", "Africa/Cairo", "Europe/Paris", "Australia/Lord_Howe", "UTC", "Asia/Kathmandu"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2025, 1, 1, 12, 0, 0, 0, zone)
		_, last := DayOf(at.AddDate(0, 0, -1), zone)
		for range 731 {
			from, to := DayOf(at, zone)
			if !from.Equal(last) {
				t.Fatalf("%s: day of %s begins at %s, the one before ended at %s", name, at, from, last)
			}
			if n := to.Sub(from); n < 22*time.Hour || n > 26*time.Hour {
				t.Fatalf("%s: day of %s is %s long", name, at, n)
			}
			if from.Day() != at.Day() || from.Add(-time.Second).Day() == at.Day() {
				t.Fatalf("%s: %s is not the first moment of %s", name, from, at.Format(time.DateOnly))
			}
			if again, _ := DayOf(from, zone); !again.Equal(from) {
				t.Fatalf("%s: the first moment %s lies in the day from %s", name, from, again)
			}
			last = to
			y, m, d := at.Date()
			at = time.Date(y, m, d+1, 12, 0, 0, 0, zone)
		}
	}
}
