package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/words"
)

type todayCmd struct {
	Vessel string `help:"Only this vessel." placeholder:"V"`
}

// Run prints the day list.
func (c *todayCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	if c.Vessel != "" {
		if _, err := k.Vessel(ctx, c.Vessel, time.Time{}); err != nil {
			return err
		}
	}
	t, err := k.Today(ctx, time.Time{})
	if err != nil {
		return err
	}
	speak := speaker(k)
	if set.JSON {
		items, err := k.Items(ctx, time.Time{})
		if err != nil {
			return err
		}
		kept := []advice.Item{}
		for _, it := range items {
			if c.Vessel == "" || it.Vessel == c.Vessel {
				kept = append(kept, speak.Item(it))
			}
		}
		return writeJSON(out.stdout, map[string]any{"at": t.At, "farm": t.Farm, "items": kept})
	}
	return printToday(out.stdout, &t, c.Vessel, speak)
}

// speaker says things in the farm's language and measures.
func speaker(k *keeper.Keeper) *words.Speaker {
	var s farm.Site
	zone := time.UTC
	k.Read(func(p *farm.Present) {
		if sites := p.Sites(); len(sites) > 0 {
			s = sites[0]
			if z, err := time.LoadLocation(s.Timezone); err == nil {
				zone = z
			}
		}
	})
	return words.New(s.Language, words.Measures(s.Measures), zone)
}

func printToday(w io.Writer, t *keeper.Today, only string, speak *words.Speaker) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %s\n", t.Farm, speak.LongDay(t.At))
	for _, l := range t.Light.Words {
		fmt.Fprintln(&b, speak.Sentence(l))
	}
	if len(t.Vessels) == 0 {
		fmt.Fprintln(&b, "\nNo vessel is described yet. Begin with sodalake serve and the page Farm.")
	}
	for i := range t.Vessels {
		v := &t.Vessels[i]
		if only != "" && v.Spec.ID != only {
			continue
		}
		fmt.Fprintf(&b, "\n%s  %s", v.Spec.Name, speak.Sentence(v.State))
		if v.Now.Known {
			for _, q := range []keeper.Quantity{keeper.DensityGPerL, keeper.PH25C, keeper.TempC, keeper.LevelCM} {
				if band, ok := v.Now.Bands[q]; ok {
					fmt.Fprintf(&b, "  %s", speak.Band(string(q), band).Full())
				}
			}
		}
		fmt.Fprintln(&b)
		for _, c := range v.Change {
			fmt.Fprintf(&b, "    %s\n", speak.Sentence(c))
		}
		for _, it := range v.Items {
			said := speak.Item(it)
			fmt.Fprintf(&b, "  %s\n", said.Text)
			fmt.Fprintf(&b, "      %s\n", speak.Sentence(it.Reason))
			for _, m := range it.More {
				fmt.Fprintf(&b, "      %s\n", speak.Sentence(m))
			}
			for _, c := range said.Cautions {
				fmt.Fprintf(&b, "      Take care: %s\n", c)
			}
		}
		for _, d := range v.Done {
			fmt.Fprintf(&b, "  done %s: %s\n", speak.Clock(d.At), strings.ReplaceAll(d.Act, "_", " "))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

type forecastCmd struct {
	Vessel string `arg:"" help:"Vessel."`
}

// Run prints ten days ahead of a vessel.
func (c *forecastCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	f, err := k.Forecast(ctx, c.Vessel, time.Time{})
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, f)
	}
	return printForecast(out.stdout, &f, speaker(k))
}

func printForecast(w io.Writer, f *keeper.Forecast, speak *words.Speaker) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, from %s\n%s\n\n", f.Vessel, speak.Moment(f.At), speak.T("weather."+strings.TrimPrefix(f.Weather, "weather.")))
	fmt.Fprintf(&b, "%-10s  %-8s  %-16s  %-14s  %-12s  %-12s\n", "day", "sky", "density g/L", "pH at 25 °C", "coldest °C", "warmest °C")
	top := f.ReadyGPerL
	for _, d := range f.Days {
		top = max(top, d.DensityGPerL.High)
	}
	for _, d := range f.Days {
		ready := ""
		if d.Ready {
			ready = " *"
		}
		fmt.Fprintf(&b, "%-10s  %-8s  %.2f (%.2f–%.2f)%-2s %.1f (%.1f–%.1f)  %3.0f (%.0f–%.0f)   %3.0f (%.0f–%.0f)\n", d.Date, speak.T("sky."+d.Sky),
			d.DensityGPerL.Mid, d.DensityGPerL.Low, d.DensityGPerL.High, ready, d.PH25C.Mid, d.PH25C.Low, d.PH25C.High,
			d.TempMinC.Mid, d.TempMinC.Low, d.TempMinC.High, d.TempMaxC.Mid, d.TempMaxC.Low, d.TempMaxC.High)
	}
	fmt.Fprintf(&b, "\ndensity, 0 to %.2f g/L; = eight times in ten, O the middle, | ready at %.2f\n", top, f.ReadyGPerL)
	const width = 60
	for _, d := range f.Days {
		line := []rune(strings.Repeat(" ", width+1))
		at := func(x float64) int { return min(max(int(x/top*width+0.5), 0), width) }
		for i := at(d.DensityGPerL.Low); i <= at(d.DensityGPerL.High); i++ {
			line[i] = '='
		}
		line[at(f.ReadyGPerL)] = '|'
		line[at(d.DensityGPerL.Mid)] = 'O'
		fmt.Fprintf(&b, "%s %s\n", d.Date[5:], strings.TrimRight(string(line), " "))
	}
	if !f.Ready.Mid.IsZero() {
		fmt.Fprintf(&b, "\n* ready about %s", speak.Day(f.Ready.Mid))
		if !f.Ready.Early.IsZero() {
			fmt.Fprintf(&b, ", between %s and ", speak.Day(f.Ready.Early))
			if f.Ready.Late.IsZero() {
				fmt.Fprint(&b, "later than ten days")
			} else {
				fmt.Fprint(&b, speak.Day(f.Ready.Late))
			}
			fmt.Fprint(&b, ", eight times in ten")
		}
		fmt.Fprintln(&b, ".")
	}
	if len(f.Limits) > 0 {
		fmt.Fprint(&b, "\nwhat holds growth back today:")
		for _, l := range f.Limits {
			fmt.Fprintf(&b, "  %s %.0f %%", speak.T("limit."+l.Key), l.Share*100)
		}
		fmt.Fprintln(&b)
	}
	fmt.Fprintln(&b, "\nThe band is the model's, not a promise.")
	_, err := io.WriteString(w, b.String())
	return err
}
