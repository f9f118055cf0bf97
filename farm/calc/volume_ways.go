package calc

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/medium"
	"sodalake/science/num"
)

// otherWay finds a volume without a shape.
func (in *volumeIn) otherWay() (volumeOut, error) {
	switch in.By {
	case "buckets":
		return in.byBuckets()
	case "salt":
		return in.bySalt()
	}
	return in.byTitration()
}

// missing names the first of the fields that was not given.
func missing(fields []string, values ...*float64) error {
	for i, v := range values {
		if v == nil {
			return invalid(fields[i], "", "%s is missing", fields[i])
		}
	}
	return nil
}

func found(b num.Band, how ...string) volumeOut {
	out := volumeOut{VolumeL: b.Mid, LowL: finite(b.Low), HighL: finite(b.High)}
	out.Assumptions = how
	return out
}

func (in *volumeIn) byBuckets() (volumeOut, error) {
	if err := missing([]string{"buckets", "bucket_l"}, in.Buckets, in.BucketL); err != nil {
		return volumeOut{}, err
	}
	const tenth = 1.2815515655446004 // standard normal quantile at 0.9
	n, v := *in.Buckets, *in.Buckets**in.BucketL
	// What is wrong with the bucket's size is wrong each time; how full it was
	// differs from one to the next.
	sd := in.BucketErrPct / 100 * math.Hypot(0.5, 1/math.Sqrt(n))
	return found(num.Band{Low: v * math.Exp(-tenth*sd), Mid: v, High: v * math.Exp(tenth*sd)},
		"half of a bucket's error is the same each time, the rest differs from one to the next", "note the level at each tenth bucket: that is a measured shape for good"), nil
}

func (in *volumeIn) bySalt() (volumeOut, error) {
	if err := missing([]string{"salt_g", "before_ms_per_cm", "after_ms_per_cm"}, in.SaltG, in.BeforeMS, in.AfterMS); err != nil {
		return volumeOut{}, err
	}
	t := medium.Tracer{SaltG: *in.SaltG, SaltErrG: in.ScaleErrG, BeforeMS: *in.BeforeMS, AfterMS: *in.AfterMS, MeterErr: in.MeterErrPct / 100, StepMS: in.MeterStepMS}
	b, err := t.Volume(brine.New(brine.Pitzer))
	if err != nil {
		return volumeOut{}, fromMedium("", err)
	}
	out := found(b, "plain salt, dry; plain water, stirred until the meter stands still; the meter counts at 25 °C",
		"the band: scale, meter and its calibration")
	out.Cautions = []string{"Only before the medium goes in: in it the rise drowns in the meter's error. The salt stays: count it in the mix."}
	return out, nil
}

func (in *volumeIn) byTitration() (volumeOut, error) {
	if in.Added == "" {
		return volumeOut{}, invalid("added", "baking soda, soda ash, salt or calcium chloride", "added is missing")
	}
	if err := missing([]string{"added_g", "sample_ml", "titrant_eq_per_l", "before_ml", "after_ml"}, in.AddedG, in.SampleML, in.TitrantEqPerL, in.BeforeML, in.AfterML); err != nil {
		return volumeOut{}, err
	}
	i, err := medium.Lookup(in.Added, medium.US)
	if err != nil {
		return volumeOut{}, fromMedium("added", err)
	}
	perMol := map[string]float64{"soda-ash": 2, "calcium-chloride": 2}[i.ID] // equivalents in a mole
	if perMol == 0 {
		perMol = 1
	}
	t := medium.Titrated{
		AddedMol: *in.AddedG * i.Purity / i.MolarMass() * perMol, SampleML: *in.SampleML, TitrantEq: *in.TitrantEqPerL,
		BeforeML: *in.BeforeML, AfterML: *in.AfterML, ReadML: in.ReadML,
	}
	b, err := t.Volume()
	if err != nil {
		return volumeOut{}, fromMedium("", err)
	}
	out := found(b, i.Name+" of "+Digits(100*i.Purity)+" %, dissolved and stirred in", "the band: reading of the burette, 1 % for sample and titrant")
	out.Cautions = []string{"Acid and silver nitrate burn and stain: goggles, gloves, and what was titrated does not go back."}
	return out, nil
}
