package words

import (
	"math"

	"sodalake/farm/diagnose"
)

// factName is the quantity as which a fact of the record is said, where its own
// name would carry another unit or another end.
var factName = map[string]string{
	"free_ammonia_mm": "ammonia_mm", "ph_25c_high": "ph_25c", "ph_25c_low": "ph_25c", "water_c_high": "water_c", "morning_c_low": "morning_c",
}

// Because says one thing that speaks for a cause or against it. element is the
// salt that other_carries_g_per_l speaks of.
func (s *Speaker) Because(b diagnose.Because, element string) string {
	switch b.Kind {
	case "sign":
		return s.T("wrong.sign." + b.ID)
	case "absent":
		return s.T("wrong.because_absent", "sign", s.T("wrong.sign."+b.ID))
	case "check":
		return s.T("wrong.outcome." + b.ID + "." + b.Answer)
	}
	name := b.ID
	if n, ok := factName[name]; ok {
		name = n
	}
	args := map[string]any{name: b.Value}
	if element != "" {
		args["limit"] = element
	}
	return s.say("wrong.fact."+b.ID, args)
}

// Reasons says what speaks for a cause and against it, at most most of each.
func (s *Speaker) Reasons(r diagnose.Ranked, element string, most int) (for_, against []string) {
	for _, b := range r.Because {
		switch {
		case b.Bits > 0 && len(for_) < most:
			for_ = append(for_, s.Because(b, element))
		case b.Bits < 0 && len(against) < most:
			against = append(against, s.Because(b, element))
		}
	}
	return for_, against
}

// Span says a number of days, "3 to 8 days".
func (s *Speaker) Span(d diagnose.Span) string {
	low, high := s.text(math.Floor(d.Low), 1), s.text(math.Ceil(d.High), 1)
	if d.Low < 1 {
		return s.T("wrong.days_now", "high", high)
	}
	return s.T("wrong.days_few", "low", low, "high", high)
}

// MayEat says whether a harvest may be eaten, and why not: "No." with a
// sentence, or "Not shown.".
func (s *Speaker) MayEat(f diagnose.Finding) (word, why string) {
	if f.Eat != diagnose.EatNo {
		return s.T("wrong.eat_not_shown"), s.T("wrong.eat_not_shown_why")
	}
	var reasons []string
	for i, r := range f.EatFor {
		if i == 4 {
			break
		}
		switch kind, id := cut(r); kind {
		case "sign":
			reasons = append(reasons, s.T("wrong.eat_sign", "sign", s.T("wrong.sign."+id)))
		case "cause":
			reasons = append(reasons, s.T("wrong.eat_cause", "cause", s.T("wrong.cause."+id)))
		default:
			reasons = append(reasons, s.T("wrong.eat_held"))
		}
	}
	return s.T("wrong.eat_no"), s.T("wrong.eat_no_why", "why", s.List(reasons))
}

// Odds says the probability p of a cause [1] in tenths, never as certain.
func (s *Speaker) Odds(p float64) string {
	switch n := math.Round(10 * p); {
	case p < 0.05:
		return s.T("wrong.chance_few")
	case p >= 0.95:
		return s.T("wrong.chance_sure")
	default:
		return s.T("wrong.chance_of", "n", s.text(math.Max(n, 1), 1))
	}
}

func cut(key string) (kind, id string) {
	for i := range key {
		if key[i] == '.' {
			return key[:i], key[i+1:]
		}
	}
	return key, ""
}

// GoesOn says how it goes on with a culture: keep, rest, save a part, or start
// again, with the days and the reserve behind it. vessel names the reserve.
func (s *Speaker) GoesOn(f diagnose.Finding, vessel string, money func(float64) string) []string {
	days := s.Span(f.Days)
	out := []string{s.T("wrong.goes_"+string(f.End), "days", days)}
	if f.End == diagnose.Restart {
		out = append(out, s.T("wrong.goes_keep_else", "days", days))
	}
	a := f.Again
	switch {
	case a.Why == "no_reserve":
		out = append(out, s.T("wrong.again_none"))
	case a.Why == "no_volume":
		out = append(out, s.T("wrong.again_volume"))
	case a.Possible:
		out = append(out, s.T("wrong.again_days", "vessel", vessel, "likely_d", a.Likely, "days", s.Span(a.Days), "medium_l", a.MediumL))
		if a.Cost > 0 {
			out = append(out, s.T("wrong.again_cost", "cost", money(a.Cost)))
		}
		if a.Old {
			out = append(out, s.T("wrong.again_old"))
		}
		if !a.Looked {
			out = append(out, s.T("wrong.again_unlooked"))
		}
	}
	return out
}

// ProbeTime says what a check takes.
func (s *Speaker) ProbeTime(p diagnose.Probe) string {
	minutes := s.text(p.Minutes, 1)
	t := s.T("wrong.check_time", "minutes", minutes)
	if p.Hours > 0 {
		hours := s.T("wrong.hours", "n", s.text(p.Hours, 1))
		if p.Hours >= 47 && p.Hours <= 49 {
			hours = s.T("wrong.two_days")
		}
		t = s.T("wrong.check_wait", "minutes", minutes, "hours", hours)
	}
	if p.Needs != "" {
		t += ", " + s.T("wrong.check_needs", "needs", s.T("wrong.needs."+p.Needs))
	}
	return t
}
