package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"sodalake/farm"
	"sodalake/farm/calc"
)

type calcCmd struct {
	Args []string `arg:"" optional:"" passthrough:"" help:"NAME and its fields: calc sun --lat-deg 36 --lon-deg 14 ..., or --json with one object on standard input."`
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
		return listCalculators(registry, asJSON, out.stdout)
	}
	calculator, err := registry.Get(words[0])
	if err != nil {
		return err
	}
	if help {
		return explain(calculator, out.stdout)
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
	return calculator.Print(out.stdout, answer)
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

func listCalculators(r *calc.Registry, asJSON bool, w io.Writer) error {
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
		return writeJSON(w, rows)
	}
	for _, c := range r.All() {
		if _, err := fmt.Fprintf(w, "%-14s %s\n", c.Name, c.Sentence); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintln(w, "\nsodalake calc NAME --help tells fields, equations and sources.")
	return err
}

// explain prints a calculator's help.
func explain(c *calc.Calculator, w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s: %s\n\nFields\n", c.Name, c.Sentence)
	for _, f := range c.Inputs {
		fmt.Fprintf(&b, "  --%-26s %s\n", strings.ReplaceAll(f.Key, "_", "-"), f.Describe())
	}
	fmt.Fprintf(&b, "\nAnswers\n")
	for _, f := range c.Outputs {
		fmt.Fprintf(&b, "    %-26s %s\n", f.Key, f.Describe())
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"Equations", c.Equations}, {"Cautions", c.Cautions}} {
		if len(part.lines) > 0 {
			fmt.Fprintf(&b, "\n%s\n", part.title)
			for _, l := range part.lines {
				fmt.Fprintf(&b, "  %s\n", l)
			}
		}
	}
	if len(c.Sources) > 0 {
		fmt.Fprintln(&b, "\nSources")
		for _, s := range c.Sources {
			fmt.Fprintf(&b, "  %s\n", s.Text)
		}
	}
	if c.Example != "" {
		fmt.Fprintf(&b, "\nExample\n  echo '%s' | sodalake calc %s --json\n", c.Example, c.Name)
	}
	_, err := w.Write(b.Bytes())
	return err
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
