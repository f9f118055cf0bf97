package main

import (
	"encoding/json"
	"fmt"
	"os"
	"runtime/debug"
)

type versionCmd struct{}

// Run prints the version that the Go tool wrote into the binary.
func (versionCmd) Run(set *settings, out surroundings) error {
	v := version()
	if set.JSON {
		return json.NewEncoder(out.stdout).Encode(v)
	}
	_, err := fmt.Fprintf(out.stdout, "sodalake %s (%s)\n", v["version"], v["go"])
	return err
}

// version is the version of the program, its commit and its toolchain.
func version() map[string]string {
	v := map[string]string{"version": "unknown", "go": "unknown", "commit": ""}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	v["version"], v["go"] = info.Main.Version, info.GoVersion
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			v["commit"] = s.Value
		}
	}
	return v
}

// build tells this build of the program from every other: checkpoints of the
// model are kept for it alone. A program made by go run has no version, so the
// size and the time of the file stand for it.
func build() string {
	v := version()
	id := v["version"] + " " + v["commit"] + " " + v["go"]
	if path, err := os.Executable(); err == nil {
		if info, err := os.Stat(path); err == nil {
			id += fmt.Sprintf(" %d %d", info.Size(), info.ModTime().UnixNano())
		}
	}
	return id
}
