package housetest

import (
	"runtime"
	"testing"
)

// double records how a test ended.
type double struct {
	testing.TB
	failed, skipped bool
}

func (d *double) Helper()               {}
func (d *double) Fatalf(string, ...any) { d.failed = true; runtime.Goexit() }
func (d *double) Skipf(string, ...any)  { d.skipped = true; runtime.Goexit() }

// run calls f as a test would be run and tells how it ended.
func run(f func(t testing.TB)) *double {
	d := &double{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(d)
	}()
	<-done
	return d
}

func TestNeed(t *testing.T) {
	const absent = "no-such-program-anywhere"
	t.Setenv(Variable, "")
	if d := run(func(t testing.TB) { Need(t, absent) }); !d.skipped || d.failed {
		t.Errorf("at a desk a missing tool skips: %+v", d)
	}
	if d := run(func(t testing.TB) { Need(t, absent, "go") }); d.skipped || d.failed {
		t.Errorf("another name of the tool is found: %+v", d)
	}
	for _, list := range []string{"all", absent, "chromium, " + absent} {
		t.Setenv(Variable, list)
		if d := run(func(t testing.TB) { Need(t, absent) }); !d.failed || d.skipped {
			t.Errorf("%s=%s: a missing tool fails: %+v", Variable, list, d)
		}
		if d := run(func(t testing.TB) { NeedEnv(t, absent, "SODALAKE_NO_SUCH_VARIABLE") }); !d.failed {
			t.Errorf("%s=%s: a missing service fails: %+v", Variable, list, d)
		}
	}
	t.Setenv(Variable, "chromium")
	if d := run(func(t testing.TB) { Need(t, absent) }); !d.skipped {
		t.Errorf("another tool being required is no reason to fail: %+v", d)
	}
	t.Setenv("SODALAKE_SUCH_A_VARIABLE", "here")
	if got := NeedEnv(t, absent, "SODALAKE_SUCH_A_VARIABLE"); got != "here" {
		t.Errorf("got %q", got)
	}
}
