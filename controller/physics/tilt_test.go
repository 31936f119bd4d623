package physics

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// hourly is Duffie and Beckman's worked hour, 9 to 10 on 20 February at 40° N, in MJ/m²: examples
// 2.15.1 and 2.16.1, 4th ed., from memory. Its sun is put where a level surface's ratio is theirs.
func hourly() (Surface, SkyLight) {
	// δ = −11.6°, ω = −37.5°.
	sinLat, cosLat := math.Sincos(40 * degree)
	sinDec, cosDec := math.Sincos(-11.6 * degree)
	sinHour, cosHour := math.Sincos(-37.5 * degree)
	up := sinLat*sinDec + cosLat*cosDec*cosHour
	elevation := math.Asin(up)
	azimuth := math.Atan2(-cosDec*sinHour, cosLat*sinDec-sinLat*cosDec*cosHour)
	return Surface{TiltDeg: 60, AzimuthDeg: 180}, SkyLight{
		ElevationDeg: elevation / degree, AzimuthDeg: azimuth / degree,
		DirectWm2: 0.244 / up, DiffuseWm2: 0.796, ExtraterrestrialWm2: 2.34 / up,
	}
}

func TestTheIsotropicHourOfTheTextbook(t *testing.T) {
	roof, light := hourly()
	o := roof.Isotropic(light, 0.60)
	near(t, "beam", 0, o.SunWm2, 0.417, 0.004)
	near(t, "sky", 0, o.SkyWm2, 0.597, 0.001)
	near(t, "ground", 0, o.GroundWm2, 0.156, 0.001)
	near(t, "total", 0, o.TotalWm2(), 1.17, 0.005)
}

func TestTheAnisotropicHourOfTheTextbook(t *testing.T) {
	roof, light := hourly()
	o := roof.HayDavies(light, 0.60)
	// (0.244 + 0.796 · 0.104) · 1.71 and 0.796 · (1 − 0.104) · 0.75, before its horizon term.
	near(t, "beam and around it", 0, o.SunWm2, 0.558, 0.006)
	near(t, "sky", 0, o.SkyWm2, 0.535, 0.002)
	near(t, "ground", 0, o.GroundWm2, 0.156, 0.001)
}

func TestTheAngleOfIncidenceOfTheTextbook(t *testing.T) {
	// Duffie and Beckman example 1.6.1, from memory: Madison, 43° N, 13 February, 10:30 solar time,
	// tilt 45°, 15° west of south: cosine 0.817, 35°.
	sinLat, cosLat := math.Sincos(43 * degree)
	sinDec, cosDec := math.Sincos(-14 * degree)
	sinHour, cosHour := math.Sincos(-22.5 * degree)
	elevation := math.Asin(sinLat*sinDec+cosLat*cosDec*cosHour) / degree
	azimuth := math.Atan2(-cosDec*sinHour, cosLat*sinDec-sinLat*cosDec*cosHour) / degree
	got := Surface{TiltDeg: 45, AzimuthDeg: 195}.CosIncidence(elevation, azimuth)
	near(t, "cosine of incidence", 0, got, 0.817, 0.001)
}

func TestLightOnSurfaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := SkyLight{
			ElevationDeg: rapid.Float64Range(-20, 90).Draw(t, "elevation"),
			AzimuthDeg:   rapid.Float64Range(0, 360).Draw(t, "azimuth"),
			DiffuseWm2:   rapid.Float64Range(0, 500).Draw(t, "diffuse"), ExtraterrestrialWm2: 1361,
		}
		if light.ElevationDeg > 0 {
			light.DirectWm2 = rapid.Float64Range(0, 1000).Draw(t, "direct")
		}
		albedo := rapid.Float64Range(0, 1).Draw(t, "albedo")
		s := Surface{rapid.Float64Range(0, 180).Draw(t, "tilt"), rapid.Float64Range(0, 360).Draw(t, "faces")}
		for name, o := range map[string]OnSurface{"isotropic": s.Isotropic(light, albedo), "Hay and Davies": s.HayDavies(light, albedo)} {
			if o.SunWm2 < 0 || o.SkyWm2 < 0 || o.GroundWm2 < -1e-9 || !(o.TotalWm2() < 14*2000) {
				t.Fatalf("%s: %+v", name, o)
			}
			if o.Cosine == 0 && o.SunWm2 != 0 {
				t.Fatalf("%s: sun from behind, %+v", name, o)
			}
		}
		// A level surface gets global light, however the sky is split, unless the sun is so low that
		// the split is cut.
		level := Surface{}
		if got := level.Isotropic(light, albedo).TotalWm2(); math.Abs(got-light.GlobalWm2()) > 1e-9*(1+got) {
			t.Fatalf("a level surface gets %g of %g", got, light.GlobalWm2())
		}
		if got := level.HayDavies(light, albedo).TotalWm2(); light.ElevationDeg > 5 && math.Abs(got-light.GlobalWm2()) > 1e-9*(1+got) {
			t.Fatalf("a level surface gets %g of %g", got, light.GlobalWm2())
		}
		if light.ElevationDeg > 2 {
			if got := DirectFromGlobal(light.GlobalWm2(), light.DiffuseWm2, light.ElevationDeg); math.Abs(got-light.DirectWm2) > 1e-6 {
				t.Fatalf("direct light %g came back as %g", light.DirectWm2, got)
			}
		}
	})
}

func TestALowSunTellsNoDirectLight(t *testing.T) {
	if got := DirectFromGlobal(30, 20, 1.9); got != 0 {
		t.Errorf("at 1.9° it is %g W/m²", got)
	}
	if got := DirectFromGlobal(20, 30, 40); got != 0 {
		t.Errorf("more diffuse than global light leaves %g W/m²", got)
	}
}

func TestTwoSheetsOfGlassOfTheTextbook(t *testing.T) {
	// Duffie and Beckman, example 5.1.2, from memory: no absorption, index 1.526: 0.85 straight on,
	// 0.76 at 60°; and one sheet straight on mirrors (0.526/2.526)² = 0.0434 at each face.
	glass := Glazing{Sheets: 2, Index: 1.526}
	near(t, "straight on", 0, glass.Direct(1), 0.85, 0.005)
	near(t, "at 60°", 0, glass.Direct(0.5), 0.76, 0.005)
	near(t, "one sheet", 0, Glazing{Sheets: 1, Index: 1.526}.Direct(1), (1-0.0434)/(1+0.0434), 1e-4)
	// Example 5.3.1, from memory: 3.2 mm of glass, K L = 0.0370 along the normal, at 60°: 0.80.
	dull := Glazing{Sheets: 1, Index: 1.526, Kept: -math.Expm1(-0.0370)}
	near(t, "one dull sheet at 60°", 0, dull.Direct(0.5), 0.803, 0.01)
	// Diffuse light counts as if it came at 59.7 − 0.1388 β + 0.001497 β² degrees, 60° when level.
	near(t, "diffuse", 0, glass.Diffuse(), glass.Direct(0.5), 0.02)
	// The same integral in plain steps of the angle: light falls as cos θ sin θ.
	sum := 0.0
	const steps = 20000
	for i := range steps {
		sin, cos := math.Sincos((float64(i) + 0.5) / steps * math.Pi / 2)
		sum += 2 * glass.Direct(cos) * sin * cos * math.Pi / 2 / steps
	}
	near(t, "diffuse by angle", 0, glass.Diffuse(), sum, 1e-3)
}

func TestLightThroughSheets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := Glazing{
			Sheets: rapid.IntRange(1, 3).Draw(t, "sheets"), Index: rapid.Float64Range(1, 1.7).Draw(t, "index"),
			Kept: rapid.Float64Range(0, 0.5).Draw(t, "kept"), Shaded: rapid.Float64Range(0, 0.5).Draw(t, "shaded"),
		}
		thicker := g
		thicker.Sheets++
		cosine := rapid.Float64Range(0.001, 1).Draw(t, "cosine")
		through := g.Direct(cosine)
		if !(through >= 0 && through <= 1-g.Shaded+1e-12) || thicker.Direct(cosine) > through+1e-12 {
			t.Fatalf("%+v lets %g through, one sheet more %g", g, through, thicker.Direct(cosine))
		}
		if d := g.Diffuse(); !(d >= 0 && d <= g.Direct(1)+0.02) {
			t.Fatalf("%+v lets %g of diffuse light through and %g of straight", g, d, g.Direct(1))
		}
	})
	if got := (Glazing{}).Direct(0.3); got != 1 {
		t.Errorf("an open hole lets %g through", got)
	}
	near(t, "half shaded hole", 0, Glazing{Shaded: 0.5}.Diffuse(), 0.5, 0.01)
	if got := ClearFilm(1).Direct(-0.2); got != 0 {
		t.Errorf("light from behind comes through by %g", got)
	}
}

// panelKWh returns what a kW of panels on the tilt, facing south, yields each month of a typical year
// by the reference's own simple model of them: a cell 27 K warmer than the air in 800 W/m², 0.47 %
// less for each K over 25 °C, 14 % lost, 4 % in the inverter.
func panelKWh(t *testing.T, file string, tiltDeg float64, sky func(Surface, SkyLight, float64) OnSurface) (months [13]float64) {
	t.Helper()
	place := map[string][3]float64{ // latitude, longitude, hours of its clock; the file's header
		"USA_CO_Golden-NREL.724666_TMY3.epw":        {39.74, -105.18, -7},
		"USA_VT_Burlington.Intl.AP.726170_TMY3.epw": {44.47, -73.15, -5},
	}[file]
	for _, f := range epw(t, file+".gz") {
		month, day, hour := number(t, f[1]), number(t, f[2]), number(t, f[3])
		midnight := time.Date(2025, time.Month(month), int(day), 0, 0, 0, 0, time.UTC)
		unixS := float64(midnight.Unix()) + (hour-0.5-place[2])*3600
		elevation, azimuth := SunPosition(unixS, place[0], place[1])
		light := SkyLight{elevation, azimuth, number(t, f[14]), number(t, f[15]), SunAt(unixS).ExtraterrestrialWm2()}
		on := sky(Surface{tiltDeg, 180}, light, 0.2).TotalWm2()
		cell := number(t, f[6]) + 27*on/800
		months[int(month)] += on / 1000 * (1 - 0.0047*(cell-25)) * 0.86 * 0.96
	}
	return months
}

// Rows money_and_pv-S066 to S077 and S080 to S091.
func TestAYearsLightOnTiltedPanels(t *testing.T) {
	type sums struct{ isotropic, hayDavies [13]float64 }
	years := map[string]sums{}
	checked := 0
	for _, r := range table(t, "money_and_pv.csv") {
		file := r.text["file"]
		if _, monthly := r.in["month"]; !monthly || !strings.HasPrefix(file, "USA_") {
			continue
		}
		year, done := years[file]
		if !done {
			year = sums{panelKWh(t, file, r.in["tilt"], Surface.Isotropic), panelKWh(t, file, r.in["tilt"], Surface.HayDavies)}
			years[file] = year
		}
		checked++
		month := int(r.in["month"])
		r.check(t, year.hayDavies[month])
		r.tolerance = "rel 0.02" // tighter than the row's own, whose sky is the isotropic one
		r.check(t, year.isotropic[month])
		if more := year.hayDavies[month] / year.isotropic[month]; month == 12 && !(more > 1.005 && more < 1.15) {
			t.Errorf("%s: a bright sky round the sun gives %.3f times the light", r.id, more)
		}
	}
	if checked != 24 {
		t.Errorf("checked %d months", checked)
	}
}
