package physics

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Rows conduction_transient-S001 to S036.
func TestConductionAgreesWithTheReferenceTable(t *testing.T) {
	walk(t, "conduction_transient.csv", func(r *row) []float64 {
		k, alpha, z := r.in["k"], r.in["alpha_mm2_s"]/1e6, r.in["z_m"]
		timeS := r.in["t_h"]*3600 + r.in["t_d"]*dayS
		fourier := r.in["Fo"]
		half, stepped := strings.CutPrefix(r.quantity, "semi-infinite solid, ")
		switch {
		case strings.HasPrefix(r.quantity, "water-main depth"):
			// Where soil of 20 °C under −15 °C, or of 8 under −8, has fallen to 0 °C.
			left := 20.0 / 35
			if strings.Contains(r.quantity, "soil 8 C") {
				left = 8.0 / 16
			}
			depthM := 0.0
			for HalfSpaceStep(alpha, depthM, timeS) > left {
				depthM += 1e-4
			}
			return []float64{depthM}
		case stepped && strings.HasPrefix(half, "surface step: (T"):
			return []float64{HalfSpaceStep(alpha, z, timeS)}
		case stepped && strings.HasPrefix(half, "surface step: flux"):
			return []float64{HalfSpaceFluxWm2(k, alpha, r.in["dT_K"], timeS)}
		case stepped && strings.HasPrefix(half, "surface step: heat"):
			return []float64{HalfSpaceHeatJm2(k, alpha, r.in["dT_K"], timeS) / 3.6e6}
		case stepped && strings.HasPrefix(half, "constant surface flux"):
			return []float64{HalfSpaceHeatedK(k, alpha, r.in["q_W_m2"], z, timeS)}
		case stepped && strings.HasPrefix(half, "surface convection"):
			return []float64{HalfSpaceFilm(k, alpha, r.in["h_W_m2K"], z, timeS)}
		case strings.HasPrefix(r.quantity, "slab, both faces stepped to"):
			return []float64{SlabStep(fourier, r.in["x_over_L"])}
		case strings.HasPrefix(r.quantity, "slab, both faces stepped: mean"):
			return []float64{SlabStepMean(fourier)}
		case strings.HasPrefix(r.quantity, "slab, convection"):
			return []float64{SlabFilm(r.in["Bi"], fourier, r.in["x_over_L"])}
		case strings.HasPrefix(r.quantity, "slab one-term"):
			zeta, weight := SlabFirstTerm(r.in["Bi"])
			return []float64{zeta, weight}
		}
		return nil
	}, nil)
}

// Rows line_and_cylinder-S001 to S029.
func TestSourcesAgreeWithTheReferenceTable(t *testing.T) {
	walk(t, "line_and_cylinder.csv", func(r *row) []float64 {
		q, k, alpha, radius := r.in["q_W_m"], r.in["k"], r.in["alpha_mm2_s"]/1e6, r.in["r_m"]
		timeS := r.in["t_h"]*3600 + r.in["t_d"]*dayS
		shape := BuriedPipeM(r.in["D_m"], r.in["z_m"], r.in["L_m"])
		switch what, _, _ := strings.Cut(r.quantity, " q/(4"); {
		case what == "infinite line source temperature rise":
			return []float64{LineSourceK(q, k, alpha, radius, timeS)}
		case strings.HasPrefix(what, "finite line source"):
			return []float64{ShortLineSourceK(q, k, alpha, radius, r.in["x_m"], r.in["L_m"], timeS)}
		case strings.HasPrefix(what, "buried line source"):
			return []float64{BuriedLineSourceK(q, k, alpha, radius, r.in["depth_m"], timeS)}
		case strings.HasPrefix(what, "buried horizontal cylinder"):
			return []float64{shape}
		case strings.HasPrefix(what, "buried cylinder steady"):
			return []float64{shape * k * r.in["dT_K"]}
		case strings.HasPrefix(what, "buried pipe heat loss"):
			return []float64{shape * k * (r.in["T_pipe_C"] - r.in["T_surface_C"])}
		case strings.HasPrefix(what, "row of equally spaced"):
			return []float64{BuriedRow(r.in["D_m"], r.in["pitch_m"], r.in["z_m"])}
		case strings.HasPrefix(what, "radial soil annulus"):
			return []float64{AnnulusKmW(r.in["r1_m"], r.in["r2_m"], k)}
		case strings.HasPrefix(what, "infinite cylindrical source"):
			return []float64{CylinderSource(r.in["Fo"])}
		}
		return nil
	}, nil)
}

func TestExponentialIntegralOfTheHandbook(t *testing.T) {
	// Abramowitz and Stegun 1964, table 5.1.
	for x, want := range map[float64]float64{0.01: 4.037929577, 0.5: 0.559773595, 1: 0.219383934, 2: 0.048900511, 10: 4.156968930e-6} {
		near(t, "E1", x, ExpIntegral(x), want, 1e-8*want)
	}
	near(t, "where both ways meet", 1, ExpIntegral(1), ExpIntegral(1+1e-12), 1e-11)
	if got := ExpIntegral(0); !math.IsInf(got, 1) {
		t.Errorf("at 0 it is %g", got)
	}
	if got := ExpIntegral(1e9); got != 0 {
		t.Errorf("far out it is %g", got)
	}
}

func TestHeatThroughTheSurfaceIsHeatInTheGround(t *testing.T) {
	// What has flowed in is the integral of the rise over depth times heat capacity.
	const k, alpha, stepK, timeS = 1.4, 0.6e-6, 8.0, 12 * 3600.0
	inGround, heated := 0.0, 0.0
	const dz = 1e-3
	for z := dz / 2; z < 3; z += dz {
		inGround += k / alpha * stepK * HalfSpaceStep(alpha, z, timeS) * dz
		heated += k / alpha * HalfSpaceHeatedK(k, alpha, 30, z, timeS) * dz
	}
	near(t, "step", 0, inGround, HalfSpaceHeatJm2(k, alpha, stepK, timeS), 1e-4*inGround)
	near(t, "flux", 0, heated, 30*timeS, 1e-4*heated)
	// The flux is the heat's slope.
	slope := (HalfSpaceHeatJm2(k, alpha, stepK, timeS+1) - HalfSpaceHeatJm2(k, alpha, stepK, timeS-1)) / 2
	near(t, "slope", 0, slope, HalfSpaceFluxWm2(k, alpha, stepK, timeS), 1e-6*slope)
}

func TestSlabsAtBothEndsOfTime(t *testing.T) {
	// The early and the late form meet.
	for _, place := range []float64{0, 0.5, 0.9, 1} {
		near(t, "step", place, SlabStep(0.05-1e-12, place), SlabStep(0.05, place), 1e-8)
	}
	near(t, "mean", 0, SlabStepMean(0.05-1e-12), SlabStepMean(0.05), 1e-8)
	// The mean is the mean over the thickness.
	sum := 0.0
	for i := range 1000 {
		sum += SlabStep(0.2, (float64(i)+0.5)/1000) / 1000
	}
	near(t, "mean over places", 0, sum, SlabStepMean(0.2), 1e-6)
	// A very good film is a step; either side of the middle is alike.
	near(t, "good film", 0, SlabFilm(1e6, 0.3, 0.4), SlabStep(0.3, 0.4), 1e-5)
	near(t, "other side", 0, SlabStep(0.3, -0.4), SlabStep(0.3, 0.4), 0)
	// Early on each face is a half space of its own.
	for _, place := range []float64{0.9, 1} {
		near(t, "early film", place, SlabFilm(2, 0.001, place), 1-HalfSpaceFilm(1, 1, 2, 1-place, 0.001), 1e-6)
	}
	// One term is enough late on: Incropera and DeWitt, sec. 5.5.2.
	zeta, weight := SlabFirstTerm(2)
	near(t, "one term", 0, weight*math.Exp(-zeta*zeta)*math.Cos(zeta*0.7), SlabFilm(2, 1, 0.7), 1e-5)
	for _, got := range []float64{SlabStep(0, 0.3), SlabStepMean(-1), SlabFilm(0, 3, 0), SlabFilm(1, 0, 1)} {
		if got != 1 {
			t.Errorf("at first %g is left", got)
		}
	}
}

func TestFilmsOverHalfSpaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.2, 3).Draw(t, "conductivity")
		alpha := rapid.Float64Range(0.1, 2).Draw(t, "mm²/s") * 1e-6
		h := rapid.Float64Range(0.1, 1000).Draw(t, "film")
		z := rapid.Float64Range(0, 3).Draw(t, "depth")
		timeS := rapid.Float64Range(1, 1e8).Draw(t, "time")
		got := HalfSpaceFilm(k, alpha, h, z, timeS)
		if step := HalfSpaceStep(alpha, z, timeS); !(got >= -1e-6 && got <= step+1e-12) {
			t.Fatalf("a film lets %g through, a step is %g", got, step)
		}
		if better := HalfSpaceFilm(k, alpha, 2*h, z, timeS); better < got-1e-6 {
			t.Fatalf("a better film lets %g through, not %g", better, got)
		}
	})
	near(t, "series and function meet", 5, scaledErfc(5-1e-9), scaledErfc(5), 1e-6*scaledErfc(5))
	for _, timeS := range []float64{0, -1} {
		if got := HalfSpaceFilm(1, 1e-6, 8, 0, timeS) + HalfSpaceHeatedK(1, 1e-6, 8, 0, timeS) + HalfSpaceStep(1e-6, 0.1, timeS); got != 0 {
			t.Errorf("before any time %g has arrived", got)
		}
	}
	if got := HalfSpaceStep(1e-6, 0, 0); got != 1 {
		t.Errorf("the surface itself has %g of its step", got)
	}
}

func TestAThinCylinderIsALine(t *testing.T) {
	// Late on G is E₁(1/(4 Fo))/(4 π): Ingersoll, Zobel and Ingersoll 1954. Early on the wall is flat:
	// G = sqrt(Fo/π)/π, less Fo/(4 π) for its curve (Carslaw and Jaeger, art. 13.5 eq. 19); what is left goes as Fo^1.5.
	for _, fourier := range []float64{1e4, 1e5, 1e7} {
		near(t, "late", fourier, CylinderSource(fourier), ExpIntegral(1/(4*fourier))/(4*math.Pi), 5e-4*CylinderSource(fourier))
	}
	for _, fourier := range []float64{0.01, 0.02} {
		near(t, "early", fourier, CylinderSource(fourier), math.Sqrt(fourier/math.Pi)/math.Pi-fourier/(4*math.Pi), 0.06*math.Pow(fourier, 1.5))
	}
	line := ExpIntegral(1.0/(4*60)) / (4 * math.Pi)
	near(t, "a line at 60", 60, line, CylinderSource(60), 0.01*CylinderSource(60))
	if got := CylinderSource(0); got != 0 {
		t.Errorf("at first it is %g", got)
	}
	if got, want := CylinderSource(1e12), CylinderSource(1e8); got != want {
		t.Errorf("beyond its range it is %g, want %g", got, want)
	}
}

func TestALongLineIsEndless(t *testing.T) {
	const q, k, alpha, r, timeS = 20, 1.5, 0.6e-6, 0.05, 7 * dayS
	near(t, "middle", 0, ShortLineSourceK(q, k, alpha, r, 25, 50, timeS), LineSourceK(q, k, alpha, r, timeS), 1e-6)
	near(t, "end", 0, ShortLineSourceK(q, k, alpha, r, 0, 50, timeS), LineSourceK(q, k, alpha, r, timeS)/2, 1e-6)
	near(t, "deep", 0, BuriedLineSourceK(q, k, alpha, r, 50, timeS), LineSourceK(q, k, alpha, r, timeS), 1e-9)
	if got := LineSourceK(q, k, alpha, r, 0) + ShortLineSourceK(q, k, alpha, r, 25, 50, -1); got != 0 {
		t.Errorf("before any time the ground is %g K warmer", got)
	}
}

func TestAFarApartRowIsSinglePipes(t *testing.T) {
	near(t, "far apart", 0, BuriedRow(0.1, 50, 0.6), BuriedPipeM(0.1, 0.6, 1), 0.01)
	if near, far := BuriedRow(0.1, 0.3, 0.6), BuriedRow(0.1, 0.6, 0.6); !(near < far) {
		t.Errorf("close pipes take %g each, pipes further apart %g", near, far)
	}
	// A close row is a plate: each pipe gets pitch/depth, less what the pipes' gaps cost.
	if got := BuriedRow(0.05, 0.1, 20); math.Abs(got/(0.1/20)-1) > 0.01 {
		t.Errorf("a deep close row takes %g", got)
	}
	for _, got := range []float64{BuriedPipeM(0.1, 0.05, 1), BuriedRow(0.1, 0.1, 1), BuriedRow(0, 0.1, 1), BuriedPipeM(0, 1, 1)} {
		if got != 0 {
			t.Errorf("a pipe that cannot lie there takes %g", got)
		}
	}
}
