package ground

import (
	"fmt"
	"math"
	"testing"

	"loambank/config/unit"
)

// pipe_flow-S082 to S113: a single pipe in endless soil, by an independent radial model. Its air
// has the density of the mean of inlet and soil, and its film no entrance effect (3 % less).
func TestOutletOfAPipeOverThreeDays(t *testing.T) {
	rows := table(t, "pipe_flow.csv")
	for _, dtS := range []float64{60, 300, 900} {
		for _, first := range []int{82, 94, 106} {
			r := rows[fmt.Sprintf("pipe_flow-S%03d", first)]
			p := lonely(r.in["D_m"], 2, 1.5, r.in["k"], r.in["alpha_mm2_s"])
			soilC, inC := r.in["t_soil0_C"], r.in["t_in_C"]
			p.Pipes.LengthM, p.Pipes.Segments, p.Ground.Mean = r.in["L_m"], 10, unit.Celsius(soilC)
			s := newStore(t, p)
			d := p.flowing(r.in["v_m_s"], unit.Celsius(inC), 0)
			d.DryAirKgS *= (inC + 273.15) / ((inC+soilC)/2 + 273.15)
			d.Air = unit.Celsius(soilC)
			var kWh float64
			for n := 1; float64(n)*dtS <= 72*3600; n++ {
				f := s.Step(d, dtS)
				kWh += f.AirJ() / 3.6e6
				for id := first; id < first+12; id += 2 {
					q := rows[fmt.Sprintf("pipe_flow-S%03d", id)]
					if q.in["L_m"] == p.Pipes.LengthM && q.in["hours"]*3600 == float64(n)*dtS {
						q.near(t, float64(f.Out.C), 0.25)
						h := rows[fmt.Sprintf("pipe_flow-S%03d", id+1)]
						h.near(t, kWh, 0.02*math.Abs(h.want(t)))
					}
				}
			}
		}
	}
}
