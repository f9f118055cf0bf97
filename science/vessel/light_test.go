package vessel

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLightUnderNothingAndShade(t *testing.T) {
	o := smoothDay(11)
	st := DefaultSetting(Box, None)
	if b, d := st.Light(&o); !near(b, o.BeamPAR, 1e-9) || !near(d, o.DiffusePAR, 1e-9) {
		t.Errorf("open water sees %g + %g, the sky gives %g + %g", b, d, o.BeamPAR, o.DiffusePAR)
	}
	st.Shade = 0.4
	if b, d := st.Light(&o); !near(b, 0.6*o.BeamPAR, 1e-9) || !near(d, 0.6*o.DiffusePAR, 1e-9) {
		t.Errorf("40 %% shade leaves %g + %g of %g + %g", b, d, o.BeamPAR, o.DiffusePAR)
	}
	st = IndoorSetting(Bottle, 22, 50)
	if b, d := st.Light(&o); b != 0 || d != 0 {
		t.Errorf("light from above indoors: %g + %g", b, d)
	}
	if st.SideLight(&o) != 0 {
		t.Error("light in a room without a window")
	}
}

func TestLightNeverGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		st, _ := anySetting(t)
		o := anyOutside(t)
		b, d := st.Light(&o)
		if b < 0 || d < 0 || b > o.BeamPAR*(1+1e-12) || b+d > (o.BeamPAR+o.DiffusePAR)*(1+1e-12) {
			t.Fatalf("%g + %g under cover of %g + %g", b, d, o.BeamPAR, o.DiffusePAR)
		}
		if side := st.SideLight(&o); side < 0 || math.IsNaN(side) {
			t.Fatalf("side light %g", side)
		}
	})
}

// TestSheet holds the pass of a clear sheet to the optics of two surfaces.
func TestSheet(t *testing.T) {
	rows := []struct {
		angle, want, tol float64
		source           string
	}{
		{0, 1, 1e-4, "by definition"},
		{60, 0.907, 0.012, "two surfaces of index 1.526: 0.916 at 0°, 0.84 at 60° (Duffie & Beckman, fig. 5.1.3, from memory), with the polarisations averaged per surface here"},
		{90, 0, 1e-9, "grazing"},
	}
	for _, r := range rows {
		if got := sheet(math.Cos(r.angle * math.Pi / 180)); !near(got, r.want, r.tol) {
			t.Errorf("sheet at %g°: %g, want %g (%s)", r.angle, got, r.want, r.source)
		}
	}
	// Diffuse light: the mean over the hemisphere weighted with the cosine.
	var sum float64
	const n = 20000
	for i := range n {
		c := (float64(i) + 0.5) / n
		sum += 2 * c * sheet(c) / n
	}
	t.Logf("diffuse light passes at %.4f of square light", sum)
	if !near(sum, sheetDiffuse, 0.005) {
		t.Errorf("diffuse light passes at %.4f of square light, the constant says %g", sum, sheetDiffuse)
	}
}

// TestSideLight adds up the sun on an upright cylinder strip by strip.
func TestSideLight(t *testing.T) {
	st := DefaultSetting(Bottle, None)
	st.GroundAlbedo = 0
	o := smoothDay(9)
	o.BeamPAR, o.DiffusePAR = 700, 0
	normal := o.BeamPAR / o.CosZenith
	sinZ := math.Sqrt(1 - o.CosZenith*o.CosZenith)
	var mean float64
	const n = 3600
	for i := range n {
		mean += math.Max(0, normal*sinZ*math.Cos(2*math.Pi*float64(i)/n)) / n
	}
	if got := st.SideLight(&o); !near(got, mean, 1e-3*mean) {
		t.Errorf("beam on the wall all round: %g, strip by strip %g µmol/m²/s", got, mean)
	}
	o.BeamPAR, o.DiffusePAR = 0, 400
	if got := st.SideLight(&o); !near(got, 200, 1e-9) {
		t.Errorf("even sky of 400 on a wall: %g, want half (a wall sees half the sky)", got)
	}
	st.GroundAlbedo = 0.25
	if got := st.SideLight(&o); !near(got, 250, 1e-9) {
		t.Errorf("with ground of albedo 0.25: %g, want 200 + 0.25·400/2", got)
	}
	// A window to the south in the northern summer: nothing direct with the sun
	// in the north, most when it stands before the pane.
	st = IndoorSetting(Bottle, 22, 50)
	st.WindowTransmission, st.WindowView, st.WindowAzimuthDeg = 0.8, 1, 180
	o.BeamPAR, o.DiffusePAR = 700, 0
	st.GroundAlbedo = 0
	o.AzimuthDeg = 20
	if got := st.SideLight(&o); got != 0 {
		t.Errorf("sun behind the house gives %g", got)
	}
	o.AzimuthDeg = 180
	front := st.SideLight(&o)
	o.AzimuthDeg = 240
	if aside := st.SideLight(&o); !(front > aside && aside > 0) {
		t.Errorf("sun in front %g, at 60° aside %g", front, aside)
	}
	if full := 0.8 * mean; front > full {
		t.Errorf("window gives %g, more than %g out of doors through the same pane", front, full)
	}
}
