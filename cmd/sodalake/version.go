package main

import (
	"encoding/json"
	"fmt"
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
