package learn_test

import (
	"fmt"
	"loambank/controller/learn"
	"testing"
	"time"
)

func TestZZ(t *testing.T) {
	for _, name := range []string{burlington, richmond} {
		for _, kind := range []string{"catalogue", "measured"} {
			s := farm(t, `flow_is = "catalogue"`, `flow_is = "`+kind+`"`)
			y := climate(t, name)
			u := newPupil(s)
			fmt.Println(name, kind)
			u.each = func(u *pupil, _ *learn.Sample, now time.Time) {
				if u.steps > 12*24*365 && now.Day() == 1 && now.Hour() == 0 && now.Minute() == 0 {
					v := u.p.Values(u.s, 0)
					b := u.p.Balance(0)
					fmt.Printf("%v flow %.3f ±%.2f eff %.2f near %.2g C %.2g ±%.2g L %.3g ±%.2g E %.3g ±%.2g ratioSE %.2f fit %.2f Ratio %.2f ±%.2f off %d %v air %.0f soil %.0f MJ\n", now.Format("01"), v.FlowM3s.Value, v.FlowM3s.SE, v.Effectiveness.Value, v.NearKW.Value, v.CapacityJK.Value, v.CapacityJK.SE, v.LossWK.Value, v.LossWK.SE, v.Equilibrium.Value, v.Equilibrium.SE, 0., u.p.Stores[0].Soil.Fit, b.Ratio, b.SE, b.OffFor, b.Cause, b.AirJ/1e6, b.SoilJ/1e6)
					fmt.Println(u.p.Notices(u.s), u.p.Stores[0].Touch)
				}
			}
			live(t, s, y, u)
			fmt.Printf("house %.4g fit %.2f\n", u.p.HouseValues(u.s), u.p.House.Fit)
		}
	}
}
