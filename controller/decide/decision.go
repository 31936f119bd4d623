package decide

import "loambank/controller/tariff"

// Decision is what one tick decided for one house.
type Decision struct {
	Stores [MaxStores]StoreDecision
	Alarms Alarms
	Window int8 // index into Season.Windows, -1 where none covers
	// AgainS asks for the next tick sooner than usual: a start waits only for the stagger.
	// 0 is no hurry.
	AgainS float64
	// Prices are those the decision was taken on; HeaterWouldRun says that heat brought up now
	// displaces fuel.
	Prices         tariff.Prices
	HeaterWouldRun bool
}

// StoreDecision is what one tick decided for one store.
type StoreDecision struct {
	State  Activity
	Reason Reason
	// Waiting is why a fan that is wanted does not run yet; its zero value is that none waits.
	Waiting Reason
	Stages  [MaxFans]uint8 // commanded stage of each fan, 0 is off

	HeatW   float64 // heat expected into the soil at these stages, W; negative brings heat up
	LatentW float64 // the part of HeatW that condensing water brings
	// CondensateKgS is the water expected to stay in the pipes, kg/s.
	CondensateKgS float64
	PowerW        float64 // electricity expected at these stages, W
}

// Running reports whether any fan of the store is commanded on.
func (d *StoreDecision) Running() bool { return d.Stages != [MaxFans]uint8{} }

// Alarms is the set of causes for which a person should be called now.
type Alarms struct {
	Smoke        bool // smoke, until a person clears it
	FrostNoHelp  bool // crop air at its frost limit and no store can help
	HandOffFrost bool // a person keeps fans off that frost protection would run
	AirLost      bool // no usable air reading after the grace time
	FanFault     bool // a fan does not start, or does not stop
}

// Any reports whether any cause is set.
func (a Alarms) Any() bool { return a != Alarms{} }
