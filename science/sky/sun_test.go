package sky

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The example that the report prints, with its own pressure, temperature and ΔT.
func TestPrintedSunExample(t *testing.T) {
	const src = "Reda & Andreas 2008, NREL/TP-560-34302, table A5.1"
	at := time.Date(2003, 10, 17, 12, 30, 30, 0, time.FixedZone("", -7*3600))
	site := Site{LatDeg: 39.742476, LonDeg: -105.1786, ElevationM: 1830.14}
	s := PositionIn(at, site, Conditions{PressureKPa: 82, TempC: 11, DeltaTS: 67})
	// half of the last printed digit
	check(t, "apparent zenith", 90-s.ApparentElevationDeg, 50.11162, 0.6e-5, src)
	check(t, "azimuth", s.AzimuthDeg, 194.34024, 0.6e-5, src)
	check(t, "zenith", s.ZenithDeg, 50.127954, 1e-6, "pvlib-python v0.15, same inputs")
	check(t, "Julian day", julianDay(at), 2452930.312847, 1e-6, src)
	g := geocentricAt(julianDay(at), 67)
	check(t, "distance", g.distanceAU, 0.9965422974, 1e-9, src)
	check(t, "right ascension", g.alphaDeg, 202.22741, 0.6e-5, src)
	check(t, "declination", g.deltaDeg, -9.31434, 0.6e-5, src)
	check(t, "hour angle", turn(g.siderealDeg(julianDay(at))+site.LonDeg-g.alphaDeg), 11.105900, 2e-5, src)
}

func TestSunTable(t *testing.T) {
	w := worst{}
	for _, r := range table(t, "sun.csv") {
		n := func(c string) float64 { return r.num(t, c) }
		src := r["id"] + ", " + r["source"]
		site := Site{LatDeg: n("lat_deg"), LonDeg: n("lon_deg"), ElevationM: n("elevation_m")}
		at := r.time(t, "time_utc")
		s := PositionIn(at, site, Conditions{PressureKPa: n("pressure_pa") / 1000, TempC: 12, DeltaTS: 67})
		w.check(t, "zenith °", s.ZenithDeg, n("zenith_deg"), 5e-6, src)
		w.check(t, "azimuth °", s.AzimuthDeg, n("azimuth_deg"), 5e-5, src)
		w.check(t, "apparent zenith °", 90-s.ApparentElevationDeg, n("apparent_zenith_deg"), 5e-6, src)
		w.check(t, "equation of time min", s.EquationOfTimeMin, n("equation_of_time_min"), 1e-4, src)
		w.check(t, "distance AU", s.DistanceAU, n("distance_au"), 1e-8, src)
		w.check(t, "extraterrestrial W/m²", s.ExtraterrestrialWM2, n("extra_wm2"), 1e-3, src)
		w.check(t, "extraterrestrial by Spencer W/m²", ExtraterrestrialSpencer(at.YearDay(), SolarConstant), n("extra_spencer_wm2"), 1e-3, src)

		// the same with what a grower gives: no pressure, no ΔT
		d := Position(at, site)
		w.check(t, "zenith by default °", d.ZenithDeg, n("zenith_deg"), 5e-4, src)
		w.check(t, "azimuth by default °", d.AzimuthDeg, n("azimuth_deg"), 5e-4, src)
		w.check(t, "apparent zenith by default °", 90-d.ApparentElevationDeg, n("apparent_zenith_deg"), 5e-4, src)

		if r["airmass_relative"] != "" {
			w.check(t, "air mass", AirMass(s.ApparentElevationDeg), n("airmass_relative"), 1e-5*n("airmass_relative"), src)
		}
		if r["ghi"] == "" {
			continue
		}
		c := ClearSky(d, site.ElevationM, n("linke"))
		w.check(t, "clear GHI W/m²", c.GHIWM2, n("ghi"), 0.02, src)
		w.check(t, "clear DNI W/m²", c.DNIWM2, n("dni"), 0.05, src)
		w.check(t, "clear DHI W/m²", c.DHIWM2, n("dhi"), 0.02, src)
		w.check(t, "Haurwitz W/m²", Haurwitz(s.ApparentElevationDeg), n("haurwitz"), 1e-3, src)
		if r["erbs_ghi"] != "" {
			cosZ := cosDeg(n("zenith_deg"))
			k := n("erbs_ghi") / (ExtraterrestrialSpencer(at.YearDay(), 1366.1) * math.Max(cosZ, 0.065))
			w.check(t, "clearness", k, n("erbs_kt"), 1e-6, src)
			dhi := n("erbs_ghi") * DiffuseFraction(k)
			w.check(t, "Erbs DHI W/m²", dhi, n("erbs_dhi"), 1e-3, src)
			w.check(t, "Erbs DNI W/m²", (n("erbs_ghi")-dhi)/cosZ, n("erbs_dni"), 2e-3, src)
		}
		if r["tilt_deg"] != "" {
			p := Plane{TiltDeg: n("tilt_deg"), AzimuthDeg: n("plane_azimuth_deg"), Albedo: n("albedo")}
			got := p.On(s, Clear{GHIWM2: n("ghi"), DNIWM2: n("dni"), DHIWM2: n("dhi")})
			w.check(t, "incidence °", got.IncidenceDeg, n("incidence_deg"), 1e-5, src)
			w.check(t, "beam on the plane W/m²", got.BeamWM2, n("plane_beam"), 1e-3, src)
			w.check(t, "sky on the plane W/m²", got.SkyWM2, n("plane_sky"), 1e-3, src)
			w.check(t, "ground on the plane W/m²", got.GroundWM2, n("plane_ground"), 1e-3, src)
		}
	}
	for what, d := range w {
		t.Logf("worst %s: %.2g", what, d)
	}
}

func TestPrintedLightValues(t *testing.T) {
	const kasten = "Kasten & Young 1989, by hand from the formula"
	const erbs = "Erbs et al. 1982, by hand from the formula"
	const haur = "Haurwitz 1945, by hand from the formula"
	const kc = "Kasten & Czeplak 1980, by hand from eq. 3"
	for _, r := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		{"air mass at 60°", AirMass(30), 1.9943, 6e-5, kasten},
		{"air mass at 85°", AirMass(5), 10.306, 6e-4, kasten},
		{"Haurwitz overhead", Haurwitz(90), 1035.1, 0.06, haur},
		{"Haurwitz at 60°", Haurwitz(30), 487.9, 0.06, haur},
		{"diffuse at 0.1", DiffuseFraction(0.1), 0.991, 1e-9, erbs},
		{"diffuse at 0.5", DiffuseFraction(0.5), 0.6592, 6e-5, erbs},
		{"diffuse at 0.7", DiffuseFraction(0.7), 0.2440, 6e-5, erbs},
		{"diffuse at 0.9", DiffuseFraction(0.9), 0.165, 1e-9, erbs},
		{"overcast", CloudFactor(8), 0.25, 1e-12, kc},
		{"clear", CloudFactor(0), 1, 1e-12, kc},
		{"half covered", CloudFactor(4), 0.92896, 1e-4, kc},
		{"PAR of 1000 W/m²", PAR(1000, DefaultPARShare), 2056.5, 0.05, "McCree 1972: 1000 · 0.45 · 4.57"},
		{"ΔT in 2000", DeltaT(2000), 63.83, 0.1, "IERS: 63.83 s at 2000.0"},
		{"ΔT in 1975", DeltaT(1975), 45.48, 0.1, "IERS: 45.48 s at 1975.0"},
		{"ΔT in 1950", DeltaT(1950), 29.15, 0.15, "IERS: 29.15 s at 1950.0, from memory"},
	} {
		check(t, r.what, r.got, r.want, r.tol, r.source)
	}
	if m := AirMass(-1); !math.IsNaN(m) {
		t.Errorf("air mass below the horizon = %v, want NaN", m)
	}
}

func TestDays(t *testing.T) {
	w := worst{}
	for _, r := range table(t, "days.csv") {
		n := func(c string) float64 { return r.num(t, c) }
		src := r["id"] + ", " + r["source"]
		site := Site{LatDeg: n("lat"), LonDeg: n("lon"), ElevationM: n("elevation_m")}
		date, err := time.Parse(time.DateOnly, r["date"])
		if err != nil {
			t.Fatal(err)
		}
		d := DayAt(date, site)
		w.check(t, "transit s", d.Transit.Sub(r.time(t, "spa_transit_utc")).Seconds(), 0, 1.5, src)
		if r["spa_sunrise_utc"] == "" {
			if d.Polar != PolarNight || !d.Rise.IsZero() || !d.Set.IsZero() || d.LengthH > 0 {
				t.Errorf("%s: %+v, want a polar night", src, d)
			}
		} else {
			// the report interpolates once, we go to the root: seconds at 79° S
			tol := 1.5
			if math.Abs(site.LatDeg) > 70 {
				tol = 4
			}
			rise, want := d.Rise, r.time(t, "spa_sunrise_utc")
			if want.UTC().Day() != date.Day() {
				// The report works within one day of universal time. A sunrise on the
				// date before is, there, the next one less 24 hours.
				rise = DayAt(date.AddDate(0, 0, 1), site).Rise.Add(-24 * time.Hour)
			}
			w.check(t, "sunrise s", rise.Sub(want).Seconds(), 0, tol, src)
			w.check(t, "sunset s", d.Set.Sub(r.time(t, "spa_sunset_utc")).Seconds(), 0, tol, src)
			w.check(t, "length h", d.LengthH, d.Set.Sub(d.Rise).Hours(), 1e-6, "rise to set")
		}

		// sums over the day at one-minute midpoints
		var extra, clear, diffuse, haurwitz float64
		lowest := 180.0
		start := r.time(t, "window_start_utc")
		for i := range 1440 {
			s := Position(start.Add(time.Duration(i)*time.Minute+30*time.Second), site)
			c := ClearSky(s, site.ElevationM, 3)
			extra += s.ExtraterrestrialWM2 * math.Max(0, cosDeg(s.ZenithDeg)) * 60e-6
			clear += c.GHIWM2 * 60e-6
			diffuse += c.DHIWM2 * 60e-6
			haurwitz += Haurwitz(s.ApparentElevationDeg) * 60e-6
			lowest = math.Min(lowest, s.ZenithDeg)
		}
		w.check(t, "extraterrestrial MJ/m²", extra, n("extraterrestrial_mj_m2"), 1e-4, src)
		w.check(t, "clear GHI MJ/m²", clear, n("ineichen_tl3_ghi_mj_m2"), 1e-4, src)
		w.check(t, "clear DHI MJ/m²", diffuse, n("ineichen_tl3_dhi_mj_m2"), 1e-4, src)
		w.check(t, "Haurwitz MJ/m²", haurwitz, n("haurwitz_ghi_mj_m2"), 1e-4, src)
		w.check(t, "noon zenith °", lowest, n("noon_zenith_min"), 1e-4, src)
	}
	for what, d := range w {
		t.Logf("worst %s: %.2g", what, d)
	}
}

// The sun of the poles, the date line and the southern hemisphere.
func TestFarPlaces(t *testing.T) {
	june := time.Date(2026, 6, 21, 0, 0, 0, 0, time.UTC)
	if d := DayAt(june, Site{LatDeg: 90}); d.Polar != PolarDay || d.LengthH < 23.99 {
		t.Errorf("north pole in June: %+v, want a polar day", d)
	}
	if d := DayAt(june, Site{LatDeg: -90}); d.Polar != PolarNight || d.LengthH > 0 {
		t.Errorf("south pole in June: %+v, want a polar night", d)
	}
	// At the pole the height of the sun is its declination, whatever the hour.
	s := Position(june.Add(7*time.Hour), Site{LatDeg: 90})
	check(t, "height at the pole", 90-s.ZenithDeg, s.DeclinationDeg, 1e-3, "geometry")
	check(t, "solstice declination", s.DeclinationDeg, 23.44, 0.01, "obliquity of the ecliptic, 23.44° (IAU)")

	// The sun rises once in half a year at the pole: before the March equinox,
	// by refraction, and then does not set.
	rises, sets := 0, 0
	for i := range 365 {
		d := DayAt(june.AddDate(0, 0, i), Site{LatDeg: 90})
		if !d.Rise.IsZero() {
			rises++
		}
		if !d.Set.IsZero() {
			sets++
		}
	}
	if rises < 1 || rises > 2 || sets < 1 || sets > 2 {
		t.Errorf("the pole sees %d sunrises and %d sunsets a year, want one or two", rises, sets)
	}

	// The two sides of the date line are one place.
	at := time.Date(2026, 3, 3, 22, 0, 0, 0, time.UTC)
	a, b := Position(at, Site{LatDeg: -17, LonDeg: 180}), Position(at, Site{LatDeg: -17, LonDeg: -180})
	check(t, "zenith at the date line", a.ZenithDeg, b.ZenithDeg, 1e-9, "180° E is 180° W")
	check(t, "azimuth at the date line", a.AzimuthDeg, b.AzimuthDeg, 1e-9, "180° E is 180° W")

	// Noon sun: north of the southern grower in December, south of the northern one in June.
	south := DayAt(time.Date(2026, 12, 21, 0, 0, 0, 0, time.UTC), Site{LatDeg: -35, LonDeg: 20})
	p := Position(south.Transit, Site{LatDeg: -35, LonDeg: 20})
	if az := halfTurn(p.AzimuthDeg); math.Abs(az) > 0.1 {
		t.Errorf("southern noon sun stands at azimuth %v, want north", az)
	}
	if south.LengthH < 14 {
		t.Errorf("southern December day lasts %v h, want more than 14", south.LengthH)
	}

	// 1950 to 2100: the December solstice stays within a day of the 21st.
	for year := 1950; year <= 2100; year += 10 {
		s := Position(time.Date(year, 12, 21, 18, 0, 0, 0, time.UTC), Site{})
		check(t, "declination on 21 December", s.DeclinationDeg, -23.44, 0.02, "obliquity of the ecliptic (IAU)")
	}
}

func TestSunProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		site := Site{
			LatDeg:     rapid.Float64Range(-90, 90).Draw(rt, "lat"),
			LonDeg:     rapid.Float64Range(-180, 180).Draw(rt, "lon"),
			ElevationM: rapid.Float64Range(0, 4000).Draw(rt, "elevation"),
		}
		// 1950 to 2100
		at := time.Unix(rapid.Int64Range(-631152000, 4102444800).Draw(rt, "time"), 0)
		s := Position(at, site)
		if !(s.ZenithDeg >= 0 && s.ZenithDeg <= 180 && s.AzimuthDeg >= 0 && s.AzimuthDeg <= 360) {
			rt.Fatalf("angles out of range: %+v", s)
		}
		if !(s.DistanceAU > 0.983 && s.DistanceAU < 1.0171) {
			rt.Fatalf("distance %v AU", s.DistanceAU)
		}
		// The interpolated sun is the true one.
		var e ephemeris
		jd := julianDay(at)
		dt := DeltaT(decimalYear(at))
		e.start(jd, dt)
		g := e.at(jd)
		q := g.observe(jd, newObserver(site), DefaultConditions(at, site))
		if math.Abs(q.ZenithDeg-s.ZenithDeg) > 5e-5 {
			rt.Fatalf("interpolated zenith %v, exact %v", q.ZenithDeg, s.ZenithDeg)
		}
		// Clear sky: closes, is never above the air, none when down, less when turbid.
		tl := rapid.Float64Range(1, 7).Draw(rt, "linke")
		c := ClearSky(s, site.ElevationM, tl)
		cosZ := s.CosZenith()
		if math.Abs(c.DHIWM2+c.DNIWM2*cosZ-c.GHIWM2) > 1e-9 || c.DHIWM2 < 0 || c.DNIWM2 < 0 {
			rt.Fatalf("clear sky does not close: %+v", c)
		}
		if c.GHIWM2 > s.ExtraterrestrialWM2*cosZ*1.08 {
			rt.Fatalf("clear sky %+v above the extraterrestrial %v", c, s.ExtraterrestrialWM2*cosZ)
		}
		if s.ApparentElevationDeg <= 0 && c != (Clear{}) {
			rt.Fatalf("light from a sun that is down: %+v", c)
		}
		if c.GHIWM2 > 0 && ClearSky(s, site.ElevationM, tl+0.5).GHIWM2 >= c.GHIWM2 {
			rt.Fatalf("more haze gives more light")
		}
		// A day: the sun is up between rise and set.
		d := DayAt(at, site)
		if d.LengthH < 0 || d.LengthH > 24.01 {
			rt.Fatalf("day of %v h", d.LengthH)
		}
		if !d.Rise.IsZero() && !d.Set.IsZero() && d.Set.After(d.Rise) && d.LengthH > 0.5 {
			mid := Position(d.Rise.Add(d.Set.Sub(d.Rise)/2), site)
			if mid.ZenithDeg > 90.9 {
				rt.Fatalf("the sun is down in the middle of its day: %+v %+v", d, mid)
			}
			up := Position(d.Rise, site)
			if math.Abs(up.ZenithDeg-90.8333) > 0.01 { // parallax 0.0024°
				rt.Fatalf("zenith at sunrise %v", up.ZenithDeg)
			}
		}
	})
}

func TestLightShares(t *testing.T) {
	// Erbs's pieces meet, and clouds only darken.
	check(t, "joint at 0.22", DiffuseFraction(0.22), DiffuseFraction(0.2200001), 0.002, "Erbs et al. 1982: pieces meet within 0.002")
	check(t, "joint at 0.80", DiffuseFraction(0.80), DiffuseFraction(0.8000001), 0.002, "Erbs et al. 1982")
	check(t, "no light", DiffuseFraction(-0.1), 1, 0, "all diffuse")
	for n := 0.0; n < 9; n += 0.1 {
		if CloudFactor(n+0.1) >= CloudFactor(n) {
			t.Errorf("more cloud than %.1f okta lets more light through", n)
		}
	}
	last := 2.0
	for _, l := range []Look{LookClear, LookHazy, LookBroken, LookOvercast, LookDarkRain} {
		mid, lo, hi, ok := l.Factor()
		if !ok || !(lo < mid && mid < hi && mid < last) {
			t.Errorf("%q: %v within %v to %v after %v", l, mid, lo, hi, last)
		}
		last = mid
	}
	mid, lo, hi, _ := LookDarkRain.Factor()
	check(t, "dark rain", mid, 0.11, 1e-9, "common practice, no source: 8 to 15 %")
	check(t, "dark rain low", lo, 0.08, 1e-9, "common practice, no source")
	check(t, "dark rain high", hi, 0.15, 1e-9, "common practice, no source")
	if _, _, _, ok := Look("purple").Factor(); ok {
		t.Error("an unknown word has a factor")
	}
	// A flat plane receives what the horizontal does.
	s := Position(time.Date(2026, 4, 1, 11, 0, 0, 0, time.UTC), Site{LatDeg: 40})
	c := ClearSky(s, 0, 3)
	flat := Plane{Albedo: 0.3}.On(s, c)
	check(t, "flat plane", flat.GlobalWM2(), c.GHIWM2, 1e-9, "identity")
}

// A wall facing the last of the sun, half a degree high: cos z held at 89°.
func TestPlaneAtSunset(t *testing.T) {
	s := Sun{ApparentElevationDeg: 0.5, AzimuthDeg: 270, ExtraterrestrialWM2: 1361.1}
	got := Plane{TiltDeg: 90, AzimuthDeg: 270}.On(s, Clear{GHIWM2: 10, DNIWM2: 100, DHIWM2: 9})
	a := 100 / 1361.1
	check(t, "sky on the wall", got.SkyWM2, 9*(a*math.Cos(0.5*math.Pi/180)/0.01745+(1-a)/2), 1e-6, "Hay & Davies 1980, by hand")
	below := Plane{TiltDeg: 90, AzimuthDeg: 270}.On(Sun{ApparentElevationDeg: -1, AzimuthDeg: 270}, Clear{DHIWM2: 9})
	check(t, "beam from below", below.BeamWM2, 0, 0, "the sun is down")
	check(t, "half the sky", below.SkyWM2, 4.5, 1e-9, "a wall sees half of it")
}

func TestSiteCheck(t *testing.T) {
	if err := (Site{LatDeg: -35.2, LonDeg: 149.1, ElevationM: 580}).Check(); err != nil {
		t.Error(err)
	}
	for field, s := range map[string]Site{
		"lat_deg":     {LatDeg: 97},
		"lon_deg":     {LonDeg: math.NaN()},
		"elevation_m": {ElevationM: 1e5},
	} {
		e, ok := s.Check().(*InputError)
		if !ok || e.Field != field || e.Error() == "" {
			t.Errorf("%+v: %v, want an error about %s", s, e, field)
		}
	}
}

func BenchmarkPosition(b *testing.B) {
	at := time.Date(2026, 6, 21, 9, 0, 0, 0, time.UTC)
	site := Site{LatDeg: 40, LonDeg: 5, ElevationM: 200}
	b.ReportAllocs()
	for b.Loop() {
		Position(at, site)
	}
}

func BenchmarkClearSky(b *testing.B) {
	at := time.Date(2026, 6, 21, 9, 0, 0, 0, time.UTC)
	site := Site{LatDeg: 40, LonDeg: 5, ElevationM: 200}
	s := Position(at, site)
	b.ReportAllocs()
	for b.Loop() {
		ClearSky(s, site.ElevationM, 3)
	}
}

func BenchmarkDayAt(b *testing.B) {
	at := time.Date(2026, 6, 21, 9, 0, 0, 0, time.UTC)
	site := Site{LatDeg: 40, LonDeg: 5, ElevationM: 200}
	b.ReportAllocs()
	for b.Loop() {
		DayAt(at, site)
	}
}
