package learn_test
import ("testing";"fmt";"loambank/controller/learn")
func TestZZ(t *testing.T){
 for seed:=range uint64(6){ s:=settings(); s.Heater = learn.Heater{Present: true, Setpoint: 4, OutputW: 25e3}
 tr:=usual(); if seed>2 {tr=varied(seed+15).truth}
 tr.heaterW,tr.setpoint,tr.meanC=25e3,4,-3
 g:=newRig(tr,seed); less:=newRig(tr,seed); less.never=true
 var p learn.Params
 var st learn.Sums; var gh,lh,dr,ds,sh,sst,fan float64
 for i:=range 75*288 { if i==45*288 {st=p.Other.Sum;gh,lh=g.heaterJ,less.heaterJ}
  p=learn.Update(s,p,g.step()); less.step()
  if i>=45*288 {dr+=g.root-less.root; ds+=g.soil-less.soil; sh+=p.Other.Copies[0].Shallow; sst+=p.Other.Copies[0].Store; fan+=g.level*500*300/3.6e6} }
 n:=30.*288
 got:=p.Saved(s,st)
 v:=p.Values(s,0)
 fmt.Printf("truth %.0f told %.0f ± %.0f fan %.0f root %.2f told %.2f soil %.2f told %.2f moved %.0f L %.0f/%.0f C %.2g/%.2g G %.0f/%.0f H %.0f/%.0f f %.2f/%.2f heater %.0f/%.0f\n",(less.heaterJ-lh-g.heaterJ+gh)/3.6e6,got.HeatKWh,got.SpreadKWh,fan,dr/n,sh/n,ds/n,sst/n,(p.Other.Sum.MovedJ-st.MovedJ)/3.6e6,v.LossWK.Value,tr.loss*tr.capacityJK,v.CapacityJK.Value,tr.capacityJK,p.HouseValues(s).FloorWK.Value,tr.floorWK,p.HouseValues(s).LossWK.Value,tr.houseWK,v.FlowM3s.Value,tr.flowM3s,(p.Other.Sum.HeaterJ-st.HeaterJ)/3.6e6,(g.heaterJ-gh)/3.6e6)
 }}
