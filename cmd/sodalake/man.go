package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"
)

type manCmd struct{}

// Run prints the manual page, made from the same model as the help.
func (manCmd) Run(out surroundings, model *kong.Application) error {
	_, err := fmt.Fprint(out.stdout, manual(verbs(model)))
	return err
}

// roff makes text fit for a line of a manual page: backslashes and hyphens as
// themselves, no line that begins like a request.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	if strings.HasPrefix(text, ".") || strings.HasPrefix(text, "'") {
		text = `\&` + text
	}
	return text
}

func manual(all []verb) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	flags := func(list []*kong.Flag) {
		for _, f := range list {
			name := "--" + f.Name
			if !f.IsBool() {
				name += "=" + f.FormatPlaceHolder()
			}
			line(".TP\n.B %s\n%s", roff(name), roff(f.Help))
		}
	}
	line(`.TH SODALAKE 1 "" "sodalake" "User commands"`)
	line(".SH NAME\nsodalake \\- %s", roff("journal, forecast, day list and calculators for a small spirulina farm"))
	line(".SH SYNOPSIS\n.B sodalake\n.I command\n.RI [ flags ]")
	line(".SH DESCRIPTION\n%s", roff("Keeps a small spirulina farm: an append-only journal of readings and acts, a model of every vessel that learns from them, and a list of what to do today. Every calculation is also a calculator by itself. What was asked for goes to standard output, everything else to standard error."))
	line(".SH COMMANDS")
	for _, v := range all[1:] {
		call := v.name
		for _, a := range v.args {
			call += " " + a.Summary()
		}
		line(".SS %s\n%s", roff(call), roff(v.help))
		for _, a := range v.args {
			line(".TP\n.I %s\n%s", roff(a.Name), roff(a.Help))
		}
		flags(v.flags)
	}
	line(".SH FLAGS OF ALL COMMANDS")
	flags(all[0].flags)
	line(".SH EXIT STATUS\n.TP\n0\ndone\n.TP\n1\nfailed\n.TP\n2\n%s", roff("bad input; the field is named, and nothing was changed"))
	line(".SH ENVIRONMENT")
	for _, f := range all[0].flags {
		for _, e := range f.Envs {
			line(".TP\n.B %s\n%s", e, roff("as --"+f.Name))
		}
	}
	line(".TP\n.B COLUMNS\n%s", roff("width of what is printed for people, else 80"))
	line(".TP\n.B NO_COLOR\n%s", roff("respected: nothing is ever printed in colour"))
	line(".SH CAUTIONS\n%s", roff("The program never says that a harvest may be eaten. It says which checks passed, failed or are missing. Food law, electricity near water and chemicals are matters of local codes and licensed practice."))
	return b.String()
}
