package calc

import (
	_ "embed"
	"encoding/json"
)

// Saying is a figure about which growers' pages quarrel: what was met, whose
// situation each number belongs to, and what the program prints.
type Saying struct {
	ID          string   `json:"id"`
	Quantity    string   `json:"quantity"`
	Seen        string   `json:"seen"`        // the range met in public places
	Why         string   `json:"why"`         // why they differ
	Say         string   `json:"say"`         // what the program prints, and for whom
	Source      string   `json:"source"`      // of what it prints
	Calculators []string `json:"calculators"` // whose defaults open to it
}

//go:embed whosays.json
var sayingsJSON []byte

var sayings = func() []Saying {
	var out []Saying
	if err := json.Unmarshal(sayingsJSON, &out); err != nil {
		panic("calc: whosays.json cannot be read: " + err.Error())
	}
	return out
}()

// Sayings returns all of them, in the order of the page "who says what, and
// why".
func Sayings() []Saying { return append([]Saying(nil), sayings...) }

// SayingsFor returns those that the defaults of a calculator open to.
func SayingsFor(calculator string) []Saying {
	var out []Saying
	for _, s := range sayings {
		for _, c := range s.Calculators {
			if c == calculator {
				out = append(out, s)
				break
			}
		}
	}
	return out
}
