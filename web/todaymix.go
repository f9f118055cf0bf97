package web

import (
	"net/url"

	"sodalake/farm/advice"
	"sodalake/words"
)

// mixHref is where an item of the day list is weighed out: the bench with its
// vessel and its amount; empty where nothing is mixed for it.
func mixHref(w *words.Speaker, it *advice.Item) string {
	if it.Class != advice.Do {
		return ""
	}
	q := url.Values{"vessel": {it.Vessel}, "item": {it.ID}}
	amount := ""
	if it.Amount != nil {
		amount = exactly(it.Amount.Value)
	}
	switch it.Act {
	case "feed":
		q.Set("mode", "feed")
		q.Set("amount_g", amount)
		if salt, ok := it.Reason.Args["salt"].(string); ok {
			q.Set("nitrogen", salt)
		}
	case "add_carbon":
		q.Set("mode", "ph")
		q.Set("by", "bicarbonate")
		q.Set("bicarbonate_g", amount)
	case "top_up_water", "top_up_medium", "deepen":
		q.Set("mode", "top")
		q.Set("with", "medium")
		if it.Act == "top_up_water" {
			q.Set("with", "water")
		}
		if it.Amount != nil && it.Amount.Unit == "L" {
			value, _ := w.AmountUnit(*it.Amount)
			q.Set("volume", value)
		}
	default:
		return ""
	}
	for k, v := range q {
		if v[0] == "" {
			q.Del(k)
		}
	}
	return "/mix?" + q.Encode()
}
