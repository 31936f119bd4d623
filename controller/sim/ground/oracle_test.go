package ground

import (
	"math"
	"slices"
	"strings"
	"testing"

	"loambank/config/unit"
)

// column is soil with no pipe to speak of, depthM deep and shut at the bottom: conduction in one
// dimension.
func column(t testing.TB, depthM, conductWmK, alpha, surfaceWm2K float64) *Store {
	p := lonely(0.008, depthM/2, 0.03, conductWmK, alpha)
	p.DepthM, p.SurfaceWm2K, p.Fineness = depthM, surfaceWm2K, 2
	s := newStore(t, p)
	s.Fill(level(0))
	clear(s.soil.baseWmK)
	return s
}

// run steps the surface against air of airC and radiation for hours.
func (s *Store) run(airC, coefficient, radiationWm2, hours, dtS float64) (surfaceJ float64) {
	d := Drive{Air: unit.Celsius(airC), SurfaceWm2K: coefficient, RadiationW: radiationWm2 * s.p.FloorM2()}
	for range int(math.Round(hours * 3600 / dtS)) {
		surfaceJ += s.Step(d, dtS).SurfaceJ
	}
	return surfaceJ
}

func (s *Store) depth(t testing.TB, depthM float64) float64 {
	t.Helper()
	pr, err := s.Probe(Spot{DepthM: depthM, BesideM: s.p.Pipes.SpacingM / 2})
	if err != nil {
		t.Fatal(err)
	}
	return float64(s.Read(pr))
}

const held = 1e6 // W/(m² K): so good a contact that the surface has the air's temperature

func TestHalfSpaceAnswersItsSurface(t *testing.T) {
	checked := 0
	for _, r := range sorted(table(t, "conduction_transient.csv")) {
		if !strings.HasPrefix(r.quantity, "semi-infinite") {
			continue
		}
		checked++
		k := r.in["k"]
		if k == 0 {
			k = 1
		}
		hours := r.in["t_h"]
		dtS := hours * 3600 / 800
		switch {
		case strings.Contains(r.quantity, "erfc"):
			s := column(t, 4, k, r.in["alpha_mm2_s"], held)
			s.run(1, held, 0, hours, dtS)
			r.near(t, s.depth(t, r.in["z_m"]), 3e-3)
		case strings.Contains(r.quantity, "heat per m2"):
			s := column(t, 4, k, r.in["alpha_mm2_s"], held)
			r.near(t, s.run(r.in["dT_K"], held, 0, hours, dtS)/s.p.FloorM2()/3.6e6, 5e-3*r.want(t))
		case strings.Contains(r.quantity, "flux k dT"):
			s := column(t, 4, k, r.in["alpha_mm2_s"], held)
			s.run(r.in["dT_K"], held, 0, hours-dtS/3600, dtS)
			last := s.run(r.in["dT_K"], held, 0, dtS/3600, dtS)
			r.near(t, last/dtS/s.p.FloorM2(), 1e-2*r.want(t))
		case strings.Contains(r.quantity, "constant surface flux"):
			s := column(t, 4, k, r.in["alpha_mm2_s"], 5)
			s.run(0, 0, r.in["q_W_m2"], hours, dtS)
			r.near(t, s.depth(t, r.in["z_m"]), 5e-3*r.want(t))
		case strings.Contains(r.quantity, "surface convection"):
			h := r.in["h_W_m2K"]
			s := column(t, 4, k, r.in["alpha_mm2_s"], 3) // another than usual
			s.run(1, h, 0, hours, dtS)
			r.near(t, s.depth(t, r.in["z_m"]), 3e-3)
		default:
			t.Errorf("%s: %s is not understood", r.id, r.quantity)
		}
	}
	if checked != 17 {
		t.Errorf("%d rows of a half space were checked, want 17", checked)
	}
}

func TestSlabAnswersBothFaces(t *testing.T) {
	checked := 0
	for _, r := range sorted(table(t, "conduction_transient.csv")) {
		if !strings.HasPrefix(r.quantity, "slab, ") {
			continue
		}
		checked++
		fo, at := r.in["Fo"], 1-r.in["x_over_L"]
		h := held
		if bi := r.in["Bi"]; bi > 0 {
			h = bi
		}
		// Half of it, 1 m thick and k = 1: then h = Bi, and α = 1 mm²/s makes a time of Fo 10⁶ s.
		s := column(t, 1, 1, 1, h)
		s.Fill(level(1))
		s.run(0, h, 0, fo*1e6/3600, 500)
		got := s.HeatJ() / (s.p.FloorM2() * 1e6)
		if _, ok := r.in["x_over_L"]; ok {
			got = s.depth(t, at)
		}
		r.near(t, got, 5e-3)
	}
	if checked != 15 {
		t.Errorf("%d rows of a slab were checked, want 15", checked)
	}
}

// The depth that frost reaches under a main: conduction_transient-S001 and S002.
func TestFrostReachesItsDepth(t *testing.T) {
	for _, c := range []struct {
		id              string
		soilC, surfaceC float64
	}{{"conduction_transient-S001", 20, -15}, {"conduction_transient-S002", 8, -8}} {
		r := table(t, "conduction_transient.csv")[c.id]
		s := column(t, 5, 1, r.in["alpha_mm2_s"], held)
		s.Fill(level(c.soilC))
		s.run(c.surfaceC, held, 0, 24*r.in["t_d"], 3600)
		low, high := 0.0, 2.0
		for range 40 {
			if mid := (low + high) / 2; s.depth(t, mid) < 0 {
				low = mid
			} else {
				high = mid
			}
		}
		r.near(t, low, 0.01)
	}
}

func TestLineAndCylinderRows(t *testing.T) {
	rows := sorted(table(t, "line_and_cylinder.csv"))
	checked := 0
	for _, r := range rows {
		q, k, a := r.in["q_W_m"], r.in["k"], r.in["alpha_mm2_s"]
		switch {
		case strings.HasPrefix(r.quantity, "infinite line"):
			// A thin pipe is as good as a line.
			p := lonely(0.01, 3, 2.5, k, a)
			p.Fineness = 2
			s := newStore(t, p)
			const steps = 600
			for range steps {
				s.soil.heat(q, 0, r.in["t_h"]*3600/steps)
			}
			pr := s.soil.probe(point{r.in["r_m"], 3})
			r.near(t, float64(s.Read(pr)), 0.015*r.want(t))
		case strings.HasPrefix(r.quantity, "infinite cylindrical"):
			// Radius 0.1 m, k = 1, α = 1 mm²/s: Fo is time over 10⁴ s, G is ΔT for 1 W/m.
			p := lonely(0.2, 10, 8, 1, 1)
			p.Fineness = 2
			s := newStore(t, p)
			fo := r.in["Fo"]
			const steps = 600
			for range steps {
				s.soil.heat(1, 0, fo*1e4/steps)
			}
			r.near(t, s.soil.wallC(0), 0.01*r.want(t))
		case strings.HasPrefix(r.quantity, "buried line"):
			p := lonely(2*r.in["r_m"], r.in["depth_m"], 4, k, a)
			p.DepthM = 8
			s := newStore(t, p)
			const steps = 600
			for range steps {
				s.soil.heat(q, 0, r.in["t_d"]*86400/steps)
			}
			// A cylinder's wall is up to 3 % warmer than a line source says for it.
			r.near(t, s.soil.wallC(0), 0.02*r.want(t))
		default:
			continue
		}
		checked++
	}
	if checked != 13 {
		t.Errorf("%d rows of lines and cylinders were checked, want 13", checked)
	}
}

func TestBuriedPipeLosesBySteadyShape(t *testing.T) {
	checked := 0
	for _, r := range sorted(table(t, "line_and_cylinder.csv")) {
		var p Params
		length, k, rise := r.in["L_m"], r.in["k"], r.in["dT_K"]
		if k == 0 {
			k = 1
		}
		if rise == 0 {
			rise = 1
		}
		switch {
		case strings.HasPrefix(r.quantity, "buried horizontal"), strings.HasPrefix(r.quantity, "buried cylinder"):
			p = lonely(r.in["D_m"], r.in["z_m"], 12*r.in["z_m"], k, 0.6)
			p.DepthM = 20 * r.in["z_m"]
		case strings.HasPrefix(r.quantity, "buried pipe heat loss"):
			p = lonely(r.in["D_m"], r.in["z_m"], 12*r.in["z_m"], k, 0.6)
			p.DepthM, rise = 20*r.in["z_m"], r.in["T_pipe_C"]-r.in["T_surface_C"]
		case strings.HasPrefix(r.quantity, "row of"):
			p, length = lonely(r.in["D_m"], r.in["z_m"], r.in["pitch_m"]/2, k, 0.6), 1
			p.DepthM = 10 * r.in["z_m"]
		default:
			continue
		}
		checked++
		p.Fineness = 2
		s := newStore(t, p)
		clear(s.soil.baseWmK)
		s.Fill(level(0))
		for range 50 { // a thousand years: steady
			s.soil.heat(1, 0, 20*365*86400)
		}
		got := length * rise / s.soil.wallC(0)
		if pitch := r.in["pitch_m"]; pitch > 0 {
			// The formula is for thin pipes. A wall that is warm all round in the mean gradient of
			// the sheet, 1/(2 pitch) per W, is a dipole too, and takes (πD/pitch)²/4 off its logarithm.
			got = 2 * math.Pi / (2*math.Pi/got + math.Pow(math.Pi*r.in["D_m"]/pitch, 2)/4)
		}
		r.near(t, got, 0.006*r.want(t))
	}
	if checked != 11 {
		t.Errorf("%d rows of shapes were checked, want 11", checked)
	}
}

// sorted puts rows in the order of their ids.
func sorted(rows map[string]row) []row {
	var all []row
	for _, r := range rows {
		all = append(all, r)
	}
	slices.SortFunc(all, func(a, b row) int { return strings.Compare(a.id, b.id) })
	return all
}
