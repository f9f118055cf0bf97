package pond_test

import (
	"testing"

	"sodalake/science/pond"
)

// A day of an open pond in full medium in the midst of its season, pH at every
// step.
func BenchmarkPondDay(b *testing.B) {
	w := fair.weather(b, june, 3)
	v := raceway(b, zarrouk)
	v.Run(june, june.AddDate(0, 0, 2), w, nil, nil, nil, nil)
	day := w.Outside[2*144:]
	var seen pond.Seen
	b.ReportAllocs()
	for b.Loop() {
		m := v
		for i := range day {
			m.Step(&day[i], pond.StepS, nil, &seen)
		}
	}
}
