package plan

import "math"

// Loss is how backups are lost between two looks at them.
type Loss struct {
	Each   float64 // chance that one backup by itself dies [1]
	Place  float64 // chance that a whole place is lost: heat, a fridge, a break-in [1]
	Places int     // places in which backups stand, with as many in each
}

// AllLost returns the chance that every backup is lost [1], with each backups in
// each place:
//
//	P = (p + (1 − p) qⁿ)^m
//
// with q for one backup, p for a place, n backups in each of m places. Backups
// in one place die one by one or all together; places are independent.
//
// Source: the rules of chance; common-cause failure as in nureg4780.
func (l Loss) AllLost(each int) float64 {
	one := l.Place + (1-l.Place)*math.Pow(l.Each, float64(each))
	return math.Pow(one, float64(l.Places))
}

// Backups returns how many backups must stand in each place that the chance to
// lose all is at most risk [1]. The error is an *InputError: also where no
// number does, since a place can be lost as a whole, and then names the places.
func (l Loss) Backups(risk float64) (int, error) {
	switch {
	case !(l.Each >= 0 && l.Each < 1):
		return 0, bad("each", "", "each %g does not lie between 0 and 1", l.Each)
	case !(l.Place >= 0 && l.Place < 1):
		return 0, bad("place", "", "place %g does not lie between 0 and 1", l.Place)
	case l.Places < 1 || l.Places > 1000:
		return 0, bad("places", "", "places %d must be 1 or more", l.Places)
	case !(risk > 0 && risk < 1):
		return 0, bad("risk", "", "risk %g does not lie between 0 and 1", risk)
	}
	for n := 1; n <= 1000; n++ {
		if l.AllLost(n) <= risk*(1+1e-12) {
			return n, nil
		}
		if math.Pow(l.Each, float64(n)) < 1e-15 {
			break
		}
	}
	return 0, bad("places", "add a place", "places: %d can be lost whole with a chance of %.2g, whatever stands in them", l.Places, math.Pow(l.Place, float64(l.Places)))
}
