package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"runtime/debug"
	"time"

	"sodalake/demo"
	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/store/files"
	"sodalake/store/sqlite"
	"sodalake/web"
)

type serveCmd struct {
	Listen string `help:"Address to listen on; this computer only until there are logins." default:"127.0.0.1:8490" placeholder:"ADDR"`
}

// Run serves the farm in the data folder.
func (c *serveCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	listener, err := listen(c.Listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	k, done, err := openFarm(ctx, set, out, true, keeper.Options{Quick: true, Logger: logger(out)})
	if err != nil {
		return err
	}
	defer done()
	return serve(ctx, listener, k, false, set, out)
}

type demoCmd struct {
	Listen string `help:"Address to listen on, this computer only." default:"127.0.0.1:8490" placeholder:"ADDR"`
	Keep   string `help:"Keep the made-up farm in this folder; without it nothing is kept." placeholder:"DIR"`
}

// Run makes up a farm and serves it. Its clock starts on a morning of its
// season and runs on from there.
func (c *demoCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	listener, err := listen(c.Listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	start := demo.Morning()
	if set.At != "" {
		t, err := set.At.in(demo.Zone())
		if err != nil {
			return err
		}
		start = t
	}
	began := out.now()
	out.now = demo.Clock(start, func() time.Duration { return time.Since(began) })
	set.At = ""
	var store *sqlite.Store
	if c.Keep != "" {
		if err := os.MkdirAll(c.Keep, 0o700); err != nil {
			return fmt.Errorf("keep folder could not be made: %w", err)
		}
		store, err = sqlite.Open(ctx, c.Keep+"/farm.db", out.now)
	} else {
		store, err = sqlite.OpenTemp(ctx, out.now)
	}
	if err != nil {
		return err
	}
	if err := demo.Fill(ctx, store, start); err != nil {
		store.Close()
		return err
	}
	k, done, err := keep(ctx, store, set, out, keeper.Options{Quick: true, Logger: logger(out), Photos: files.At(photosBeside(store))})
	if err != nil {
		return err
	}
	defer done()
	fmt.Fprintln(out.stderr, "sodalake: a made-up farm; every number in it is invented")
	return serve(ctx, listener, k, true, set, out)
}

func logger(out surroundings) *slog.Logger {
	return slog.New(slog.NewTextHandler(out.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
}

// loopback refuses addresses that other machines can reach: there are no logins
// yet.
func loopback(addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return &farm.Error{Code: farm.Invalid, Field: "listen", Message: fmt.Sprintf("listen %q is not an address", addr), Hint: "write it as 127.0.0.1:8490"}
	}
	if host == "localhost" {
		return nil
	}
	if ip, err := netip.ParseAddr(host); err == nil && ip.IsLoopback() {
		return nil
	}
	return &farm.Error{Code: farm.Invalid, Field: "listen", Message: fmt.Sprintf("listen %q can be reached from other machines, and there are no logins yet", addr), Hint: "listen on 127.0.0.1 only"}
}

// listen takes the address before anything is made: a port that is taken leaves
// no farm behind.
func listen(addr string) (net.Listener, error) {
	if err := loopback(addr); err != nil {
		return nil, err
	}
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, &farm.Error{Code: farm.Invalid, Field: "listen", Message: fmt.Sprintf("listen %q is taken or not allowed", addr), Hint: "another one may be running; choose a port with --listen 127.0.0.1:8491"}
	}
	return listener, nil
}

// serve runs the pages until ctx ends.
func serve(ctx context.Context, listener net.Listener, k *keeper.Keeper, invented bool, set *settings, out surroundings) error {
	// A farm's computer is small and mostly idle: memory before the collector's
	// time.
	defer debug.SetGCPercent(debug.SetGCPercent(50))
	by := set.by(out)
	handler := web.New(web.Config{
		Farm: pages{k}, Calculators: calculators(), Version: version()["version"], Now: k.Now, Log: logger(out), Invented: invented,
		Who: func(*http.Request) string { return by },
	})
	fmt.Fprintf(out.stderr, "sodalake: open http://%s in a browser; Ctrl-C ends it\n", listener.Addr())
	server := &http.Server{Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	go func() { // the first page should find the answer ready
		_, _ = k.Today(ctx, time.Time{})
	}()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	shut, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := server.Shutdown(shut); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}
