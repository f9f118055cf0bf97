package farm

import (
	"encoding/json"
	"slices"
	"strings"
	"time"
)

// Weekdays are the days of a week as a choice of the farm names them, the first
// as time.Weekday counts.
var Weekdays = []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// Goals are what a harvest plan may aim at.
var Goals = []string{"most", "steady", "fewest"}

// Choices are the settings that the program reads. Others may be kept: they
// mean nothing to it. An empty text takes a choice back.
var Choices = []Field{
	{Key: "feed_salt", Form: FormText, What: "formula of the salt that is fed as nitrogen"},
	{Key: "plan_goal", Form: FormWord, What: "what the harvest plan aims at", Words: Goals},
	{Key: "plan_by", Form: FormText, What: "last local date that counts for the goals most and fewest, 2031-05-04"},
	{Key: "plan_week_g", Form: FormNumber, Unit: "g", What: "dry matter wanted in a week, for the goal steady", Hard: above(0, 1e6)},
	{Key: "plan_amount_g", Form: FormNumber, Unit: "g", What: "dry matter wanted in all, for the goal fewest", Hard: from(0, 1e6)},
	{Key: "plan_weekdays", Form: FormText, What: "days on which somebody is there: mon tue wed thu fri sat sun, or none"},
	{Key: "plan_away", Form: FormText, What: "local dates on which nobody is there, with a space between"},
	{Key: "plan_hours_h", Form: FormNumber, Unit: "h", What: "time for harvesting on a day on which somebody is there", Hard: from(0, 24)},
	{Key: "plan_at_h", Form: FormNumber, Unit: "h", What: "local hour at which is harvested", Hard: from(0, 23.99)},
	{Key: "plan_setup_min", Form: FormNumber, Unit: "min", What: "time to rig, clean and look, for each vessel harvested", Hard: from(0, 600)},
	{Key: "plan_cloth_l_per_h", Form: FormNumber, Unit: "L/h", What: "culture that passes the cloth in an hour", Hard: above(0, 1e5)},
	{Key: "plan_cloth_l", Form: FormNumber, Unit: "L", What: "culture that passes the cloth in a day", Hard: from(0, 1e6)},
	{Key: "plan_press_kg", Form: FormNumber, Unit: "kg", What: "paste that the press takes in a day", Hard: from(0, 1e4)},
	{Key: "plan_dryer_g", Form: FormNumber, Unit: "g", What: "dry matter that the dryer takes in a day", Hard: from(0, 1e6)},
	{Key: "plan_fresh_kg", Form: FormNumber, Unit: "kg", What: "paste that is eaten or sold fresh in a day", Hard: from(0, 1e4)},
	{Key: "plan_freeze_kg", Form: FormNumber, Unit: "kg", What: "paste that freezes in a day", Hard: from(0, 1e4)},
	{Key: "plan_freezer_kg", Form: FormNumber, Unit: "kg", What: "room for paste in the freezer", Hard: from(0, 1e4)},
	{Key: "plan_risk", Form: FormNumber, What: "chance allowed that a harvest leaves too little or finds no place to dry", Hard: from(0.01, 0.4)},
}

// choiceOf returns a choice that the program reads, or nil.
func choiceOf(key string) *Field {
	if i := slices.IndexFunc(Choices, func(f Field) bool { return f.Key == key }); i >= 0 {
		return &Choices[i]
	}
	return nil
}

// choice checks the value of a choice that the program reads.
func (o *object) choice(f *Field, raw json.RawMessage) {
	if string(raw) == `""` {
		return
	}
	if f.Form == FormNumber {
		o.asNumber("value", raw, f.Hard)
		return
	}
	said := o.asText("value", raw, 1000)
	switch f.Key {
	case "plan_goal":
		if !slices.Contains(f.Words, said) {
			o.fail("value", "%q is none of %s", clip(said), strings.Join(f.Words, ", "))
		}
	case "plan_by":
		o.dates(said, 1)
	case "plan_away":
		o.dates(said, 90)
	case "plan_weekdays":
		for _, day := range strings.Fields(said) {
			if !slices.Contains(Weekdays, day) && said != "none" {
				o.fail("value", "%q is none of %s", clip(day), strings.Join(Weekdays, ", "))
			}
		}
	}
}

// dates checks local dates with spaces between.
func (o *object) dates(said string, most int) {
	days := strings.Fields(said)
	if len(days) > most {
		o.fail("value", "holds %d dates, more than %d", len(days), most)
	}
	for _, day := range days {
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			o.fail("value", "%q is not a date such as 2031-05-04", clip(day))
		}
	}
}

// Number returns a setting's value as a number; false if it is none or taken
// back.
func (s Setting) Number() (value float64, told bool) {
	if json.Unmarshal(s.Value, &value) != nil || string(s.Value) == "null" {
		return 0, false
	}
	return value, true
}

// Text returns a setting's value as a text, "" if it is none or taken back.
func (s Setting) Text() string {
	var text string
	_ = json.Unmarshal(s.Value, &text)
	return text
}
