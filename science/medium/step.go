package medium

// Step is when an ingredient goes in. The order keeps what would fall out
// together apart until the water is full.
type Step string

// The steps, first to last.
const (
	StepDechlorinate Step = "dechlorinate" // source water, before all else
	StepSoda         Step = "soda"         // bicarbonate and carbonate, in a jug of their own
	StepAlkali       Step = "alkali"       // caustic, never with ammonium
	StepSalt         Step = "salt"
	StepNitrate      Step = "nitrate"
	StepPhosphate    Step = "phosphate"
	StepMagnesium    Step = "magnesium"
	StepChelator     Step = "chelator" // before the iron that it is to hold
	StepIron         Step = "iron"
	StepNitrogen     Step = "nitrogen" // urea and ammonium
	StepTrace        Step = "trace"
	StepCalcium      Step = "calcium" // last, dilute, slowly
)

// steps in order.
var steps = []Step{
	StepDechlorinate, StepSoda, StepAlkali, StepSalt, StepNitrate, StepPhosphate, StepMagnesium, StepChelator, StepIron,
	StepNitrogen, StepTrace, StepCalcium,
}

// place returns where in the order a step stands.
func (s Step) place() int {
	for i, k := range steps {
		if k == s {
			return i
		}
	}
	return len(steps)
}

// Before reports whether s goes in before other.
func (s Step) Before(other Step) bool { return s.place() < other.place() }
