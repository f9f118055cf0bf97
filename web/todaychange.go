package web

import (
	"strings"
	"time"

	"sodalake/keeper"
	"sodalake/words"
)

// mostChanges is how many sentences of change the day list opens with.
const mostChanges = 3

// changed is what moved since yesterday, as the day list opens with it.
func changed(w *words.Speaker, cs []keeper.Sentence) string {
	var said []string
	for _, c := range cs[:min(len(cs), mostChanges)] {
		said = append(said, w.Sentence(c))
	}
	return strings.Join(said, " ")
}

// sameDay reports whether two moments lie on one local day.
func sameDay(a, b time.Time, zone *time.Location) bool {
	return !a.IsZero() && a.In(zone).Format(time.DateOnly) == b.In(zone).Format(time.DateOnly)
}
