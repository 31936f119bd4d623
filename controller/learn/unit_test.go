package learn_test

import "loambank/config/unit"

func unitC(v float64) unit.Celsius { return unit.Celsius(v) }
