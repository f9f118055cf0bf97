package web

import (
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/farm/lot"
)

type lotPlanPage struct {
	Frame
	Groups []choiceGroup
	Tools  []toolRow
	Sorts  []option
	ID     string
}

type choiceGroup struct {
	Title   string
	Choices []choiceField
}

// choiceField is one choice of the plan as a form shows it.
type choiceField struct {
	Key, Label, Unit, Value string
	Range                   string   // what a number may be, and what stands where it is not chosen
	Options                 []option // of a word, or yes and no
}

type toolRow struct{ Name, Small string }

// choiceGroups are the headings under which the choices stand, by how their keys
// begin; the rest stands under the last.
var choiceGroups = []struct{ key, begins string }{
	{"checks", "require_ checks_own"}, {"before", "look_ senses_ ph_"}, {"clock", "clock_"}, {"dry", "activity_ moisture_"},
	{"laboratory", "lab_ limits_"}, {"label", "label_ trace_ portion_ sell_ recall_"}, {"room", ""},
}

func groupOf(key string) int {
	for i, g := range choiceGroups {
		for _, begin := range strings.Fields(g.begins) {
			if strings.HasPrefix(key, begin) {
				return i
			}
		}
	}
	return len(choiceGroups) - 1
}

// lotPlan shows the farm's own plan for its lots, and its tools.
func (s *server) lotPlan(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	made, err := s.settingsMade(r)
	if err != nil {
		return err
	}
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return err
	}
	word := frame.W
	p := lotPlanPage{Frame: frame, ID: s.newID()}
	p.Title, p.Sheet = word.T("lotplan.title"), "lots.css"
	if r.URL.Query().Get("said") == "saved" {
		p.Said = word.T("setup.saved")
	}
	for _, g := range choiceGroups {
		p.Groups = append(p.Groups, choiceGroup{Title: word.T("lotplan.group_" + g.key)})
	}
	for _, c := range lot.Choices() {
		f := choiceField{Key: c.Key, Label: upperFirst(word.T("lot_choice." + c.Key)), Unit: c.Unit}
		raw, chosen := made[c.Key]
		switch {
		case c.YesNo:
			yes := c.Default >= 0.5
			if chosen {
				_ = json.Unmarshal(raw, &yes)
			}
			f.Options = []option{{"yes", word.T("calc.yes"), yes}, {"no", word.T("calc.no"), !yes}}
		case len(c.Words) > 0:
			was := c.Words[0]
			if chosen {
				_ = json.Unmarshal(raw, &was)
			}
			for _, o := range c.Words {
				label := o
				switch {
				case o == "" && c.Key == "limits_place":
					label = word.T("lotplan.only_farm")
				case o == "":
					label = word.T("lotplan.by_place")
				case len(o) == 2:
					label = strings.ToUpper(o)
				default:
					label = word.T("lotplan.dryer_" + o)
				}
				f.Options = append(f.Options, option{o, label, o == was})
			}
		case c.Text:
			if chosen {
				_ = json.Unmarshal(raw, &f.Value)
			}
		default:
			f.Range = word.T("lotplan.range", "low", numberText(c.Low), "high", numberText(c.High), "default", numberText(c.Default))
			x := c.Default
			if chosen && json.Unmarshal(raw, &x) == nil {
				f.Value = numberText(x)
			}
		}
		g := &p.Groups[groupOf(c.Key)]
		g.Choices = append(g.Choices, f)
	}
	for _, t := range lots.Tools {
		row := toolRow{Name: t.Name}
		var small []string
		for _, x := range []string{word.T("lotplan.clean_" + orWord(t.Clean, "use")), t.CleanWith, t.Material} {
			if x != "" {
				small = append(small, x)
			}
		}
		row.Small = strings.Join(small, "; ")
		p.Tools = append(p.Tools, row)
	}
	for _, sort := range farm.ToolSorts {
		p.Sorts = append(p.Sorts, option{sort, word.T("tool_sort." + sort), false})
	}
	return s.views.render(w, r, http.StatusOK, "lotplan", p)
}

func orWord(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func numberText(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func (s *server) settingsMade(r *http.Request) (map[string]json.RawMessage, error) {
	list, err := s.Farm.Settings(r.Context())
	if err != nil {
		return nil, err
	}
	made := map[string]json.RawMessage{}
	for _, x := range list {
		made[x.Key] = x.Value
	}
	return made, nil
}

// writeLotPlan writes down the choices that were changed, all or none.
func (s *server) writeLotPlan(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	made, err := s.settingsMade(r)
	if err != nil {
		return err
	}
	var entries []farm.Entry
	for _, c := range lot.Choices() {
		if !r.PostForm.Has(c.Key) {
			continue
		}
		text := strings.TrimSpace(r.PostForm.Get(c.Key))
		var value any
		def := any(c.Default)
		switch {
		case c.YesNo:
			value, def = text == "yes", c.Default >= 0.5
		case len(c.Words) > 0:
			value, def = text, c.Words[0]
			known := false
			for _, o := range c.Words {
				known = known || o == text
			}
			if !known {
				return invalid(c.Key, "one of "+strings.Join(c.Words, ", "), "%s %q is not known", c.Key, clip(text))
			}
		case c.Text:
			if len(text) > 500 {
				return invalid(c.Key, "", "%s is longer than 500 letters", c.Key)
			}
			value, def = text, ""
		case text == "":
			value = c.Default
		default:
			x, err := plainNumber(c.Key, text)
			if err != nil {
				return err
			}
			if x < c.Low || x > c.High {
				return invalid(c.Key, "", "%s %s is outside %s to %s", c.Key, numberText(x), numberText(c.Low), numberText(c.High))
			}
			value = x
		}
		was, chosen := made[c.Key]
		now, err := json.Marshal(value)
		if err != nil {
			return err
		}
		if chosen && sameJSON(was, now) || !chosen && value == def {
			continue
		}
		raw, err := json.Marshal(map[string]any{"key": c.Key, "value": value})
		if err != nil {
			return err
		}
		at := s.Now()
		entries = append(entries, farm.Entry{ID: s.newID(), Kind: "setting", V: 1, At: at, NotedAt: at, By: s.Who(r), Body: raw})
	}
	if len(entries) > 0 {
		if _, err := s.Farm.Append(r.Context(), entries, farm.Typed); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/harvests/plan?said=saved", http.StatusSeeOther)
	return nil
}

// writeTool adds something that touches the product.
func (s *server) writeTool(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	name := strings.TrimSpace(f.Get("name"))
	id := slug(name)
	if id == "" {
		return invalid("name", "", "name is missing")
	}
	body := map[string]any{"id": id, "name": name, "sort": f.Get("sort"), "clean": f.Get("clean"), "clean_with": strings.TrimSpace(f.Get("clean_with")), "material": strings.TrimSpace(f.Get("material"))}
	if text := strings.TrimSpace(f.Get("every_days")); text != "" {
		x, err := plainNumber("every_days", text)
		if err != nil {
			return err
		}
		body["every_days"] = x
	}
	if err := s.describe(r, "tool", f.Get("id"), body); err != nil {
		return err
	}
	http.Redirect(w, r, "/harvests/plan?said=saved#tools", http.StatusSeeOther)
	return nil
}

// writeCleaned writes down that tools were cleaned and how they were found.
func (s *server) writeCleaned(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	tools := r.PostForm["tools"]
	if len(tools) == 0 {
		return invalid("tools", s.speaker(r).T("lots.tools_how"), "tools are missing")
	}
	body := map[string]any{"tools": tools}
	if result := r.PostForm.Get("result"); result != "" {
		body["result"] = result
	}
	if err := s.writeLotEntry(r, s.speaker(r), "", "cleaned", body); err != nil {
		return err
	}
	http.Redirect(w, r, "/harvests/new?said=saved", http.StatusSeeOther)
	return nil
}
