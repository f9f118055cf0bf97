package keeper

import (
	"math"

	"sodalake/science/twin"
)

// troubles are what is wrong with an ensemble, said for the page.
func troubles(e *twin.Ensemble) []Sentence {
	var out []Sentence
	for _, t := range e.Troubles() {
		args := map[string]any{}
		switch t.What {
		case "collapsed":
			args["variable"] = t.Var.String()
		case "at_bound":
			args["variable"], args["share_pct"] = t.Var.String(), 100*t.Value
		case "misfit", "idle":
			args["quantity"], args["ratio"] = kindName(t.Kind), math.Round(10*t.Value)/10
		}
		out = append(out, Sentence{Key: "trouble." + t.What, Args: args})
	}
	return out
}

// kindName is a kind of reading as entries name it.
func kindName(k twin.Kind) string {
	for _, r := range readable {
		if r.kind == k {
			return r.name
		}
	}
	return k.String()
}
