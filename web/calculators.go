package web

import (
	"encoding/json"
	"math"
	"net/http"
	"sort"
	"strconv"
	"strings"

	"sodalake/farm/calc"
	"sodalake/science/units"
	"sodalake/words"
)

type calculatorsPage struct {
	Frame
	List []calculatorLink
}

type calculatorLink struct{ Href, Title, Sentence string }

type calculatorPage struct {
	Frame
	Name, Sentence, Example string
	Fields                  []calcField
	Asked                   bool // something was put in
	Bad                     *badField
	Answers                 []calcAnswer
	Assumptions, Cautions   []string
	Equations, Sources      []string
	Whys                    []whyLink // rows that its defaults open to
}

type badField struct{ Field, Message, Hint string }

type calcField struct {
	Key, Label, Unit, Help, Range string
	Input                         string // "number", "text", "area", "select", "yes", "time", "date"
	Options                       []option
	Value                         string
	Required, Bad                 bool
}

type calcAnswer struct {
	Label, Value, Unit string
	Rows               []calcAnswer
}

func (s *server) calculators(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "calculators", "")
	if err != nil {
		return err
	}
	frame.Title = frame.W.T("calc.title")
	p := calculatorsPage{Frame: frame}
	for _, c := range s.Calculators.All() {
		p.List = append(p.List, calculatorLink{"/calc/" + c.Name, c.Title, c.Sentence})
	}
	sort.SliceStable(p.List, func(i, j int) bool { return p.List[i].Title < p.List[j].Title })
	return s.views.render(w, r, http.StatusOK, "calculators", p)
}

// calculator shows a calculator's form, and its result where the address holds
// an input: a result is only reading, so it can be bookmarked.
func (s *server) calculator(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "calculators", "")
	if err != nil {
		return err
	}
	c, err := s.Calculators.Get(r.PathValue("name"))
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title = c.Title
	p := calculatorPage{Frame: frame, Name: c.Name, Sentence: c.Sentence, Equations: c.Equations, Cautions: c.Cautions, Whys: whysFor(word, c.Name)}
	if c.Example != "" {
		p.Example = exampleQuery(c)
	}
	for _, src := range c.Sources {
		p.Sources = append(p.Sources, src.Text)
	}
	values := map[string]string{}
	for key, v := range r.URL.Query() {
		if len(v) > 0 && strings.TrimSpace(v[0]) != "" {
			values[key] = strings.TrimSpace(v[0])
			p.Asked = true
		}
	}
	status := http.StatusOK
	if p.Asked {
		if err := p.work(c, values, word); err != nil {
			status = http.StatusUnprocessableEntity
		}
	}
	for i := range c.Inputs {
		f := inputOf(word, &c.Inputs[i], values[c.Inputs[i].Key])
		if !p.Asked && f.Value == "" {
			f.Value = c.Inputs[i].Default
		}
		f.Bad = p.Bad != nil && strings.Split(p.Bad.Field, ".")[0] == f.Key
		p.Fields = append(p.Fields, f)
	}
	return s.views.render(w, r, status, "calculator", p)
}

// work runs the calculator on what was typed.
func (p *calculatorPage) work(c *calc.Calculator, values map[string]string, w *words.Speaker) error {
	sys := units.Metric
	if w.Measures() == words.US {
		sys = units.US
	}
	raw, err := c.Typed(values, calc.MeasureIn(sys))
	var answer any
	if err == nil {
		answer, err = c.Run(raw)
	}
	if err != nil {
		pr := problemOf(statusOf(err), err)
		p.Bad = &badField{pr.Field, pr.Detail, pr.Hint}
		return err
	}
	for _, line := range c.Show(answer) {
		p.Answers = append(p.Answers, answerOf(line))
	}
	var told struct {
		Assumptions, Cautions, Sources []string
	}
	if b, err := json.Marshal(answer); err == nil {
		_ = json.Unmarshal(b, &told)
	}
	p.Assumptions = told.Assumptions
	if len(told.Cautions) > 0 {
		p.Cautions = told.Cautions
	}
	return nil
}

func answerOf(line calc.Shown) calcAnswer {
	a := calcAnswer{Label: line.Field.Label, Value: line.Value, Unit: line.Field.Unit}
	for _, r := range line.Rows {
		a.Rows = append(a.Rows, answerOf(r))
	}
	return a
}

// inputOf turns a field's definition into an input of the form.
func inputOf(w *words.Speaker, f *calc.Field, value string) calcField {
	out := calcField{Key: f.Key, Label: f.Label, Unit: f.Unit, Help: f.Help, Value: value, Required: f.Required, Input: "text"}
	switch {
	case !math.IsInf(f.Min, 0) && !math.IsInf(f.Max, 0):
		out.Range = w.T("calc.between", "low", w.Bound(f.Min), "high", w.Bound(f.Max))
	case !math.IsInf(f.Min, 0):
		out.Range = w.T("calc.from", "low", w.Bound(f.Min))
	case !math.IsInf(f.Max, 0):
		out.Range = w.T("calc.to", "high", w.Bound(f.Max))
	}
	switch f.Kind {
	case calc.Number, calc.Whole:
		out.Input = "number"
	case calc.Choice:
		out.Input = "select"
		for _, c := range f.Choices {
			chosen := c == value || value == "" && c == f.Default
			out.Options = append(out.Options, option{c, strings.ReplaceAll(c, "_", " "), chosen})
		}
	case calc.Flag:
		out.Input = "select"
		out.Options = []option{{"yes", w.T("calc.yes"), value == "yes" || value == "true"}, {"no", w.T("calc.no"), value == "no" || value == "false"}}
	case calc.Amounts:
		out.Input = "area"
		out.Help = strings.TrimPrefix(out.Help+"; "+w.T("calc.amounts_hint"), "; ")
	case calc.Rows:
		out.Input = "area"
		var cols []string
		for _, c := range f.Columns {
			cols = append(cols, strings.TrimSpace(c.Label+" "+c.Unit))
		}
		out.Help = strings.TrimPrefix(out.Help+"; "+w.T("calc.rows_hint", "columns", strings.Join(cols, ", ")), "; ")
	case calc.List:
		out.Help = strings.TrimPrefix(out.Help+"; "+w.T("calc.list_hint"), "; ")
	case calc.Date:
		out.Input = "date"
	}
	return out
}

// exampleQuery turns a calculator's example into an address that fills the form.
func exampleQuery(c *calc.Calculator) string {
	var in map[string]json.RawMessage
	if json.Unmarshal([]byte(c.Example), &in) != nil {
		return ""
	}
	kinds := map[string]calc.FieldKind{}
	columns := map[string][]calc.Field{}
	for i := range c.Inputs {
		kinds[c.Inputs[i].Key] = c.Inputs[i].Kind
		columns[c.Inputs[i].Key] = c.Inputs[i].Columns
	}
	q := make([]string, 0, len(in))
	for _, key := range sortedKeys(in) {
		q = append(q, queryEscape(key)+"="+queryEscape(typedExample(in[key], columns[key])))
	}
	return "/calc/" + c.Name + "?" + strings.Join(q, "&")
}

// typedExample writes a JSON value as a person would type it.
func typedExample(raw json.RawMessage, columns []calc.Field) string {
	var text string
	var number float64
	var amounts map[string]float64
	var rows []map[string]any
	var list []string
	switch {
	case json.Unmarshal(raw, &text) == nil:
		return text
	case json.Unmarshal(raw, &number) == nil:
		return strconv.FormatFloat(number, 'f', -1, 64)
	case json.Unmarshal(raw, &amounts) == nil && amounts != nil:
		var lines []string
		for _, k := range sortedKeys(amounts) {
			lines = append(lines, k+" "+strconv.FormatFloat(amounts[k], 'f', -1, 64))
		}
		return strings.Join(lines, "\n")
	case json.Unmarshal(raw, &list) == nil:
		return strings.Join(list, ", ")
	case json.Unmarshal(raw, &rows) == nil:
		var lines []string
		for _, row := range rows {
			var cells []string
			for _, c := range columns {
				b, _ := json.Marshal(row[c.Key])
				cells = append(cells, strings.Trim(string(b), `"`))
			}
			lines = append(lines, strings.Join(cells, " "))
		}
		return strings.Join(lines, "\n")
	}
	return string(raw)
}
