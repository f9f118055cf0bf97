package medium

import (
	_ "embed"
)

// NaturalFeed is a card on something that growers feed and that nobody weighed:
// what it could bring, how unsure that is, what it may carry, and what weighed
// thing does the same.
type NaturalFeed struct {
	ID         string   `json:"id"`
	Title      string   `json:"title"`
	Also       []string `json:"also"`       // other words for it
	Brings     []Brings `json:"brings"`     // what it could bring
	Unsure     string   `json:"unsure"`     // by how much
	Carries    []string `json:"carries"`    // what may come along
	Substitute string   `json:"substitute"` // ingredient that does the same, by its name in the table
	Instead    string   `json:"instead"`    // the same in words
	Dose       string   `json:"dose"`       // "none", "alkalinity" (as titrated) or "dilution"
	How        string   `json:"how"`        // what is to be said of a dose
	Food       Food     `json:"food"`       // whether it may go into a culture that is eaten
	Source     string   `json:"source"`
}

// Brings is one thing that a natural feed could bring.
type Brings struct {
	What string  `json:"what"`
	Low  float64 `json:"low"`  // [any, in Unit]
	High float64 `json:"high"` // [any, in Unit]
	Unit string  `json:"unit"`
}

//go:embed feeds.json
var feedsJSON []byte

var naturalFeeds = mustRead[NaturalFeed]("feeds.json", feedsJSON)

// NaturalFeeds returns the cards.
func NaturalFeeds() []NaturalFeed { return append([]NaturalFeed(nil), naturalFeeds...) }

// NaturalFeedByName returns the card for a word, and whether there is one.
func NaturalFeedByName(word string) (NaturalFeed, bool) {
	want := plain(word)
	for _, f := range naturalFeeds {
		if plain(f.ID) == want || plain(f.Title) == want {
			return f, true
		}
		for _, a := range f.Also {
			if plain(a) == want {
				return f, true
			}
		}
	}
	return NaturalFeed{}, false
}
