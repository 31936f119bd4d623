package export_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/ledger"
	"loambank/controller/season"
)

func zone(t *testing.T) *time.Location {
	t.Helper()
	z, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// lower is an invented house with two stores, prices, and one probe of every kind, one of them bad.
func lower(t *testing.T) *controller.Snapshot {
	t.Helper()
	probe := func(name string, role judge.Role, place judge.Place, depthM float64, store int) house.Probe {
		return house.Probe{Name: name, Store: store, Fan: house.AllFans, Judge: judge.Defaults(role, place, depthM)}
	}
	settings := &config.House{House: house.Settings{
		Name: "lower",
		Decide: decide.Settings{
			Season: season.Settings{Site: season.Site{Zone: zone(t)}},
			Stores: []decide.Store{
				{Name: "beds", Fans: []decide.Fan{{Name: "east"}, {Name: "west"}}},
				{Name: "path", Fans: []decide.Fan{{Name: "middle"}}},
			},
		},
		Probes: []house.Probe{
			probe("crop", judge.Air, judge.Crop, 0, house.WholeHouse),
			probe("intake", judge.Air, judge.Intake, 0, house.WholeHouse),
			probe("humidity", judge.Humidity, judge.NoPlace, 0, house.WholeHouse),
			probe("deep", judge.Soil, judge.Between, 0.45, 0),
			probe("root", judge.Soil, judge.Root, 0, 0),
			probe("smoke", judge.Smoke, judge.NoPlace, 0, house.WholeHouse),
		},
	}}
	account := ledger.New("lower", &settings.House.Decide)
	account.ElectricityMoney, account.FuelMoney = 12.34, 56.78
	beds := &account.Stores[0]
	beds.In = ledger.Heat{SensibleKWh: 410.5, LatentKWh: 120.25}
	beds.Out = ledger.Heat{SensibleKWh: 300.125}
	beds.CondensateLitres = 175.5
	beds.Fans[0].RunS[decide.Charge], beds.Fans[0].RunS[decide.Discharge] = 36000, 54000
	beds.Fans[0].RunS[decide.Frost] = 600
	beds.Fans[0].Starts, beds.Fans[0].EnergyKWh = 37, 15.1
	beds.Fans[1].RunS[decide.Charge], beds.Fans[1].Starts, beds.Fans[1].EnergyKWh = 1800, 3, 0.3
	account.Stores[1].Fans[0].RunS[decide.Action] = 120
	account.Probes = []ledger.Probe{
		{Name: "crop"}, {Name: "intake", Errors: 75}, {Name: "humidity", Errors: 1}, {Name: "deep"}, {Name: "root"}, {Name: "smoke", Errors: 2},
	}
	// What is gone stays in the account and is not shown.
	account.Stores = append(account.Stores, ledger.Store{Name: "sold", Fans: []ledger.Fan{{Name: "sold", Starts: 9}}})
	beds.Fans = append(beds.Fans, ledger.Fan{Name: "sold", Starts: 9})

	s := &controller.Snapshot{
		Ticked: time.Now(), Tick: 10 * time.Second, Took: 125 * time.Millisecond,
		Settings: settings, Currency: "USD", Time: time.Date(2026, 1, 21, 5, 0, 0, 0, zone(t)),
		Decision: decide.Decision{Window: -1},
		Verdicts: []judge.Verdict{
			{Value: 3.25, Quality: judge.Good, Cause: judge.Fine, AgeS: 2},
			{Value: 19.5, Quality: judge.Bad, Cause: judge.Stale, AgeS: 754},
			{Value: 1, Quality: judge.Doubtful, Cause: judge.Pinned, AgeS: 2},
			{Value: 13.875, Quality: judge.Good, Cause: judge.Fine, AgeS: 4},
			{Value: 11.5, Quality: judge.Good, Cause: judge.Fine},
			{Quality: judge.Good, Cause: judge.Fine},
		},
		Account:  account,
		Sentence: "Crop safe: lowest 37 °F at 04:40. Nothing to do.",
	}
	s.Tonight = learn.Tonight{Known: true, HoldOutside: -7.5}
	s.Tonight.Stores[0] = learn.Left{Known: true, Fill: 0.625, UsefulKWh: 143.5, HoursLeft: 31.5}
	s.Tonight.Stores[1] = learn.Left{Known: true, Fill: 0.25, UsefulKWh: 12, Lasts: true}
	s.Found = controller.Found{
		House: learn.HouseValues{LossWK: learn.Estimate{Value: 812.5, SE: 40, Hours: 700}},
		Stores: []learn.Values{
			{Effectiveness: learn.Estimate{Value: 0.53, SE: 0.04, Hours: 210}, FlowM3s: learn.Estimate{Value: 0.61, SE: 0.09, Hours: 200}},
			{Effectiveness: learn.Estimate{Value: 0.6, SE: 0.3}, FlowM3s: learn.Estimate{Value: 0.5, SE: 0.2}}, // taught by nothing
		},
		Balances: []learn.Balance{{Days: 14, Ratio: 0.78, SE: 0.06, OffFor: 4, Cause: learn.Leak}, {Ratio: 1}},
		Notices:  []learn.Notice{{Warning: learn.SideOpen, Store: -1}, {Warning: learn.StoreWetter, Store: 1}},
	}
	s.Commissioned = controller.Commissioned{
		Kept: true, Whole: &commission.Baseline{}, Due: true,
		Strays: []commission.Comparison{{Store: "beds", Fan: "west", What: commission.Power, Was: 480, Is: 300}},
	}
	settings.House.Decide.Heater.Present = true
	s.Saved[ledger.Season] = ledger.Saving{
		Begin: "2025-09-10", Heated: true,
		Energy: learn.Saved{HeatKWh: 410.5, ElectricityKWh: 15.4, SpreadKWh: 88, Claimed: true, CountedH: 3000},
	}
	s.Decision.Stores[0].State, s.Decision.Stores[0].Reason.Code = decide.Discharge, decide.DischargePays
	s.Decision.Stores[1].Reason.Code = decide.GainUnmet
	return s
}

// upper is a house with one store, no price and no reading yet.
func upper(t *testing.T) *controller.Snapshot {
	t.Helper()
	settings := &config.House{House: house.Settings{
		Name: "upper",
		Decide: decide.Settings{
			Season: season.Settings{Site: season.Site{Zone: zone(t)}},
			Stores: []decide.Store{{Name: "beds", Fans: []decide.Fan{{Name: "only"}}}},
		},
		Probes: []house.Probe{{Name: "crop", Store: house.WholeHouse, Judge: judge.Defaults(judge.Air, judge.Crop, 0)}},
	}}
	account := ledger.New("upper", &settings.House.Decide)
	account.Probes = []ledger.Probe{{Name: "crop", Errors: 3}}
	return &controller.Snapshot{
		Ticked: time.Now(), Tick: 10 * time.Second, Took: 250 * time.Millisecond,
		Settings: settings, Time: time.Date(2026, 1, 21, 5, 0, 0, 0, zone(t)), Decision: decide.Decision{Window: -1},
		Verdicts: make([]judge.Verdict, 1), Account: account,
		Sentence: "CROP NOT WATCHED: the air cannot be read.",
	}
}

// showing is a farm that shows these snapshots, all of them safe on disk.
func showing(all ...*controller.Snapshot) func() *controller.View {
	v := &controller.View{Believed: true, Reloaded: true, Kept: controller.Kept{Unix: 1769000000}, History: &history.Status{}}
	for _, s := range all {
		v.Houses = append(v.Houses, controller.Shown{Snapshot: s, Counted: s.Account})
	}
	return func() *controller.View { return v }
}
