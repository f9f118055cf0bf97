package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"

	"sodalake/farm"
	"sodalake/science/assay"
)

type countIn struct {
	Counted     *int          `json:"counted" label:"Counted" min:"0" max:"100000000" help:"with the volume that was looked through"`
	VolumeML    *float64      `json:"volume_ml" label:"Volume looked through" unit:"mL" min:"0.000001" max:"1000000" help:"or the chamber below"`
	FieldCounts []json.Number `json:"field_counts" label:"Counts of equal fields, one by one" kind:"list" help:"in place of counted: tells clumps too"`
	Fields      *float64      `json:"fields" label:"Fields or squares counted" min:"0.01" max:"1000000" help:"with their area and depth"`
	AreaMM2     *float64      `json:"field_area_mm2" label:"Area of one" unit:"mm²" min:"0.000001" max:"100000"`
	DepthMM     *float64      `json:"depth_mm" label:"Depth of the chamber" unit:"mm" min:"0.001" max:"100" help:"haemocytometer 0.1, Palmer-Maloney 0.4, Sedgewick-Rafter 1"`
	Dilution    float64       `json:"dilution" label:"Diluted to so many volumes" min:"0.0001" max:"1000000" default:"1" help:"2 for one part and one of water; 0.1 for ten volumes made into one"`
	Foreign     *int          `json:"foreign" label:"Foreign filaments" min:"0" max:"1000000000" help:"among those seen"`
	Seen        *int          `json:"seen" label:"Filaments seen in all" min:"1" max:"1000000000"`
	Confidence  float64       `json:"confidence" label:"Confidence" min:"0.5" max:"0.99999" default:"0.95"`
	Width       *float64      `json:"clump_width" label:"Intervals of counts widen by" min:"1" max:"20" help:"1 where nothing clumps, 1.4 for cells that hang together; else from the fields' own counts"`
	MassRatio   float64       `json:"foreign_mass_ratio" label:"A foreign filament weighs so many of one's own" min:"0.001" max:"1000" default:"1"`
	ToxinMgG    float64       `json:"toxin_mg_per_g" label:"Toxin in a foreign filament" unit:"mg/g" min:"0" max:"100" default:"1" help:"blooms hold 0.1 to several"`
	LimitUgG    float64       `json:"toxin_limit_ug_per_g" label:"To be ruled out" unit:"µg/g" min:"0.0001" max:"100000" default:"0.8" help:"0.8 for a portion of 3 g and 60 kg"`
}

type countOut struct {
	Counted         *int     `json:"counted,omitempty" label:"Counted"`
	VolumeML        *float64 `json:"volume_ml,omitempty" label:"In a volume of" unit:"mL"`
	RatePerML       *float64 `json:"rate_per_ml,omitempty" label:"In a millilitre" unit:"1/mL"`
	LowPerML        *float64 `json:"low_per_ml,omitempty" label:"Two-sided interval, from" unit:"1/mL"`
	HighPerML       *float64 `json:"high_per_ml,omitempty" label:"to" unit:"1/mL"`
	UpperPerML      *float64 `json:"upper_one_sided_per_ml,omitempty" label:"One-sided: not above" unit:"1/mL"`
	LowerPerML      *float64 `json:"lower_one_sided_per_ml,omitempty" label:"One-sided: not below" unit:"1/mL"`
	CountLow        *float64 `json:"count_low,omitempty" label:"Of the count, from"`
	CountHigh       *float64 `json:"count_high,omitempty" label:"Of the count, to"`
	CountUpper      *float64 `json:"count_upper_one_sided,omitempty" label:"Of the count, one-sided"`
	CountLower      *float64 `json:"count_lower_one_sided,omitempty" label:"Of the count, one-sided below"`
	Dispersion      *float64 `json:"dispersion,omitempty" label:"Variance over mean between fields"`
	ClumpChance     *float64 `json:"clump_chance,omitempty" label:"Chance of as much unevenness without clumps"`
	NegBinomialK    *float64 `json:"negative_binomial_k,omitempty" label:"Exponent of the negative binomial"`
	WidthUsed       *float64 `json:"clump_width,omitempty" label:"Intervals widened by"`
	Share           *float64 `json:"share,omitempty" label:"Share of foreign ones"`
	ShareLow        *float64 `json:"share_low,omitempty" label:"Exact two-sided interval, from"`
	ShareHigh       *float64 `json:"share_high,omitempty" label:"to"`
	ShareUpper      *float64 `json:"share_upper_one_sided,omitempty" label:"One-sided: not above"`
	ShareLower      *float64 `json:"share_lower_one_sided,omitempty" label:"One-sided: not below"`
	WilsonLow       *float64 `json:"wilson_low,omitempty" label:"Wilson's interval, from"`
	WilsonHigh      *float64 `json:"wilson_high,omitempty" label:"to"`
	RuleOfThree     *float64 `json:"rule_of_three,omitempty" label:"Three over the number seen"`
	MassShareUpper  *float64 `json:"mass_share_upper,omitempty" label:"By mass not above"`
	ToxinUpperUgG   *float64 `json:"toxin_upper_ug_per_g,omitempty" label:"Toxin that is not ruled out, up to" unit:"µg/g"`
	FilamentsNeeded *int     `json:"filaments_to_rule_out_limit,omitempty" label:"Filaments to see, none foreign, to rule out the limit"`
	Confidence      float64  `json:"confidence" label:"Confidence"`
	Told
}

// Count is the calculator of what a count says.
func Count() *Calculator {
	return Define(About{
		Name: "count", Title: "What a count says",
		Sentence: "Rates and shares from a count under the microscope, with exact intervals, and what a look can and cannot rule out.",
		Equations: []string{
			"count N: low = G^-1(a/2; N), high = G^-1(1 - a/2; N + 1), one-sided high = G^-1(1 - a; N + 1), G the gamma distribution, a = 1 - confidence (Garwood 1936)",
			"share k of n: low = B^-1(a/2; k, n - k + 1), high = B^-1(1 - a/2; k + 1, n - k), B the beta distribution (Clopper & Pearson 1934); none found: high = 1 - a^(1/n) one-sided, about 3/n",
			"Wilson: (p + z^2/2n ± z sqrt(p(1 - p)/n + z^2/4n^2)) / (1 + z^2/n)",
			"clumps: intervals of N/w^2 times w^2, w by how much they widen",
			"volume = area x depth x fields / 1000 / dilution",
			"toxin left open = share by mass x toxin in a foreign filament",
		},
		Sources: []Source{
			{"garwood1936", "Garwood 1936, Biometrika 28:437"},
			{"clopperpearson1934", "Clopper & Pearson 1934, Biometrika 26:404"},
			{"newcombe1998", "Newcombe 1998, Statistics in Medicine 17:857"},
			{"salonen2021", "Salonen, Salmi & Keskitalo 2021, Journal of Plankton Research 43:846 (clumps)"},
			{"blissfisher1953", "Bliss & Fisher 1953, Biometrics 9:176 (negative binomial)"},
			{"", "1 mg of toxin in a gram of foreign filament: from memory, after blooms"},
		},
		Cautions: []string{
			"Intervals hold where each look is independent: stirred well, fields not chosen, none twice.",
			"A count is of filaments, not of mass and not of toxin. To have seen none clears nothing of what is too rare, too small or dissolved; a filament that was seen is not undone by others that were not.",
		},
		Example: `{"counted":12,"volume_ml":0.4}`,
	}, computeCount)
}

func computeCount(in countIn) (countOut, error) {
	out := countOut{Confidence: in.Confidence}
	byCount := in.Counted != nil || len(in.FieldCounts) > 0
	byShare := in.Foreign != nil || in.Seen != nil
	if !byCount && !byShare {
		return out, invalid("counted", `{"counted":12,"volume_ml":0.4} or {"foreign":0,"seen":300}`, "counted with volume_ml, or foreign with seen, is needed")
	}
	if byCount {
		if err := out.rate(in); err != nil {
			return out, err
		}
	} else if in.VolumeML != nil || in.Fields != nil {
		return out, invalid("counted", "", "a volume is given without a count")
	}
	if byShare {
		if err := out.ofSeen(in); err != nil {
			return out, err
		}
	}
	return out, nil
}

func (out *countOut) rate(in countIn) error {
	counted, width := 0, 1.0
	if len(in.FieldCounts) > 0 {
		if in.Counted != nil {
			return invalid("field_counts", "say one of them", "counted and field_counts are both given")
		}
		counts := make([]int, len(in.FieldCounts))
		for i, x := range in.FieldCounts {
			n, err := strconv.Atoi(x.String())
			if err != nil {
				return invalid("field_counts", "", "field_counts holds %q, which is not a whole number", x.String())
			}
			counts[i] = n
		}
		s, err := assay.Fields(counts)
		if err != nil {
			return fromAssay(err)
		}
		counted = s.Total
		out.Dispersion, out.ClumpChance, out.NegBinomialK = finite(s.Dispersion), finite(s.Chance), finite(s.K)
		if s.Chance < 0.05 && in.Width == nil {
			width = s.Width
			out.Assumptions = append(out.Assumptions, fmt.Sprintf("the fields differ by more than chance would have it: intervals are widened by %s", Digits(width)))
		}
		if in.Fields == nil && in.AreaMM2 != nil {
			n := float64(len(counts))
			in.Fields = &n
		}
	} else {
		counted = *in.Counted
	}
	if in.Width != nil {
		width = *in.Width
	}
	volume, err := in.volume()
	if err != nil {
		return err
	}
	n := float64(counted)
	i := assay.Clumped(n, width, in.Confidence)
	upper, lower := assay.ClumpedUpper(n, width, in.Confidence), assay.ClumpedLower(n, width, in.Confidence)
	out.Counted, out.VolumeML = &counted, &volume
	out.CountLow, out.CountHigh, out.CountUpper, out.CountLower = finite(i.Low), finite(i.High), finite(upper), finite(lower)
	out.RatePerML, out.LowPerML, out.HighPerML = finite(n/volume), finite(i.Low/volume), finite(i.High/volume)
	out.UpperPerML, out.LowerPerML = finite(upper/volume), finite(lower/volume)
	if width > 1 {
		out.WidthUsed = &width
	} else {
		out.Assumptions = append(out.Assumptions, "things lie at random, one by one; where they hang together say clump_width 1.4")
	}
	return nil
}

// volume is the volume looked through, said outright or by the chamber.
func (in *countIn) volume() (float64, error) {
	chamber := in.Fields != nil || in.AreaMM2 != nil || in.DepthMM != nil
	if in.VolumeML != nil {
		if chamber {
			return 0, invalid("volume_ml", "say one of them", "volume_ml and a chamber are both given")
		}
		return *in.VolumeML / in.Dilution, nil
	}
	if !chamber {
		return 0, invalid("volume_ml", "or fields with field_area_mm2 and depth_mm", "volume_ml is missing beside the count")
	}
	for _, part := range []struct {
		key string
		at  *float64
	}{{"fields", in.Fields}, {"field_area_mm2", in.AreaMM2}, {"depth_mm", in.DepthMM}} {
		if part.at == nil {
			return 0, invalid(part.key, "", "%s is missing beside the chamber", part.key)
		}
	}
	return assay.ChamberVolume(*in.AreaMM2, *in.DepthMM, *in.Fields, in.Dilution), nil
}

func (out *countOut) ofSeen(in countIn) error {
	switch {
	case in.Foreign == nil:
		return invalid("foreign", "0 where there was none", "foreign is missing beside seen")
	case in.Seen == nil:
		return invalid("seen", "all filaments that were looked at, foreign ones too", "seen is missing beside foreign")
	case *in.Foreign > *in.Seen:
		return invalid("foreign", "seen counts all of them, foreign ones too", "foreign %d is more than the %d seen", *in.Foreign, *in.Seen)
	}
	k, n, c := *in.Foreign, *in.Seen, in.Confidence
	exact, wilson := assay.ClopperPearson(k, n, c), assay.Wilson(k, n, c)
	out.Share, out.ShareLow, out.ShareHigh = finite(float64(k)/float64(n)), finite(exact.Low), finite(exact.High)
	out.ShareUpper, out.ShareLower = finite(assay.ShareUpper(k, n, c)), finite(assay.ShareLower(k, n, c))
	out.WilsonLow, out.WilsonHigh = finite(wilson.Low), finite(wilson.High)
	if k == 0 {
		out.RuleOfThree = finite(assay.RuleOfThree(n))
		out.Assumptions = append(out.Assumptions, "three over the number seen is for 95 %; the one-sided bound is exact")
	}
	kind := assay.Kind{MassRatio: in.MassRatio, ToxinUgPerG: 1000 * in.ToxinMgG}
	e := assay.Exclude(k, n, c, kind)
	out.MassShareUpper, out.ToxinUpperUgG = finite(e.MassShare), finite(e.ToxinUgPerG)
	if need := assay.LookForToxin(in.LimitUgG, c, kind); need > 0 && need < math.MaxInt32 {
		out.FilamentsNeeded = &need
	}
	out.Assumptions = append(out.Assumptions, fmt.Sprintf("a foreign filament weighs %s of one's own and holds %s mg of toxin in a gram", Digits(in.MassRatio), Digits(in.ToxinMgG)))
	if k > 0 {
		out.Cautions = append(out.Cautions, "Foreign filaments were seen: the lot goes on hold, and only a person ends that, with a written reason.")
	}
	if e.ToxinUgPerG > in.LimitUgG {
		out.Cautions = append(out.Cautions, fmt.Sprintf("This look leaves up to %s µg/g open, over the %s to be ruled out: a laboratory's toxin test is missing.", Digits(e.ToxinUgPerG), Digits(in.LimitUgG)))
	}
	return nil
}

// fromAssay turns an input error of the assay's science into one of the farm.
func fromAssay(err error) error {
	var in *assay.InputError
	if errors.As(err, &in) {
		return &farm.Error{Code: farm.Invalid, Field: in.Field, Message: in.Reason, Hint: in.Hint}
	}
	return err
}
