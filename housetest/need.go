// Package housetest is what the house's tests share and the program never
// imports: it decides whether a tool that a test needs may be missing.
//
// At a desk a test whose tool is missing is skipped, and says so. Where the
// environment variable SODALAKE_REQUIRE is "all", or names the tool in a list
// set apart by commas ("chromium,postgres"), a missing tool fails the test:
// that is how the whole suite is known to have run.
package housetest

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Variable is the environment variable that turns a skip into a failure.
const Variable = "SODALAKE_REQUIRE"

// Required reports whether what may not be missing here.
func Required(what string) bool { return required(os.Getenv(Variable), what) }

func required(list, what string) bool {
	for _, r := range strings.Split(list, ",") {
		if r = strings.TrimSpace(r); r == "all" || r == what {
			return true
		}
	}
	return false
}

// Need returns the path of the program tool, or of the first of its other
// names that is found. Where none is, the test is skipped, or fails if the tool
// is required.
func Need(t testing.TB, tool string, otherNames ...string) string {
	t.Helper()
	for _, name := range append([]string{tool}, otherNames...) {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	Missing(t, tool, "the program is not installed")
	return ""
}

// NeedEnv returns the value of an environment variable that points to a
// service, such as the address of a database for tests. Where it is empty the
// test is skipped, or fails if the service named what is required.
func NeedEnv(t testing.TB, what, variable string) string {
	t.Helper()
	v := os.Getenv(variable)
	if v == "" {
		Missing(t, what, variable+" is not set")
	}
	return v
}

// Missing ends the test: it fails where what is required, else it is skipped
// with the reason.
func Missing(t testing.TB, what, why string) {
	t.Helper()
	if Required(what) {
		t.Fatalf("%s is required by %s but %s", what, Variable, why)
	}
	t.Skipf("no %s: %s (set %s=all to make this a failure)", what, why, Variable)
}
