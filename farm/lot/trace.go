package lot

import (
	"time"

	"sodalake/farm"
)

// Trace is where a lot comes from, and who is reached if it is called back.
type Trace struct {
	At      time.Time `json:"at"`
	Lot     *Lot      `json:"lot,omitempty"`    // where the start is a lot
	Origin  *Origin   `json:"origin,omitempty"` // likewise
	Recall  Recall    `json:"recall"`
	Balance Balance   `json:"balance"` // of the lot
	Names   Names     `json:"names"`
}

// Names are what things of the farm are called, by identifier.
type Names struct {
	Vessels  map[string]string `json:"vessels"`
	Supplies map[string]string `json:"supplies"`
	Tools    map[string]string `json:"tools"`
	Recipes  map[string]string `json:"recipes"`
	People   map[string]string `json:"people"`
}

// Of is the name of a thing in one of the lists, else its identifier.
func (n Names) Of(list map[string]string, id string) string {
	if name := list[id]; name != "" {
		return name
	}
	return id
}

// NamesOf are the names that a farm gives.
func NamesOf(p *farm.Present) Names {
	n := Names{Vessels: map[string]string{}, Supplies: map[string]string{}, Tools: map[string]string{}, Recipes: map[string]string{}, People: map[string]string{}}
	for _, v := range p.Vessels() {
		n.Vessels[v.ID] = v.Name
	}
	for _, s := range p.Supplies() {
		n.Supplies[s.ID] = s.Name
	}
	for _, t := range p.Tools() {
		n.Tools[t.ID] = t.Name
	}
	for _, r := range p.Recipes() {
		n.Recipes[r.ID] = r.Name
	}
	for _, who := range p.People() {
		n.People[who.ID] = who.Name
	}
	return n
}
