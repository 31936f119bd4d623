package controller

import (
	"loambank/config"
	"loambank/controller/lesson"
)

// LearnedAirflow returns what the daemon whose state directory this is has learned that the fans of each
// store of h move together at full speed, m³/s, in the settings' order: 0 for a store of which it knows
// that too little for decisions (learn.Params.Settled), or whose fans are others now. A directory in
// which nothing was learned is no error.
func LearnedAirflow(dir string, h *config.House) ([]float64, error) {
	flows := make([]float64, len(h.House.Decide.Stores))
	all, err := readLearned(dir)
	if err != nil {
		return flows, err
	}
	l := all[h.House.Name]
	params, stated := l.of(h), lesson.Settings(h)
	for i := range flows {
		if x, enough := params.Settled(&stated, i); enough {
			flows[i] = x.FlowM3s
		}
	}
	return flows, nil
}
