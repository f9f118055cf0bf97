package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"sodalake/farm"
)

// Rules of the terminal: what was asked for goes to standard output; everything
// else goes to standard error. Exit 0 done, 1 failed, 2 bad input with the
// field named. With --json an error is one JSON object on standard error.
const (
	exitDone   = 0
	exitFailed = 1
	exitBad    = 2
)

// surroundings is everything a command needs from outside.
type surroundings struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	env            func(string) string
	now            func() time.Time
	terminal       bool // progress may be shown on stderr
}

// settings are the flags that all commands share.
type settings struct {
	Data string  `help:"Folder that keeps the farm, else ~/.local/share/sodalake." env:"SODALAKE_DATA" placeholder:"DIR"`
	By   string  `help:"Who is acting; stands in every entry." env:"SODALAKE_BY" placeholder:"NAME"`
	JSON bool    `help:"Print JSON for machines; errors too." name:"json"`
	At   atClock `help:"Set the clock: 2026-06-18T07:40 on the farm, or with an offset." placeholder:"TIME"`
}

// commands is the whole command line.
type commands struct {
	settings

	Demo       demoCmd       `cmd:"" help:"Run a made-up farm with a season of records in the browser."`
	Serve      serveCmd      `cmd:"" help:"Run your farm in the browser, on this computer only."`
	Today      todayCmd      `cmd:"" help:"Print the day list: for each vessel what to do, how much and why."`
	Forecast   forecastCmd   `cmd:"" help:"Print ten days ahead for one vessel."`
	Plan       planCmd       `cmd:"" help:"Print the harvest plan of ten days: which day, how much and what to expect."`
	Note       noteCmd       `cmd:"" help:"Record a reading or an act: note north-pond secchi 2.4cm"`
	Lots       lotsCmd       `cmd:"" help:"Print the lots: what is left, which checks passed, failed or are missing."`
	Trace      traceCmd      `cmd:"" help:"Follow a lot backwards and forwards; list what a recall would reach."`
	Label      labelCmd      `cmd:"" help:"Write the label of a lot with its code, as PDF."`
	Wrong      wrongCmd      `cmd:"" help:"It looks wrong: weigh what may be behind it: wrong north-pond yellow clumps"`
	Calc       calcCmd       `cmd:"" help:"Use one calculator; 'calc list' names them."`
	Whatif     whatifCmd     `cmd:"" help:"Run a scenario file and print what each day would bring."`
	Build      buildCmd      `cmd:"" help:"Look at ponds before they are built: yield by month, season, water, salts, power, cost."`
	Import     importCmd     `cmd:"" help:"Take in a file of entries, all or none."`
	Export     exportCmd     `cmd:"" help:"Write the whole journal, one JSON object a line."`
	Verify     verifyCmd     `cmd:"" help:"Prove the journal whole."`
	Completion completionCmd `cmd:"" help:"Print what a shell needs to complete commands and flags."`
	Man        manCmd        `cmd:"" help:"Print the manual page."`
	Version    versionCmd    `cmd:"" help:"Print the version."`
}

// run is main without the process: arguments and surroundings in, exit code out.
func run(args []string, out surroundings) int {
	var cmds commands
	var code = -1
	parser, err := kong.New(&cmds,
		kong.Name("sodalake"),
		kong.Description("Keeps a small spirulina farm: journal, forecast, day list and calculators.\n\nLook at one with 'sodalake demo'. Exit codes: 0 done, 1 failed, 2 bad input with the field named."),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Writers(out.stdout, out.stderr),
		kong.Exit(func(c int) { code = c; panic(exited{}) }),
		kong.WithHyphenPrefixedParameters(true),
		kong.Bind(out),
	)
	if err != nil {
		fmt.Fprintln(out.stderr, "sodalake:", err)
		return exitFailed
	}
	parser.Model.HelpFlag.Help = "Show this help."
	if len(args) == 0 {
		args = []string{"--help"}
	}
	ctx, err := parse(parser, minusSigns(args))
	if code >= 0 {
		return code
	}
	if err != nil {
		command := ""
		if ctx != nil && ctx.Selected() != nil {
			command = ctx.Selected().Name
		}
		return report(out, slices.Contains(args, "--json"), usageError(command, err))
	}
	stop, cancel := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer cancel()
	ctx.BindTo(stop, (*context.Context)(nil))
	if err := ctx.Run(&cmds.settings, out, parser.Model); err != nil {
		return report(out, cmds.JSON, err)
	}
	return exitDone
}

// minusSigns writes a hyphen before a digit as the minus sign where a note is
// taken, so that -1.5 degrees are not read as a flag.
func minusSigns(args []string) []string {
	at := slices.Index(args, "note")
	if at < 0 || slices.Contains(args[:at], "calc") {
		return args
	}
	args = slices.Clone(args)
	for i := at; i < len(args); i++ {
		if len(args[i]) > 1 && args[i][0] == '-' && strings.IndexByte("0123456789.,", args[i][1]) >= 0 {
			args[i] = "−" + args[i][1:]
		}
	}
	return args
}

// exited unwinds kong's own exits (help), which happen inside the parser.
type exited struct{}

func parse(p *kong.Kong, args []string) (ctx *kong.Context, err error) {
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(exited); !ok {
				panic(r)
			}
		}
	}()
	ctx, err = p.Parse(args)
	var pe *kong.ParseError
	if errors.As(err, &pe) {
		ctx = pe.Context
	}
	return ctx, err
}

// report prints err and returns its exit code.
func report(out surroundings, asJSON bool, err error) int {
	code := exitFailed
	var fe *farm.Error
	switch {
	case errors.As(err, &fe) && fe.Code != farm.Internal:
		code = exitBad
	case errors.Is(err, context.Canceled):
		fe = &farm.Error{Code: farm.Internal, Message: "stopped before it was done"}
	default:
		fe = &farm.Error{Code: farm.Internal, Message: err.Error()}
	}
	if asJSON {
		b, _ := json.Marshal(map[string]string{"error": fe.Message, "field": fe.Field, "hint": fe.Hint, "code": string(fe.Code)})
		fmt.Fprintln(out.stderr, string(b))
		return code
	}
	// A person at a terminal gave fields, and no body that holds them.
	p := newPage(out)
	p.para("sodalake: ", strings.ReplaceAll(fe.Message, "body.", ""))
	if fe.Hint != "" {
		p.para("          ", strings.ReplaceAll(fe.Hint, "body.", ""))
	}
	_ = p.to(out.stderr)
	return code
}

// dataDir is where the farm is kept.
func (s *settings) dataDir(out surroundings) (string, error) {
	if s.Data != "" {
		return s.Data, nil
	}
	if dir := out.env("XDG_DATA_HOME"); dir != "" {
		return filepath.Join(dir, "sodalake"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", &farm.Error{Code: farm.Invalid, Field: "data", Message: "data folder is not known here", Hint: "say where with --data DIR"}
	}
	return filepath.Join(home, ".local", "share", "sodalake"), nil
}

// by is who acts.
func (s *settings) by(out surroundings) string {
	for _, name := range []string{s.By, out.env("USER"), out.env("USERNAME")} {
		if name != "" {
			return name
		}
	}
	return "somebody"
}

// clock is the time that commands go by.
func (s *settings) clock(out surroundings, zone *time.Location) (func() time.Time, error) {
	if s.At == "" {
		return out.now, nil
	}
	t, err := s.At.in(zone)
	if err != nil {
		return nil, err
	}
	return func() time.Time { return t }, nil
}

// atClock is a time as typed after --at.
type atClock string

// in reads the time; without an offset it is local to zone.
func (a atClock) in(zone *time.Location) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, string(a)); err == nil {
		return t, nil
	}
	if zone == nil {
		zone = time.Local
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(layout, string(a), zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, &farm.Error{Code: farm.Invalid, Field: "at", Message: fmt.Sprintf("at %q is not a time", string(a)), Hint: "write it as 2026-06-18T07:40 or 2026-06-18T07:40:00+02:00"}
}
