package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"sodalake/farm"
	"sodalake/farm/calc"
)

type calcCmd struct {
	Args []string `arg:"" optional:"" passthrough:"" help:"NAME with its fields (calc volume --shape box --length-m 3 ...), NAME --json with one object on standard input, NAME --help, or list."`
}

// Run answers 'calc list', 'calc NAME --help', 'calc NAME --json' and
// 'calc NAME --field value ...'.
func (c *calcCmd) Run(set *settings, out surroundings) error {
	registry := calculators()
	asJSON, help := set.JSON, false
	var words []string
	for _, a := range c.Args {
		switch a {
		case "--json":
			asJSON, set.JSON = true, true
		case "--help", "-h":
			help = true
		default:
			words = append(words, a)
		}
	}
	if len(words) == 0 || words[0] == "list" {
		return listCalculators(registry, asJSON, out)
	}
	calculator, err := registry.Get(words[0])
	if err != nil {
		return err
	}
	if help {
		return explain(calculator, out)
	}
	values, err := fieldValues(words[1:])
	if err != nil {
		return err
	}
	var raw []byte
	if len(values) == 0 && asJSON {
		if raw, err = io.ReadAll(io.LimitReader(out.stdin, 2<<20)); err != nil {
			return fmt.Errorf("standard input could not be read: %w", err)
		}
	} else if raw, err = calculator.Typed(values, calc.Measure); err != nil {
		return err
	}
	answer, err := calculator.Run(raw)
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(out.stdout, answer)
	}
	return printAnswer(calculator, answer, out)
}

// printAnswer prints an answer for people: one line for each number, then what
// was taken as given, the cautions and the sources.
func printAnswer(c *calc.Calculator, answer any, out surroundings) error {
	p := newPage(out)
	p.para("", c.Title)
	p.line("")
	var rows [][]string
	wide := false // a text does not stand in the column of numbers
	flush := func() {
		p.table("lrl", "  ", rows)
		rows = nil
	}
	for _, s := range c.Show(answer) {
		switch {
		case len(s.Rows) > 0:
			flush()
			p.line("  " + s.Field.Label)
			for _, r := range s.Rows {
				wide = wide || len(r.Value) > 20
				rows = append(rows, []string{"    " + r.Field.Label, r.Value, r.Field.Unit})
			}
			if wide {
				for _, r := range rows {
					p.para(r[0]+"  ", strings.TrimSpace(r[1]+" "+r[2]))
				}
				rows, wide = nil, false
			}
			flush()
		case len(s.Value) > 20:
			flush()
			p.para("  "+s.Field.Label+"  ", s.Value)
		default:
			rows = append(rows, []string{"  " + s.Field.Label, s.Value, s.Field.Unit})
		}
	}
	flush()
	if t := calc.ToldBy(answer); t != nil {
		p.list("Taken as given", t.Assumptions)
		p.list("Take care", t.Cautions)
		p.list("Sources", t.Sources)
	}
	return p.to(out.stdout)
}

// fieldValues reads --lat-deg 36, --lat-deg=36 and lat_deg=36.
func fieldValues(words []string) (map[string]string, error) {
	values := map[string]string{}
	for i := 0; i < len(words); i++ {
		w := words[i]
		name, value, joined := strings.Cut(w, "=")
		dashed := strings.HasPrefix(name, "--")
		name = strings.ReplaceAll(strings.TrimPrefix(name, "--"), "-", "_")
		if !joined {
			if !dashed || i+1 == len(words) {
				return nil, &farm.Error{Code: farm.Invalid, Field: name, Message: fmt.Sprintf("%q has no value", w), Hint: "write --field value or field=value"}
			}
			i++
			value = words[i]
		}
		if _, twice := values[name]; twice {
			return nil, &farm.Error{Code: farm.Invalid, Field: name, Message: fmt.Sprintf("field %q is given twice", name)}
		}
		values[name] = value
	}
	return values, nil
}

func listCalculators(r *calc.Registry, asJSON bool, out surroundings) error {
	if asJSON {
		type row struct {
			Name     string `json:"name"`
			Title    string `json:"title"`
			Sentence string `json:"sentence"`
		}
		var rows []row
		for _, c := range r.All() {
			rows = append(rows, row{c.Name, c.Title, c.Sentence})
		}
		return writeJSON(out.stdout, rows)
	}
	p := newPage(out)
	for _, c := range r.All() {
		p.para(fmt.Sprintf("%-13s ", c.Name), c.Sentence)
	}
	p.line("")
	p.para("", "sodalake calc NAME --help tells fields, equations and sources.")
	return p.to(out.stdout)
}

// explain prints a calculator's help.
func explain(c *calc.Calculator, out surroundings) error {
	p := newPage(out)
	p.para("", c.Name+": "+c.Sentence)
	fields := func(title string, list []calc.Field, flag func(key string) string) {
		p.linef("\n%s", title)
		wide := 0
		for i := range list {
			wide = max(wide, len(flag(list[i].Key)))
		}
		for i := range list {
			p.para(fmt.Sprintf("  %-*s  ", min(wide, 28), flag(list[i].Key)), list[i].Describe())
		}
	}
	fields("Fields", c.Inputs, func(key string) string { return "--" + strings.ReplaceAll(key, "_", "-") })
	fields("Answers", c.Outputs, func(key string) string { return key })
	p.list("Equations", c.Equations)
	p.list("Take care", c.Cautions)
	var sources []string
	for _, s := range c.Sources {
		sources = append(sources, s.Text)
	}
	p.list("Sources", sources)
	if c.Example != "" {
		p.linef("\nExample\n  echo '%s' | sodalake calc %s --json", c.Example, c.Name)
	}
	return p.to(out.stdout)
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
