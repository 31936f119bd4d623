package house_test

import (
	"testing"

	"loambank/controller/decide"
	"loambank/controller/house"
)

// TestAnOrderForOneFanIsForNoOther takes the fan out of the settings that a person runs alone.
func TestAnOrderForOneFanIsForNoOther(t *testing.T) {
	var saved house.Saved
	for _, fan := range []string{"east", "west"} {
		ss := house.SavedStore{Name: "beds", OrderFan: fan}
		ss.Order, ss.OrderStage, ss.OrderLeftS = decide.OrderRun, 1, 600
		saved.Stores = []house.SavedStore{ss}
		s := &house.Settings{Name: "lower", Decide: decide.Settings{Stores: []decide.Store{{Name: "beds", Fans: []decide.Fan{{Name: "west"}}}}}}
		st := house.Restore(s, saved).State().Decide.Stores[0]
		switch fan {
		case "east":
			if st.Order != decide.NoOrder || st.OrderFan != 0 || st.OrderLeftS != 0 {
				t.Errorf("the fan is gone, but its order stands: %v for fan %d, %v s", st.Order, st.OrderFan, st.OrderLeftS)
			}
		case "west":
			if st.Order != decide.OrderRun || st.OrderFan != 1 || st.OrderLeftS != 600 {
				t.Errorf("the fan stands first now: order %v for fan %d, %v s", st.Order, st.OrderFan, st.OrderLeftS)
			}
		}
	}
	again := house.Restore(&house.Settings{Name: "lower", Decide: decide.Settings{Stores: []decide.Store{{Name: "beds", Fans: []decide.Fan{{Name: "west"}}}}}}, saved).Save()
	if got := again.Stores[0]; got.OrderFan != "west" || got.StoreState.OrderFan != 0 {
		t.Errorf("saved again it is for %q, place %d", got.OrderFan, got.StoreState.OrderFan)
	}
	if got := again.Restarted(700, true).Stores[0]; got.OrderFan != "" || got.Order != decide.NoOrder {
		t.Errorf("after its time it is %v for %q", got.Order, got.OrderFan)
	}
}
