package tariff

import (
	"math"
	"testing"
)

func near(got, want, relative float64) bool {
	return math.Abs(got-want) <= relative*math.Abs(want)
}

func TestHeatOfAUnitIsThatOfTheReference(t *testing.T) {
	const btu = 2.930711e-4 // kWh
	for _, c := range []struct {
		id         string
		fuel       Fuel
		per        string
		efficiency float64
		want       float64 // kWh
		relative   float64
	}{
		{"greenhouse-S074", Propane, "gal", 1, 91333 * btu, 0.015},
		{"greenhouse-S075", Propane, "gal", 0.8, 21.41365, 0.015},
		{"greenhouse-S076", Propane, "L", 1, 7.071109, 0.015},
		{"greenhouse-S077", HeatingOil, "gal", 1, 138690 * btu, 0.015},
		{"greenhouse-S078", HeatingOil, "gal", 0.8, 32.51682, 0.015},
		{"greenhouse-S079", HeatingOil, "L", 1, 10.73754, 0.015},
		{"greenhouse-S080", SeasonedWood, "cord", 1, 2e7 * btu, 0.25},
		{"greenhouse-S081", WoodPellets, "lb", 1, 8250 * btu, 0.05},
		// kg of CO2 in 1000 ft3 over kg in a million BTU: coefficients of another year.
		{"greenhouse-S071, S072", NaturalGas, "1000 ft3", 1, 53.12 / 53.07 * 1e6 * btu, 0.05},
		{"greenhouse-S071, S073", NaturalGas, "mcf", 1, 53.12 / 0.1810823, 0.05},
		// By definition.
		{"a therm", NaturalGas, "therm", 1, 29.30711, 1e-6},
		{"a kWh", Electricity, "kWh", 1, 1, 0},
		{"a kWh of gas", NaturalGas, "kWh", 1, 1, 0},
	} {
		kWh, err := HeatPerUnit(c.fuel, c.per)
		if err != nil {
			t.Errorf("%s: %v", c.id, err)
		}
		// The figures are exact to their digits; the tolerance is that of the quantity.
		if got := kWh * c.efficiency; !near(got, c.want, c.relative) {
			t.Errorf("%s: got %.6g, want %.6g", c.id, got, c.want)
		}
	}
}

func TestUnitsOfOneFuelAgree(t *testing.T) {
	for _, c := range []struct {
		fuel         Fuel
		large, small string
		ratio        float64 // by definition of the units
	}{
		{Propane, "gal", "L", 3.785411784},
		{HeatingOil, "gal", "L", 3.785411784},
		{NaturalGas, "mcf", "ccf", 10},
		{NaturalGas, "mcf", "1000 ft3", 1},
		{Propane, "l", "L", 1},
		{NaturalGas, "mcf", "m3", 28.316846592},
		{WoodPellets, "ton", "lb", 2000},
		{WoodPellets, "t", "kg", 1000},
		{WoodPellets, "kg", "lb", 2.2046226},
	} {
		large, err := HeatPerUnit(c.fuel, c.large)
		if err != nil {
			t.Fatal(err)
		}
		small, err := HeatPerUnit(c.fuel, c.small)
		if err != nil {
			t.Fatal(err)
		}
		if !near(large/small, c.ratio, 1e-7) {
			t.Errorf("%s: %s over %s is %.9g, want %.9g", c.fuel, c.large, c.small, large/small, c.ratio)
		}
	}
}

func TestUsefulHeatCostsWhatTheReferenceSays(t *testing.T) {
	for _, c := range []struct {
		id         string
		fuel       Fuel
		price      float64
		per        string
		efficiency float64
		want       float64 // currency per kWh
	}{
		{"greenhouse-S082", Propane, 2.80, "gal", 0.80, 0.1307577},
		{"greenhouse-S083", Propane, 2.20, "gal", 0.78, 0.1053725},
		{"greenhouse-S084", HeatingOil, 4.10, "gal", 0.82, 0.1230133},
		{"gas at an efficiency of 100 %", NaturalGas, 0.09, "kWh", 1, 0.09},
		{"the best heat pump", Electricity, 0.18, "kWh", 6, 0.03},
		{"free wood", SeasonedWood, 0, "cord", 0.6, 0},
		{"a heat pump that yields three for one", Electricity, 0.18, "kWh", 3, 0.06},
	} {
		got, err := UsefulHeatPrice(c.fuel, c.price, c.per, c.efficiency)
		if err != nil || !near(got, c.want, 3e-3) {
			t.Errorf("%s: got %.7f, %v, want %.7f", c.id, got, err, c.want)
		}
	}
}

func TestTheFanPaysAboveTheRatioOfThePrices(t *testing.T) {
	for _, c := range []struct {
		id    string
		fuel  Fuel
		price float64
		per   string
		eff   float64
		want  float64 // kWh of heat per kWh of electricity at 0.16
	}{
		{"money_and_pv-S045", Propane, 2.80, "gal", 0.8, 1.223637},
		{"money_and_pv-S046", Electricity, 0.16, "kWh", 1, 1},
	} {
		heat, err := UsefulHeatPrice(c.fuel, c.price, c.per, c.eff)
		if err != nil || !near(0.16/heat, c.want, 3e-3) {
			t.Errorf("%s: got %.6f, %v, want %.6f", c.id, 0.16/heat, err, c.want)
		}
	}
}

func TestAFuelPriceThatCannotBeSaysWhy(t *testing.T) {
	for _, c := range []struct {
		fuel       Fuel
		price      float64
		per        string
		efficiency float64
		want       string
	}{
		{Propane, 2.8, "cord", 0.8, `propane is not sold per "cord" here; write it per gal or L`},
		{SeasonedWood, 300, "gal", 0.8, `wood is not sold per "gal" here; write it per cord`},
		{NoFuel, 2.8, "gal", 0.8, `none has no price; name a fuel`},
		{Electricity + 1, 2.8, "gal", 0.8, `Fuel(7) has no price; name a fuel`},
		{Propane, -1, "gal", 0.8, `a price of -1 cannot be; write what a gal costs`},
		{Propane, math.NaN(), "gal", 0.8, `a price of NaN cannot be; write what a gal costs`},
		{Propane, math.Inf(1), "gal", 0.8, `a price of +Inf cannot be; write what a gal costs`},
		{Propane, 2.8, "gal", 0, `an efficiency of 0 % cannot be; for propane it is over 0 % and up to 100 %`},
		{Propane, 2.8, "gal", 80, `an efficiency of 8000 % cannot be; for propane it is over 0 % and up to 100 %`},
		{Propane, 2.8, "gal", math.NaN(), `an efficiency of NaN % cannot be; for propane it is over 0 % and up to 100 %`},
		{Electricity, 0.2, "kWh", 7, `an efficiency of 700 % cannot be; for electricity it is over 0 % and up to 600 %`},
	} {
		if _, err := UsefulHeatPrice(c.fuel, c.price, c.per, c.efficiency); err == nil || err.Error() != c.want {
			t.Errorf("got %v\nwant %s", err, c.want)
		}
	}
}

func TestEveryFuelIsReadByItsNameAndHasAUnit(t *testing.T) {
	for f := Propane; f <= Electricity; f++ {
		if got, err := ParseFuel(" " + f.String() + " "); err != nil || got != f {
			t.Errorf("%s: %v, %v", f, got, err)
		}
		sold := false
		for _, h := range heats {
			sold = sold || h.fuel == f && h.kWh > 0
		}
		if !sold {
			t.Errorf("%s is sold in no unit", f)
		}
	}
	if f, err := ParseFuel("Heating Oil"); err != nil || f != HeatingOil {
		t.Errorf("capitals: %v, %v", f, err)
	}
	want := `"none" is no known fuel; write propane, heating oil, natural gas, wood pellets, wood or electricity`
	if _, err := ParseFuel("none"); err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}
