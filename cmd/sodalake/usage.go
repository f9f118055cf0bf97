package main

import (
	"regexp"
	"strings"

	"sodalake/farm"
)

var (
	missingPart = regexp.MustCompile(`^expected "<([a-z]+)>`)
	strangeWord = regexp.MustCompile(`^unexpected argument (.+?)(?:, did you mean (.*)\?)?$`)
	strangeFlag = regexp.MustCompile(`^unknown flag (.+?)(?:, did you mean (.*)\?)?$`)
	flagValue   = regexp.MustCompile(`^--([a-z-]+): (.+)$`)
)

// usageError says in the house's words what the parser did not understand.
// command is the command it had understood so far, "" for none.
func usageError(command string, err error) *farm.Error {
	help := strings.TrimSpace("sodalake "+command) + " --help"
	e := &farm.Error{Code: farm.Invalid, Field: "command", Message: err.Error(), Hint: help + " tells what there is"}
	near := func(what string) string {
		return "there is " + strings.ReplaceAll(strings.ReplaceAll(what, `"`, ""), "one of ", "")
	}
	if m := missingPart.FindStringSubmatch(err.Error()); m != nil {
		e.Field, e.Message, e.Hint = m[1], m[1]+" is missing", help+" tells what belongs there"
	} else if m := strangeWord.FindStringSubmatch(err.Error()); m != nil {
		what := "command"
		if command != "" {
			what = "word"
		}
		e.Message = what + ` "` + m[1] + `" is not known`
		if m[2] != "" {
			e.Hint = near(m[2])
		}
	} else if m := strangeFlag.FindStringSubmatch(err.Error()); m != nil {
		e.Field, e.Message = strings.TrimLeft(m[1], "-"), "flag "+m[1]+" is not known"
		if m[2] != "" {
			e.Hint = near(m[2])
		}
	} else if m := flagValue.FindStringSubmatch(err.Error()); m != nil {
		e.Field, e.Message = m[1], m[1]+": "+m[2]
	}
	return e
}
