package farm

import (
	"fmt"
	"strings"
	"testing"
)

// Choices that the program reads are checked when they are made; others are kept
// as they are.
func TestChoicesAreChecked(t *testing.T) {
	for _, row := range []struct {
		key, value string
		refused    string // part of the refusal; empty: taken
	}{
		{"plan_goal", `"steady"`, ""},
		{"plan_goal", `"soon"`, "none of most, steady, fewest"},
		{"plan_week_g", `250`, ""},
		{"plan_week_g", `0`, "outside above 0"},
		{"plan_week_g", `"much"`, "not a number"},
		{"plan_week_g", `""`, ""}, // taken back
		{"plan_dryer_g", `0`, ""}, // no dryer
		{"plan_by", `"2031-05-04"`, ""},
		{"plan_by", `"fourth"`, "not a date"},
		{"plan_by", `"2031-05-04 2031-05-05"`, "more than 1"},
		{"plan_away", `"2031-05-04 2031-05-05"`, ""},
		{"plan_away", `"2031-05-04 2031-02-30"`, "not a date"},
		{"plan_weekdays", `"mon thu"`, ""},
		{"plan_weekdays", `"none"`, ""},
		{"plan_weekdays", `"mon none"`, "none of sun"},
		{"plan_weekdays", `7`, "text"},
		{"plan_risk", `0.5`, "outside 0.01 to 0.4"},
		{"of_somebody_else", `17`, ""},
		{"of_somebody_else", `{"a":1}`, "neither"},
	} {
		o := openObject("body", []byte(fmt.Sprintf(`{"key":%q,"value":%s}`, row.key, row.value)))
		o.setting()
		bad := o.close()
		switch {
		case row.refused == "" && bad != nil:
			t.Errorf("%s %s is refused: %v", row.key, row.value, bad)
		case row.refused != "" && (bad == nil || !strings.Contains(bad.Message, row.refused) || bad.Field != "body.value"):
			t.Errorf("%s %s: %v, not refused as %q at body.value", row.key, row.value, bad, row.refused)
		}
	}
}
