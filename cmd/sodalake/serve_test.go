package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"sodalake/housetest"
)

// program is the command as a program of its own, which signals can reach.
func program(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	if runtime.GOOS == "windows" {
		housetest.Missing(t, "signals", "Windows has none to stop a program with")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "sodalake")
	if err := os.Symlink(self, name); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), "SODALAKE_DATA="+filepath.Join(t.TempDir(), "data"), "TMPDIR="+t.TempDir())
	return c
}

var atAddress = regexp.MustCompile(`http://(127\.0\.0\.1:\d+)`)

// served starts a serving command on a free port and returns its address and
// how to stop it, which fails unless it ends by itself with exit code 0.
func served(t *testing.T, c *exec.Cmd) (address string, stop func(sig os.Signal)) {
	t.Helper()
	pipe, err := c.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	c.Stdout = &out
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := false
	t.Cleanup(func() {
		if !ended {
			c.Process.Kill()
			c.Wait()
		}
	})
	lines := bufio.NewReader(pipe)
	var said strings.Builder
	for address == "" {
		l, err := lines.ReadString('\n')
		said.WriteString(l)
		if err != nil {
			t.Fatalf("it ended before it served: %s", said.String())
		}
		if m := atAddress.FindStringSubmatch(l); m != nil {
			address = m[1]
		}
	}
	rest := make(chan string, 1)
	go func() { b, _ := io.ReadAll(lines); rest <- string(b) }()
	return address, func(sig os.Signal) {
		t.Helper()
		if err := c.Process.Signal(sig); err != nil {
			t.Fatal(err)
		}
		late := <-rest
		err := c.Wait()
		ended = true
		if err != nil || late != "" || out.Len() > 0 {
			t.Errorf("after %s it ended with %v, said %q and printed %q; want exit code 0 and silence", sig, err, late, out.String())
		}
		if strings.Contains(said.String(), "\x1b") {
			t.Errorf("control characters: %q", said.String())
		}
	}
}

func get(t *testing.T, url string) (status int, kind, body string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, "GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, res.Header.Get("Content-Type"), string(b)
}

// The demo on a free port: pages and API answer, the made-up farm is labelled,
// and a signal ends it with exit code 0, leaving nothing behind.
func TestDemoServes(t *testing.T) {
	c := program(t, "demo", "--listen", "127.0.0.1:0")
	address, stop := served(t, c)
	if status, _, body := get(t, "http://"+address+"/healthz"); status != 200 {
		t.Errorf("healthz: %d %s", status, body)
	}
	status, kind, body := get(t, "http://"+address+"/")
	if status != 200 || !strings.HasPrefix(kind, "text/html") || !strings.Contains(body, "Lantern pond") || !strings.Contains(strings.ToLower(body), "invented") && !strings.Contains(strings.ToLower(body), "made-up") {
		t.Errorf("first page: %d %s, want the made-up farm, labelled:\n%.600s", status, kind, body)
	}
	status, _, body = get(t, "http://"+address+"/api/today")
	var day struct {
		Farm    string
		Vessels []json.RawMessage
	}
	if err := json.Unmarshal([]byte(body), &day); status != 200 || err != nil || day.Farm != "Saltmarsh Lighthouse Station" || len(day.Vessels) != 4 {
		t.Errorf("api/today: %d, %v, farm %q with %d vessels", status, err, day.Farm, len(day.Vessels))
	}
	if status, _, _ := get(t, "http://"+address+"/nowhere"); status != 404 {
		t.Errorf("a page that is not there: %d", status)
	}
	stop(syscall.SIGTERM)
	for _, e := range c.Env {
		if dir, ok := strings.CutPrefix(e, "TMPDIR="); ok {
			left, err := filepath.Glob(filepath.Join(dir, "sodalake-*"))
			if err != nil || len(left) > 0 {
				t.Errorf("left behind: %v %v", left, err)
			}
		}
	}
}

// An own farm that is served in an empty folder, noted in by the terminal beside
// it, and there again the next time.
func TestServeKeeps(t *testing.T) {
	dir := t.TempDir()
	address, stop := served(t, program(t, "serve", "--listen", "127.0.0.1:0", "--data", dir))
	if status, _, body := get(t, "http://"+address+"/"); status != 200 || strings.Contains(body, "Lantern pond") {
		t.Errorf("first page of an empty farm: %d\n%.300s", status, body)
	}
	// A second on the same address says what to do.
	if code, _, said := call("", "serve", "--listen", address, "--data", t.TempDir()); code != exitBad || !strings.Contains(said, "taken") {
		t.Errorf("a taken port: exit code %d, %q", code, said)
	}
	stop(os.Interrupt)
	raw, err := os.ReadFile(filepath.Join("testdata", "farm", "farm.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	if code, out, said := call(string(raw), "import", "-", "--data", dir); code != 0 || !strings.HasPrefix(out, "10 entries new") {
		t.Fatalf("import beside it: %d %q %q", code, out, said)
	}
	address, stop = served(t, program(t, "serve", "--listen", "127.0.0.1:0", "--data", dir, "--at", "2026-06-06T07:40"))
	if status, _, body := get(t, "http://"+address+"/"); status != 200 || !strings.Contains(body, "North pond") {
		t.Errorf("the farm that was imported: %d\n%.300s", status, body)
	}
	stop(syscall.SIGTERM)
}

// keep: the demo's farm stays where it is told to, and is not made twice.
func TestDemoKeeps(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "kept")
	for range 2 {
		_, stop := served(t, program(t, "demo", "--listen", "127.0.0.1:0", "--keep", dir))
		stop(os.Interrupt)
	}
	code, out, said := call("", "verify", "--data", dir, "--json")
	var v struct {
		Whole   bool
		Entries int
	}
	if err := json.Unmarshal([]byte(out), &v); code != 0 || err != nil || !v.Whole || v.Entries < 300 || v.Entries > 600 {
		t.Errorf("kept farm: %d %q %q %v", code, out, said, err)
	}
}

func TestLoopback(t *testing.T) {
	for addr, want := range map[string]bool{
		"127.0.0.1:0": true, "127.8.9.10:80": true, "[::1]:80": true, "localhost:80": true,
		"0.0.0.0:80": false, ":80": false, "[::]:80": false, "192.168.1.4:80": false, "example.org:80": false, "127.0.0.1.example.org:80": false, "80": false, "": false,
	} {
		if err := loopback(addr); (err == nil) != want {
			t.Errorf("loopback(%q) = %v, want it taken: %t", addr, err, want)
		}
	}
	// IPv4 in the clothes of IPv6 is the same address.
	if err := loopback("[::ffff:192.0.2.1]:80"); err == nil {
		t.Error("an address of the network is taken in IPv6 writing")
	}
}
