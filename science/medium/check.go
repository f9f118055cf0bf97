package medium

import "sodalake/science/brine"

// Fault is something about a medium that must be said, or that bars it.
type Fault struct {
	Code  string  // what it is
	Stop  bool    // the medium is refused
	What  string  // the ingredient or the element, or empty
	Value float64 // what it comes to [any]
	Limit float64 // what it should keep to [any]; 0 where there is no figure
}

// Check returns what is wrong with a mix and its prediction p, the refusals
// first. food says that the culture is to be eaten.
//
// The codes, with the units of their figures:
//
//	urea            more urea than may stand, as weighed [mg/L]
//	reduced         more ammonium and urea than may stand, as urea [mg/L]
//	not_food        an ingredient that is not offered for food
//	certificate     an ingredient that needs a certificate of its metals
//	restricted      an ingredient whose sale is regulated
//	caustic         a caustic in a recipe: it reads no pH before it is weighed
//	metal           a trace metal above its limit [mg/L]
//	calcium         more calcium than stays clear, in a form that is not last [mmol/L]
//	lacks           an element that cells need and the medium does not hold
//	little          an element that feeds less than 0.3 g/L [g/L]
//	ammonia         free ammonia by pond pH, if nothing is eaten of it [mM]
//	salty           dissolved salts [g/L]
//	soft            too little alkalinity to hold a pH [meq/L]
//	alkaline        a pH as mixed at which a culture is not put in [1]
//	iron_bare       iron that no chelator holds: most falls out [mg/L]
//	untold          a fertiliser whose forms of nitrogen are not told
//
// Source: as at PoolUreaMgL and most; 35 g/L of salt from kebede1997 (abstract);
// a start above pH 10.2 is judgement, no source.
func Check(m *Mix, p *Prediction, food bool) []Fault {
	var stop, say []Fault
	add := func(f Fault) {
		if f.Stop {
			stop = append(stop, f)
		} else {
			say = append(say, f)
		}
	}
	a := p.Solution.Elements()
	urea := p.Solution.PerL[brine.Urea] * ureaMol * 1000
	const hair = 1 + 1e-9
	switch {
	case urea > PoolUreaMgL*hair:
		add(Fault{Code: "urea", Stop: true, Value: urea, Limit: PoolUreaMgL})
	case p.ReducedMgL > PoolUreaMgL*hair:
		add(Fault{Code: "reduced", Stop: true, Value: p.ReducedMgL, Limit: PoolUreaMgL})
	}
	for i := range m.Parts {
		in := m.Parts[i].Of
		switch {
		case food && in.Food == NotFood:
			add(Fault{Code: "not_food", Stop: true, What: in.Kitchen})
		case food && in.Food == Certificate:
			add(Fault{Code: "certificate", What: in.Kitchen})
		}
		if in.Restricted != "" {
			add(Fault{Code: "restricted", What: in.Kitchen})
		}
		if in.Step == StepAlkali {
			add(Fault{Code: "caustic", What: in.Kitchen})
		}
		if in.Label != nil && in.Label.Untold > 0 {
			add(Fault{Code: "untold", What: in.Kitchen, Value: 100 * in.Label.Untold})
		}
	}
	for e := Boron; e <= Nickel; e++ {
		if limit := most[e]; a[e] > limit*hair {
			add(Fault{Code: "metal", Stop: food && e != Boron && e != Manganese, What: e.String(), Value: a[e] * e.MolarMass() * 1000, Limit: limit * e.MolarMass() * 1000})
		}
	}
	if a[Calcium] > 1.5e-3 && a[Alkalinity] > 0.05 {
		add(Fault{Code: "calcium", Value: a[Calcium] * 1000, Limit: 1.5})
	}
	for _, x := range p.Carries {
		switch {
		case x.GPerL <= 0:
			add(Fault{Code: "lacks", What: x.Element.String()})
		case x.GPerL < 0.3:
			add(Fault{Code: "little", What: x.Element.String(), Value: x.GPerL, Limit: 0.3})
		}
	}
	if p.FreeNH3Pond > 2*FreeAmmoniaStopMM {
		add(Fault{Code: "ammonia", Value: p.FreeNH3Pond, Limit: 2 * FreeAmmoniaStopMM})
	}
	if p.SaltGL > 35 {
		add(Fault{Code: "salty", Value: p.SaltGL, Limit: 35})
	}
	if a[Alkalinity] < 0.05 {
		add(Fault{Code: "soft", Value: a[Alkalinity] * 1000, Limit: 50})
	}
	if p.PH25 > 10.2 {
		add(Fault{Code: "alkaline", Value: p.PH25, Limit: 10.2})
	}
	if a[Iron] > a[Chelator]*1.05+1e-6 {
		add(Fault{Code: "iron_bare", Value: (a[Iron] - a[Chelator]) * Iron.MolarMass() * 1000})
	}
	return append(stop, say...)
}
