// Command gallery draws every page on the canned farm, for looking at: on a
// phone and on a desk, light and dark. It needs Chromium.
//
//	go run ./web/gallery -out gallery
//	go run ./web/gallery -serve 127.0.0.1:8491
package main

import (
	"context"
	"flag"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"sodalake/web"
	"sodalake/web/canned"
)

func main() {
	out := flag.String("out", "gallery", "folder for the pictures")
	serve := flag.String("serve", "", "only serve the canned farm at this address")
	only := flag.String("only", "", "only pages whose name holds this")
	flag.Parse()
	if err := run(*out, *serve, *only); err != nil {
		fmt.Fprintln(os.Stderr, "gallery:", err)
		os.Exit(1)
	}
}

func run(out, serve, only string) error {
	now := func() time.Time { return canned.Now }
	if serve != "" {
		server := &http.Server{Addr: serve, Handler: web.New(web.Config{Farm: canned.New(), Calculators: canned.Calculators(), Now: now, Invented: true}), ReadHeaderTimeout: 5 * time.Second}
		return server.ListenAndServe()
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	for _, farm := range append([]scene{{"", canned.New(), Pages}, {"empty-", canned.Empty(), Empty}, {"us-", canned.NewUS(), US}}, slices.Concat(planScenes(), buildScenes(), lotScenes(), wrongScenes(), checkScenes())...) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return err
		}
		server := &http.Server{Handler: web.New(web.Config{Farm: farm.farm, Calculators: canned.Calculators(), Now: now, Invented: true}), ReadHeaderTimeout: 5 * time.Second}
		go func() { _ = server.Serve(l) }()
		err = pictures("http://"+l.Addr().String(), farm.name, farm.pages, out, only)
		_ = server.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// scene is a farm in a state, with the pages that are drawn of it.
type scene struct {
	name  string
	farm  *canned.Farm
	pages []string
}

// Pages, US and Empty are the addresses that are drawn.
var (
	Pages = []string{"/", "/vessels", "/vessels/lantern-pond", "/vessels/boat-pond", "/vessels/cistern-tank", "/vessels/sill-bottles", "/note?vessel=boat-pond&kind=secchi&value=2.7", "/note?vessel=boat-pond&kind=fed", "/note?kind=smell", "/note/kinds", "/note?kind=checked", "/calc", "/calc/dilution", "/calc/dilution?volume_l=200&from_g_per_l=0.6&to_g_per_l=0.2", "/calc/dilution?volume_l=-5&from_g_per_l=0.6&to_g_per_l=0.2", "/farm", "/farm/climate", "/farm/instruments", "/farm/vessel?id=boat-pond", "/farm/vessel", "/farm/inside?vessel=boat-pond", "/records", "/records/proof", "/nowhere",
		"/mix", "/mix?mode=medium&volume=200&recipe=pub.bicarbonate-farm&water=tap", "/mix?mode=medium&recipe=ready&ready_mix_g_per_l=12&ready_mix_ph=8.4", "/mix?mode=medium&volume=20&recipe=own&salts=urea+0.2%0Abaking+soda+8", "/mix?mode=top&vessel=boat-pond", "/mix?mode=top&vessel=cistern-tank&with=water", "/mix?mode=feed&vessel=lantern-pond", "/mix?mode=ph&vessel=cistern-tank", "/mix?mode=ph&vessel=lantern-pond&by=caustic", "/mix/hold", "/shelf", "/shelf/lot", "/shelf/water", "/why"}
	US    = []string{"/", "/vessels/boat-pond", "/note?vessel=boat-pond&kind=temperature", "/mix?mode=medium&volume=40&recipe=pub.zarrouk", "/mix?mode=feed&vessel=boat-pond", "/shelf"}
	Empty = []string{"/", "/farm", "/farm/climate", "/farm/instruments", "/records", "/note", "/vessels", "/mix", "/mix?mode=top", "/shelf"}
)

type look struct {
	name          string
	width, height int
	dark, forced  bool
	print         bool
	page          string // only this page
}

var looks = []look{
	{name: "phone-light", width: 360, height: 740},
	{name: "phone-dark", width: 360, height: 740, dark: true},
	{name: "desk-light", width: 1280, height: 900},
	{name: "desk-dark", width: 1280, height: 900, dark: true},
	{name: "narrow", width: 320, height: 640},
	{name: "forced", width: 360, height: 740, forced: true, page: "/"},
	{name: "print", width: 794, height: 1123, print: true, page: "/"},
	{name: "print", width: 794, height: 1123, print: true, page: "/mix"},
}

func pictures(base, prefix string, pages []string, out, only string) error {
	exe, err := exec.LookPath("chromium")
	if err != nil {
		return fmt.Errorf("chromium is not installed")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(exe), chromedp.NoSandbox, chromedp.Flag("disable-background-networking", true), chromedp.Flag("hide-scrollbars", true))
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	defer cancel()
	ctx, cancel := chromedp.NewContext(alloc)
	defer cancel()
	ctx, cancel = context.WithTimeout(ctx, 10*time.Minute)
	defer cancel()
	for _, l := range looks {
		for _, p := range pages {
			if l.page != "" && (l.page != p || prefix != "") {
				continue
			}
			name := prefix + fileName(p) + "-" + l.name
			if only != "" && !strings.Contains(name, only) {
				continue
			}
			if err := picture(ctx, base+p, l, filepath.Join(out, name+".png")); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			fmt.Println(name)
		}
	}
	return nil
}

func picture(ctx context.Context, url string, l look, file string) error {
	scheme := "light"
	if l.dark {
		scheme = "dark"
	}
	features := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}
	if l.forced {
		features = append(features, &emulation.MediaFeature{Name: "forced-colors", Value: "active"})
	}
	media := ""
	if l.print {
		media = "print"
	}
	mobile := l.width < 500
	set := func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		if _, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: features}); err != nil {
			return chromedp.Void{}, err
		}
		_, err := cdp.Call(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: int64(l.width), Height: int64(l.height), DeviceScaleFactor: 1, Mobile: mobile})
		return chromedp.Void{}, err
	}
	if err := chromedp.Do(ctx, set, chromedp.Navigate(url), chromedp.Sleep(200*time.Millisecond)); err != nil {
		return err
	}
	// The window is made as tall as the page, so that what is fixed to its foot
	// stands at the foot.
	tall, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.documentElement.scrollHeight`))
	if err != nil {
		return err
	}
	l.height = max(l.height, tall)
	if err := chromedp.Do(ctx, set, chromedp.Sleep(60*time.Millisecond)); err != nil {
		return err
	}
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		return err
	}
	return os.WriteFile(file, png, 0o644)
}

func fileName(p string) string {
	name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "&", "-", "=", "-", ".", "").Replace(p), "-")
	if name == "" {
		return "today"
	}
	if len(name) > 100 {
		name = name[:100]
	}
	return name
}
