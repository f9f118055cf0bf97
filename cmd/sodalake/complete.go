package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"sodalake/farm"
)

type completionCmd struct {
	Shell string `arg:"" help:"bash, zsh or fish."`
}

// Run prints the script by which a shell completes commands, flags and the
// names of calculators. All of it is read from the command line's own model.
func (c *completionCmd) Run(out surroundings, model *kong.Application) error {
	write, ok := map[string]func([]verb) string{"bash": bashScript, "zsh": zshScript, "fish": fishScript}[c.Shell]
	if !ok {
		return &farm.Error{Code: farm.Invalid, Field: "shell", Message: fmt.Sprintf("shell %q is none that can be completed for", c.Shell), Hint: "one of bash, zsh, fish"}
	}
	_, err := fmt.Fprint(out.stdout, write(verbs(model)))
	return err
}

// verb is a command as completion and manual see it.
type verb struct {
	name, help string
	flags      []*kong.Flag
	args       []*kong.Positional
	words      []string // what may follow the command
}

// verbs are the commands of the model; the first, without a name, holds what
// they share.
func verbs(model *kong.Application) []verb {
	all := []verb{{flags: model.Flags}}
	for _, n := range model.Children {
		v := verb{name: n.Name, help: n.Help, flags: n.Flags, args: n.Positional}
		switch n.Name {
		case "calc":
			v.words = append([]string{"list"}, calculators().Names()...)
		case "completion":
			v.words = []string{"bash", "zsh", "fish"}
		}
		all = append(all, v)
	}
	return all
}

// names are what completes at a place: words first, then flags.
func names(words []string, flags ...[]*kong.Flag) string {
	for _, list := range flags {
		for _, f := range list {
			words = append(words, "--"+f.Name)
		}
	}
	return strings.Join(words, " ")
}

func bashScript(all []verb) string {
	var b strings.Builder
	var commands []string
	for _, v := range all[1:] {
		commands = append(commands, v.name)
	}
	fmt.Fprint(&b, "# bash completion of sodalake: source <(sodalake completion bash)\n_sodalake() {\n")
	fmt.Fprint(&b, "  local cur=${COMP_WORDS[COMP_CWORD]} word command= known\n")
	fmt.Fprintf(&b, "  for word in \"${COMP_WORDS[@]:1:COMP_CWORD-1}\"; do\n    case $word in %s) command=$word; break ;; esac\n  done\n", strings.Join(commands, "|"))
	fmt.Fprint(&b, "  case $command in\n")
	for _, v := range all[1:] {
		fmt.Fprintf(&b, "    %s) known='%s' ;;\n", v.name, names(v.words, v.flags, all[0].flags))
	}
	fmt.Fprintf(&b, "    *) known='%s' ;;\n  esac\n", names(commands, all[0].flags))
	fmt.Fprint(&b, "  COMPREPLY=($(compgen -W \"$known\" -- \"$cur\"))\n}\ncomplete -o default -F _sodalake sodalake\n")
	return b.String()
}

// quoted is text between single quotes, as bash, zsh and fish read them.
func quoted(text string) string { return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'" }

func zshScript(all []verb) string {
	var b strings.Builder
	inBrackets := strings.NewReplacer("[", `\[`, "]", `\]`, ":", `\:`)
	flags := func(list []*kong.Flag) {
		for _, f := range list {
			spec := "--" + f.Name
			if f.IsBool() {
				spec += "[" + inBrackets.Replace(f.Help) + "]"
			} else {
				spec += "=[" + inBrackets.Replace(f.Help) + "]:" + f.FormatPlaceHolder() + ":_files"
			}
			fmt.Fprintf(&b, " \\\n        %s", quoted(spec))
		}
	}
	fmt.Fprint(&b, "#compdef sodalake\n# zsh completion of sodalake: put it into a folder of $fpath as _sodalake\n_sodalake() {\n  local -a commands=(\n")
	for _, v := range all[1:] {
		fmt.Fprintf(&b, "    %s\n", quoted(v.name+":"+v.help))
	}
	fmt.Fprint(&b, "  )\n  if (( CURRENT == 2 )); then\n    _describe command commands\n    return\n  fi\n  local command=$words[2]\n  shift words\n  (( CURRENT-- ))\n  case $command in\n")
	for _, v := range all[1:] {
		fmt.Fprintf(&b, "    %s)\n      _arguments", v.name)
		flags(v.flags)
		flags(all[0].flags)
		if len(v.words) > 0 {
			fmt.Fprintf(&b, " \\\n        %s", quoted("1:what:("+strings.Join(v.words, " ")+")"))
		}
		fmt.Fprint(&b, " \\\n        '*:file:_files' ;;\n")
	}
	fmt.Fprint(&b, "  esac\n}\nif [[ $zsh_eval_context[-1] == loadautofunc ]]; then\n  _sodalake \"$@\"\nelse\n  compdef _sodalake sodalake\nfi\n")
	return b.String()
}

func fishScript(all []verb) string {
	var b strings.Builder
	flags := func(list []*kong.Flag, when string) {
		for _, f := range list {
			need := " -r"
			if f.IsBool() {
				need = ""
			}
			fmt.Fprintf(&b, "complete -c sodalake%s -l %s%s -d %s\n", when, f.Name, need, quoted(f.Help))
		}
	}
	fmt.Fprint(&b, "# fish completion of sodalake: sodalake completion fish > ~/.config/fish/completions/sodalake.fish\n")
	flags(all[0].flags, "")
	for _, v := range all[1:] {
		fmt.Fprintf(&b, "complete -c sodalake -n __fish_use_subcommand -f -a %s -d %s\n", v.name, quoted(v.help))
		when := " -n '__fish_seen_subcommand_from " + v.name + "'"
		flags(v.flags, when)
		if len(v.words) > 0 {
			fmt.Fprintf(&b, "complete -c sodalake%s -f -a %s\n", when, quoted(strings.Join(v.words, " ")))
		}
	}
	return b.String()
}
