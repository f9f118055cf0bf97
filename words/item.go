package words

import (
	"maps"
	"slices"
	"strings"

	"sodalake/farm/advice"
)

// Item returns an item with its Text and its cautions said in the speaker's
// language and measures: the amount, what to do, the second line. The item
// passed in stays as it is.
func (s *Speaker) Item(it advice.Item) advice.Item {
	args := map[string]any{}
	for _, r := range append([]advice.Reason{it.Reason}, it.More...) {
		maps.Copy(args, r.Args)
	}
	act := it.Act
	if it.Class == advice.Doubt && Has("item."+act+"-doubt") {
		act += "-doubt" // it was read, and is to be read again
	}
	title, ok := s.Try("item."+act, args)
	if !ok {
		title = s.Sentence(advice.Reason{Key: "item." + it.Act, Args: args})
	}
	parts := []string{title}
	if it.Amount != nil {
		parts = append(parts, s.Amount(*it.Amount).Full()+".")
		if k := s.Kitchen(it.Amount, args); k != "" {
			parts = append(parts, k)
		}
	}
	if small, ok := s.Try("small."+act, args); ok {
		parts = append(parts, small)
	}
	it.Text = strings.Join(parts, " ")
	it.Cautions = slices.Clone(it.Cautions)
	for i, c := range it.Cautions {
		it.Cautions[i] = s.T(c)
	}
	return it
}
