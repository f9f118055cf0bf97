package web

import (
	"strings"

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
